// Which fields a mold has: every key of the mold file that changes the section's answer.

import { cradleGroup } from "./cradle.js";
import { at, freshName, freshPath, halves, nameOf, number, put, reshaped, without, withMore } from "./mold.js";

const SHAPE_WORDS = { drawn: "drawn by points" };
const FIGURES = {
  diameter_mm: "Diameter",
  width_mm: "Width",
  height_mm: "Height",
  bevel_mm: "Bevel (leg of the flat)",
  round_mm: "Round on corners",
};
const ON_CORNERS = ["bevel_mm", "round_mm"];
const FACES = [["number", "friction as a number"], ["released", "released (agent)"], ["dusted", "dusted (talc)"], ["clean", "clean and dry"]];
const STRENGTHS = [["stock", "a trade size"], ["tension_n", "a scale"], ["size", "length, width, thickness"], ["weighed_g", "a scale, at several lengths"], ["tension_n_per_mm", "a sum for all bands"]];

/** Groups of fields for a mold; `stock` and `materials` are the words that the server knows. */
export function groupsOf(mold, { stock, materials, limits = {}, shapes = {} }) {
  const groups = [
    blockGroup(mold, shapes),
    rubberGroup(mold),
    bandGroup(mold, stock),
    cradleGroup(mold, materials, figure, button),
    cutGroup(mold),
    cavityGroup(mold, shapes),
    fillerGroup(mold, shapes),
    pushGroup(mold),
    resinGroup(mold),
    restGroup(mold),
  ];
  return groups.map((group) => ({ ...group, fields: group.fields.map((field) => withUsual(field, limits)) }));
}

/** The field with the value that the file's tables give where its key is left out. */
function withUsual(field, limits) {
  const usual = limits[field.limit]?.otherwise;
  return field.otherwise === undefined && usual !== undefined ? { ...field, otherwise: usual } : field;
}

function figure(path, label, unit, slider, more = {}) {
  const limit = path.filter((step) => typeof step === "string").join(".");
  return { id: path.join("."), kind: "number", path, label, unit, slider, limit, ...more };
}

/** What a figure is called; one that has no name here yet is called as in the file. */
const labelOf = (key) => FIGURES[key] ?? key.replace(/_(mm|deg)$/, "").replaceAll("_", " ").replace(/^./, (letter) => letter.toUpperCase());

const button = (id, label, press, more = {}) => ({ id, kind: "button", label, press, ...more });

/** The figures of a block or a cavity. */
function shapeFields(mold, path, most, shapes) {
  const shape = at(mold, path) ?? {};
  const kind = shape.shape ?? "drawn";
  const key = path.join(".");
  const [a, b] = halves(shape);
  const size = { least: 2, most, step: 1 };
  const corner = path[0] === "block" ? { least: 0, most: Math.max(1, Math.floor(Math.min(a, b))), step: 0.5 } : null;
  const choose = {
    id: `${key}.shape`, kind: "choice", path: [...path, "shape"], label: "Shape", otherwise: "drawn",
    choices: Object.keys(shapes).map((word) => [word, SHAPE_WORDS[word] ?? word]),
    set: (now, value) => put(now, path, reshaped(at(now, path), value, shapes[value])),
  };
  const figures = (shapes[kind] ?? []).map((name) => {
    if (name === "points_mm") return { id: `${key}.points_mm`, kind: "points", path: [...path, "points_mm"], label: "Points of the outline", least: 3, closed: true };
    if (ON_CORNERS.includes(name)) return figure([...path, name], labelOf(name), "mm", corner, { step: 1, ...(name === "round_mm" && path[0] !== "filler" && { otherwise: 2 }) });
    return figure([...path, name], labelOf(name), "mm", size);
  });
  return [choose, ...figures];
}

function blockGroup(mold, shapes) {
  const fields = shapeFields(mold, ["block"], 300, shapes);
  const { block = {} } = mold;
  const head = { id: "block head", kind: "head", text: "Outline", path: ["block"] };
  if (block.shape !== "drawn") {
    fields.push(button("block points", "Turn into points to drag", (now) => put(now, ["block"], reshaped(now.block, "drawn", shapes.drawn))));
  }
  return { id: "block", title: "Block", note: block.shape ?? "drawn", open: true, fields: [head, ...fields] };
}

