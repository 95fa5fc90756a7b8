// The mold as a plain object with the keys of the mold file. Functions return a changed copy.

/** Value at a path such as ["cut", 0, "path_mm", 1], or undefined. */
export function at(mold, path) {
  return path.reduce((part, step) => (part === null || part === undefined ? undefined : part[step]), mold);
}

/** Copy with the value at a path put in; undefined takes the key away. */
export function put(mold, path, value) {
  if (path.length === 0) return value;
  const [step, ...rest] = path;
  const copy = Array.isArray(mold) ? [...mold] : { ...(mold ?? {}) };
  const inner = rest.length ? put(copy[step], rest, value) : value;
  if (inner === undefined && !Array.isArray(copy)) delete copy[step];
  else copy[step] = inner;
  return copy;
}

/** Copy without the entry of a list. */
export function without(mold, path, index) {
  const list = at(mold, path).filter((_, i) => i !== index);
  return put(mold, path, list.length ? list : undefined);
}

/** Copy with an entry added to a list. */
export function withMore(mold, path, entry, index = undefined) {
  const list = [...(at(mold, path) ?? [])];
  list.splice(index ?? list.length, 0, entry);
  return put(mold, path, list);
}

/** Key of a path as the command line writes it: ["cut", 0, "path_mm"] is "cut.across.path_mm". */
export function keyOf(mold, path) {
  let part = mold;
  const steps = [];
  for (const step of path) {
    part = part?.[step];
    const named = typeof step === "number" ? (part?.name ?? String(step + 1)) : step;
    steps.push(String(named).replace(/[^ -~\u00a0-\uffff]/g, "?").slice(0, 60));
  }
  return steps.join(".");
}

/** Copy with the value of a key such as "cut.across.friction", or "cradle.*.rise_mm" for all. */
export function withKey(mold, key, value) {
  const [step, ...rest] = key.split(".");
  if (!rest.length) return { ...mold, [step]: value };
  const inner = mold?.[step];
  if (!Array.isArray(inner)) return { ...mold, [step]: withKey(inner ?? {}, rest.join("."), value) };
  const named = inner.findIndex((entry, i) => entry.name === rest[0] || (!entry.name && String(i + 1) === rest[0]));
  const all = rest[0] === "*" || named < 0;
  const left = (rest[0] === "*" || named >= 0 ? rest.slice(1) : rest).join(".");
  return { ...mold, [step]: inner.map((entry, i) => (all || i === named ? withKey(entry, left, value) : entry)) };
}

/** What an entry of a list is called: by its name, or by its number where it has none. */
export const nameOf = (entry, kind, index) => entry?.name || `${kind} ${index + 1}`;

/** A name such as "cut 3" that no entry of the list has yet. */
export function freshName(list, kind) {
  const taken = new Set((list ?? []).map((entry) => entry.name));
  let number = (list ?? []).length + 1;
  while (taken.has(`${kind} ${number}`)) number += 1;
  return `${kind} ${number}`;
}

export const number = (value, otherwise = 0) => (Number.isFinite(value) ? value : otherwise);
export const round = (value, step = 0.01) => Number((Math.round(value / step) * step).toFixed(6));

let outlines = {};

/** Take over what the server knows of each shape: its form, and its corners where it has some. */
export const learnOutlines = (known) => { outlines = known; };

const outlineOf = (shape) => outlines[shape.shape ?? "drawn"] ?? { form: "points", corners: [] };

/** Half width and half height of a block or cavity, as far as its numbers tell. */
export function halves(shape) {
  if (shape.diameter_mm !== undefined) return [number(shape.diameter_mm) / 2, number(shape.diameter_mm) / 2];
  if (shape.points_mm !== undefined) {
    const sides = [0, 1].map((k) => shape.points_mm.map((p) => Math.abs(number(p?.[k]))));
    return sides.map((side) => Math.max(...side, 1));
  }
  const width = number(shape.width_mm);
  return [width / 2, number(shape.height_mm, width) / 2];
}

