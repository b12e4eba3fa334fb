// Powers of ten for logarithmic axes.
import { power_of_ten } from '../../pages/powers.js';

/** "10⁻³" for a power of ten, "" for anything else. @param {number} value */
export function tick_of(value) {
  const power = Math.log10(value);
  return Math.abs(power - Math.round(power)) < 1e-9 ? power_of_ten(Math.round(power)) : '';
}

/** The power of ten below the one that holds the least of these. @param {number[]} values */
export const decade_below = (values) => 10 ** (Math.floor(Math.log10(Math.min(...values))) - 1);
/** The power of ten above the one that holds the greatest. @param {number[]} values */
export const decade_above = (values) => 10 ** (Math.ceil(Math.log10(Math.max(...values))) + 1);
