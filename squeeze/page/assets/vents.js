// Vents as the section shows them: from a cavity straight up to the block's outside.

import { finitePoints } from "./mold.js";

/** The vents of a mold that show in its section: none where the block stands on its start, for they run along it. */
export const risen = (mold) => (mold.resin?.standing ? [] : (mold.vent ?? []).flatMap((vent) => finitePoints([vent?.at_mm]).map(([x, y]) => ({ name: vent.name ?? "vent", x, y }))));

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
