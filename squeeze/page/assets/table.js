// The table of lands, with the columns of the command line: heads and cells come with the answer.

import { $, el, keyed, say } from "./dom.js";

export function drawTable(answer) {
  const heads = answer.table.heads.map((text) => text[0].toUpperCase() + text.slice(1));
  const head = $("#table-head");
  if (head.firstChild?.children.length !== heads.length) {
    head.replaceChildren(el("tr", {}, heads.map(() => el("th", { scope: "col" }))));
  }
  heads.forEach((text, i) => say(head.firstChild.children[i], text));
  keyed($("#table"), answer.lands, (land) => `${land.cut} ${land.land}`, () => el("tr", {}, el("th", { scope: "row" }), heads.slice(1).map(() => el("td"))), (row, land, i) => {
    answer.table.rows[i].forEach((text, k) => say(row.children[k], text));
    row.dataset.label = "";
    heads.slice(1).forEach((text, k) => (row.children[k + 1].dataset.label = text));
  });
}
