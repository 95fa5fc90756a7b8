// Studies: begin one, watch it, see its figures. They run on when this tab is closed.

import { get, post } from "./ask.js";
import { chart, hasMap, map } from "./chart.js";
import { el, keyed, say, set } from "./dom.js";
import { saveText } from "./job.js";
import { at, keyOf, withKey } from "./mold.js";
import { groupsOf } from "./panel.js";
import { thumb } from "./thumb.js";
import { heard, keptPer, plain, shown, unitName, unitOf, whyNot } from "./units.js";

const MEASURES = [
  ["largest_gap_mm", "Widest gap"],
  ["closed_share", "Share of the lands that is closed"],
  ["least_pressure_kpa", "Least pressure"],
  ["mean_pressure_kpa", "Mean pressure"],
  ["largest_shift_mm", "How far the casting is off"],
];
const ERROR = "error.";
const EVERY_MS = 1000;

/** What a caster asks, by the group of fields that answers it. */
const QUESTIONS = {
  block: "Which outline, how large, how much bevel?",
  rubber: "How hard a rubber?",
  band: "How many bands, how strong?",
  cradle: "Which cradle?",
  cut: "How do the cuts grip and fit?",
  cavity: "How large a model?",
  filler: "How much old rubber?",
  push: "How hard to press by hand or clamp?",
  resin: "How much resin, how runny?",
  rest: "How long a block?",
};

export class Studies {
  constructor(node, store, start) {
    this.node = node;
    this.store = store;
    this.start = start;
    this.build();
  }

