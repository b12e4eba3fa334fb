// Scales of charts: from a value to its place, and the round values that are written at an axis.

/**
 * @param {number} from
 * @param {number} to
 * @param {number} left
 * @param {number} right
 * @returns {(value: number) => number}
 */
export const linear = (from, to, left, right) => (value) =>
  left + ((value - from) / (to - from || 1)) * (right - left);

/**
 * A scale on which each factor of ten is as long as the next; what is not above 0 stands at its
 * lower end.
 * @param {number} from above 0
 * @param {number} to
 * @param {number} left
 * @param {number} right
 * @returns {(value: number) => number}
 */
export function logarithmic(from, to, left, right) {
  const place = linear(Math.log10(from), Math.log10(to), left, right);
  return (value) => place(Math.log10(Math.max(value, from)));
}

/**
 * Round values between the two, about as many as asked for.
 * @param {number} from
 * @param {number} to
 * @param {number} about
 */
export function round_values(from, to, about) {
  const rough = (to - from) / Math.max(1, about);
  if (!(rough > 0)) return [from];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5].find((one) => one * power >= rough * 0.999) ?? 10);
  const all = [];
  for (let i = Math.ceil(from / step - 1e-9); i * step <= to + step * 1e-9; ++i)
    all.push(Number((i * step).toPrecision(12)));
  return all;
}

/**
 * Powers of ten that enclose the values that are above 0.
 * @param {number[]} values
 */
export function enclosing_tens(values) {
  const above = values.filter((value) => value > 0);
  if (!above.length) return { from: 0.1, to: 10 };
  const from = 10 ** Math.floor(Math.log10(Math.min(...above)) + 1e-9);
  const to = 10 ** Math.ceil(Math.log10(Math.max(...above)) - 1e-9);
  return { from, to: to > from ? to : from * 10 };
}

/** @param {number} from @param {number} to at most seven of the powers of ten between the two */
export function tens(from, to) {
  const first = Math.round(Math.log10(from));
  const last = Math.round(Math.log10(to));
  const step = Math.max(1, Math.ceil((last - first) / 6));
  const all = [];
  for (let power = first; power <= last; power += step) all.push(power);
  return all.map((power) => ({ power, value: 10 ** power }));
}
