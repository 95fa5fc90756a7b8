export class Teach {
  constructor(node, store) {
    this.node = node;
    this.store = store;
  }

  refresh() {}
}