  build() {
    this.title = el("input", { id: "study-title", type: "text", class: "words", autocomplete: "off", value: "Bevels" });
    this.axes = [0, 1].map((i) => this.buildAxis(i));
    this.errors = el("input", { type: "checkbox", id: "study-errors" });
    this.count = el("p", { class: "lead", role: "status" });
    this.fault = el("p", { class: "fault", role: "alert" });
    this.list = el("ul", { class: "study-list" });
    this.figures = el("div", { class: "charts" });
    this.peek = el("figure", { class: "peek", hidden: true });
    const begin = el("button", { type: "submit", class: "main" }, "Begin the study");
    const form = el("form", { class: "study-form" }, el("div", { class: "field text" }, el("label", { for: "study-title" }, "Title"), this.title), ...this.axes.map((axis) => axis.node), el("label", { class: "toggle" }, this.errors, el("span", {}, "with the error of each figure (takes several times as long)")), this.count, this.fault, begin);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.begin();
    });
    this.node.append(
      el("h2", {}, "Studies of the mold on the section"),
      el("p", { class: "lead" }, "Vary one thing or two: the page computes every combination. Close this tab if you like. The study goes on while the page's terminal is open."),
      el("div", { class: "study-stage" }, form, el("div", {}, el("h3", {}, "Begun here"), this.list, this.figures)),
    );
  }

  buildAxis(i) {
    const choose = el("select", { id: `vary-${i}` });
    const inputs = ["from", "to", "values"].map((name) => el("input", { id: `vary-${i}-${name}`, type: "text", class: "figure", inputmode: "decimal", autocomplete: "off" }));
    const unit = el("span", { class: "unit" });
    const entries = ["From", "To", "Values"].map((name, k) => el("span", { class: "pair" }, el("label", { for: inputs[k].id }, name), inputs[k]));
    const node = el("fieldset", { class: "axis-fields" }, el("legend", {}, i ? "And vary" : "Vary"), el("label", { class: "unseen", for: choose.id }, i ? "Second thing to vary" : "First thing to vary"), choose, el("div", { class: "row span" }, entries, unit));
    choose.addEventListener("change", () => this.propose(i));
    for (const input of inputs) input.addEventListener("input", () => this.tellCount());
    return { node, choose, inputs, unit, row: node.lastElementChild };
  }

  /** Numbers of the mold that can be varied: {key, label, question, unit, slider, value}. */
  choices() {
    const { mold } = this.store;
    return groupsOf(mold, this.start).flatMap((group) => {
      const several = group.fields.filter((field) => field.kind === "head").length > 1;
      let place = group.title;
      return group.fields.flatMap((field) => {
        if (field.kind === "head" && several) place = field.text;
        if (field.kind !== "number" || field.id.includes("centre") || field.id.includes(".at.")) return [];
        return [{
          key: field.id.startsWith("cradle all ") ? `cradle.*.${field.path.at(-1)}` : keyOf(mold, field.path),
          label: `${place}: ${field.label}`,
          question: QUESTIONS[group.id] ?? group.title,
          unit: field.unit,
          slider: field.slider,
          value: field.get ? field.get(mold) : (at(mold, field.path) ?? field.otherwise),
        }];
      });
    });
  }

  refresh(why) {
    if (!this.shown) {
      clearTimeout(this.timer);
      return;
    }
    const choices = this.choices();
    this.axes.forEach((axis, i) => {
      const former = axis.choose.value;
      const options = i ? [{ key: "", label: "nothing more" }, ...choices] : choices;
      fillChoices(axis.choose, options, former);
      if (!former && !i) {
        axis.choose.value = choices.some((c) => c.key === "block.bevel_mm") ? "block.bevel_mm" : choices[0]?.key;
        this.propose(i);
      }
      axis.row.hidden = !axis.choose.value;
    });
    if (why === "settings") this.axes.forEach((_, i) => this.propose(i));
    this.tellCount();
    this.watch();
  }

  propose(i) {
    const axis = this.axes[i];
    const choice = this.choices().find(({ key }) => key === axis.choose.value);
    axis.row.hidden = !choice;
    if (choice) {
      const { inches } = this.store.settings;
      const value = Number(choice.value) || 1;
      const whole = choice.key.endsWith(".count");
      const most = Math.min(choice.slider?.most ?? Infinity, 2 * value || 1) || 1;
      const [least, top] = choice.key === "block.bevel_mm" ? [0, Math.round(0.6 * (choice.slider?.most ?? 50))] : [whole ? 1 : Number((0.5 * value).toPrecision(2)), Number(most.toPrecision(2))];
      const texts = [shown(least, choice.unit, inches), shown(top, choice.unit, inches), whole ? String(top) : "6"];
      axis.inputs.forEach((input, k) => (input.value = texts[k]));
      say(axis.unit, unitName(choice.unit ?? "", inches));
    }
    this.tellCount();
  }

  /** What a key is called on this page, with its unit; the key itself where there is no such field. */
  labelOf(key) {
    const choice = this.choices().find((each) => each.key === key);
    return choice ? this.withUnit(choice.label, choice.unit) : this.withUnit(key.replace(/_(mm|kpa|mpa|n_per_mm|n)$/, ""), unitOf(key));
  }

  withUnit(words, unit) {
    return unit ? `${words}, ${unitName(unit, this.store.settings.inches)}` : words;
  }

  /** What a figure is called on this page, with its unit. */
  measureOf(name) {
    if (name.startsWith(ERROR)) return `Error: ${this.measureOf(name.slice(ERROR.length))}`;
    const words = MEASURES.find(([each]) => each === name)?.[1] ?? name.replaceAll("_", " ");
    return this.withUnit(words, unitOf(name));
  }

  /** What is asked for: {key: [values]}. */
  vary() {
    const { inches } = this.store.settings;
    const choices = this.choices();
    return Object.fromEntries(this.axes.filter((axis) => axis.choose.value).map((axis) => {
      const choice = choices.find(({ key }) => key === axis.choose.value);
      const [from, to] = axis.inputs.slice(0, 2).map((input) => heard(input.value, choice?.unit, inches).value ?? NaN);
      const count = Math.round(heard(axis.inputs[2].value).value ?? 0);
      const whole = axis.choose.value.endsWith(".count");
      const values = Array.from({ length: Math.min(Math.max(count, 0), 500) }, (_, k) => Number((from + ((to - from) * k) / Math.max(count - 1, 1)).toFixed(4)));
      return [axis.choose.value, [...new Set(whole ? values.map(Math.round) : values)].filter(Number.isFinite)];
    }));
  }

  /** What is wrong with what is typed; empty when the study can be begun. */
  wrong() {
    const typed = this.axes.filter((axis) => axis.choose.value).flatMap((axis) => axis.inputs);
    const wrong = typed.filter((input) => heard(input.value).state !== "number");
    for (const input of typed) set(input, { "aria-invalid": wrong.includes(input) ? "true" : null });
    return wrong.map((input) => `${input.labels[0].textContent}: ${whyNot(input.value)}.`).join(" ");
  }

  tellCount() {
    const lengths = Object.values(this.vary()).map((values) => values.length);
    const cases = lengths.reduce((a, b) => a * b, lengths.length ? 1 : 0);
    const wrong = this.wrong();
    say(this.count, wrong || `${cases} ${cases === 1 ? "case" : "cases"} to compute.`);
  }

  async begin() {
    say(this.fault, this.wrong());
    if (this.fault.textContent) return;
    const begun = await post("/studies", { mold: this.store.mold, title: this.title.value, vary: this.vary(), errors: this.errors.checked, inches: this.store.settings.inches });
    if (begun.status !== 200) {
      say(this.fault, begun.faults?.map((fault) => `${this.labelOf(fault.key)}: ${fault.text}`).join("; ") ?? begun.error);
      return;
    }
    this.chosen = begun.name;
    this.drawn = "";
    this.watch();
  }

  /** Ask how the studies stand; again while one is being computed and this view is open. */
  async watch() {
    clearTimeout(this.timer);
    const found = await get("/studies");
    if (found.status !== 200) {
      say(this.fault, found.error);
      return;
    }
    this.chosen ??= found.studies[0]?.name;
    this.drawList(found.studies);
    await this.drawFigures(found.studies);
    if (this.shown && found.studies.some((study) => study.running)) this.timer = setTimeout(() => this.watch(), EVERY_MS);
  }

  drawList(studies) {
    keyed(this.list, studies, (study) => study.name, (study) => this.makeEntry(study.name), (node, study) => {
      const [choose, progress, state, deed] = node.children;
      say(choose, study.title);
      set(choose, { "aria-pressed": study.name === this.chosen ? "true" : "false" });
      const ended = study.done + study.failed;
      set(progress, { value: ended, max: Math.max(study.planned, 1), "aria-label": `${study.title}, progress` });
      say(state, standing(study));
      const open = !study.error && (study.planned - ended > 0 || study.planned === 0);
      set(deed, { disabled: !study.running && !open });
      deed.act = study.running ? "stop" : "go";
      say(deed, study.running ? "Stop" : "Go on");
      set(deed, { "aria-label": `${study.running ? "Stop" : "Go on with"} ${study.title}` });
    });
  }

  makeEntry(name) {
    const choose = el("button", { type: "button", class: "study-name", onclick: () => this.choose(name) });
    const deed = el("button", { type: "button", class: "small", onclick: () => this.act(name, deed.act) });
    return el("li", {}, choose, el("progress"), el("span", { class: "study-note" }), deed);
  }

  async act(name, deed) {
    const done = await post(`/studies/${name}/${deed}`, {});
    say(this.fault, done.status === 200 ? "" : done.error);
    this.watch();
  }

  choose(name) {
    this.chosen = name;
    this.drawn = "";
    this.watch();
  }

  /** Show the section of a case beside its place in a chart; nothing when the pointer leaves. */
  showSection(study, row, near, y) {
    this.peek.hidden = !row;
    if (!row) return;
    const mold = study.columns.reduce((found, key) => withKey(found, key, row.kept[key]), study.mold);
    const told = (words, value) => (typeof value === "number" ? withFigure(words, plain(value, 3)) : `${words}: ${value}`);
    const values = study.columns.map((key) => told(this.labelOf(key), row[key]));
    const found = row.error ?? (y && typeof row[y] === "number" ? told(this.measureOf(y), row[y]) : "");
    this.peek.replaceChildren(thumb(mold, `Section at ${values.join(", ")}`, 150), el("figcaption", {}, ...values.map((text) => el("span", {}, text)), found ? el("strong", {}, found) : null));
    const [box, frame] = [near.getBoundingClientRect(), this.figures.getBoundingClientRect()];
    const left = Math.min(box.left - frame.left + 18, frame.width - 190);
    this.peek.style.left = `${left}px`;
    this.peek.style.top = `${box.top - frame.top + 18}px`;
  }

  async drawFigures(studies) {
    const study = studies.find(({ name }) => name === this.chosen);
    const { inches } = this.store.settings;
    const mark = study && `${study.name} ${study.done} ${study.failed} ${study.running} ${inches}`;
    if (!study || mark === this.drawn) return;
    const whole = await get(`/studies/${study.name}${inches ? "?inches=yes" : ""}`);
    if (whole.status !== 200 || !whole.rows) return;
    this.drawn = mark;
    const names = [...whole.columns, ...whole.keep];
    const rows = whole.rows.map((row) => shownRow(row, names, inches));
    const [x, each] = whole.columns;
    const words = (key) => this.labelOf(key);
    const hover = (row, near, of) => this.showSection(whole, row, near, of);
    const kept = MEASURES.filter(([y]) => whole.keep.includes(y));
    const draw = hasMap(rows, x, each) ? map : chart;
    const charts = kept.map(([y]) => draw(rows, { x, y, each, title: this.measureOf(y), words, hover }));
    const csv = el("button", { type: "button", onclick: () => saveText(csvOf(whole), "text/csv", `${whole.name}.csv`) }, "Save as CSV");
    const where = el("p", { class: "lead" }, `Kept in ${whole.folder}. "squeeze study" can go on with that folder.`);
    const accuracy = el("p", { class: "study-note" }, whole.accuracy);
    this.figures.replaceChildren(el("h3", {}, whole.title), accuracy, ...charts, this.peek, el("p", { class: "row" }, csv), table(whole.title, names, [...whole.columns.map(words), ...whole.keep.map((name) => this.measureOf(name))], rows), where);
  }
}

