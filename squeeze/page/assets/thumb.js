// A small picture of a mold's section: outline, cavities, cuts, as its numbers say.

import { svg } from "./dom.js";
import { corners, finitePoints, halves } from "./mold.js";
import { line, loop } from "./paths.js";

const SIDES = { top: [0, 1], bottom: [0, -1], left: [-1, 0], right: [1, 0] };

/** Cradle pieces that cover one side, as plain boards beside the block: their corners. */
function boardsOf(mold) {
  const [a, b] = halves(mold.block ?? {});
  return (mold.cradle ?? []).filter(({ covers }) => covers in SIDES).map(({ covers, thickness_mm = 18 }) => {
    const [i, j] = SIDES[covers];
    return i ? [[i * a, -b], [i * a, b], [i * (a + thickness_mm), b], [i * (a + thickness_mm), -b]] : [[-a, j * b], [a, j * b], [a, j * (b + thickness_mm)], [-a, j * (b + thickness_mm)]];
  });
}

/** What a thumb of a mold shows, boards and a margin with it: x, y, width, height [mm]. */
function boxOf(mold) {
  const points = [...corners(mold.block ?? {}), ...boardsOf(mold).flat()];
  const [x, y] = [0, 1].map((k) => points.map((p) => p[k]));
  const [left, right, low, high] = [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)];
  const more = 0.06 * Math.max(right - left, high - low, 1);
  return [left - more, -high - more, right - left + 2 * more, high - low + 2 * more];
}

/** How far a thumb of a mold reaches across [mm]. */
export const across = (mold) => boxOf(mold)[2];

/** An SVG of a mold, `wide` pixels across; bevels and rounds of corners as far as they show. */
export function thumb(mold, label, wide = 132) {
  const outline = corners(mold.block ?? {});
  const [boards, box] = [boardsOf(mold), boxOf(mold)];
  const node = svg("svg", { class: "thumb section-thumb", viewBox: box.join(" "), width: wide, height: Math.min(Math.max(1.2 * wide, 180), (wide * box[3]) / box[2]), role: "img", "aria-label": label });
  node.append(svg("path", { d: loop(outline.flat()), class: "rubber" }));
  for (const board of boards) node.append(svg("path", { d: loop(board.flat()), class: "cradle" }));
  for (const filler of mold.filler ?? []) node.append(svg("path", { d: loop(corners(filler).flat()), class: "cradle" }));
  for (const cavity of mold.cavity ?? []) node.append(svg("path", { d: loop(corners(cavity).flat()), class: "hole" }));
  for (const cut of mold.cut ?? []) node.append(svg("path", { d: line(finitePoints(cut.path_mm).flat()), class: "knife" }));
  return node;
}
