// Of the debrief: the telegrams around the first stop on their way, slowed down. Each is drawn
// between what was seen of it, and nowhere else; who wants no motion goes on step by step.
import { draw } from '../../pages/draw.js';
import { put } from '../../pages/lay_over.js';
import { moment_at, rounded } from '../../pages/numbers.js';
import { button, table } from '../../pages/parts.js';
import { grouped, ways_drawing } from '../../pages/ways_drawing.js';
import { places_of } from '../../pages/ways_places.js';
import { entry } from './entries.js';
import { page_width } from './looking.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Finished} Finished */
/** @typedef {import('./told.js').Ways} Ways */
/** @typedef {import('../../pages/ways_places.js').Telegram} Telegram */
/** @typedef {import('../../pages/ways_places.js').Place} Place */

const TIMES_SLOWER = 40;
const GONE_AFTER_MS = 10; // what is not seen again is not drawn for longer
const STEPS = 1000; // of the slider
const PICTURE = 'slow-picture';

const slow = {
  /** @type {Ways | null} */
  ways: null,
  at_ms: 0,
  frame: 0,
  last: 0, // on the clock of the page, ms
};

/** @param {Ways['facts'][number]} fact @returns {Telegram} */
function telegram_of([id, way, number, made_ms, due_ms, fate, fate_ms, measure]) {
  const one = { id, way, number: number ?? 0, made_ms, due_ms, reason: '' };
  if (fate === null && due_ms === null)
    return { ...one, fate: 'gone', fate_ms: made_ms + GONE_AFTER_MS };
  return { ...one, fate, fate_ms, reason: measure ? word('causes', measure) : '' };
}

/** @type {{ [fate: string]: import('./texts.js').Key }} */
const FATES = {
  accepted: 'f-accepted',
  repeated: 'f-repeated',
  ignored: 'f-ignored',
  lost: 'f-lost',
  gone: 'f-gone',
  waits: 'f-waits',
  going: 'f-going',
  leaves: 'f-going',
};

/** @param {{ reason: string }} of @param {string} fate */
const fate_words = ({ reason }, fate) =>
  fate === 'rejected' ? t('f-rejected', reason) : t(FATES[fate]);

/** @param {Ways} ways */
const words_of = ({ controller, device, link }) => ({
  title: t('slow-title', controller, device, link ?? ''),
  to_device: t('to', device),
  to_controller: t('to', controller),
  state: (/** @type {Place} */ place) => fate_words(place, place.state),
  telegram: (/** @type {Place} */ place) =>
    t(
      'slow-telegram',
      grouped(place.number),
      place.way === 0 ? device : controller,
      fate_words(place, place.state),
    ),
});

/** Against the stop, in words. @param {Ways} ways @param {number} at_ms */
const since_stop = ({ stop_ms }, at_ms) =>
  t(at_ms < stop_ms ? 'slow-before' : 'slow-after', rounded(Math.abs(at_ms - stop_ms)));

function picture() {
  const { ways, at_ms } = slow;
  if (!ways || !document.getElementById(PICTURE)) return;
  const places = places_of(ways.facts.map(telegram_of), at_ms, ways.watchdog_ms);
  const of = { link: 'slow', cut: false, only_shown: true };
  put(
    PICTURE,
    draw`${ways_drawing(places, page_width(), words_of(ways), of)}<p
      class="moment-words">${since_stop(ways, at_ms)}</p>`,
  );
  const slider = document.getElementById('slow-at');
  if (!(slider instanceof HTMLInputElement)) return;
  const share = (at_ms - ways.from_ms) / (ways.to_ms - ways.from_ms || 1);
  slider.value = String(Math.round(share * STEPS));
  slider.setAttribute('aria-valuetext', since_stop(ways, at_ms));
}

function stop() {
  if (slow.frame) cancelAnimationFrame(slow.frame);
  slow.frame = 0;
  const play = document.getElementById('b-slow-play-');
  if (play) play.textContent = t('slow-play', TIMES_SLOWER);
}

/** @param {number} now */
function move_on(now) {
  const { ways } = slow;
  if (!ways || !document.getElementById(PICTURE)) return stop();
  slow.at_ms = Math.min(ways.to_ms, slow.at_ms + (now - slow.last) / TIMES_SLOWER);
  slow.last = now;
  picture();
  if (slow.at_ms >= ways.to_ms) return stop();
  slow.frame = requestAnimationFrame(move_on);
}

export function slow_play() {
  const { ways } = slow;
  if (!ways) return;
  if (slow.frame) return stop();
  if (slow.at_ms >= ways.to_ms) slow.at_ms = ways.from_ms;
  slow.last = performance.now();
  slow.frame = requestAnimationFrame(move_on);
  const play = document.getElementById('b-slow-play-');
  if (play) play.textContent = t('slow-stop');
}

/** To the next thing that was seen: a telegram made, arrived, or looked at. */
export function slow_step() {
  const { ways, at_ms } = slow;
  if (!ways) return;
  stop();
  const seen = ways.facts.flatMap(([, , , made, due, , fated]) => [made, due, fated]);
  const later = seen.filter((one) => one !== null && one > at_ms + 0.0005);
  slow.at_ms = Math.min(...later.map(Number), ways.to_ms);
  picture();
}

/** @param {number} value of the slider */
export function slow_to(value) {
  const { ways } = slow;
  if (!ways) return;
  stop();
  slow.at_ms = ways.from_ms + ((ways.to_ms - ways.from_ms) * value) / STEPS;
  picture();
}

/** To be called once the debrief is on the page. @param {Ways | null} ways */
export function show_slow_ways(ways) {
  const same = slow.ways?.stop_ms === ways?.stop_ms && slow.ways?.from_ms === ways?.from_ms;
  slow.ways = ways;
  if (!ways) return stop();
  if (!same) {
    stop();
    slow.at_ms = Math.max(ways.from_ms, ways.stop_ms - ways.watchdog_ms);
  }
  if (!slow.frame) picture();
}

/** @param {Finished} state @param {Ways} ways */
function list(state, ways) {
  const rows = ways.facts.map((fact) => {
    const one = telegram_of(fact);
    return {
      cells: [
        moment_at(state.begins, one.made_ms / 1000),
        since_stop(ways, one.made_ms),
        t('to', one.way === 0 ? ways.device : ways.controller),
        grouped(one.number),
        fate_words(one, one.fate ?? 'waits'),
      ],
      css: one.fate === 'rejected' ? 'rejected' : undefined,
    };
  });
  const heads = [t('time'), t('slow-when'), t('slow-way'), t('number'), t('slow-fate')];
  return table(heads, rows, t('same-as-table'));
}

/** @param {Finished} state */
export function slow_ways(state) {
  const { ways } = state.score;
  if (!ways) return '';
  const slider = {
    type: 'range',
    class: 'moment',
    id: 'slow-at',
    min: 0,
    max: STEPS,
    'data-own': true,
  };
  const still = globalThis.matchMedia?.('(prefers-reduced-motion: reduce)').matches;
  const own = { 'data-own': true };
  return entry(
    '',
    draw`<h2>${t('slow-head')}</h2><p class="soft">${t('slow-text')}</p>
    <div ${{ id: PICTURE, ...own }}></div>
    <p><label>${t('slow-moment')} <input ${slider}></label></p>
    <p>${!still && button('slow-play', '', t('slow-play', TIMES_SLOWER), own)}${button(
      'slow-step',
      '',
      t('slow-step'),
    )}</p>
    <details><summary>${t('same-as-table')}</summary>${list(state, ways)}</details>`,
    'slow-ways',
  );
}
