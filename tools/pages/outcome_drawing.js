// What comes first after a guard was interrupted, the hand or the standstill: bars over one axis of
// ms. What moves while the hand is there is hatched; a machine that was not seen to stop has an
// open end. What is only reckoned, not seen, is drawn broken.
import { linear, round_values } from './axis.js';
import { draw } from './draw.js';

/**
 * @typedef {object} Race
 * @property {number} hand_ms from the guard to the dangerous place
 * @property {number | null} stood_ms from the guard to standstill; null: it was not seen to stop
 * @property {number | null} [reckoned_ms] the same in the worst case; null: it is not reckoned
 */
/**
 * @typedef {object} RaceWords
 * @property {string} title
 * @property {string} hand what stands over the bar of the hand
 * @property {string} machine
 * @property {string} reckoned
 * @property {string} axis
 */

const LEFT = 2;
const RIGHT = 20; // for the open end
const TOP = 24; // of the first bar
const ROW = 54;
const THICK = 20;
const STEP = 8; // between two lines of a hatching

/**
 * Who is there first: the hand, where the machine still moves then, or was not seen to stop; the
 * machine, but later than is reckoned for it; the machine this time, and not in the worst case; or
 * the machine.
 * @param {Race} race
 * @returns {'hand' | 'late' | 'machine-this-time' | 'machine'}
 */
export function first_of({ hand_ms, stood_ms, reckoned_ms = null }) {
  if (stood_ms === null || hand_ms < stood_ms) return 'hand';
  if (reckoned_ms === null) return 'machine';
  if (reckoned_ms < stood_ms) return 'late';
  return hand_ms < reckoned_ms ? 'machine-this-time' : 'machine';
}

/**
 * Where the bars end.
 * @param {Race} race
 * @param {number} width
 */
export function race_places({ hand_ms, stood_ms, reckoned_ms = null }, width) {
  const least = stood_ms === null ? hand_ms * 1.8 : Math.max(hand_ms, stood_ms) * 1.08;
  const most = Math.max(1, least, (reckoned_ms ?? 0) * 1.08);
  const x = linear(0, most, LEFT, width - RIGHT);
  const machine = stood_ms === null ? width - RIGHT : x(stood_ms);
  return { x, most, hand: x(hand_ms), machine };
}

/** Slanted lines between the two. @param {number} from @param {number} to @param {number} top */
function hatched(from, to, top) {
  let d = '';
  for (let x = from; x < to; x += STEP) {
    const run = Math.min(THICK, to - x);
    d += `M${x.toFixed(1)} ${top + THICK}l${run.toFixed(1)} ${-run.toFixed(1)}`;
  }
  return d;
}

/** @param {number} from @param {number} to @param {number} top @param {string} css */
const bar = (from, to, top, css) =>
  draw`<rect class="${css}" x="${from}" y="${top}" width="${Math.max(0, to - from)}"
    height="${THICK}"/>`;

/** @param {number} top @param {string} words */
const label = (top, words) => draw`<text x="${LEFT}" y="${top - 7}">${words}</text>`;

/**
 * A time of the machine; hatched from where the hand is there.
 * @param {number} hand
 * @param {number} to
 * @param {number} top
 * @param {string} css
 */
function moving(hand, to, top, css) {
  const meets = Math.min(hand, to);
  const on = to > meets;
  return draw`${bar(LEFT, meets, top, css)}${
    on &&
    draw`${bar(meets, to, top, `on ${css}`)}<path class="hatch" d="${hatched(meets, to, top)}"/>`
  }`;
}

/** @param {Race} race @param {number} width @param {RaceWords} words */
export function outcome_drawing(race, width, words) {
  const { x, most, hand, machine } = race_places(race, width);
  const reckoned_ms = race.reckoned_ms ?? null;
  const second = TOP + ROW;
  const third = second + ROW;
  const base = (reckoned_ms === null ? second : third) + THICK + 14;
  const tops = reckoned_ms === null ? [second] : [second, third];
  const through = tops.map((top) => `M${hand} ${top - 2}v${THICK + 6}`).join('');
  return draw`<svg class="outcome" width="${width}" height="${base + 46}"
    viewBox="0 0 ${width} ${base + 46}" role="img" aria-label="${words.title}">
    ${label(TOP, words.hand)}${bar(LEFT, hand, TOP, 'bar')}
    ${label(second, words.machine)}${moving(hand, machine, second, 'bar')}
    ${
      race.stood_ms === null &&
      draw`<path class="open" d="M${machine} ${second + THICK / 2}h16m-7-6l7 6-7 6"/>`
    }
    ${
      reckoned_ms !== null &&
      draw`${label(third, words.reckoned)}${moving(hand, x(reckoned_ms), third, 'reckoned')}`
    }
    <path class="hand" d="M${hand} ${TOP}v${THICK + 8}${through}"/>
    <path class="frame" d="M${LEFT} ${base}H${width - RIGHT}"/>
    ${round_values(0, most, Math.max(4, width / 110)).map(
      (ms) =>
        draw`<path class="tick" d="M${x(ms)} ${base}v5"/><text class="soft" x="${x(ms)}"
        y="${base + 19}" ${{ 'text-anchor': ms === 0 ? 'start' : 'middle' }}>${ms}</text>`,
    )}
    <text class="soft" x="${LEFT}" y="${base + 38}">${words.axis}</text></svg>`;
}
