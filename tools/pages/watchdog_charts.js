// Stops for nothing and distance over one axis of watchdogs, one chart above the other: the window
// is where both hold. Drawn in pixels; limits are lines with a word on them.
import { enclosing_tens, linear, logarithmic, round_values, tens } from './axis.js';
import { draw } from './draw.js';
import { power_of_ten } from './powers.js';

/**
 * @typedef {object} ChartPoint
 * @property {number} watchdog_ms
 * @property {{ value: number | null, high?: number | null, words: string }} stops_per_year null:
 * nothing is claimed, and `high` is a bound
 * @property {number | null} needed_mm
 * @property {boolean | null} usable null: not known, or only coarsely
 */
/**
 * @typedef {object} Charted
 * @property {ChartPoint[]} points by rising watchdog
 * @property {boolean} coarse all of them are bounds so far
 * @property {number} at which of the points the handle stands on
 * @property {number | null} limit_per_year
 * @property {number | null} there_mm
 * @property {{ from_ms: number, to_ms: number | null } | null} window
 */
/**
 * @typedef {object} ChartWords
 * @property {string} title
 * @property {string} stops
 * @property {string} distance
 * @property {string} coarse
 * @property {string} axis
 * @property {(ms: number) => string} ms
 * @property {(value: number) => string} limit
 * @property {(mm: number) => string} there
 * @property {(from_ms: number, to_ms: number | null) => string} window
 */

const LEFT = 62;
const TOP = 46;
const TALL = 132;
const GAP = 30;
/**
 * Where each point reaches to: half way to its neighbours.
 * @param {ChartPoint[]} points
 * @param {number} i
 */
function reach(points, i) {
  const at = points[i].watchdog_ms;
  const before = points[i - 1]?.watchdog_ms ?? at;
  const after = points[i + 1]?.watchdog_ms ?? at;
  return { from: (before + at) / 2, to: (at + after) / 2 };
}

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

/**
 * @param {Charted} charted
 * @param {ChartWords} words
 * @param {number} right
 * @param {(value: number) => number} x
 */
function stops(charted, words, right, x) {
  const { limit_per_year, coarse } = charted;
  const points = charted.points.filter((point) => drawn_stops(point) !== null);
  const values = points.map((point) => drawn_stops(point) ?? 0);
  const enclosed = enclosing_tens(limit_per_year ? [...values, limit_per_year] : values);
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
  return draw`${frame(TOP, right, words.stops, ticks)}
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
function distance(charted, words, right, x) {
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

/**
 * @param {Charted} charted
 * @param {(value: number) => number} x
 * @param {number} bottom
 * @param {ChartWords} words
 */
function bands({ points, coarse, window }, x, bottom, words) {
  const unsure = points.flatMap((point, i) => {
    if (!coarse && point.usable !== null) return [];
    const { from, to } = reach(points, i);
    return [
      draw`<rect class="coarse" x="${x(from)}" y="${TOP}" width="${x(to) - x(from)}"
        height="${bottom - TOP}"/>`,
    ];
  });
  const last = points[points.length - 1].watchdog_ms;
  const named =
    unsure.length > 0 && draw`<text x="${x(last)}" y="14" text-anchor="end">${words.coarse}</text>`;
  if (!window) return [unsure, named];
  const from = x(window.from_ms);
  const to = x(window.to_ms ?? last);
  return draw`${unsure}${named}
    <rect class="window" x="${from}" y="${TOP}" width="${Math.max(1, to - from)}"
      height="${bottom - TOP}"/>
    <path class="edge" d="M${from} 20V${bottom}M${to} 20V${bottom}"/>
    <text class="name" x="${(from + to) / 2}" y="14"
      text-anchor="middle">${words.window(window.from_ms, window.to_ms)}</text>`;
}

/**
 * @param {Charted} charted
 * @param {number} width
 * @param {ChartWords} words
 */
export function watchdog_charts(charted, width, words) {
  const { points, at } = charted;
  const right = width - 10;
  const has_distance = points.some(({ needed_mm }) => needed_mm !== null);
  const bottom = has_distance ? TOP + 2 * TALL + GAP : TOP + TALL;
  const first = points[0].watchdog_ms;
  const last = points[points.length - 1].watchdog_ms;
  const x = linear(first, last, LEFT + 8, right - 8);
  const ticks = round_values(first, last, width / 80).map(
    (ms) => draw`<path class="tick" d="M${x(ms)} ${bottom}v4"/>
      <text class="soft" x="${x(ms)}" y="${bottom + 18}" text-anchor="middle">${ms}</text>`,
  );
  const handle = x(points[at].watchdog_ms);
  return draw`<svg class="charts" width="${width}" height="${bottom + 40}" role="img"
    aria-label="${words.title}">
    <defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse"
      patternTransform="rotate(45)"><path d="M0 0v8"/></pattern>
    <pattern id="dots" width="6" height="6" patternUnits="userSpaceOnUse"><path
      d="M0 3h6"/></pattern></defs>
    ${bands(charted, x, bottom, words)}
    ${stops(charted, words, right, x)}${has_distance && distance(charted, words, right, x)}${ticks}
    <path class="handle" d="M${handle} ${TOP}V${bottom}"/><circle class="handle" cx="${handle}"
      cy="${bottom}" r="6"/>
    <text class="soft" x="${LEFT}" y="${bottom + 36}">${words.axis}</text>
    <text class="name" x="${Math.min(right - 30, handle)}" y="${bottom + 36}"
      text-anchor="middle">${words.ms(points[at].watchdog_ms)}</text></svg>`;
}