/** Corners of a shape's outline with its bevels, without rounding; many points for curves. */
export function corners(shape) {
  const [cx, cy] = shape.centre_mm ?? [0, 0];
  const [a, b] = halves(shape);
  const kind = outlineOf(shape);
  if (kind.form === "ellipse") {
    return Array.from({ length: 48 }, (_, k) => {
      const angle = (k * Math.PI) / 24;
      return [cx + a * Math.cos(angle), cy + b * Math.sin(angle)];
    });
  }
  const plain = kind.form === "points" ? finitePoints(shape.points_mm) : kind.corners.map(([x, y]) => [x * a, y * b]);
  return beveled(plain, number(shape.bevel_mm)).map(([x, y]) => [cx + x, cy + y]);
}

/** Those of a list of points that are two finite numbers. */
export const finitePoints = (points) => (points ?? []).filter((p) => p?.length === 2 && p.every(Number.isFinite));

function beveled(points, leg) {
  if (!(leg > 0) || points.length < 3) return points;
  return points.flatMap((p, i) => {
    const before = points[(i + points.length - 1) % points.length];
    const after = points[(i + 1) % points.length];
    return [towards(p, before, leg), towards(p, after, leg)];
  });
}

function towards(p, q, mm) {
  const length = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
  const share = Math.min(0.5, mm / length);
  return [p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])];
}

/** The shape with another outline, its size kept; `figures` are the keys that the new one takes. */
export function reshaped(shape, kind, figures) {
  const [a, b] = halves(shape);
  const { diameter_mm, width_mm, height_mm, points_mm, bevel_mm, round_mm, ...rest } = shape;
  const wide = figures.includes("height_mm") ? a : Math.max(a, b);
  const fresh = { diameter_mm: round(2 * Math.max(a, b)), width_mm: round(2 * wide), height_mm: round(2 * b) };
  // Corners that become points have their bevels in the points already.
  const corners = kind === "drawn" && shape.shape !== "drawn" ? {} : { bevel_mm, round_mm };
  const found = figures.map((key) => [key, key === "points_mm" ? drawnPoints(shape) : key in fresh ? fresh[key] : corners[key]]);
  return { ...rest, shape: kind, ...Object.fromEntries(found.filter(([, value]) => value !== undefined)) };
}

function drawnPoints(shape) {
  if (shape.points_mm) return shape.points_mm;
  const all = corners({ ...shape, centre_mm: undefined });
  const step = all.length > 16 ? 3 : 1;
  return all.filter((_, i) => i % step === 0).map(([x, y]) => [round(x, 0.1), round(y, 0.1)]);
}

/** Everything that can be dragged: where it is, what it is, and what the mold is when it is moved. */
export function handlesOf(mold) {
  return [...blockHandles(mold), ...cavityHandles(mold), ...cutHandles(mold), ...pushHandles(mold)];
}

function blockHandles(mold) {
  const block = mold.block ?? {};
  const [a, b] = halves(block);
  const size = (key, move) => ({ key, move: (x, y) => put(mold, ["block", key], move(x, y)) });
  if (block.shape === "drawn" || block.points_mm) return pointHandles(mold, ["block", "points_mm"], "Outline", 3);
  const reach = Math.max(1, ...outlineOf(block).corners.map(([x]) => x)); // a hexagon's corners stand out over its width
  const curved = outlineOf(block).form === "ellipse";
  const wide = block.diameter_mm !== undefined ? size("diameter_mm", (x, y) => round(2 * Math.hypot(x, y))) : size("width_mm", (x, y) => round((2 * Math.abs(x)) / reach / (curved ? Math.sqrt(Math.max(0.1, 1 - (y / b) ** 2)) : 1)));
  const seat = freeSeat(mold, block, a * reach, b);
  const found = [{ id: "block width", kind: "side", label: "Width of the block", ...seat, ...wide }];
  if (block.height_mm !== undefined) {
    const high = size("height_mm", (x, y) => round(2 * Math.abs(y)));
    found.push({ id: "block height", kind: "side", label: "Height of the block", x: 0, y: -b, ...high });
  }
  if (block.shape === "square" || block.shape === "rectangle") {
    const leg = number(block.bevel_mm);
    const bevel = size("bevel_mm", (x, y) => Math.max(0, round(a + b - Math.abs(x) - Math.abs(y))));
    const seats = [[1, 1], [1, -1], [-1, 1], [-1, -1]].map(([x, y]) => ({ x: x * (a - leg / 2), y: y * (b - leg / 2) }));
    found.push({ id: "block bevel", kind: "bevel", label: "Bevel of the corners", ...freeOf(seats, mold, a, b), ...bevel });
  }
  return found;
}

