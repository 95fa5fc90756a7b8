export class Trace {
  constructor(node, store) {
    this.node = node;
    this.store = store;
  }

  refresh() {}
}
