// Numbers with their uncertainty and a handy unit, as the report writes them.

/** SI unit to a handy one: name and factor. @type {Record<string, [string, number]>} */
const HANDY = {
  "N/m": ["mN/m", 1e3], m: ["mm", 1e3], "m^3": ["mL", 1e6], "m^2/s": ["mm²/s", 1e6], "Pa s": ["mPa s", 1e3], "m/s^2": ["mm/s²", 1e3], "1/s": ["1/s", 1], Hz: ["Hz", 1], rad: ["rad", 1], 1: ["", 1],
};

/**
 * A value with its standard uncertainty, to two digits of that; alone, to three digits or to those of `like`.
 * @param {number} value @param {number | null} u @param {string} unit @param {number} [like]
 */
export function shown(value, u, unit, like) {
  const [name, factor] = HANDY[unit] ?? [unit, 1];
  const scale = Math.abs((u || like || value) * factor);
  const digits = u || like ? 1 : 2;
  const decimals = scale > 0 ? Math.min(12, Math.max(0, digits - Math.floor(Math.log10(scale)))) : 0;
  const text = (/** @type {number} */ x) => (x * factor).toFixed(decimals).replace("-", "\u2212");
  return `${text(value)}${u ? ` ± ${text(u)}` : ""}${name && `\u00a0${name}`}`;
}
