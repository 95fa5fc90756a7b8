// Figures are kept in mm, kPa and N; in inches they are shown in inches, psi and pounds of force.

export const MM_PER_INCH = 25.4;
const N_PER_LBF = 4.4482216152605;
export const PSI_PER_KPA = 0.145037738;

/** What stands for a unit in inches, and how many of the kept unit make one of it. */
const IMPERIAL = {
  mm: ["in", MM_PER_INCH],
  kPa: ["psi", 1 / PSI_PER_KPA],
  MPa: ["psi", 0.001 / PSI_PER_KPA],
  N: ["lbf", N_PER_LBF],
  "N/mm": ["lbf/in", N_PER_LBF / MM_PER_INCH],
};

/** How many of the kept unit make one of the unit that is shown. */
export const keptPer = (unit, inches) => (inches && IMPERIAL[unit]?.[1]) || 1;

/** The unit of a figure by the ending of its name, such as largest_gap_mm; "" where it has none. */
export const unitOf = (name) => ENDINGS.find(([ending]) => name.split(" at ")[0].endsWith(ending))?.[1] ?? "";
const ENDINGS = [["_n_per_mm", "N/mm"], ["_mm", "mm"], ["_kpa", "kPa"], ["_mpa", "MPa"], ["_n", "N"]];

/** A number as text, without needless digits. */
export function plain(value, digits = 3) {
  return String(Number(value.toFixed(digits)));
}

/** A kept value as the text of a field; what is not a number stays as it was typed. */
export function shown(value, unit, inches) {
  if (value === undefined || value === null) return "";
  if (typeof value !== "number") return String(value);
  const turned = value / keptPer(unit, inches);
  return plain(unit === "mm" || turned === value ? turned : Number(turned.toPrecision(5)), 4);
}

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i;
const BEGUN = /^[-+]?\d*\.?\d*(e[-+]?)?$/i;
const FRACTION = /^([-+]?)(?:(\d+)[ -]+)?(\d+)\/([1-9]\d*)$/;
const FRACTION_BEGUN = /^[-+]?(\d+[ -]+\d*|(\d+[ -]+)?\d+\/)$/;
const THOUSANDS = /^[-+]?[1-9]\d{0,2}(,\d{3})+$/;

const WITH_UNIT = /^(.*?)\s*("|\u2033|in|inch|inches|mm)?$/i;

/**
 * What a text says: {state, value}. The state is "number", "empty", "begun" (such as "-" or "1e")
 * or "other"; only a number has a value, finite and in mm where the unit is a length.
 */
export function heard(text, unit, inches) {
  const [, bare, named] = WITH_UNIT.exec(text.trim());
  if (bare === "") return { state: "empty" };
  if (named && unit === "mm") return heard(bare, unit, !/^mm$/i.test(named));
  if (named) return { state: "other" };
  if (THOUSANDS.test(bare)) return { state: "other" };
  const pointed = bare.replace(/^([-+]?\d*),(\d*)/, "$1.$2");
  const value = NUMBER.test(pointed) ? Number(pointed) : fraction(bare);
  if (Number.isFinite(value)) return { state: "number", value: Number((value * keptPer(unit, inches)).toFixed(6)) };
  return { state: BEGUN.test(pointed) || FRACTION_BEGUN.test(bare) ? "begun" : "other" };
}

/** The value of a fraction such as 4 1/2 or 3/8, as on a tape measure; NaN of anything else. */
function fraction(text) {
  const [, sign, whole, above, below] = FRACTION.exec(text) ?? [];
  return below ? (sign === "-" ? -1 : 1) * (Number(whole ?? 0) + Number(above) / Number(below)) : NaN;
}

/** Why a text is not taken as a number. */
export function whyNot(text) {
  const bare = text.trim();
  if (bare === "") return "a number is needed here";
  if (THOUSANDS.test(bare)) return `"${bare}" can be read in two ways: write ${bare.replaceAll(",", "")}, or ${bare.replace(",", ".")}`;
  return `"${bare.slice(0, 40)}" is not a number`;
}

/** A length with its unit, as many digits as matter at the bench. */
export function length(mm, inches) {
  if (mm === 0) return inches ? "0 in" : "0 mm";
  if (inches) {
    const value = mm / MM_PER_INCH;
    if (value > 0 && value < 0.001) return "under 0.001 in";
    return `${value.toFixed(Math.abs(value) < 1 ? 3 : 2)} in`;
  }
  if (mm > 0 && mm < 0.01) return "under 0.01 mm";
  return `${mm.toFixed(Math.abs(mm) < 1 ? 2 : Math.abs(mm) < 10 ? 1 : 0)} mm`;
}

/** A coordinate with its unit. */
export const place = (mm, inches) => (inches ? `${(mm / MM_PER_INCH).toFixed(2)} in` : `${plain(mm, 1)} mm`);

/** A pressure with its unit. */
export function pressure(kpa, inches) {
  if (!kpa) return inches ? "0 psi" : "0 kPa";
  if (inches) return kpa < 0.01 ? "under 0.0015 psi" : `${Number((kpa * PSI_PER_KPA).toPrecision(2))} psi`;
  if (kpa < 0.01) return "under 0.01 kPa";
  return `${kpa.toFixed(kpa < 3 ? 2 : kpa < 20 ? 1 : 0)} kPa`;
}

export const unitName = (unit, inches) => (inches && IMPERIAL[unit]?.[0]) || unit;
