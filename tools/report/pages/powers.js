// Powers of ten for logarithmic axes.

/** @param {number} n */
const superscript = (n) =>
  String(n).replace(/[-0-9]/g, (c) => '⁻⁰¹²³⁴⁵⁶⁷⁸⁹'['-0123456789'.indexOf(c)]);

/** "10⁻³" for a power of ten, "" for anything else. @param {number} value */
export function power_of_ten(value) {
  const power = Math.log10(value);
  return Math.abs(power - Math.round(power)) < 1e-9 ? '10' + superscript(Math.round(power)) : '';
}

/** The power of ten below the one that holds the least of these. @param {number[]} values */
export const decade_below = (values) => 10 ** (Math.floor(Math.log10(Math.min(...values))) - 1);
/** The power of ten above the one that holds the greatest. @param {number[]} values */
export const decade_above = (values) => 10 ** (Math.ceil(Math.log10(Math.max(...values))) + 1);
