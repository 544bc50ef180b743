// Lengths as people write them and as the board shows them: 12' 6", 96 in, 2.44 m. All values are in meters.

/** Meters in a foot. */
export const FOOT_M = 0.3048;
const INCH_M = 0.0254;

const UNITS = { "'": FOOT_M, "ft": FOOT_M, "feet": FOOT_M, "foot": FOOT_M, '"': INCH_M, "in": INCH_M, "inch": INCH_M, "inches": INCH_M,
  "yd": 0.9144, "yard": 0.9144, "yards": 0.9144, "m": 1, "meter": 1, "meters": 1, "cm": 0.01, "mm": 0.001 };
const FRACTIONS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const NUMBER = /^(\d+)[ -]+(\d+)\/(\d+)|^(\d+)\/(\d+)|^(\d+\.?\d*|\.\d+)/;

/**
 * Reads a length.
 * @param {string} text as typed
 * @param {number} bare_m meters in the unit of a number that has none; 0 if a unit is required
 * @returns {number | null} meters; null if it is not a length
 */
export function parseLength(text, bare_m = 0) {
  let rest = text.trim().toLowerCase().replace(/[½¼¾⅛⅜⅝⅞]/g, (c) => ` ${FRACTIONS[c]}`).replace(/[′’‘]/g, "'").replace(/[″”“]|''/g, '"').trim();
  const sign = rest.startsWith("-") ? -1 : 1;
  if (sign < 0) { rest = rest.slice(1).trim(); }
  let sum_m = 0, count = 0, last = 0;
  while (rest !== "") {
    const found = NUMBER.exec(rest);
    if (!found || count === 2) { return null; }
    const [all, whole, top, bottom, over, under, plain] = found;
    const value = whole !== undefined ? +whole + top / bottom : over !== undefined ? over / under : +plain;
    rest = rest.slice(all.length).trim();
    const word = /^(?:'|"|[a-z]+)/.exec(rest)?.[0] ?? "";
    rest = rest.slice(word.length).replace(/^[\s-]+/, "");
    let unit_m = UNITS[word];
    if (word === "") { unit_m = count === 1 && last === FOOT_M ? INCH_M : count === 0 && rest === "" ? (value === 0 ? 1 : bare_m) : 0; }
    if (!unit_m || !Number.isFinite(value) || (count === 1 && !(last === FOOT_M && unit_m === INCH_M && value < 12))) { return null; }
    sum_m += value * unit_m;
    last = unit_m;
    count += 1;
  }
  return count ? sign * sum_m : null;
}

/**
 * Writes a length for people.
 * @param {number} length_m
 * @param {"ft" | "m"} units
 * @param {"near" | "up" | "down"} round room that is needed is rounded up, room that is left down
 * @param {number} parts parts of an inch (2: half inches)
 * @returns {string}
 */
export function showLength(length_m, units, round = "near", parts = 1) {
  const rounded = (value) => round === "up" ? Math.ceil(value - 1e-8) : round === "down" ? Math.floor(value + 1e-8) : Math.round(value);
  if (units === "m") { return `${(rounded(length_m * 100) / 100).toFixed(2)} m`; }
  const steps = rounded(Math.abs(length_m) / INCH_M * parts) * (length_m < 0 ? -1 : 1);
  const sign = steps < 0 ? "-" : "", count = Math.abs(steps);
  const feet = Math.floor(count / parts / 12), left = count - feet * parts * 12, inches = Math.floor(left / parts);
  let over = left - inches * parts, under = parts;
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  const tail = [inches || (!over && !feet) ? `${inches}` : "", over ? `${over}/${under}` : ""].filter(Boolean).join(" ");
  return sign + [feet ? `${feet}'` : "", tail ? `${tail}"` : ""].filter(Boolean).join(" ");
}

/**
 * Text of a property of the plan, exact to a sixteenth of an inch or a millimeter.
 * @param {number} length_m
 * @param {"ft" | "m"} units
 */
export function lengthText(length_m, units) {
  return units === "m" ? `${+length_m.toFixed(3)} m` : showLength(length_m, "ft", "near", 16);
}

/**
 * A property of the plan in meters: a number is meters, text has its unit.
 * @param {unknown} value
 * @returns {number | null}
 */
export function propertyLength(value) {
  return typeof value === "number" ? value : typeof value === "string" ? parseLength(value) : null;
}
