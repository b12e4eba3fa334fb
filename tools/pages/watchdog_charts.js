// Stops for nothing and distance over one axis of watchdogs, one chart above the other: the window
// is where both hold. Drawn in pixels; limits are lines with a word on them.
import { linear, round_values } from './axis.js';
import { draw } from './draw.js';
import { GAP, LEFT, TALL, TOP, distance, stops } from './watchdog_curves.js';

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
 * @property {number | null} at which of the points the handle stands on; null: there is none
 * @property {number | null} [set_ms] what the link is set to; drawn where it is on the axis
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
 * @property {(ms: number) => string} [set]
 */

const LETTER = 7.2; // px of one

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
 * Where words stand that are in the middle there: so that they stay within.
 * @param {number} x
 * @param {string} words
 * @param {number} right
 */
const kept_within = (x, words, right) => {
  const half = (words.length * LETTER) / 2;
  return Math.max(half, Math.min(right - half, x)).toFixed(1);
};

/**
 * @param {Charted} charted
 * @param {(value: number) => number} x
 * @param {number} bottom
 * @param {ChartWords} words
 * @param {number} right
 */
function bands({ points, coarse, window }, x, bottom, words, right) {
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
  const said = words.window(window.from_ms, window.to_ms);
  const from = x(window.from_ms);
  const to = x(window.to_ms ?? last);
  return draw`${unsure}${named}
    <rect class="window" x="${from}" y="${TOP}" width="${Math.max(1, to - from)}"
      height="${bottom - TOP}"/>
    <path class="edge" d="M${from} 20V${bottom}M${to} 20V${bottom}"/>
    <text class="name" x="${kept_within((from + to) / 2, said, right)}" y="14"
      text-anchor="middle">${said}</text>`;
}

/**
 * What is looked at, with a knob, or what is set.
 * @param {Charted} charted
 * @param {(value: number) => number} x
 * @param {number} bottom
 * @param {ChartWords} words
 * @param {number} right
 */
function upright({ points, at, set_ms }, x, bottom, words, right) {
  const y = bottom + 36;
  if (at !== null) {
    const handle = x(points[at].watchdog_ms);
    return draw`<path class="handle" d="M${handle} ${TOP}V${bottom}"/><circle class="handle"
      cx="${handle}" cy="${bottom}" r="6"/><text class="name" x="${Math.min(right - 30, handle)}"
      y="${y}" text-anchor="middle">${words.ms(points[at].watchdog_ms)}</text>`;
  }
  const [first, last] = [points[0].watchdog_ms, points[points.length - 1].watchdog_ms];
  if (set_ms === undefined || set_ms === null || !words.set) return null;
  if (set_ms < first || set_ms > last) return null;
  const said = words.set(set_ms);
  const beside = LEFT + (words.axis.length + 4 + said.length / 2) * LETTER; // of the axis' words
  return draw`<path class="set" d="M${x(set_ms)} ${TOP}V${bottom + 20}"/><text class="name"
    x="${kept_within(Math.max(beside, x(set_ms)), said, right)}" y="${y}"
    text-anchor="middle">${said}</text>`;
}

/**
 * @param {Charted} charted
 * @param {number} width
 * @param {ChartWords} words
 */
export function watchdog_charts(charted, width, words) {
  const { points } = charted;
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
  const height = bottom + 40;
  return draw`<svg class="charts" width="${width}" height="${height}"
    viewBox="0 0 ${width} ${height}" role="img" aria-label="${words.title}">
    <defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse"
      patternTransform="rotate(45)"><path d="M0 0v8"/></pattern>
    <pattern id="dots" width="6" height="6" patternUnits="userSpaceOnUse"><path
      d="M0 3h6"/></pattern></defs>
    ${bands(charted, x, bottom, words, right)}
    ${stops(charted, words, right, x)}${has_distance && distance(charted, words, right, x)}${ticks}
    ${upright(charted, x, bottom, words, right)}
    <text class="soft" x="${LEFT}" y="${bottom + 36}">${words.axis}</text></svg>`;
}
