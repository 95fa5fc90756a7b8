// Points of the section that can be dragged, or moved with the arrow keys.

import { keyed, set, svg } from "./dom.js";
import { handlesOf } from "./mold.js";
import { MM_PER_INCH, place } from "./units.js";

const TARGET = 22;

/** Points snap to half a millimetre or 1/64 inch; an arrow key moves them by twice that. */
export const gridOf = (inches) => (inches ? MM_PER_INCH / 64 : 0.5);

/**
 * Let a section's points be moved.
 * @param {Section} section
 * @param {object} hooks  {mold(): object, inches(): boolean, change(mold, tag), hold(on)}
 */
export function makeHandles(section, hooks) {
  let held = null;

  function draw() {
    const pixel = section.mmPerPixel;
    const list = handlesOf(hooks.mold());
    keyed(section.handles, list, (handle) => handle.id, make, (node, handle) => update(node, handle, pixel));
  }

  function make() {
    const node = svg("g", { tabindex: 0, role: "button" }, svg("circle", { class: "target" }), svg("path", { class: "grip" }));
    node.addEventListener("pointerdown", (event) => begin(event, node));
    node.addEventListener("keydown", (event) => step(event, node));
    return node;
  }

  function update(node, handle, pixel) {
    node.handle = handle;
    const inches = hooks.inches();
    const at = `x ${place(handle.x, inches)}, y ${place(handle.y, inches)}`;
    const more = handle.remove ? " Delete takes it away." : "";
    set(node, {
      class: `handle ${handle.kind}`,
      transform: `translate(${handle.x} ${-handle.y})`,
      "aria-label": `${handle.label}, at ${at}. Arrow keys move it.${more}`,
    });
    set(node.children[0], { r: TARGET * pixel });
    set(node.children[1], { d: grip(handle.kind, 7.5 * pixel) });
  }

  function begin(event, node) {
    if (event.button) return;
    event.preventDefault();
    node.focus({ preventScroll: true });
    node.setPointerCapture(event.pointerId);
    const { frame } = section;
    const [x, y] = section.mmAt(event, frame);
    held = { node, frame, dx: node.handle.x - x, dy: node.handle.y - y, tag: `drag ${node.handle.id} ${Date.now()}` };
    hooks.hold(true);
    node.addEventListener("pointermove", drag);
    node.addEventListener("pointerup", end, { once: true });
    node.addEventListener("pointercancel", end, { once: true });
  }

  function drag(event) {
    if (!held) return;
    // words above the picture may come and go while a hand moves a point: the point must not follow
    const [x, y] = section.mmAt(event, held.frame);
    const grid = gridOf(hooks.inches()) / (event.altKey ? 10 : 1);
    const snap = (v) => Math.round(v / grid) * grid;
    hooks.change(held.node.handle.move(snap(x + held.dx), snap(y + held.dy)), held.tag);
  }

  function end(event) {
    event.currentTarget.removeEventListener("pointermove", drag);
    held = null;
    hooks.hold(false);
  }

  function step(event, node) {
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const arrow = arrows[event.key];
    const { handle } = node;
    if (arrow) {
      const far = 2 * gridOf(hooks.inches()) * (event.shiftKey ? 10 : event.altKey ? 0.1 : 1);
      hooks.change(handle.move(handle.x + far * arrow[0], handle.y + far * arrow[1]), `step ${handle.id}`);
    } else if ((event.key === "Delete" || event.key === "Backspace") && handle.remove) {
      hooks.change(handle.remove(), `remove ${handle.id}`);
    } else {
      return;
    }
    event.preventDefault();
  }

  return { draw };
}

function grip(kind, r) {
  if (kind === "cut") return `M0 ${-r}L${r} 0L0 ${r}L${-r} 0Z`;
  if (kind === "cavity") return `M${-r} 0H${r}M0 ${-r}V${r}`;
  if (kind === "bevel") return `M${-r} ${-r * 0.6}L${r * 0.6} ${r}L${r} ${-r}Z`;
  const s = r * 0.8;
  return `M${-s} ${-s}H${s}V${s}H${-s}Z`;
}