/** Fill a choice with its options, grouped by the question that they answer. */
function fillChoices(select, options, former) {
  const mark = JSON.stringify(options.map(({ key, label }) => [key, label]));
  if (select.mark === mark) return;
  select.mark = mark;
  const option = ({ key, label }) => el("option", { value: key }, label);
  const questions = [...new Set(options.map(({ question }) => question).filter(Boolean))];
  const groups = questions.map((question) => el("optgroup", { label: question }, options.filter((each) => each.question === question).map(option)));
  select.replaceChildren(...options.filter(({ question }) => !question).map(option), ...groups);
  if (options.some(({ key }) => key === former)) select.value = former;
}

/** Words that may end in a unit, "Width, mm", with a figure before the unit: "Width 120 mm". */
function withFigure(words, figure) {
  const [, bare, unit] = /^(.*), ([^,\s]+)$/.exec(words) ?? [null, words, ""];
  return `${bare} ${figure} ${unit}`.trim();
}

/** The rows of a study as comma-separated values. */
export function csvOf({ columns, keep, rows }) {
  const names = [...columns, ...keep, "error"];
  const cell = (value) => {
    const text = value === null || value === undefined ? "" : String(value);
    return /[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return `${[names, ...rows.map((row) => names.map((name) => row[name]))].map((row) => row.map(cell).join(",")).join("\n")}\n`;
}

function standing(study) {
  if (study.error) return study.error;
  const left = study.running && study.left_s > 1 ? `, ${plain(study.left_s, 0)} s left` : "";
  const failed = study.failed ? `, ${study.failed} without an answer` : "";
  return `${study.done} of ${study.planned} done${failed}${left}`;
}

/** A row in the units that are shown; `kept` is the row as the study has it. */
function shownRow(row, names, inches) {
  const found = { ...row, kept: row };
  for (const name of names.flatMap((each) => [each, `${ERROR}${each}`])) {
    if (typeof row[name] === "number") found[name] = row[name] / keptPer(unitOf(name), inches);
  }
  return found;
}

function table(title, names, heads, rows) {
  const cell = (value, name) => (typeof value === "number" ? (name.startsWith(ERROR) ? String(Number(value.toPrecision(2))) : plain(value, 3)) : value === true ? "yes" : value === false ? "no" : (value ?? ""));
  const body = rows.map((row) => el("tr", {}, names.map((name) => el("td", {}, String(cell(row[name], name)))), el("td", {}, row.error ?? "")));
  const scroll = el("div", { class: "table-scroll", tabindex: 0, role: "group", "aria-label": `Table of ${title}` }, el("table", { class: "study-table" }, el("thead", {}, el("tr", {}, [...heads, "why not"].map((name) => el("th", { scope: "col" }, name)))), el("tbody", {}, body)));
  return el("details", {}, el("summary", {}, "Table"), scroll);
}
