// What a person changed between two molds, in the words of the fields.

import { at, withCutsFollowing } from "./mold.js";
import { groupsOf } from "./panel.js";
import { shown, unitName } from "./units.js";

const MOST = 6;

/** Lines such as "Block: Bevel changed from 3 mm to 35 mm". */
export function changesBetween(before, after, start, inches) {
  const [old, now] = [withCutsLed(before, after), after].map((mold) => fieldsOf(mold, start));
  const said = [...now.values()].flatMap((field) => {
    const former = old.get(field.id);
    if (!former) return field.kind === "head" ? [`${field.place}: new`] : [];
    return changed(former, field, inches);
  });
  const gone = [...old.values()].filter((field) => field.kind === "head" && !now.has(field.id)).map((field) => `${field.place}: taken away`);
  const all = [...said, ...gone];
  const more = all.length - MOST;
  return more > 0 ? [...all.slice(0, MOST), `${more} more`] : all;
}

/** The mold before, with those of its cuts that only followed the outline as they are after. */
function withCutsLed(before, after) {
  if (!before.cut || !after.cut) return before;
  const led = withCutsFollowing(before, { ...after, cut: before.cut }).cut;
  const isLed = (k) => after.cut[k] && JSON.stringify(led[k]) === JSON.stringify(after.cut[k]);
  return { ...before, cut: before.cut.map((cut, k) => (isLed(k) ? after.cut[k] : cut)) };
}

/** Every field by its id, with its value and the place that it belongs to. */
function fieldsOf(mold, start) {
  const found = new Map();
  for (const group of groupsOf(mold, start)) {
    const several = group.fields.filter((field) => field.kind === "head").length > 1;
    let place = group.title;
    for (const field of group.fields) {
      if (field.kind === "head" && (several || group.id !== "block")) place = field.text;
      if (["button", "note"].includes(field.kind)) continue;
      found.set(field.id, { ...field, place, value: field.get ? field.get(mold) : field.path && at(mold, field.path) });
    }
  }
  return found;
}

function changed(old, now, inches) {
  if (now.kind === "head" || JSON.stringify(old.value ?? old.otherwise) === JSON.stringify(now.value ?? now.otherwise)) return [];
  if (now.kind === "points") return [`${now.place}: ${now.label} changed`];
  return [`${now.place}: ${now.label} changed from ${worded(old, inches)} to ${worded(now, inches)}`];
}

function worded(field, inches) {
  const value = field.value ?? field.otherwise;
  if (value === undefined) return "not given";
  if (field.kind === "check") return value ? "yes" : "no";
  if (field.kind === "choice") return field.choices.find(([key]) => String(key) === String(value))?.[1] ?? String(value);
  if (field.kind === "text") return `"${value}"`;
  return `${shown(value, field.unit, inches)} ${unitName(field.unit ?? "", inches)}`.trim();
}
