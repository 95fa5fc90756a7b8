// The table of lands, with the columns of the command line: heads and cells come with the answer.

import { $, el, keyed, say } from "./dom.js";

export function drawTable(answer) {
  const heads = answer.table.heads.map(capital);
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

const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

/** The tables beside: castings, seats. */
export function drawTables(node, tables) {
  keyed(node, tables, (table) => `${table.caption} ${table.heads.join()} ${table.rows.length}`, makeTable, (made, table) => {
    table.rows.forEach((row, i) => row.forEach((text, k) => say(made.tBodies[0].rows[i].cells[k], text)));
  });
}

function makeTable({ caption, heads, rows }) {
  const head = el("thead", {}, el("tr", {}, heads.map((text) => el("th", { scope: "col" }, capital(text)))));
  const cell = (k) => el(k ? "td" : "th", k ? { "data-label": heads[k] } : { scope: "row" });
  return el("table", {}, el("caption", {}, caption), head, el("tbody", {}, rows.map((row) => el("tr", {}, row.map((_, k) => cell(k))))));
}
