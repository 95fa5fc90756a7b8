// Small tools for building and updating nodes. Nodes are kept by key, so that focus, open
// menus and pointers that hold a node survive an update.

const SVG = "http://www.w3.org/2000/svg";

/** Make an HTML element: attributes, then children. `on...` attributes are listeners. */
export function el(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/** Make an SVG element. */
export function svg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(node, attributes, children) {
  set(node, attributes);
  node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
  return node;
}

/** Set attributes where they differ; null and false take one away. */
export function set(node, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) {
      node.addEventListener(name.slice(2), value);
    } else if (value === null || value === undefined || value === false) {
      node.removeAttribute(name);
    } else if (node.getAttribute(name) !== String(value)) {
      node.setAttribute(name, value === true ? "" : value);
    }
  }
  return node;
}

/** Set the text of a node where it differs. */
export function say(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * Bring the children of `parent` in line with `list`.
 * @param {Element} parent
 * @param {Array} list
 * @param {(item, index) => string} key
 * @param {(item, index) => Element} make
 * @param {(node, item, index) => void} update
 */
export function keyed(parent, list, key, make, update) {
  const old = new Map([...parent.children].map((node) => [node.dataset.key, node]));
  let place = parent.firstElementChild;
  list.forEach((item, index) => {
    const name = key(item, index);
    let node = old.get(name);
    if (!node) {
      node = make(item, index);
      node.dataset.key = name;
    }
    old.delete(name);
    if (node === place) place = place.nextElementSibling;
    else parent.insertBefore(node, place);
    update(node, item, index);
  });
  for (const node of old.values()) node.remove();
}

/** A group of SVG nodes that are put by key; what was not put since `begin` goes at `end`. */
export class Layer {
  constructor(parent, name) {
    this.group = svg("g", { class: name });
    parent.append(this.group);
    this.nodes = new Map();
  }

  begin() {
    this.put_ = new Set();
  }

  put(key, tag, attributes, text) {
    let node = this.nodes.get(key);
    if (!node) {
      node = svg(tag);
      this.nodes.set(key, node);
      this.group.append(node);
    }
    set(node, attributes);
    if (text !== undefined) say(node, text);
    this.put_.add(key);
    return node;
  }

  end() {
    for (const [key, node] of this.nodes) {
      if (!this.put_.has(key)) {
        node.remove();
        this.nodes.delete(key);
      }
    }
  }
}

/** Do something; what fails is reported, and the caller goes on. */
export function guarded(deed) {
  try {
    return deed();
  } catch (error) {
    reportError(error);
    return undefined;
  }
}

export const $ = (selector, root = document) => root.querySelector(selector);
