// A small picture of a mold's section: outline, cavities, cuts, as its numbers say.

import { svg } from "./dom.js";
import { corners, finitePoints } from "./mold.js";
import { line, loop } from "./paths.js";

/** An SVG of a mold, `wide` pixels across; bevels and rounds of corners as far as they show. */
export function thumb(mold, label, wide = 132) {
  const outline = corners(mold.block ?? {});
  const x = outline.map((p) => p[0]);
  const y = outline.map((p) => p[1]);
  const [left, right, low, high] = [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)];
  const more = 0.06 * Math.max(right - left, high - low, 1);
  const box = [left - more, -high - more, right - left + 2 * more, high - low + 2 * more];
  const node = svg("svg", { class: "thumb section-thumb", viewBox: box.join(" "), width: wide, height: Math.min(1.2 * wide, (wide * box[3]) / box[2]), role: "img", "aria-label": label });
  node.append(svg("path", { d: loop(outline.flat()), class: "rubber" }));
  for (const filler of mold.filler ?? []) node.append(svg("path", { d: loop(corners(filler).flat()), class: "cradle" }));
  for (const cavity of mold.cavity ?? []) node.append(svg("path", { d: loop(corners(cavity).flat()), class: "hole" }));
  for (const cut of mold.cut ?? []) node.append(svg("path", { d: line(finitePoints(cut.path_mm).flat()), class: "knife" }));
  return node;
}
