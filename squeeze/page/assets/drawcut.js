// A cut drawn on the section: press where the knife begins, draw, let go where it ends.

import { freshName, withMore } from "./mold.js";

const LEAST_PIXELS = 14;

/**
 * Let cuts be drawn while a switch is on.
 * @param {Section} section
 * @param {HTMLInputElement} box  the switch; it goes off after each cut
 * @param {object} hooks  {mold(): object, grid(): number, change(mold, tag)}
 */
export function makeKnife(section, box, hooks) {
  const { node } = section;
  let begun = null;
  const layer = section.knife;

  box.addEventListener("change", () => node.classList.toggle("knife", box.checked));
  node.addEventListener("pointerdown", (event) => {
    if (!box.checked || event.button) return;
    event.preventDefault();
    event.stopPropagation();
    node.setPointerCapture(event.pointerId);
    begun = { at: snapped(event), x: event.clientX, y: event.clientY };
  }, true);
  node.addEventListener("pointermove", (event) => begun && show(begun.at, snapped(event)));
  node.addEventListener("pointercancel", () => stop());
  node.addEventListener("pointerup", (event) => {
    if (!begun) return;
    const [from, to] = [begun.at, snapped(event)];
    const far = Math.hypot(event.clientX - begun.x, event.clientY - begun.y);
    stop();
    if (far < LEAST_PIXELS) return;
    box.checked = false;
    node.classList.remove("knife");
    const mold = hooks.mold();
    hooks.change(withMore(mold, ["cut"], { name: freshName(mold.cut, "cut"), path_mm: [from, to] }), `draw ${Date.now()}`);
  });

  function snapped(event) {
    const grid = hooks.grid();
    return section.mmAt(event).map((v) => Number((Math.round(v / grid) * grid).toFixed(4)));
  }

  function show(from, to) {
    layer.begin();
    layer.put("cut", "path", { d: `M${from[0]} ${-from[1]}L${to[0]} ${-to[1]}`, class: "sketch" });
    layer.end();
  }

  function stop() {
    begun = null;
    layer.begin();
    layer.end();
  }
}
