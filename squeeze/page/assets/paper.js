// What leaves the page as a file: the bench sheet, the figure, the cradle's templates.

import { $, el } from "./dom.js";
import { fileName } from "./files.js";
import { Job, download } from "./job.js";
import { dialog, notice } from "./notice.js";

const SHEETS = [["a4", "A4"], ["letter", "Letter"]];
const FIGURES = [["pdf", "PDF", "application/pdf"], ["png", "PNG", "image/png"], ["svg", "SVG", "image/svg+xml"]];

export function wirePaper(store) {
  const job = new Job();
  $("#paper").addEventListener("click", () => dialog("Paper and pictures", () => contents(store, job)));
}

function contents(store, job) {
  const name = fileName(store.mold.title);
  const deformed = el("input", { type: "checkbox", id: "figure-deformed" });
  const button = (text, spoken, press) => el("button", { type: "button", "aria-label": spoken, onclick: press }, text);
  const sheets = SHEETS.map(([paper, text]) => button(text, `Bench sheet as PDF on ${text}`, () => take(job, store, "/sheet", { paper, name: nameOf(store) }, "pdf", "application/pdf", `${name}-sheet.pdf`)));
  const figures = FIGURES.map(([form, text, kind]) => button(text, `Figure as ${text}`, () => take(job, store, "/figure", { form, deformed: deformed.checked }, form, kind, `${name}.${form}`)));
  const has = Boolean(store.mold.cradle?.length);
  const saws = SHEETS.map(([paper, text]) => button(`Templates, ${text}`, `Templates of the cradle, ${text}`, () => take(job, store, "/templates", { paper }, "zip", "application/zip", `${name}-templates.zip`)));
  return [
    el("h3", {}, "Bench sheet"),
    el("p", { class: "lead" }, "The whole job on one side of paper: pour, cut, close, fill, what to expect."),
    el("div", { class: "row" }, sheets),
    el("h3", {}, "Figure"),
    el("p", { class: "lead" }, "The section to scale, with pressure and gap along each land."),
    el("div", { class: "row" }, figures, el("label", { class: "toggle" }, deformed, el("span", {}, "as it deforms"))),
    el("h3", {}, "Templates for the saw"),
    el("p", { class: "lead" }, has ? "The cradle's pieces in true size: PDF, SVG and DXF in one ZIP file." : "The mold has no cradle, so there is nothing to saw. Choose one under Cradle."),
    has ? el("div", { class: "row" }, saws) : null,
    job.node,
  ].filter(Boolean);
}

const nameOf = (store) => store.extra.file?.name ?? store.extra.opened ?? "";

async function take(job, store, path, more, key, kind, name) {
  const made = await job.ask(path, { mold: store.mold, inches: store.settings.inches, ...more });
  if (!made) return;
  download(made[key], kind, name);
  job.say(made.say || `Saved ${name} where the browser puts its downloads.`);
  if (!$("#dialog").open) notice(`Saved ${name} where the browser puts its downloads.`);
}