function rubberGroup(mold) {
  const { rubber = {} } = mold;
  const known = "youngs_modulus_mpa" in rubber ? "youngs_modulus_mpa" : "shore_a";
  const choose = {
    id: "rubber way", kind: "choice", label: "Stiffness", path: ["rubber"], key: "rubber",
    choices: [["shore_a", "as Shore A"], ["youngs_modulus_mpa", "as E in MPa"]],
    get: () => known,
    set: (now, value) => {
      const { shore_a, youngs_modulus_mpa, ...rest } = now.rubber ?? {};
      return put(now, ["rubber"], { ...rest, [value]: value === "shore_a" ? 20 : 0.73 });
    },
  };
  const stiff = known === "shore_a"
    ? figure(["rubber", "shore_a"], "Hardness, Shore A", "", { least: 5, most: 80, step: 1 })
    : figure(["rubber", "youngs_modulus_mpa"], "Young's modulus", "MPa", null, { step: 0.1 });
  const note = known === "shore_a" && rubber.shore_a !== undefined ? `Shore A ${rubber.shore_a}` : "";
  return { id: "rubber", title: "Rubber", note, open: true, fields: [stiff, choose] };
}

function strengthOf(band) {
  return ["stock", "tension_n", "tension_n_per_mm", "weighed_g"].find((key) => key in band) ?? "size";
}

function strengthened(band, known) {
  const { count, at_mm, friction } = band;
  const rest = { ...(count !== undefined && { count }), ...(at_mm && { at_mm }), ...(friction !== undefined && { friction }) };
  if (known === "stock") return { stock: "64", ...rest };
  if (known === "tension_n") return { tension_n: 4, ...rest };
  if (known === "weighed_g") return { weighed_g: [[100, 200], [200, 800]], ...rest };
  if (known === "tension_n_per_mm") return { tension_n_per_mm: 0.6, ...(friction !== undefined && { friction }) };
  return { flat_length_mm: 89, width_mm: 6, thickness_mm: 0.8, ...rest };
}

function bandGroup(mold, stock) {
  const bands = mold.band ?? [];
  const fields = bands.flatMap((band, i) => bandFields(bands, band, i, stock));
  fields.push(button("band more", bands.length ? "Add another kind of band" : "Add bands", (now) => withMore(now, ["band"], { stock: "64", count: 8 })));
  const count = bands.reduce((sum, band) => sum + number(band.at_mm?.length ?? band.count ?? 1), 0);
  return { id: "band", title: "Bands", note: bands.length ? `${count}` : "none", open: true, fields };
}

function bandFields(bands, band, i, stock) {
  const path = ["band", i];
  const known = strengthOf(band);
  const id = `band.${i}`;
  const fields = [{ id: `${id} head ${known}`, kind: "head", text: bands.length > 1 ? `Band ${i + 1}` : "Band", path }];
  fields.push({
    id: `${id} way`, kind: "choice", label: "Pull known from", path, key: `band.${i + 1}`, choices: STRENGTHS,
    get: (now) => strengthOf(at(now, path) ?? {}),
    set: (now, value) => put(now, path, strengthened(at(now, path), value)),
  });
  if (known === "stock") fields.push({ id: `${id}.stock`, kind: "choice", path: [...path, "stock"], label: "Trade size", choices: stock.map((s) => [s, s]) });
  if (known === "tension_n") fields.push(figure([...path, "tension_n"], "Pull of one strand", "N", { least: 0, most: 30, step: 0.1 }, { step: 0.5 }));
  if (known === "weighed_g") fields.push({ id: `${id}.weighed_g`, kind: "note", text: `Weighed: ${band.weighed_g.map(([mm, g]) => `${mm} mm ${g} g`).join(", ")}. Change it in the file.` });
  if (known === "tension_n_per_mm") fields.push(figure([...path, "tension_n_per_mm"], "Tension per mm of block", "N/mm", { least: 0, most: 3, step: 0.01 }, { step: 0.1 }));
  if (known === "size") {
    for (const [key, label] of [["flat_length_mm", "Length lying flat"], ["width_mm", "Width"], ["thickness_mm", "Thickness"]]) fields.push(figure([...path, key], label, "mm", null, { step: 0.5 }));
  }
  if (known !== "tension_n_per_mm" && !band.at_mm) fields.push(figure([...path, "count"], "How many", "", { least: 0, most: 40, step: 1 }));
  fields.push(figure([...path, "friction"], "Friction on the block", "", { least: 0, most: 1.5, step: 0.05 }, { step: 0.05 }));
  fields.push(button(`${id} less`, "Take this band away", (now) => without(now, ["band"], i), { spoken: `Take band ${i + 1} away` }));
  return fields;
}

/** The cut with its faces given in words, or with a friction. */
function faced({ faces, friction, ...rest }, value) {
  return value === "number" ? { ...rest, friction: friction ?? 0.3 } : { ...rest, faces: value };
}

