// What was done in step 4, with its hours and what came of it; what is under way stands above it.
import { draw } from '../../pages/draw.js';
import { hour_at, span } from '../../pages/numbers.js';
import { entry } from './entries.js';
import { plant_hour, work_goes } from './lapse.js';
import { is_wide } from './looking.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').DoneWork} DoneWork */

const SEEN = { wide: 3, narrow: 2 }; // the rest is folded away

/** @param {string} begins @param {{ begun: number, until: number }} work */
export function hours_of(begins, { begun, until }) {
  const [from, to] = [hour_at(begins, begun), hour_at(begins, until)];
  return from === to ? to : t('from-until', from, to);
}

/** What it was done to, and what it was. @param {DoneWork} one */
const what_of = ({ words, link }) => (link ? t('of-link', link, words) : words);

/** The last that was done, in one sentence. @param {DoneWork[]} done */
export function last_done(done) {
  const last = done[done.length - 1];
  if (!last) return '';
  const came = last.found?.replace(/\.$/, '');
  return came ? t('last-done', what_of(last), came) : t('last-done-only', what_of(last));
}

/** @param {State} state */
function under_way(state) {
  const { work } = state;
  if (!work) return '';
  const long = span((work.until - work.begun) * 1000);
  const until = hour_at(state.begins, work.until);
  return draw`<div class="under-way"><p><strong>${t('under-way')}</strong> ${work.words}</p>
    ${work_goes(state, work, t('under-way-of', work.words))}
    <p class="soft">${t('under-way-until', word('places', work.place), long, until)}</p></div>`;
}

/** @param {State} state @param {DoneWork} one @param {number} number */
const done_line = (state, one, number) =>
  draw`<li value="${number}"><p><span class="soft">${hours_of(state.begins, one)}</span>
    ${what_of(one)}</p>${one.found && draw`<p class="came">${one.found}</p>`}</li>`;

/** What was done so far, the last first, under the plant's hour. @param {State} state */
export function done_so_far(state) {
  const lines = state.done.map((one, i) => done_line(state, one, i + 1)).reverse();
  const seen = SEEN[is_wide() ? 'wide' : 'narrow'];
  const earlier = lines.slice(seen);
  const none = !lines.length && !state.work;
  return draw`<section class="done" id="done" tabindex="-1"><h3>${t('done-head')}
    <span class="now-at">${t('plant-hour')} ${plant_hour(state)}</span></h3>
    ${under_way(state)}${none && draw`<p class="soft">${t('nothing-done-yet')}</p>`}
    ${lines.length > 0 && draw`<ol class="done-list" reversed>${lines.slice(0, seen)}</ol>`}
    ${
      earlier.length > 0 &&
      draw`<details class="small"><summary>${t('done-earlier', earlier.length)}</summary>
      <ol class="done-list" reversed>${earlier}</ol></details>`
    }</section>`;
}

/** Of the debrief: all that was done, in order. @param {State} state */
export function what_was_done(state) {
  const { done, begins } = state;
  const lines = done.map(
    (one) =>
      draw`<li><div><p class="soft">${hours_of(begins, one)}, ${word('places', one.place)}</p>
      <p>${what_of(one)}</p><p>${one.found}</p></div></li>`,
  );
  return entry(
    '',
    draw`<h2>${t('done-all')}</h2>${
      done.length ? draw`<ol class="all-done">${lines}</ol>` : draw`<p>${t('done-none')}</p>`
    }`,
  );
}
