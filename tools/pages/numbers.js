// Numbers and times as people read them.

/** @param {number | null} ms */
export const rounded = (ms) =>
  ms === null ? '' : ms >= 100 ? Math.round(ms) : Math.round(ms * 10) / 10;

/** @param {number | null} value @param {(number: number) => number} how */
function to_the_side(value, how) {
  if (value === null) return '';
  // what is a whole number of steps but for the last digits of its binary stays as it is
  const step = Math.abs(value) >= 100 ? 1 : 10;
  const near = Math.round(value * step);
  return (Math.abs(near - value * step) < 1e-6 ? near : how(value * step)) / step;
}
/** Of what was seen or is needed: never shorter than it is. @param {number | null} value */
export const rounded_up = (value) => to_the_side(value, Math.ceil);
/** Of what is allowed or there: never longer than it is. @param {number | null} value */
export const rounded_down = (value) => to_the_side(value, Math.floor);

/** @param {number} ms */
export const lasted = (ms) =>
  ms < 10000 ? (ms / 1000).toFixed(1) + ' s' : Math.round(ms / 1000) + ' s';

/**
 * A span of time, however long: "230 ms", "30.9 s", "3 min 20 s", "2 h 5 min", "12 days".
 * @param {number} ms
 */
export function span(ms) {
  if (ms < 1000) return `${rounded(ms)} ms`;
  if (ms < 59950) return `${(ms / 1000).toFixed(1)} s`;
  const seconds = Math.round(ms / 1000);
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return seconds % 60 ? `${minutes} min ${seconds % 60} s` : `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return minutes % 60 ? `${hours} h ${minutes % 60} min` : `${hours} h`;
  return `${Math.floor(hours / 24)} days`;
}

/**
 * A moment on a clock that was started with something, to the ms: "0.035 s", "2 min 04.120 s".
 * @param {number} ms
 */
export function since_start(ms) {
  const minutes = Math.floor(Math.round(ms) / 60000);
  const seconds = ((Math.round(ms) - minutes * 60000) / 1000).toFixed(3);
  return minutes ? `${minutes} min ${seconds.padStart(6, '0')} s` : `${seconds} s`;
}

/**
 * @param {number} value
 * @param {number} [digits]
 */
export const hex = (value, digits = 4) =>
  '0x' + value.toString(16).toUpperCase().padStart(digits, '0');

/**
 * An address as it was typed, with the other base beside it.
 * @param {{ value: number, typed: string }} address
 */
export const in_both_bases = ({ value, typed }) =>
  `${typed} (${typed.startsWith('0x') ? value : hex(value, 1)})`;

/**
 * The hour at a plant time in seconds, for a plant whose time began at the hour `begins`, such as
 * "01:58:00".
 * @param {string} begins
 * @param {number} plant_time
 */
export function hour_at(begins, plant_time) {
  const [h, m, s] = begins.split(':').map(Number);
  const day = 86400;
  const all = (((h * 3600 + m * 60 + s + Math.floor(plant_time)) % day) + day) % day;
  return [Math.floor(all / 3600) % 24, Math.floor(all / 60) % 60, all % 60]
    .map((n) => String(n).padStart(2, '0'))
    .join(':');
}

/**
 * The same to the millisecond.
 * @param {string} begins
 * @param {number} plant_time
 */
export const moment_at = (begins, plant_time) =>
  hour_at(begins, plant_time) + (plant_time - Math.floor(plant_time)).toFixed(3).slice(1);

/** @param {number} seconds */
export const minutes_of = (seconds) =>
  Math.floor(seconds / 60) + ':' + String(seconds % 60).padStart(2, '0');
