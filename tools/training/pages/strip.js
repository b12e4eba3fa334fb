// The strip of the time line: speed above, silence of both ends below it, then rows of what guards,
// signals and ends were, and the moment that is read.
import { draw } from '../../pages/draw.js';
import { hour_at, moment_at } from '../../pages/numbers.js';
import { looking } from './looking.js';
import { frame_of } from './strip_frame.js';
import { rows_drawn, rows_height, rows_read } from './strip_rows.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Sample} Sample */
/**
 * @typedef {{ at: number, letter: string }} Mark a moment with a letter, drawn through both halves
 */
/** @typedef {import('./strip_frame.js').Frame} Frame */

const SILENCE_TOP = 200; // ms
const SPEED_BASE = 100; // in the picture
const SPEED_HEIGHT = 74;
const SILENCE_BASE = 228;
const SILENCE_HEIGHT = 100;
const ROWS_TOP = 240;

/**
 * The sample that is read: the one nearest to the chosen moment, at first the last.
 * @param {Sample[]} samples
 */
function chosen_sample(samples) {
  const { moment } = looking;
  if (moment === null) return samples.length - 1;
  let best = 0;
  for (let i = 1; i < samples.length; ++i)
    if (Math.abs(samples[i][0] - moment) < Math.abs(samples[best][0] - moment)) best = i;
  return best;
}

/**
 * @param {State} state
 * @param {Sample} sample
 */
function moment_words(state, sample) {
  const ago = (/** @type {number | null} */ value) =>
    value === null ? t('none-yet') : t('ms-ago', value);
  const moment = moment_at(state.begins, sample[0]);
  const { ends, more } = rows_read(state, sample);
  const silence = [ago(sample[2]), ago(sample[3])];
  const said = state.no_machine
    ? t('at-moment-of-link', moment, ...silence, ...ends)
    : t('at-moment', moment, sample[1], ...silence, ...ends);
  return `${said} ${more}`.trim();
}

/**
 * @param {Frame} frame
 * @param {{ at: 1 | 2 | 3, top: number, base: number, height: number, css: string }} what
 */
function line({ x, pieces }, { at, top, base, height, css }) {
  return pieces.map((piece) => {
    const points = piece.map((sample) => {
      const y = base - height * Math.min(1, (sample[at] ?? top) / top);
      return `${x(sample[0])},${y.toFixed(1)}`;
    });
    return draw`<polyline class="${css}" points="${points.join(' ')}"/>`;
  });
}

/**
 * When each piece begins and, of the last, ends.
 * @param {State} state
 * @param {Frame} frame
 * @param {number} y
 */
function hours({ begins }, { pieces, x, right }, y) {
  const last = pieces[pieces.length - 1];
  const [end] = last[last.length - 1];
  const hour = (/** @type {number} */ at) => hour_at(begins, at);
  return [
    pieces.map(([[from]]) => draw`<text x="${x(from)}" y="${y}">${hour(from)}</text>`),
    draw`<text x="${right}" y="${y + 16}" text-anchor="end">${hour(end)}</text>`,
  ];
}

/**
 * @param {Frame} frame
 * @param {Mark[]} marks
 * @param {number} bottom
 */
const marks_drawn = ({ x }, marks, bottom) =>
  marks.map((one, i) => {
    // letters that would stand on each other are left out
    const close = i > 0 && Number(x(one.at)) - Number(x(marks[i - 1].at)) < 12;
    const at = x(one.at);
    return draw`<line class="mark" x1="${at}" x2="${at}" y1="20" y2="${bottom}"/>
    <text class="letter" x="${at}" y="14" text-anchor="middle">${close ? '' : one.letter}</text>`;
  });

/**
 * @param {State} state
 * @param {Frame} frame
 */
function watchdogs(state, { left, right }) {
  const times = [state.controller?.watchdog_ms, state.io?.watchdog_ms];
  return [...new Set(times)].map((ms) => {
    if (!ms || ms >= SILENCE_TOP) return null;
    const y = SILENCE_BASE - (SILENCE_HEIGHT * ms) / SILENCE_TOP;
    return draw`<line class="limit" x1="${left}" x2="${right}" y1="${y}" y2="${y}"/>
    <text x="${left + 4}" y="${y - 4}">${t('watchdog-line', ms)}</text>`;
  });
}

/**
 * @param {State} state
 * @param {Sample[]} samples
 * @param {Mark[]} marks
 */
function picture(state, samples, marks) {
  const frame = frame_of(samples);
  const { width, left, right, x } = frame;
  const bottom = ROWS_TOP + rows_height(state);
  const full = state.machine.full || 1;
  const silence = { top: SILENCE_TOP, base: SILENCE_BASE, height: SILENCE_HEIGHT };
  const cursor = x(samples[chosen_sample(samples)][0]);
  const svg = {
    class: 'chart',
    width,
    height: bottom + 40,
    viewBox: `0 0 ${width} ${bottom + 40}`,
    role: 'img',
    'aria-label': t('strip-text', SILENCE_TOP),
  };
  const speed = { top: full, base: SPEED_BASE, height: SPEED_HEIGHT };
  return draw`<svg ${svg}>
    ${marks_drawn(frame, marks, bottom)}
    <text x="${left - 6}" y="32" text-anchor="end">${full}</text>
    <text x="${left - 6}" y="102" text-anchor="end">0</text>
    <line class="base" x1="${left}" x2="${right}" y1="100" y2="100"/>
    ${!state.no_machine && line(frame, { at: 1, ...speed, css: 'l1' })}
    <text x="${right + 6}" y="104">${t('speed')}</text>
    <text x="${left - 6}" y="132" text-anchor="end">${SILENCE_TOP}</text>
    <text x="${left - 6}" y="230" text-anchor="end">0</text>
    <line class="base" x1="${left}" x2="${right}" y1="228" y2="228"/>
    ${watchdogs(state, frame)}
    ${line(frame, { at: 2, ...silence, css: 'l2' })}
    <text x="${right + 6}" y="206">${t('silence-c')}</text>
    ${line(frame, { at: 3, ...silence, css: 'l4' })}
    <text x="${right + 6}" y="224">${t('silence-d')}</text>
    <path class="l2" d="M${right + 6} 190h24"/><path class="l4" d="M${right + 6} 234h24"/>
    ${rows_drawn(state, frame, ROWS_TOP)}
    <line class="cursor" x1="${cursor}" x2="${cursor}" y1="20" y2="${bottom}"/>
    ${hours(state, frame, bottom + 16)}</svg>`;
}

/**
 * Picture, its text, and the moment that is read; nothing of less than two samples.
 * @param {State} state
 * @param {Sample[]} samples
 * @param {Mark[]} [marks]
 */
export function strip(state, samples, marks = []) {
  if (!frame_of(samples).pieces.length) return '';
  const at = chosen_sample(samples);
  const read = moment_words(state, samples[at]);
  const range = {
    type: 'range',
    class: 'moment',
    id: 'moment',
    min: 0,
    max: samples.length - 1,
    value: at,
    'data-moments': samples.map((sample) => sample[0]).join(' '),
    'aria-valuetext': read,
  };
  return draw`${picture(state, samples, marks)}
    ${state.no_machine && draw`<p class="soft">${t('no-machine-here')}</p>`}
    <p><label>${t('read-moment')} <input ${range}></label><br>${read}</p>
    <details class="small"><summary>${t('how-to-read')}</summary><p
      class="soft">${t('strip-text', SILENCE_TOP)}</p></details>`;
}
