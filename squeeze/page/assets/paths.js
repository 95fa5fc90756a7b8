// Paths of SVG from places in mm: rings, ribbons, arrows, stars. Flat lists are x0, y0, x1, y1, ...

export const blend = (a, b, share) => (share ? a.map((v, i) => v + share * (b[i] - v)) : a);
const xy = (flat, k) => `${flat[2 * k].toFixed(3)} ${(-flat[2 * k + 1]).toFixed(3)}`;

export function line(flat) {
  const count = flat.length / 2;
  return Array.from({ length: count }, (_, k) => `${k ? "L" : "M"}${xy(flat, k)}`).join("");
}

export const loop = (flat) => (flat.length ? `${line(flat)}Z` : "");

export function backwards(flat) {
  const out = [];
  for (let k = flat.length - 2; k >= 0; k -= 2) out.push(flat[k], flat[k + 1]);
  return out;
}

/** Runs [first, last] of places that stand open, one more at each end. */
export function openRuns(gap) {
  const runs = [];
  gap.forEach((g, i) => {
    if (!(g > 0)) return;
    const last = runs.at(-1);
    if (last && last[1] >= i) last[1] = Math.min(gap.length - 1, i + 1);
    else runs.push([Math.max(0, i - 1), Math.min(gap.length - 1, i + 1)]);
  });
  return runs;
}

/** In how many parts a stretch is tinted: one, where both its ends have the same level. */
export const partsBetween = (p, q, scale) => (scale.of(p) === scale.of(q) ? 1 : 6);

/** One path a level: closed stretches as a ribbon, wider and darker where it presses harder. */
export function ribbon(flat, pressure, gap, scale, width) {
  const paths = Array.from({ length: scale.count }, () => "");
  for (let i = 0; i + 1 < pressure.length; i += 1) {
    if (gap[i] > 0 || gap[i + 1] > 0) continue;
    const parts = partsBetween(pressure[i], pressure[i + 1], scale);
    const [ax, ay, bx, by] = flat.slice(2 * i, 2 * i + 4);
    const long = Math.hypot(bx - ax, by - ay) || 1;
    const [nx, ny] = [-(by - ay) / long, (bx - ax) / long];
    for (let k = 0; k < parts; k += 1) {
      const [s, t] = [k / parts, (k + 1) / parts];
      const level = scale.of(pressure[i] + ((s + t) / 2) * (pressure[i + 1] - pressure[i]));
      const half = 0.5 * width * (0.4 + (0.6 * level) / (scale.count - 1));
      const [px, py, qx, qy] = [ax + s * (bx - ax), ay + s * (by - ay), ax + t * (bx - ax), ay + t * (by - ay)];
      const ring = [px + half * nx, py + half * ny, qx + half * nx, qy + half * ny, qx - half * nx, qy - half * ny, px - half * nx, py - half * ny];
      paths[level] += loop(ring);
    }
  }
  return paths;
}

/** A place for a land's number beside its middle, clear of what is there already. */
export function freePlace(flat, pixel, taken, box) {
  const room = 12 * pixel;
  const tries = [24, -24, 42, -42, 60, -60, 78, -78].map((away) => labelPlace(flat, away * pixel));
  const inside = ([x, y]) => x > box.x + room && x < box.x + box.width - room && -y > box.y + room && -y < box.y + box.height - room;
  const clear = ([x, y]) => taken.every(([tx, ty]) => Math.hypot(tx - x, ty - y) > 26 * pixel);
  return tries.find((p) => inside(p) && clear(p)) ?? tries.find(clear) ?? tries[0];
}

/** A place so far beside the middle of a line [mm]. */
export function labelPlace(flat, away) {
  const k = 2 * Math.floor(flat.length / 4);
  const j = Math.min(flat.length - 2, k + 2);
  const i = Math.max(0, j - 2);
  const [dx, dy] = [flat[j] - flat[i], flat[j + 1] - flat[i + 1]];
  const long = Math.hypot(dx, dy) || 1;
  return [flat[k] + (dy / long) * away, flat[k + 1] - (dx / long) * away];
}

export function asArrow(push, outline) {
  const x = outline.filter((_, i) => i % 2 === 0);
  const y = outline.filter((_, i) => i % 2 === 1);
  const middle = [(Math.min(...x) + Math.max(...x)) / 2, (Math.min(...y) + Math.max(...y)) / 2];
  const to = [middle[0] - push.x_mm, middle[1] - push.y_mm];
  const long = Math.hypot(...to) || 1;
  const force = push.force_n_per_mm;
  return { x_mm: push.x_mm, y_mm: push.y_mm, fx_n_per_mm: (force * to[0]) / long, fy_n_per_mm: (force * to[1]) / long };
}

export function arrowPath([x, y], [ux, uy], long, off) {
  const head = Math.min(long * 0.55, 0.3 * off + 0.22 * long + 1);
  const [hx, hy] = [x - ux * off, y - uy * off];
  const [bx, by] = [hx - ux * head, hy - uy * head];
  const [tx, ty] = [hx - ux * long, hy - uy * long];
  const wide = head * 0.42;
  const stem = wide * 0.28;
  const ring = [
    hx, hy, bx - uy * wide, by + ux * wide, bx - uy * stem, by + ux * stem, tx - uy * stem, ty + ux * stem,
    tx + uy * stem, ty - ux * stem, bx + uy * stem, by - ux * stem, bx + uy * wide, by - ux * wide,
  ];
  return loop(ring);
}

export function star(x, y, r) {
  const points = Array.from({ length: 10 }, (_, k) => {
    const angle = (k * Math.PI) / 5 - Math.PI / 2;
    const reach = k % 2 ? 0.45 * r : r;
    return `${x + reach * Math.cos(angle)} ${y + reach * Math.sin(angle)}`;
  });
  return `M${points.join("L")}Z`;
}
