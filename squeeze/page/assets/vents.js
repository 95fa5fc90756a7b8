// Vents as the section shows them: from a cavity straight up to the block's outside, or along the block.

import { finitePoints } from "./mold.js";

/**
 * The vents of a mold as its section shows them, with the numbers of the bench sheet: those at one place share their words.
 * Where the block stands on its start they run along it.
 */
export function drawnVents(mold) {
  const along = mold.resin?.standing === true;
  const places = new Map();
  (mold.vent ?? []).forEach((vent, i) => {
    for (const [x, y] of finitePoints([vent?.at_mm])) {
      const key = `${x} ${y}`;
      if (!places.has(key)) places.set(key, { x, y, along, numbers: [] });
      places.get(key).numbers.push(i + 1);
    }
  });
  return [...places.values()].map(({ numbers, ...place }) => ({ ...place, say: named(numbers) }));
}

/** Numbers of vents in a word: v1-3 where they follow each other, else v1, v4. */
function named(numbers) {
  const [first, last] = [numbers[0], numbers.at(-1)];
  if (numbers.length > 2 && last - first === numbers.length - 1) return `v${first}-${last}`;
  return numbers.map((number) => `v${number}`).join(", ");
}

/** How high above (x, y) the outline x0, y0, x1, y1, ... lies; y where it does not. */
export function outside(outline, x, y) {
  let high = y;
  for (let i = 0; i < outline.length; i += 2) {
    const j = (i + 2) % outline.length;
    const [x0, y0, x1, y1] = [outline[i], outline[i + 1], outline[j], outline[j + 1]];
    if (x0 === x1 || (x0 - x) * (x1 - x) > 0) continue;
    high = Math.max(high, y0 + ((x - x0) / (x1 - x0)) * (y1 - y0));
  }
  return high;
}
