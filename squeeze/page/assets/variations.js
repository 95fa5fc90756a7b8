// How sure the verdict is: the block closed again with other rubber, friction and bands.

import { $, el, say } from "./dom.js";

const RUBBER = [[0.75, "25 % softer"], [1, "as given"], [1.25, "25 % stiffer"]];
const PULL = [[0.8, "20 % slacker"], [1.2, "20 % tighter"]];
const FRICTION = ["low", "high"];

/** Draw the variations of an answer; `found` is {lines, variations}, or nothing yet. */
export function drawVariations(found) {
  const node = $("#variations");
  node.hidden = !found?.variations.length;
  if (node.hidden || node.of === found) return;
  node.of = found;
  const of = (stiffness, friction, pull) => found.variations.find((each) => each.stiffness === stiffness && each.friction === friction && each.pull === pull);
  const head = el("thead", {}, el("tr", {}, ["Bands", "Friction", ...RUBBER.map(([, words]) => `Rubber ${words}`)].map((text) => el("th", { scope: "col" }, text))));
  const rows = PULL.flatMap(([pull, words]) => FRICTION.map((friction) => el("tr", {}, el("th", { scope: "row" }, words), el("td", {}, friction), RUBBER.map(([stiffness]) => el("td", {}, cell(of(stiffness, friction, pull)))))));
  const table = el("table", {}, el("caption", {}, "What comes of each"), head, el("tbody", {}, rows));
  $("#variations-inside").replaceChildren(...found.lines.map((text) => el("p", {}, text)), el("div", { class: "table-scroll", tabindex: 0, role: "group", "aria-label": "Variations" }, table));
}

function cell(variation) {
  if (!variation) return "";
  return variation.solved ? variation.grade : "no answer";
}

/** Say that the variations are under way, how far they are, or why there are none. */
export function tellSure(text) {
  say($("#sure-note"), text);
}
