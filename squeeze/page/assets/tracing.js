// From points clicked on a photograph to a mold. Photographs count from the top, in pixels.

import { round } from "./mold.js";

const GRID_MM = 0.1;
const NEAR_MM = 4;

export const EMPTY = { scale: { points: [], length_mm: 100 }, outline: { kind: "drawn", points: [] }, cavities: [], cuts: [] };

/** Millimetres to a pixel, or null until two points and their distance are known. */
export function scaleOf({ scale }) {
  const [a, b] = scale.points;
  const far = a && b ? Math.hypot(b[0] - a[0], b[1] - a[1]) : 0;
  return far > 0 && scale.length_mm > 0 ? scale.length_mm / far : null;
}

/** Middle and radius of a circle from two places across. */
export function circleOf([a, b]) {
  return { middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], radius: Math.hypot(b[0] - a[0], b[1] - a[1]) / 2 };
}

export const done = (shape) => shape.points.length >= (shape.kind === "round" ? 2 : 3);

/** Width and height of a shape in pixels. */
export function extent(shape) {
  if (shape.kind === "round") {
    const { middle, radius } = circleOf(shape.points);
    return { low: middle.map((v) => v - radius), high: middle.map((v) => v + radius) };
  }
  const sides = [0, 1].map((k) => shape.points.map((p) => p[k]));
  return { low: sides.map((side) => Math.min(...side)), high: sides.map((side) => Math.max(...side)) };
}

/** What is still missing, in words; empty when the mold can be made. */
export function missing(trace) {
  const needs = [];
  if (scaleOf(trace) === null) needs.push("Set the scale: two points and the length between them.");
  if (!done(trace.outline)) needs.push("Click the outline of the block.");
  if (trace.cuts.every((cut) => cut.points.length < 2)) needs.push("Click at least one cut.");
  return needs;
}

/** The mold that was traced; what a photograph does not tell is taken from `former`. */
export function moldOf(trace, former, title) {
  const mm = scaleOf(trace);
  const { low, high } = extent(trace.outline);
  const middle = [0, 1].map((k) => (low[k] + high[k]) / 2);
  const place = ([x, y]) => [round((x - middle[0]) * mm, GRID_MM), round((middle[1] - y) * mm, GRID_MM)];
  const cavities = trace.cavities.filter(done);
  const loops = [trace.outline, ...cavities].map((shape) => polygon(shape).map(place));
  return {
    title,
    length_mm: former.length_mm ?? 140,
    rubber: former.rubber ?? { shore_a: 20 },
    block: block(trace.outline, place, mm),
    ...(cavities.length && { cavity: cavities.map((cavity, i) => cavityOf(cavity, i, place, mm)) }),
    cut: trace.cuts.filter((cut) => cut.points.length > 1).map((cut, i) => ({ name: `cut ${i + 1}`, path_mm: carried(cut.points.map(place), loops) })),
    band: former.band ?? [{ stock: "64", count: 8 }],
  };
}

function block(outline, place, mm) {
  if (outline.kind === "round") return { shape: "round", diameter_mm: round(2 * circleOf(outline.points).radius * mm, GRID_MM) };
  return { shape: "drawn", points_mm: outline.points.map(place) };
}

function cavityOf(cavity, i, place, mm) {
  const name = `cavity ${i + 1}`;
  if (cavity.kind === "round") {
    const { middle, radius } = circleOf(cavity.points);
    return { name, shape: "round", diameter_mm: round(2 * radius * mm, GRID_MM), centre_mm: place(middle) };
  }
  const points = cavity.points.map(place);
  const centre = [0, 1].map((k) => round(points.reduce((sum, p) => sum + p[k], 0) / points.length, GRID_MM));
  const points_mm = points.map(([x, y]) => [round(x - centre[0], GRID_MM), round(y - centre[1], GRID_MM)]);
  return { name, shape: "drawn", points_mm, centre_mm: centre };
}

function polygon(shape) {
  if (shape.kind !== "round") return shape.points;
  const { middle, radius } = circleOf(shape.points);
  return Array.from({ length: 72 }, (_, k) => {
    const angle = (k * Math.PI) / 36;
    return [middle[0] + radius * Math.cos(angle), middle[1] + radius * Math.sin(angle)];
  });
}

/** A click beside an edge is meant to be on it: ends near an edge are carried over it. */
function carried(points, loops) {
  const end = (p, before) => {
    if (!loops.some((loop) => distance(p, loop) < NEAR_MM)) return p;
    const long = Math.hypot(p[0] - before[0], p[1] - before[1]) || 1;
    return p.map((v, k) => round(v + ((v - before[k]) / long) * (NEAR_MM + 1), GRID_MM));
  };
  const moved = [...points];
  moved[0] = end(points[0], points[1]);
  moved[moved.length - 1] = end(points.at(-1), points.at(-2));
  return moved;
}

function distance(p, loop) {
  return Math.min(...loop.map((a, i) => toSegment(p, a, loop[(i + 1) % loop.length])));
}

function toSegment(p, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const share = Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(p[0] - a[0] - share * dx, p[1] - a[1] - share * dy);
}
