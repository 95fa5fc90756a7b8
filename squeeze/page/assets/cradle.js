// The cradle: families of pieces that are put on with one choice, and what they have in common.

import { keyOf, nameOf, put, without } from "./mold.js";

const SIDES = ["top", "left", "bottom", "right"];

export const FAMILIES = [
  ["none", "none"],
  ["flat boards", "flat boards, four sides"],
  ["round boards", "round-backed, four sides"],
  ["saddle", "one board on top"],
  ["full 2", "full, two halves"],
  ["full 3", "full, three pieces"],
  ["full 4", "full, four pieces"],
  ["own", "as in the file"],
];

/** Which family a mold's pieces are; "own" when they are none of the ready-made ones. */
export function familyOf(mold) {
  const pieces = mold.cradle ?? [];
  if (!pieces.length) return "none";
  if (pieces.length === 1 && pieces[0].covers === "all") return `full ${pieces[0].pieces ?? 2}`;
  const alike = new Set(pieces.map(({ name, covers, ...rest }) => JSON.stringify(rest))).size === 1;
  const covers = pieces.map((piece) => piece.covers);
  if (pieces.length === 1 && covers[0] === "top") return "saddle";
  if (alike && pieces.length === 4 && SIDES.every((side) => covers.includes(side))) return backOf(pieces[0]) === "round" ? "round boards" : "flat boards";
  return "own";
}

const backOf = (piece) => piece.back ?? (piece.rise_mm !== undefined || piece.back_radius_mm !== undefined ? "round" : "flat");

/** The mold with another family of pieces; stiffness and thickness are kept. */
function withFamily(mold, family) {
  if (family === "own") return mold;
  const former = mold.cradle?.[0] ?? {};
  const stiff = former.youngs_modulus_mpa !== undefined ? { youngs_modulus_mpa: former.youngs_modulus_mpa } : { material: former.material ?? "plywood" };
  const common = { thickness_mm: former.thickness_mm ?? 18, ...stiff, friction: former.friction ?? 0.3 };
  const round = { back: "round", rise_mm: former.rise_mm ?? 10 };
  const boards = (more) => SIDES.map((side) => ({ name: side, covers: side, ...common, ...more }));
  const made = {
    none: undefined,
    "flat boards": boards({ back: "flat" }),
    "round boards": boards(round),
    saddle: [{ name: "saddle", covers: "top", ...common, ...round }],
  };
  const full = family.startsWith("full ") && [{ name: "full cradle", covers: "all", pieces: Number(family.slice(5)), ...common, back: "round" }];
  return put(mold, ["cradle"], full || made[family]);
}

/** The group of fields for the cradle; `figure` and `button` make fields. */
export function cradleGroup(mold, materials, figure, button) {
  const family = familyOf(mold);
  const fields = [{
    id: "cradle family", kind: "choice", label: "Pieces", path: ["cradle"], key: "cradle",
    choices: FAMILIES.filter(([key]) => key !== "own" || family === "own"),
    get: familyOf, set: withFamily,
  }];
  if (family === "own") fields.push(...(mold.cradle ?? []).flatMap((piece, i) => ownFields(piece, i, materials, figure, button)));
  else if (family !== "none") fields.push(...commonFields(mold, materials, figure));
  return { id: "cradle", title: "Cradle", note: family === "none" ? "none" : `${mold.cradle.length}`, open: true, fields };
}

