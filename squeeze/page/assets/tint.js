// Levels of pressure: the server gives the colours, here stand only the even steps.

let tints = {};
const dark = matchMedia("(prefers-color-scheme: dark)");

export function learnTints(table) {
  tints = table;
}

export function isDark() {
  const theme = document.documentElement.dataset.theme;
  return theme ? theme === "dark" : dark.matches;
}

/** Least of 1, 2, 5 times a power of ten that is not below `value`. */
function roundUp(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 2, 5, 10].map((m) => m * power).find((step) => step >= value * (1 - 1e-9));
}

/**
 * 4 to 8 levels of round width from 0 to at least `top`; more pressure stands out more. Widths are
 * round in the unit that is shown: `times` of it make one of `top`.
 */
export function levels(top, times = 1) {
  const step = roundUp((Math.max(top, 1e-6) * times) / 8) / times;
  const count = Math.max(4, Math.ceil(top / step - 1e-9));
  const colours = tints[count] ?? [];
  return {
    step,
    count,
    colours: isDark() ? [...colours].reverse() : colours,
    of: (value) => Math.min(count - 1, Math.max(0, Math.floor(value / step + 1e-9))),
  };
}

/** Largest pressure of one or more answers [kPa]. */
export function topOf(...answers) {
  const all = answers.flatMap((answer) => answer?.lands?.flatMap((land) => land.pressure_kpa) ?? []);
  return all.reduce((most, p) => Math.max(most, p ?? 0), 0);
}