/** A place on the right side of the block where no other handle lies. */
function freeSeat(mold, block, a, b) {
  const curved = outlineOf(block).form === "ellipse";
  const seats = [0, -0.35, 0.35, -0.55, 0.55, -0.18, 0.18].map((share) => ({ x: curved ? a * Math.sqrt(1 - share ** 2) : a, y: share * b }));
  return freeOf(seats, mold, a, b);
}

/** The first of some places that no handle of a cut or a push lies near; the first of all where none is free. */
function freeOf(seats, mold, a, b) {
  const others = [...cutHandles(mold), ...pushHandles(mold)];
  const room = 0.14 * Math.max(a, b);
  return seats.find((seat) => others.every((other) => Math.hypot(other.x - seat.x, other.y - seat.y) > room)) ?? seats[0];
}

/**
 * The mold with the ends of its cuts still on the outline, where they lay on it before the block
 * was made larger or smaller, or its corners were cut off: an end goes with the sides, and then
 * along its cut to the edge. What changed its cuts as well is left as it is.
 */
export function withCutsFollowing(before, after) {
  if (before.block === after.block || before.cut !== after.cut || !after.cut) return after;
  const [was, now] = [before.block ?? {}, after.block ?? {}];
  if (was.shape !== now.shape || was.points_mm || now.points_mm) return after;
  const [old, fresh] = [halves(was), halves(now)];
  if (![...old, ...fresh].every((half) => half > 0)) return after;
  const whole = corners({ ...was, bevel_mm: 0 });
  const [edge, next] = [corners(was), corners(now)];
  if (JSON.stringify(edge) === JSON.stringify(next)) return after;
  const moved = (p, inner) => {
    const grown = p.map((v, k) => (old[k] === fresh[k] ? v : round((v * fresh[k]) / old[k])));
    const off = fromRing(grown, next) > ON_OUTLINE && fromRing(p, edge) < ON_OUTLINE;
    return off ? onRing(grown, p.map((v, k) => inner[k] - v), next) : grown;
  };
  const followed = (path) => path.map((p, i) => {
    const inner = i === 0 ? path[1] : i === path.length - 1 ? path[i - 1] : undefined;
    const lay = isPlace(p) && isPlace(inner) && Math.min(fromRing(p, whole), fromRing(p, edge)) < ON_OUTLINE;
    return lay ? moved(p, inner) : p;
  });
  return { ...after, cut: after.cut.map((each) => ({ ...each, path_mm: followed(each.path_mm ?? []) })) };
}

const isPlace = (p) => Array.isArray(p) && p.every(Number.isFinite);

/** Distance of a place from a ring of corners. */
const fromRing = (p, ring) => Math.min(...ring.map((q, i) => fromStretch(p, q, ring[(i + 1) % ring.length])));

/** The place of a ring that is nearest to `p` along a direction; `p` where the ring is not met. */
function onRing(p, along, ring) {
  const cross = (u, v) => u[0] * v[1] - u[1] * v[0];
  const shares = ring.flatMap((q, i) => {
    const [next, from] = [ring[(i + 1) % ring.length], [q[0] - p[0], q[1] - p[1]]];
    const side = [next[0] - q[0], next[1] - q[1]];
    const turn = cross(along, side);
    const t = cross(from, along) / turn;
    return Math.abs(turn) > 1e-9 && t >= 0 && t <= 1 ? [cross(from, side) / turn] : [];
  });
  if (!shares.length) return p;
  const share = shares.reduce((a, b) => (Math.abs(b) < Math.abs(a) ? b : a));
  return p.map((v, k) => round(v + share * along[k]));
}

