// A figure of a study: one measure over what was varied first, a line for each value of the second.

import { el, svg } from "./dom.js";
import { isDark, levels } from "./tint.js";
import { plain } from "./units.js";

const [WIDE, HIGH] = [430, 270];
const FRAME = { left: 52, right: 62, top: 14, bottom: 46 };
const DASHES = ["", "8 4", "2 4", "10 4 2 4", "5 3", "1 3"];

/**
 * Draw a figure.
 * @param {Array} rows  of the study
 * @param {object} what  {x, y, each, title, unit}
 */
export function chart(rows, { x, y, each, title, words, hover }) {
  const good = rows.filter((row) => row.state === "done" && typeof row[y] === "number");
  const node = svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "chart", role: "img", "aria-label": `${title}. ${spoken(good, x, y, each)}` });
  if (!good.length) return el("figure", {}, el("figcaption", {}, title), el("p", {}, "Nothing is computed yet."));
  const across = scaleX(rows.map((row) => row[x]));
  const values = good.map((row) => row[y]);
  const up = scaleY(Math.min(0, ...values), Math.max(...values, 0) || 1);
  node.append(...axes(across, up, words(x)));
  const ends = [];
  groups(good, each).forEach(([name, members], i) => node.append(...line(members, { x, y, name, ends, hover }, across, up, i)));
  node.append(...missing(rows, x, across, hover));
  node.append(...ends.map(({ at, names }) => svg("text", { x: at[0] + 9, y: at[1] + 4, class: "tick" }, names.join(", "))));
  return el("figure", { class: "chart-figure" }, el("figcaption", {}, title), each ? el("p", { class: "study-note" }, `Lines: ${words(each)}`) : null, good.some((row) => typeof row[`error.${y}`] === "number") ? el("p", { class: "study-note" }, "Bars: error of the mesh") : null, node);
}

function groups(rows, each) {
  const found = new Map();
  for (const row of rows) {
    const name = each ? row[each] : "";
    found.set(name, [...(found.get(name) ?? []), row]);
  }
  return [...found];
}

function scaleX(values) {
  const distinct = [...new Set(values)];
  const room = WIDE - FRAME.left - FRAME.right;
  if (distinct.every((v) => typeof v === "number")) {
    const [low, high] = [Math.min(...distinct), Math.max(...distinct)];
    return { ticks: thinned(distinct.sort((a, b) => a - b)), at: (v) => FRAME.left + (room * (v - low)) / (high - low || 1) };
  }
  return { ticks: distinct, at: (v) => FRAME.left + (room * (distinct.indexOf(v) + 0.5)) / distinct.length };
}

const thinned = (list) => list.filter((_, i) => i % Math.ceil(list.length / 9) === 0);

function scaleY(low, high) {
  const power = 10 ** Math.floor(Math.log10((high - low) / 4));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= (high - low) / 5);
  const top = Math.ceil(high / step - 1e-9) * step;
  const room = HIGH - FRAME.top - FRAME.bottom;
  const ticks = Array.from({ length: Math.round((top - low) / step) + 1 }, (_, i) => low + i * step);
  return { ticks, at: (v) => HIGH - FRAME.bottom - (room * (v - low)) / (top - low) };
}

function axes(across, up, x) {
  const floor = HIGH - FRAME.bottom;
  const right = WIDE - FRAME.right;
  return [
    ...up.ticks.flatMap((v) => [
      svg("path", { d: `M${FRAME.left} ${up.at(v)}H${right}`, class: "grid" }),
      svg("text", { x: FRAME.left - 8, y: up.at(v) + 4, class: "tick right" }, plain(v, 4)),
    ]),
    ...across.ticks.map((v) => svg("text", { x: across.at(v), y: floor + 18, class: "tick middle" }, typeof v === "number" ? plain(v, 3) : String(v))),
    svg("text", { x: (FRAME.left + right) / 2, y: floor + 38, class: "tick middle" }, x),
    svg("path", { d: `M${FRAME.left} ${floor}H${right}`, class: "axis" }),
  ];
}

/** Cases without an answer: a cross at their place on the floor, with the reason on hovering. */
function missing(rows, x, across, hover) {
  const floor = HIGH - FRAME.bottom;
  return rows.filter((row) => row.error).map((row) => {
    const px = across.at(row[x]);
    const cross = svg("path", { d: `M${px - 5} ${floor - 11}l10 10m0 -10l-10 10`, class: "chart-missing" }, svg("title", {}, `No answer: ${row.error}`));
    return watched(cross, row, hover);
  });
}

function watched(node, row, hover, y) {
  if (!hover) return node;
  node.addEventListener("pointerenter", () => hover(row, node, y));
  node.addEventListener("pointerleave", () => hover(null, node));
  return node;
}

/** Whether a study of two numbers has values enough for a map. */
export function hasMap(rows, x, each) {
  if (!each) return false;
  return [x, each].every((key) => {
    const values = new Set(rows.map((row) => row[key]));
    return values.size >= 4 && [...values].every((value) => typeof value === "number");
  });
}