/** Fields that change all pieces at once; a fault of the first stands at them. */
function commonFields(mold, materials, figure) {
  const first = mold.cradle[0];
  const all = (key) => ({
    get: (now) => now.cradle?.[0]?.[key],
    set: (now, value) => put(now, ["cradle"], now.cradle.map((piece) => put(piece, [key], value))),
  });
  const keys = (key) => mold.cradle.map((_, i) => keyOf(mold, ["cradle", i, key]));
  const one = (key, label, unit, slider, more = {}) => figure(["cradle", 0, key], label, unit, slider, { id: `cradle all ${key}`, keys: keys(key), ...all(key), ...more });
  const fields = [one("thickness_mm", "Thickness", "mm", { least: 3, most: 60, step: 1 })];
  if (backOf(first) === "round" && first.covers !== "all" && first.back_radius_mm === undefined) fields.push(one("rise_mm", "Rise of the back", "mm", { least: 0.5, most: 30, step: 0.5 }));
  if (first.covers === "all") fields.push(one("apart_mm", "Gap between pieces", "mm", { least: 0, most: 20, step: 0.5 }));
  fields.push(...stiffness(first, materials, all, one));
  fields.push(one("friction", "Friction on the rubber", "", { least: 0, most: 1.5, step: 0.05 }, { step: 0.05 }));
  fields.push(...seat(first, one));
  return fields;
}

function stiffness(first, materials, all, one) {
  if (first.youngs_modulus_mpa !== undefined) return [one("youngs_modulus_mpa", "Young's modulus", "MPa", null, { step: 100 })];
  return [{ id: "cradle all material", kind: "choice", label: "Made of", path: ["cradle", 0, "material"], choices: materials.map((m) => [m, m]), ...all("material") }];
}

const SEATS = [["fit", "cut to fit"], ["flat", "flat"], ["crowned", "crowned"], ["loose", "loose"]];

function seat(first, one) {
  const kind = first.seat ?? (first.crown_mm !== undefined ? "crowned" : first.loose_mm !== undefined ? "loose" : "fit");
  const choose = {
    id: "cradle all seat", kind: "choice", label: "Seat", path: ["cradle", 0, "seat"], choices: SEATS, get: () => kind,
    set: (now, value) => put(now, ["cradle"], now.cradle.map((piece) => seated(piece, value))),
  };
  const more = {
    crowned: [one("crown_mm", "Crown", "mm", { least: -3, most: 3, step: 0.1 }, { step: 0.1 })],
    loose: [one("loose_mm", "Larger than the block by", "mm", { least: 0, most: 3, step: 0.1 }, { step: 0.1 })],
  };
  return [choose, ...(more[kind] ?? [])];
}

function seated({ seat: _, crown_mm, loose_mm, gap_mm, ...piece }, kind) {
  const more = { crowned: { crown_mm: crown_mm ?? 0.5 }, loose: { loose_mm: loose_mm ?? 0.5 } }[kind] ?? {};
  return { ...piece, seat: kind, ...more };
}

function ownFields(piece, i, materials, figure, button) {
  const path = ["cradle", i];
  const has = (key) => piece[key] !== undefined;
  return [
    { id: `cradle.${i} head`, kind: "head", text: `Piece '${nameOf(piece, "piece", i)}'`, path },
    ...(has("thickness_mm") ? [figure([...path, "thickness_mm"], "Thickness", "mm", { least: 3, most: 60, step: 1 })] : []),
    ...(has("rise_mm") ? [figure([...path, "rise_mm"], "Rise of the back", "mm", { least: 0.5, most: 30, step: 0.5 })] : []),
    ...(has("from_deg") ? [figure([...path, "from_deg"], "From", "°", null, { step: 5 }), figure([...path, "to_deg"], "To", "°", null, { step: 5 })] : []),
    ...(has("points_mm") ? [{ id: `cradle.${i}.points_mm`, kind: "points", path: [...path, "points_mm"], label: "Points of the piece", least: 3, closed: true }] : []),
    has("youngs_modulus_mpa") ? figure([...path, "youngs_modulus_mpa"], "Young's modulus", "MPa", null, { step: 100 })
      : { id: `cradle.${i}.material`, kind: "choice", label: "Made of", path: [...path, "material"], choices: materials.map((m) => [m, m]) },
    figure([...path, "friction"], "Friction on the rubber", "", null, { step: 0.05 }),
    button(`cradle.${i} less`, "Take this piece away", (now) => without(now, ["cradle"], i), { spoken: `Take the piece '${nameOf(piece, "piece", i)}' away` }),
  ];
}