/** How far from the outline an end of a cut may lie to count as on it [mm]. */
const ON_OUTLINE = 1.2;

/** Distance of a point from a stretch between two others. */
export function fromStretch(p, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const whole = dx * dx + dy * dy;
  const share = whole ? Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / whole)) : 0;
  return Math.hypot(p[0] - a[0] - share * dx, p[1] - a[1] - share * dy);
}

/** A path for one more cut: to a cavity that has none, else across where no cut runs. */
export function freshPath(mold) {
  const [a, b] = halves(mold.block ?? {});
  const paths = (mold.cut ?? []).map((cut) => finitePoints(cut.path_mm));
  const reaches = (p, room) => paths.some((path) => path.slice(1).some((q, i) => fromStretch(p, path[i], q) <= room));
  const bare = (mold.cavity ?? []).find((cavity) => {
    const centre = (cavity.centre_mm ?? [0, 0]).map((v) => number(v));
    return !reaches(centre, Math.max(...halves(cavity)));
  });
  if (bare) {
    const [x, y] = (bare.centre_mm ?? [0, 0]).map((v) => round(number(v), 0.1));
    return [[x < 0 ? -round(a, 0.1) : round(a, 0.1), y], [x, y]];
  }
  const heights = [0, -0.3, 0.3, -0.5, 0.5, -0.7, 0.7].map((share) => round(share * b, 0.5));
  const y = heights.find((each) => !reaches([0, each], 0.08 * b) && !reaches([-a, each], 0.08 * b) && !reaches([a, each], 0.08 * b)) ?? round(0.15 * b, 0.5);
  return [[-round(a, 0.1), y], [round(a, 0.1), y]];
}

function pointHandles(mold, path, name, least, from = [0, 0]) {
  const points = at(mold, path) ?? [];
  return points.map((p, i) => ({
    id: `${path.join(" ")} ${i}`,
    kind: path[0] === "cut" ? "cut" : "point",
    label: `${name}, point ${i + 1} of ${points.length}`,
    x: from[0] + number(p?.[0]),
    y: from[1] + number(p?.[1]),
    move: (x, y) => put(mold, [...path, i], [round(x - from[0]), round(y - from[1])]),
    remove: points.length > least ? () => without(mold, path, i) : null,
  }));
}

function cavityHandles(mold) {
  return (mold.cavity ?? []).flatMap((cavity, i) => {
    const centre = (cavity.centre_mm ?? [0, 0]).map((v) => number(v));
    const middle = {
      id: `cavity ${i}`,
      kind: "cavity",
      label: `Middle of '${nameOf(cavity, "cavity", i)}'`,
      x: centre[0],
      y: centre[1],
      move: (x, y) => put(mold, ["cavity", i, "centre_mm"], [round(x), round(y)]),
    };
    const drawn = cavity.points_mm && cavity.points_mm.length <= 24;
    return [middle, ...(drawn ? pointHandles(mold, ["cavity", i, "points_mm"], `'${nameOf(cavity, "cavity", i)}'`, 3, centre) : [])];
  });
}

function cutHandles(mold) {
  return (mold.cut ?? []).flatMap((cut, i) => pointHandles(mold, ["cut", i, "path_mm"], `Cut '${nameOf(cut, "cut", i)}'`, 2));
}

function pushHandles(mold) {
  return (mold.push ?? []).flatMap((push, i) => (push.at_mm ? [{
    id: `push ${i}`,
    kind: "push",
    label: `Push ${i + 1}`,
    x: number(push.at_mm[0]),
    y: number(push.at_mm[1]),
    move: (x, y) => put(mold, ["push", i, "at_mm"], [round(x), round(y)]),
  }] : []));
}
