// Number fields, sliders, choices: each tied to one key of the mold file.

import { el, guarded, keyed, say, set } from "./dom.js";
import { entryFault, forgetDraft, markEntry, updateEntry, wireEntry } from "./entry.js";
import { at, keyOf, put } from "./mold.js";
import { keptPer, shown, unitName } from "./units.js";

/**
 * Draw groups of fields.
 * @param {Element} parent
 * @param {Array} groups  [{id, title, open, fields: [...]}]
 * @param {object} page  {mold, inches, limits, faults, change(mold, tag), opened: Map, held: a hand is moving something, hold(on)}
 */
export function drawGroups(parent, groups, page) {
  keyed(parent, groups, (group) => group.id, (group) => makeGroup(group, page), (node, group) => {
    say(node.querySelector(".group-title"), group.title);
    const note = node.querySelector(".group-note");
    say(note, group.note ?? "");
    if (page.held && !node.open && !page.faults.length) return; // they are drawn when the hand rests
    drawFields(node.querySelector(".fields"), group, page);
  });
}

function makeGroup(group, page) {
  const open = page.opened.get(group.id) ?? group.open ?? false;
  const summary = el("summary", {}, el("span", { class: "group-title" }), el("span", { class: "group-note" }));
  const node = el("details", { class: "group", open }, summary, el("div", { class: "fields" }));
  node.addEventListener("toggle", () => page.opened.set(group.id, node.open));
  return node;
}

/** Draw each field by itself: one that fails is reported, and the others are drawn all the same. */
function drawFields(parent, { title, fields }, page) {
  keyed(parent, fields, (field) => field.id, (field) => KINDS[field.kind].make(field, page), (node, field) => {
    node.field = field;
    node.place = title;
    guarded(() => KINDS[field.kind].update(node, field, page));
  });
}

const KINDS = {
  number: { make: makeNumber, update: updateNumber },
  text: { make: makeText, update: updateText },
  choice: { make: makeChoice, update: updateChoice },
  check: { make: makeCheck, update: updateCheck },
  button: { make: makeButton, update: updateButton },
  head: { make: makeHead, update: updateHead },
  note: { make: () => el("p", { class: "field-note" }), update: (node, field, page) => say(node, (page.inches && field.inches) || field.text) },
  points: { make: makePoints, update: updatePoints },
};

const idOf = (field) => `field-${field.id.replace(/[^A-Za-z0-9]+/g, "-")}`;

function makeNumber(field, page) {
  const id = idOf(field);
  const input = el("input", { id, type: "text", class: "figure", inputmode: "decimal", autocomplete: "off", spellcheck: "false" });
  const slider = field.slider ? el("input", { type: "range", id: `${id}-slider`, "aria-label": `${field.label}, slider` }) : null;
  const label = el("label", { for: id });
  const fault = el("p", { class: "fault", id: `${id}-fault` });
  const node = el("div", { class: "field number" }, label, el("div", { class: "entry" }, input, el("span", { class: "unit" })), slider, fault);
  node.field = field;
  wireEntry(input, {
    now: () => ({ value: valueOf(page, node.field), unit: node.field.unit, inches: page.inches, needed: isNeeded(node.field) }),
    put: (value, turn) => set_(page, node.field, value, turn),
    changed: () => updateNumber(node, node.field, page),
  });
  input.addEventListener("keydown", (event) => stepped(event, node, page));
  slider?.addEventListener("input", () => slid(node, page, Number(slider.value)));
  slider?.addEventListener("pointerdown", () => heldUntilUp(page));
  return node;
}

/** A field may be left empty where the file may do without its key. */
const isNeeded = (field) => field.otherwise === undefined && !field.optional;

function makeText(field, page) {
  const id = idOf(field);
  const input = el("input", { id, type: "text", class: "words", autocomplete: "off", spellcheck: "false" });
  const node = el("div", { class: "field text" }, el("label", { for: id }), el("div", { class: "entry" }, input), el("p", { class: "fault", id: `${id}-fault` }));
  input.addEventListener("focus", () => (node.turn = Date.now()));
  input.addEventListener("input", () => set_(page, node.field, input.value || undefined, node.turn));
  input.addEventListener("blur", () => updateText(node, node.field, page));
  return node;
}