function cutGroup(mold) {
  const cuts = mold.cut ?? [];
  const fields = cuts.flatMap((cut, i) => cutFields(cut, i));
  fields.push(button("cut more", "Add a cut", (now) => withMore(now, ["cut"], { name: freshName(now.cut, "cut"), path_mm: freshPath(now) })));
  return { id: "cut", title: "Cuts", note: `${cuts.length}`, open: cuts.length < 3, fields };
}

function cutFields(cut, i) {
  const path = ["cut", i];
  const several = Array.isArray(cut.gap_mm);
  return [
    { id: `cut.${i} head`, kind: "head", text: `Cut '${nameOf(cut, "cut", i)}'`, path },
    { id: `cut.${i}.name`, kind: "text", path: [...path, "name"], label: "Name" },
    {
      id: `cut.${i} faces`, kind: "choice", label: "Faces", path, key: `cut.${i + 1}.faces`, choices: FACES,
      get: (now) => at(now, path)?.faces ?? "number",
      set: (now, value) => put(now, path, faced(at(now, path), value)),
    },
    ...(cut.faces ? [] : [figure([...path, "friction"], "Friction between the faces", "", { least: 0, most: 1.5, step: 0.05 }, { step: 0.05 })]),
    ...(Array.isArray(cut.film_mm) ? [{ id: `cut.${i} films`, kind: "note", text: `Film as in the file: ${cut.film_mm.join(", ")} mm.` }]
      : [figure([...path, "film_mm"], "Film in it: glue, old flash, dirt", "mm", { least: 0, most: 1, step: 0.05 }, { step: 0.05 })]),
    ...(several ? [{ id: `cut.${i} gaps`, kind: "note", text: `Unloaded gap as in the file: ${cut.gap_mm.join(", ")} mm, spread along the cut.` }]
      : [figure([...path, "gap_mm"], "Gap before anything presses", "mm", { least: 0, most: 3, step: 0.05 }, { step: 0.1 })]),
    { id: `cut.${i}.path_mm`, kind: "points", path: [...path, "path_mm"], label: "Points of the path", least: 2 },
    button(`cut.${i} less`, "Take this cut away", (now) => without(now, ["cut"], i), { spoken: `Take the cut '${nameOf(cut, "cut", i)}' away` }),
  ];
}

function cavityGroup(mold, shapes) {
  const cavities = mold.cavity ?? [];
  const fields = cavities.flatMap((cavity, i) => [
    { id: `cavity.${i} head`, kind: "head", text: `Cavity '${nameOf(cavity, "cavity", i)}'`, path: ["cavity", i] },
    { id: `cavity.${i}.name`, kind: "text", path: ["cavity", i, "name"], label: "Name" },
    ...shapeFields(mold, ["cavity", i], 120, shapes),
    centre("cavity", i, 0, "Middle, to the right"),
    centre("cavity", i, 1, "Middle, upwards"),
    button(`cavity.${i} less`, "Take this cavity away", (now) => without(now, ["cavity"], i), { spoken: `Take the cavity '${nameOf(cavity, "cavity", i)}' away` }),
  ]);
  fields.push(button("cavity more", "Add a cavity", (now) => withMore(now, ["cavity"], { name: freshName(now.cavity, "cavity"), shape: "round", diameter_mm: 10, centre_mm: [0, 0] })));
  return { id: "cavity", title: "Cavities", note: `${cavities.length}`, open: false, fields };
}

function fillerGroup(mold, shapes) {
  const fillers = mold.filler ?? [];
  const fields = fillers.flatMap((filler, i) => [
    { id: `filler.${i} head`, kind: "head", text: `Filler '${nameOf(filler, "filler", i)}'`, path: ["filler", i] },
    filler.youngs_modulus_mpa === undefined ? figure(["filler", i, "shore_a"], "Hardness, Shore A", "", { least: 5, most: 80, step: 1 }) : figure(["filler", i, "youngs_modulus_mpa"], "Young's modulus", "MPa", null, { step: 0.1 }),
    ...shapeFields(mold, ["filler", i], 120, shapes),
    centre("filler", i, 0, "Middle, to the right"),
    centre("filler", i, 1, "Middle, upwards"),
    button(`filler.${i} less`, "Take this filler away", (now) => without(now, ["filler"], i), { spoken: `Take the filler '${nameOf(filler, "filler", i)}' away` }),
  ]);
  fields.push(button("filler more", "Add a piece of old rubber", (now) => withMore(now, ["filler"], { name: freshName(now.filler, "filler"), shape: "rectangle", width_mm: 30, height_mm: 15, centre_mm: [0, -30], shore_a: 20 })));
  return { id: "filler", title: "Filler of old rubber", note: fillers.length ? `${fillers.length}` : "none", open: false, fields };
}

