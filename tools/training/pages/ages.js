// Of the debrief: how old what came was, over the whole record. Where it grows, that is the lesson.
import { draw } from '../../pages/draw.js';
import { hour_at, rounded } from '../../pages/numbers.js';
import { entry } from './entries.js';
import { page_width } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Finished} Finished */
/** @typedef {import('./told.js').AgePoint} AgePoint */

const TOP = 24;
const BASE = 164;

/** @param {Finished} state @param {import('./told.js').Ages} ages */
function picture({ begins }, { controller, io }) {
  const width = page_width();
  const left = 48;
  const right = width - 110;
  const all = [...controller, ...io];
  const from = Math.min(...all.map((one) => one[0]));
  const to = Math.max(...all.map((one) => one[0]));
  const most = Math.max(...all.map((one) => one[1]));
  const least = Math.min(0, ...all.map((one) => one[1]));
  const x = (/** @type {number} */ at) => left + ((right - left) * (at - from)) / (to - from || 1);
  const y = (/** @type {number} */ ms) =>
    BASE - ((BASE - TOP) * (ms - least)) / (most - least || 1);
  const line = (/** @type {AgePoint[]} */ points, /** @type {string} */ css) => {
    const drawn = points.map(([at, ms]) => `${x(at).toFixed(1)},${y(ms).toFixed(1)}`);
    return draw`<polyline class="${css}" points="${drawn.join(' ')}"/>`;
  };
  const [last_c, last_d] = [controller[controller.length - 1], io[io.length - 1]];
  const between = (/** @type {AgePoint[]} */ points) => {
    const values = points.map((one) => one[1]);
    return [rounded(Math.min(...values)), rounded(Math.max(...values))];
  };
  const values = [...between(controller), ...between(io)];
  // names that would stand on each other are set apart
  const name_c = y(last_c[1]) + 4;
  let name_d = y(last_d[1]) + 4;
  if (Math.abs(name_c - name_d) < 14) name_d = name_c + (name_d < name_c ? -14 : 14);
  const words = t('ages-text', ...values);
  const box = { width, height: 190, viewBox: `0 0 ${width} 190` };
  const svg = { class: 'chart', ...box, role: 'img', 'aria-label': words };
  return draw`<svg ${svg}>
    <text x="${left - 6}" y="${TOP + 4}" text-anchor="end">${rounded(most)}</text>
    <text x="${left - 6}" y="${BASE + 4}" text-anchor="end">${rounded(least)}</text>
    <line class="base" x1="${left}" x2="${right}" y1="${BASE}" y2="${BASE}"/>
    ${line(controller, 'l2')}${line(io, 'l4')}
    <text x="${right + 6}" y="${name_c}">${t('ages-c')}</text>
    <text x="${right + 6}" y="${name_d}">${t('ages-d')}</text>
    <text x="${left}" y="182">${hour_at(begins, from)}</text>
    <text x="${right}" y="182" text-anchor="end">${hour_at(begins, to)}</text></svg>
    <p class="soft">${words}</p>`;
}

/** @param {Finished} state */
export function ages_told(state) {
  const { ages } = state.score;
  if (!ages || ages.controller.length < 2 || ages.io.length < 2) return '';
  return entry(
    '',
    draw`<h2>${t('ages-head')}</h2><p>${t(ages.measured ? 'ages-measured' : 'ages-true')}</p>
    ${picture(state, ages)}`,
  );
}
