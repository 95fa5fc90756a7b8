export class Studies {
  constructor(node, store) {
    this.node = node;
    this.store = store;
  }

  refresh() {}
}