function updateText(node, field, page) {
  const input = node.querySelector("input");
  say(node.firstElementChild, field.label);
  const text = String(valueOf(page, field) ?? "");
  if (input.value !== text) input.value = text;
  showFault(node, input, field, page);
}

/** A pointer holds a slider until it comes up, wherever that is. */
function heldUntilUp(page) {
  const up = new AbortController();
  const end = () => {
    up.abort();
    page.hold(false);
  };
  for (const type of ["pointerup", "pointercancel", "blur"]) addEventListener(type, end, { signal: up.signal });
  page.hold(true);
}

function slid(node, page, value) {
  forgetDraft(node.querySelector("input"));
  set_(page, node.field, keptPer(node.field.unit, page.inches) === 1 ? value : Number(value.toFixed(4)));
}

function stepped(event, node, page) {
  const arrow = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!arrow) return;
  event.preventDefault();
  const { field } = node;
  const scale = keptPer(field.unit, page.inches) / (field.unit === "mm" && page.inches ? 10 : 1);
  const step = (field.step ?? 1) * scale * (event.shiftKey ? 10 : 1);
  const limit = page.limits[field.limit] ?? { least: -Infinity, most: Infinity };
  const now = Number(valueOf(page, field) ?? field.otherwise ?? 0) || 0;
  forgetDraft(node.querySelector("input"));
  set_(page, field, Number(Math.min(limit.most, Math.max(limit.least, now + arrow * step)).toFixed(6)));
}

/** Change what a field stands for; what is typed without leaving it is one step to undo. */
function set_(page, field, value, turn = "") {
  const mold = field.set ? field.set(page.mold, value) : put(page.mold, field.path, value);
  page.change(mold, `field ${field.id} ${turn}`);
}

const valueOf = (page, field) => (field.get ? field.get(page.mold) : at(page.mold, field.path));

function updateNumber(node, field, page) {
  const [label, entry] = node.children;
  const [input, unit] = entry.children;
  say(label, field.label);
  say(unit, unitName(field.unit ?? "", page.inches));
  updateEntry(input);
  set(input, { placeholder: field.otherwise !== undefined ? shown(field.otherwise, field.unit, page.inches) : null });
  if (field.slider) updateSlider(node.children[2], field, valueOf(page, field));
  showFault(node, input, field, page, entryFault(input));
}

function updateSlider(slider, field, value) {
  const { least, most, step } = field.slider;
  const now = typeof value === "number" ? value : (field.otherwise ?? least);
  set(slider, { min: least, max: Math.max(most, typeof now === "number" ? now : most), step });
  if (Number(slider.value) !== now) slider.value = now;
}

/** Tell at a field what the check says of its keys, or why what is typed in it is not used. */
function showFault(node, input, field, page, own = "") {
  const keys = field.keys ?? [field.key ?? (field.path && keyOf(page.mold, field.path))];
  const said = page.faults.filter((fault) => keys.includes(fault.key));
  const fault = node.querySelector(".fault");
  for (const each of said) Object.assign(each, { placed: input.id, label: `${node.place}, ${field.label}` });
  say(fault, own || [...new Set(said.map((each) => each.text))].join("; "));
  markEntry(input, own || said.length > 0, fault);
}

function makeChoice(field, page) {
  const id = idOf(field);
  const input = el("select", { id });
  input.addEventListener("change", () => set_(page, node.field, input.value));
  const node = el("div", { class: "field choice" }, el("label", { for: id }), el("div", { class: "entry" }, input), el("p", { class: "fault", id: `${id}-fault` }));
  return node;
}

function updateChoice(node, field, page) {
  const input = node.querySelector("select");
  say(node.firstElementChild, field.label);
  keyed(input, field.choices, (choice) => String(choice[0]), () => el("option"), (option, [value, text]) => {
    set(option, { value });
    say(option, text);
  });
  const value = String(valueOf(page, field) ?? field.otherwise ?? "");
  if (input.value !== value) input.value = value;
  showFault(node, input, field, page);
}

function makeCheck(field, page) {
  const input = el("input", { type: "checkbox", id: idOf(field) });
  input.addEventListener("change", () => set_(page, node.field, input.checked));
  const node = el("div", { class: "field check" }, el("label", {}, input, el("span")), el("p", { class: "fault", id: `${idOf(field)}-fault` }));
  return node;
}