/** A map of one measure over two numbers: darker is more; crosses where there is no answer. */
export function map(rows, { x, y, each, title, words, hover }) {
  const good = rows.filter((row) => row.state === "done" && typeof row[y] === "number");
  const node = svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "chart", role: "img", "aria-label": `${title}. ${spoken(good, x, y, each)}` });
  if (!good.length) return el("figure", {}, el("figcaption", {}, title), el("p", {}, "Nothing is computed yet."));
  const sorted = (key) => [...new Set(rows.map((row) => row[key]))].sort((a, b) => a - b);
  const [across, up] = [sorted(x), sorted(each)];
  const [wide, high] = [(WIDE - FRAME.left - FRAME.right) / across.length, (HIGH - FRAME.top - FRAME.bottom) / up.length];
  const scale = levels(Math.max(...good.map((row) => row[y]), 1e-6));
  const place = (row) => [FRAME.left + across.indexOf(row[x]) * wide, HIGH - FRAME.bottom - (up.indexOf(row[each]) + 1) * high];
  for (const row of rows) {
    const [left, top] = place(row);
    const value = typeof row[y] === "number" && row.state === "done" ? row[y] : null;
    const cell = value === null ? svg("path", { d: `M${left + wide / 2 - 4} ${top + high / 2 - 4}l8 8m0 -8l-8 8`, class: "chart-missing" }) : svg("rect", { x: left, y: top, width: wide, height: high, fill: scale.colours[scale.of(value)], class: "map-cell" });
    cell.append(svg("title", {}, value === null ? (row.error ?? "not computed yet") : plain(value, 3)));
    node.append(watched(cell, row, hover, y));
    if (value !== null && wide >= 32 && high >= 16) node.append(figureIn(left + wide / 2, top + high / 2, value, scale));
  }
  const floor = HIGH - FRAME.bottom;
  node.append(
    ...thinned(across).map((v) => svg("text", { x: FRAME.left + (across.indexOf(v) + 0.5) * wide, y: floor + 18, class: "tick middle" }, plain(v, 2))),
    ...thinned(up).map((v) => svg("text", { x: FRAME.left - 8, y: floor - (up.indexOf(v) + 0.5) * high + 4, class: "tick right" }, plain(v, 2))),
    svg("text", { x: FRAME.left + (across.length * wide) / 2, y: floor + 38, class: "tick middle" }, words(x)),
    ...scale.colours.flatMap((colour, k) => {
      const top = floor - ((k + 1) * (floor - FRAME.top)) / scale.count;
      return [svg("rect", { x: WIDE - FRAME.right + 10, y: top, width: 12, height: (floor - FRAME.top) / scale.count, fill: colour, class: "map-cell" }), svg("text", { x: WIDE - FRAME.right + 26, y: top + 10, class: "tick" }, plain(k * scale.step, 3))];
    }),
  );
  return el("figure", { class: "chart-figure" }, el("figcaption", {}, title), el("p", { class: "study-note" }, `Upwards: ${words(each)}. The colours begin at the figures beside them.`), node);
}

/** The figure in a field of a map: light on dark fields, dark on light ones. */
function figureIn(x, y, value, scale) {
  const level = scale.of(value);
  const text = Math.abs(value) < (scale.step * scale.count) / 1000 ? "0" : String(Number(value.toPrecision(2)));
  const onDark = isDark() ? level < scale.count / 2 : level >= scale.count / 2;
  return svg("text", { x, y: y + 4, class: onDark ? "map-figure on-dark" : "map-figure on-light" }, text);
}

function line(rows, { x, y, name, ends, hover }, across, up, i) {
  const points = [...rows].sort((a, b) => across.at(a[x]) - across.at(b[x])).map((row) => [across.at(row[x]), up.at(row[y]), row]);
  const d = points.map((p, k) => `${k ? "L" : "M"}${p[0].toFixed(1)} ${p[1].toFixed(1)}`).join("");
  if (name !== "") noteEnd(ends, points.at(-1), typeof name === "number" ? plain(name, 3) : String(name));
  return [
    svg("path", { d, class: "chart-line", "stroke-dasharray": DASHES[i % DASHES.length] }),
    ...points.flatMap(([px, , row]) => errorBar(px, row, y, up)),
    ...points.map(([px, py, row]) => watched(svg("circle", { cx: px, cy: py, r: 3.6, class: i % 2 ? "chart-dot hollow" : "chart-dot" }), row, hover, y)),
  ];
}

/** A bar as long as the error of a figure to either side, where the study has errors. */
function errorBar(px, row, y, up) {
  const off = row[`error.${y}`];
  if (typeof off !== "number") return [];
  const [top, foot] = [up.at(row[y] + off), up.at(row[y] - off)];
  return [svg("path", { d: `M${px} ${top.toFixed(1)}V${foot.toFixed(1)}M${px - 4} ${top.toFixed(1)}h8M${px - 4} ${foot.toFixed(1)}h8`, class: "chart-error" })];
}

/** Names of lines that end at the same place share one label. */
function noteEnd(ends, at, name) {
  const near = ends.find((end) => Math.abs(end.at[1] - at[1]) < 13 && Math.abs(end.at[0] - at[0]) < 30);
  if (near) near.names.push(name);
  else ends.push({ at, names: [name] });
}

function spoken(rows, x, y, each) {
  return rows.slice(0, 40).map((row) => `${each ? `${each} ${row[each]}, ` : ""}${x} ${row[x]}: ${plain(row[y], 3)}`).join("; ");
}
