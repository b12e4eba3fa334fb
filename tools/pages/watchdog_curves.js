// The two curves over watchdogs, each in its own frame with its limit: stops for nothing, and
// distance. In pixels.
import { enclosing_tens, linear, logarithmic, round_values, tens } from './axis.js';
import { draw } from './draw.js';
import { power_of_ten } from './powers.js';

/** @typedef {import('./watchdog_charts.js').ChartPoint} ChartPoint */
/** @typedef {import('./watchdog_charts.js').Charted} Charted */
/** @typedef {import('./watchdog_charts.js').ChartWords} ChartWords */

export const LEFT = 62;
export const TOP = 46;
export const TALL = 132;
export const GAP = 30;

/**
 * @param {(value: number) => number} x
 * @param {(value: number) => number} y
 * @param {[number, number][]} points
 */
const path_of = (x, y, points) =>
  points.map(([a, b], i) => `${i ? 'L' : 'M'}${x(a).toFixed(1)} ${y(b).toFixed(1)}`).join('');

/**
 * A line with its points, each with its own shape, and its name.
 * @param {{ css: string, name: string, coarse: (i: number) => boolean }} how
 * @param {[number, number][]} points
 * @param {(value: number) => number} x
 * @param {(value: number) => number} y
 */
function curve({ css, coarse }, points, x, y) {
  const dot = (/** @type {[number, number]} */ [a, b], /** @type {number} */ i) => {
    const cx = x(a).toFixed(1);
    const cy = y(b).toFixed(1);
    const shape = coarse(i) ? `${css} point open` : `${css} point`;
    return css === 'l1'
      ? draw`<circle class="${shape}" cx="${cx}" cy="${cy}" r="3.5"/>`
      : draw`<rect class="${shape}" x="${Number(cx) - 3.5}" y="${Number(cy) - 3.5}" width="7"
        height="7"/>`;
  };
  return draw`<path class="${css} curve" d="${path_of(x, y, points)}"/>${points.map(dot)}`;
}

/**
 * A limit with its word, at the end where the curve is not.
 * @param {number} y
 * @param {number} right
 * @param {string} words
 * @param {boolean} at_right
 */
const limit_line = (y, right, words, at_right) =>
  draw`<path class="limit" d="M${LEFT} ${y.toFixed(1)}H${right}"/>
    <text class="over" x="${at_right ? right : LEFT + 6}" y="${(y - 5).toFixed(1)}"
      text-anchor="${at_right ? 'end' : 'start'}">${words}</text>`;

/** @param {number} top @param {number} right @param {string} words @param {unknown} ticks */
const frame = (top, right, words, ticks) =>
  draw`<path class="frame" d="M${LEFT} ${top}V${top + TALL}H${right}"/>${ticks}
    <text class="soft over" x="${LEFT}" y="${top - 8}">${words}</text>`;

/**
 * What is drawn of a point: where nothing is claimed, its bound. Null: not even that is known.
 * @param {ChartPoint} point
 */
const drawn_stops = ({ stops_per_year: { value, high } }) => value ?? high ?? null;

/** How far up its interval reaches, where that is above what is drawn. @param {ChartPoint} point */
function upper({ stops_per_year: { value, high } }) {
  return value !== null && high !== undefined && high !== null && high > value ? high : null;
}

/**
 * @param {ChartPoint[]} points
 * @param {(value: number) => number} x
 * @param {(value: number) => number} y
 */
const intervals = (points, x, y) =>
  points.map((point) => {
    const high = upper(point);
    if (high === null) return false;
    const at = x(point.watchdog_ms).toFixed(1);
    const from = y(drawn_stops(point) ?? 0).toFixed(1);
    return draw`<path class="interval" d="M${at} ${from}V${y(high).toFixed(1)}m-4 0h8"/>`;
  });

/**
 * @param {Charted} charted
 * @param {ChartWords} words
 * @param {number} right
 * @param {(value: number) => number} x
 */
export function stops(charted, words, right, x) {
  const { limit_per_year, coarse } = charted;
  const points = charted.points.filter((point) => drawn_stops(point) !== null);
  const values = points.map((point) => drawn_stops(point) ?? 0);
  const reached = [...values, ...points.map((point) => upper(point) ?? 0)];
  const enclosed = enclosing_tens(limit_per_year ? [...reached, limit_per_year] : reached);
  // 0 has no place on such an axis: it stands at its lower end, under all that is above 0
  const has_none = values.some((value) => value <= 0);
  const from = has_none ? enclosed.from / 10 : enclosed.from;
  const { to } = enclosed;
  const y = logarithmic(from, to, TOP + TALL, TOP + 6);
  const ticks = tens(from, to).map(
    ({ power, value }, i) => draw`<path class="tick" d="M${LEFT - 4} ${y(value)}h4"/>
      <text class="soft" x="${LEFT - 8}" y="${y(value) + 4}"
        text-anchor="end">${has_none && i === 0 ? '0' : power_of_ten(power)}</text>`,
  );
  const how = {
    css: 'l1',
    name: words.stops,
    coarse: (/** @type {number} */ i) =>
      coarse || points[i].usable === null || points[i].stops_per_year.value === null,
  };
  return draw`${frame(TOP, right, words.stops, ticks)}${intervals(points, x, y)}
    ${curve(
      how,
      points.map(({ watchdog_ms }, i) => [watchdog_ms, values[i]]),
      x,
      y,
    )}
    ${
      limit_per_year !== null &&
      limit_line(y(limit_per_year), right, words.limit(limit_per_year), values[0] > limit_per_year)
    }`;
}

/**
 * @param {Charted} charted
 * @param {ChartWords} words
 * @param {number} right
 * @param {(value: number) => number} x
 */
export function distance(charted, words, right, x) {
  const top = TOP + TALL + GAP;
  /** @type {[number, number][]} */
  const points = charted.points.flatMap(({ watchdog_ms, needed_mm }) =>
    needed_mm === null ? [] : [[watchdog_ms, needed_mm]],
  );
  const all = points.map(([, mm]) => mm).concat(charted.there_mm ?? []);
  const most = Math.max(1, ...all) * 1.12;
  const y = linear(0, most, top + TALL, top + 6);
  const ticks = round_values(0, most, 4).map(
    (mm) => draw`<path class="tick" d="M${LEFT - 4} ${y(mm)}h4"/>
      <text class="soft" x="${LEFT - 8}" y="${y(mm) + 4}" text-anchor="end">${mm}</text>`,
  );
  const grows_over = (points[points.length - 1]?.[1] ?? 0) > (charted.there_mm ?? 0) * 0.9;
  const how = { css: 'l2', name: words.distance, coarse: () => charted.coarse };
  return draw`${frame(top, right, words.distance, ticks)}${curve(how, points, x, y)}
    ${
      charted.there_mm !== null &&
      limit_line(y(charted.there_mm), right, words.there(charted.there_mm), !grows_over)
    }`;
}
