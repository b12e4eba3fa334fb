// The chart of the watchdog: the drawing that pages share, in the words of the report.
import { watchdog_charts } from '../../pages/watchdog_charts.js';

/** @typedef {import('./data_shape.js').Watchdog} Watchdog */
/** @typedef {import('./data_shape.js').WatchdogRow} WatchdogRow */

const MOST = 760; // px: a wider one would only be emptier

/** @param {WatchdogRow} row */
const point_of = ([watchdog_ms, value, , high, needed_mm, usable]) => ({
  watchdog_ms,
  stops_per_year: { value, high, words: '' },
  needed_mm,
  usable,
});

/** @param {number} from_ms @param {number | null} to_ms */
const window_words = (from_ms, to_ms) =>
  `usable from ${from_ms} ms${to_ms === null ? '' : ` to ${to_ms} ms`}`;

/** Null where no watchdog was tried. @param {Watchdog} found @param {number} width */
export function drawn_watchdog(found, width) {
  if (!found.points.length) return null;
  const charted = {
    points: found.points.map(point_of),
    coarse: false,
    at: null,
    set_ms: found.now,
    limit_per_year: found.limit,
    there_mm: found.there,
    window: found.window,
  };
  return watchdog_charts(charted, Math.min(MOST, width), {
    title: 'Stops for nothing and distance needed, over the watchdog; the table says the same',
    stops: 'stops for nothing a year',
    distance: 'distance needed, mm',
    coarse: 'ruled: not known',
    axis: 'watchdog, ms',
    ms: (ms) => `${ms} ms`,
    limit: (value) => `limit ${value} a year`,
    there: (mm) => `there ${mm} mm`,
    window: window_words,
    set: (ms) => `set to ${ms} ms`,
  });
}