function centre(kind, i, k, label) {
  const path = [kind, i, "centre_mm"];
  const set = (now, value) => {
    const [x, y] = at(now, path) ?? [0, 0];
    return put(now, path, k ? [x, value ?? 0] : [value ?? 0, y]);
  };
  const get = (now) => at(now, path)?.[k] ?? 0;
  return { id: `${kind}.${i}.centre.${k}`, kind: "number", path, label, unit: "mm", get, set };
}

function pushGroup(mold) {
  const pushes = mold.push ?? [];
  const fields = pushes.flatMap((push, i) => [
    { id: `push.${i} head`, kind: "head", text: `Push ${i + 1}`, path: ["push", i] },
    ...(push.at_mm ? [
      figure(["push", i, "force_n_per_mm"], "Force per mm of block", "N/mm", { least: 0, most: 3, step: 0.05 }, { step: 0.1 }),
      figure(["push", i, "width_mm"], "Width of the patch", "mm", null),
      pushAt(i, 0, "At, to the right"),
      pushAt(i, 1, "At, upwards"),
    ] : [figure(["push", i, "pressure_kpa"], "Pressure all round", "kPa", { least: 0, most: 50, step: 0.5 })]),
    button(`push.${i} less`, "Take this push away", (now) => without(now, ["push"], i), { spoken: `Take push ${i + 1} away` }),
  ]);
  fields.push(button("push pair", "Add two boards that push, left and right", (now) => {
    const [a] = halves(now.block ?? {});
    const one = (x) => ({ at_mm: [x, 0], width_mm: 30, force_n_per_mm: 0.5 });
    return withMore(withMore(now, ["push"], one(-a)), ["push"], one(a));
  }));
  fields.push(button("push round", "Add pressure all round", (now) => withMore(now, ["push"], { pressure_kpa: 5 })));
  return { id: "push", title: "Hands, clamps, boards", note: pushes.length ? `${pushes.length}` : "none", open: false, fields };
}

function pushAt(i, k, label) {
  const path = ["push", i, "at_mm"];
  const set = (now, value) => {
    const [x, y] = at(now, path);
    return put(now, path, k ? [x, value ?? 0] : [value ?? 0, y]);
  };
  return { id: `push.${i}.at.${k}`, kind: "number", path, label, unit: "mm", get: (now) => at(now, path)?.[k], set };
}

function resinGroup(mold) {
  const { resin } = mold;
  if (!resin) {
    return { id: "resin", title: "Resin", note: "not given", open: false, fields: [
      { id: "resin note", kind: "note", text: "Without it, a land has to press twice as hard as 100 mm of liquid resin.", inches: "Without it, a land has to press twice as hard as 3.94 in of liquid resin." },
      button("resin on", "Add the resin's height", (now) => put(now, ["resin"], { head_mm: 120 })),
    ] };
  }
  const fields = "pressure_kpa" in resin
    ? [figure(["resin", "pressure_kpa"], "Pressure of the resin", "kPa", { least: 0, most: 50, step: 0.5 })]
    : [figure(["resin", "head_mm"], "Head: liquid above this section", "mm", { least: 0, most: 500, step: 5 }, { step: 10 })];
  fields.push(
    figure(["resin", "density_g_cm3"], "Density", "g/cm³", null, { step: 0.05 }),
    { id: "resin.enters_cuts", kind: "check", path: ["resin", "enters_cuts"], label: "Resin presses inside open lands too", otherwise: true },
    figure(["resin", "viscosity_mpa_s"], "Viscosity", "mPa s", null, { step: 10, optional: true }),
    figure(["resin", "pot_life_min"], "Pot life", "min", null, { optional: true }),
    button("resin off", "Leave the resin out", (now) => put(now, ["resin"], undefined)),
  );
  return { id: "resin", title: "Resin", note: "", open: true, fields };
}

function restGroup(mold) {
  const pot = mold.pot
    ? [figure(["pot", "bore_mm"], "Bore of the pot", "mm", null), figure(["pot", "depth_mm"], "Depth of the pot", "mm", null), button("pot off", "Leave the pot out", (now) => put(now, ["pot"], undefined))]
    : [button("pot on", "Add the pressure pot", (now) => put(now, ["pot"], { bore_mm: 240, depth_mm: 300 }))];
  return { id: "rest", title: "Length, title, pot", note: "", open: false, fields: [
    { id: "title", kind: "text", path: ["title"], label: "Title" },
    figure(["length_mm"], "Length of the block", "mm", { least: 10, most: 400, step: 1 }),
    ...pot,
  ] };
}
