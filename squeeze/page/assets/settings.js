// Units and light.

import { el } from "./dom.js";
import { dialog } from "./notice.js";

const KEYS = [
  ["Tab", "goes from field to field and from point to point"],
  ["Arrow keys", "on a point: move it by 1 mm or 1/32 in; with Shift ten times, with Alt a tenth"],
  ["Delete", "on a point of a cut or a drawn outline: takes it away"],
  ["Arrow up, down", "in a number field: a step more or less; with Shift ten"],
  ["Ctrl Z, Ctrl Y", "undo, redo"],
  ["Ctrl S, Ctrl O", "save, open"],
];

export function openSettings(store) {
  dialog("Settings", () => [
    choice("Lengths in", "inches", [["", "millimetres"], ["yes", "inches"]], store.settings.inches ? "yes" : "", (value) => store.setting("inches", value === "yes")),
    choice("Look", "theme", [["", "as this device has it"], ["light", "light"], ["dark", "dark"]], store.settings.theme, (value) => store.setting("theme", value)),
    el("h3", {}, "Keys"),
    el("dl", { class: "keys" }, KEYS.map(([key, what]) => [el("dt", {}, key), el("dd", {}, what)])),
  ]);
}

function choice(legend, name, options, now, pick) {
  const boxes = options.map(([value, text]) => el("label", { class: "toggle" }, el("input", { type: "radio", name, value, checked: value === now, onchange: () => pick(value) }), el("span", {}, text)));
  return el("fieldset", {}, el("legend", {}, legend), ...boxes);
}