function updateCheck(node, field, page) {
  const input = node.querySelector("input");
  say(node.querySelector("span"), field.label);
  input.checked = Boolean(valueOf(page, field) ?? field.otherwise);
  showFault(node, input, field, page);
}

function makeButton(field, page) {
  const node = el("button", { type: "button", class: `small ${field.look ?? ""}` });
  node.addEventListener("click", () => page.change(node.field.press(page.mold), `press ${node.field.id} ${Date.now()}`));
  return node;
}

function updateButton(node, field) {
  say(node, field.label);
  set(node, { "aria-label": field.spoken ?? null });
}

function makeHead() {
  return el("div", { class: "head" }, el("h3"), el("p", { class: "fault" }));
}

function updateHead(node, field, page) {
  say(node.firstElementChild, field.text);
  const key = keyOf(page.mold, field.path);
  const said = page.faults.filter((fault) => fault.key === key);
  for (const fault of said) Object.assign(fault, { placed: idOf(field), label: `${node.place}, ${field.text}` });
  set(node, { id: idOf(field), tabindex: said.length ? -1 : null });
  say(node.lastElementChild, said.map((each) => each.text).join("; "));
}

function makePoints(field, page) {
  const list = el("ol", { class: "points" });
  const more = el("button", { type: "button", class: "small" }, "Add a point");
  const fault = el("p", { class: "fault", id: `${idOf(field)}-fault` });
  const node = el("div", { class: "field points-field", role: "group" }, el("p", { class: "points-name" }), list, more, fault);
  more.addEventListener("click", () => {
    const points = at(page.mold, node.field.path);
    page.change(put(page.mold, node.field.path, withMiddle(points, node.field.closed)), `point ${Date.now()}`);
  });
  return node;
}

/** A point more, in the middle of the longest stretch. */
function withMiddle(points, closed) {
  const pairs = points.map((p, i) => [p, points[(i + 1) % points.length], i]).slice(0, closed ? undefined : -1);
  const long = ([p, q]) => Math.hypot(q[0] - p[0], q[1] - p[1]);
  const [p, q, i] = pairs.reduce((most, pair) => (long(pair) > long(most) ? pair : most));
  const middle = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2].map((v) => Number(v.toFixed(3)));
  return [...points.slice(0, i + 1), middle, ...points.slice(i + 1)];
}

function updatePoints(node, field, page) {
  set(node, { "aria-label": field.label, id: idOf(field), tabindex: -1 });
  say(node.firstElementChild, `${field.label} (x to the right, y upwards, ${page.inches ? "in" : "mm"})`);
  const points = at(page.mold, field.path) ?? [];
  const rows = points.length <= 60 ? points : points.slice(0, 60);
  keyed(node.children[1], rows, (_, i) => `p${i}`, (_, i) => makePoint(node, i, page), (row, _, i) => updatePoint(row, i, node.field, page));
  const drafts = [...node.querySelectorAll("input")].map((input) => [input.getAttribute("aria-label"), entryFault(input)]);
  const own = drafts.filter(([, fault]) => fault).map(([name, fault]) => `${name}: ${fault}`).join("; ");
  showFault(node, node, field, page, own);
}

function makePoint(node, index, page) {
  const inputs = ["x", "y"].map((axis, k) => {
    const input = el("input", { type: "text", class: "figure", inputmode: "decimal", autocomplete: "off", "aria-label": `${axis} of point ${index + 1}` });
    const path = () => [...node.field.path, index, k];
    wireEntry(input, {
      now: () => ({ value: at(page.mold, path()), unit: "mm", inches: page.inches, needed: true }),
      put: (value, turn) => page.change(put(page.mold, path(), value), `field ${path().join(" ")} ${turn}`),
      changed: () => updatePoints(node, node.field, page),
    });
    return input;
  });
  const gone = el("button", { type: "button", class: "small", "aria-label": `Take point ${index + 1} away` }, "✕");
  gone.addEventListener("click", () => {
    const points = at(page.mold, node.field.path).filter((_, i) => i !== index);
    page.change(put(page.mold, node.field.path, points), `point ${Date.now()}`);
  });
  return el("li", {}, ...inputs, gone);
}

function updatePoint(row, index, field, page) {
  for (const input of [...row.children].slice(0, 2)) {
    updateEntry(input);
    set(input, { "aria-invalid": entryFault(input) ? "true" : null });
  }
  row.children[2].disabled = at(page.mold, field.path).length <= field.least;
}
