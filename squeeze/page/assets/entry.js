// A text input for one number of the mold. What is not a number stays in the input alone.

import { set } from "./dom.js";
import { heard, shown, unitName, whyNot } from "./units.js";

/**
 * Wire an input.
 * @param {HTMLInputElement} input
 * @param {object} hooks
 *   now() -> {value, unit, inches, needed}: the number in the mold, and how it is written;
 *   put(value, turn): a finite number, or undefined where the field may be left empty;
 *   changed(): what stands in the input has changed, or why it is not used
 */
export function wireEntry(input, hooks) {
  input.entry = { hooks, draft: null, turn: 0 };
  input.addEventListener("focus", () => (input.entry.turn = Date.now()));
  input.addEventListener("input", () => typed(input));
  input.addEventListener("blur", () => left(input));
  input.addEventListener("keydown", (event) => event.key === "Escape" && dropped(input));
}

function typed(input) {
  const { entry } = input;
  const text = input.value;
  const { value, unit, inches, needed } = entry.hooks.now();
  const said = heard(text, unit, inches);
  const usable = said.state === "number" || (said.state === "empty" && !needed);
  entry.draft = { text, of: usable ? said.value : value, fault: said.state === "other" ? whyNot(text) : "", usable };
  if (usable) entry.hooks.put(said.value, entry.turn);
  entry.hooks.changed();
}

function left(input) {
  const { entry } = input;
  if (entry.draft && !entry.draft.usable) entry.draft.fault = whyNot(input.value);
  else entry.draft = null;
  entry.hooks.changed();
}

function dropped(input) {
  input.entry.draft = null;
  input.entry.hooks.changed();
}

/** Forget what is typed; the next update shows the number in the mold. */
export function forgetDraft(input) {
  input.entry.draft = null;
}

/** Show the number in the mold, unless something else is being typed over that very number. */
export function updateEntry(input) {
  const { entry } = input;
  const { value, unit, inches } = entry.hooks.now();
  if (entry.draft && !Object.is(entry.draft.of, value)) entry.draft = null;
  const text = entry.draft ? entry.draft.text : shown(value, unit, inches);
  if (input.value !== text) input.value = text;
}

/** Why what stands in an input is not used; empty when it is. */
export function entryFault(input) {
  const fault = input.entry.draft?.fault;
  if (!fault) return "";
  const { value, unit, inches } = input.entry.hooks.now();
  const still = shown(value, unit, inches);
  return still ? `${fault}; ${still} ${unitName(unit ?? "", inches)}`.trim() + " is still used" : fault;
}

/** Mark an input whose text is not used, or whose number the check refuses. */
export function markEntry(input, wrong, fault) {
  const group = input.getAttribute("role") === "group"; // a group cannot be invalid, its inputs are
  set(input, { "aria-invalid": wrong && !group ? "true" : null, "aria-describedby": wrong ? fault.id : null });
}
