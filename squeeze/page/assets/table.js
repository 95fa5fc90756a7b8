// The table of lands, with the columns of the command line.

import { $, el, keyed, say } from "./dom.js";
import { MM_PER_INCH } from "./units.js";

export function drawTable(answer, inches) {
  const unit = inches ? "in" : "mm";
  const heads = ["Land", `Length, ${unit}`, "Closed, %", "Mean, kPa", "Least, kPa", `Gap, ${unit}`, "Force, N/mm", "Seals"];
  const head = $("#table-head");
  if (!head.firstChild) head.append(el("tr", {}, heads.map(() => el("th", { scope: "col" }))));
  heads.forEach((text, i) => say(head.firstChild.children[i], text));
  const several = new Set(answer.lands.map((land) => land.cut)).size > 1;
  keyed($("#table"), answer.lands, (land) => `${land.cut} ${land.land}`, () => el("tr", {}, el("th", { scope: "row" }), heads.slice(1).map(() => el("td"))), (row, land, i) => {
    const cells = figures(land, inches, answer.solved);
    say(row.children[0], `${i + 1}  ${several ? `${land.cut}: ` : ""}${land.name}`);
    cells.forEach((text, k) => say(row.children[k + 1], text));
    row.dataset.label = "";
    heads.slice(1).forEach((text, k) => (row.children[k + 1].dataset.label = text));
  });
}

function figures(land, inches, solved) {
  const [scale, digits] = inches ? [1 / MM_PER_INCH, 3] : [1, 2];
  const long = (land.length_mm * scale).toFixed(digits - 1);
  if (!solved) return [long, "-", "-", "-", "-", "-", "no answer"];
  const gap = land.largest_gap_mm * scale;
  const least = 10 ** -digits;
  return [
    long,
    (100 * land.closed_share).toFixed(0),
    land.mean_pressure_kpa.toFixed(1),
    land.least_pressure_kpa.toFixed(1),
    gap > 0 && gap < least ? `<${least.toFixed(digits)}` : gap.toFixed(digits),
    land.force_n_per_mm.toFixed(3),
    land.seals ? "yes" : "no",
  ];
}
