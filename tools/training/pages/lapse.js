// The plant's hour on the page. While something is under way the plant runs in time-lapse: between
// two tellings the hour glides from the one to the other, and how far the act has come with it. Who
// wants no motion sees the hours that were told.
import { draw } from '../../pages/draw.js';
import { Glide } from '../../pages/glide.js';
import { hour_at } from '../../pages/numbers.js';
import { looking } from './looking.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Work} Work */

const HOUR = 'plant-hour';
const GOES = 'work-goes';
const still = globalThis.matchMedia?.('(prefers-reduced-motion: reduce)');

const lapse = {
  glide: new Glide(),
  begins: '00:00:00',
  /** @type {Work | null} */
  work: null,
  frame: 0,
};

/** Plant time as it is drawn just now, in s. @param {number} now of the page, ms */
const at = (now) => lapse.glide.at(now);

/** How much of an act is over, of 1. @param {Work} work @param {number} plant_time */
export const share_of = ({ begun, until }, plant_time) =>
  until > begun ? Math.min(1, Math.max(0, (plant_time - begun) / (until - begun))) : 1;

/** To be called with each telling, before anything is drawn. @param {State} state */
export function tell_hour(state) {
  const { begins, plant_time, work } = state;
  lapse.begins = begins;
  lapse.work = work;
  const rate = looking.held ? 'paused' : 'runs';
  lapse.glide.told(plant_time * 1000, plant_time, rate, performance.now());
}

/** Another drill. */
export function forget_hour() {
  lapse.glide = new Glide();
  lapse.work = null;
}

/** The hour, to be laid anywhere on the page once. @param {State} state */
export function plant_hour(state) {
  const own = { id: HOUR, class: 'hour', 'data-own': !still?.matches };
  return draw`<span ${own}>${hour_at(state.begins, state.plant_time)}</span>`;
}

/**
 * How far the act under way has come.
 * @param {State} state
 * @param {Work} work
 * @param {string} words
 */
export function work_goes(state, work, words) {
  const share = share_of(work, state.plant_time).toFixed(3);
  return draw`<progress ${{ id: GOES, max: 1, value: share, 'aria-label': words }}></progress>`;
}

function move_on() {
  lapse.frame = 0;
  const hour = document.getElementById(HOUR);
  if (!hour || still?.matches) return;
  const now = performance.now();
  const words = hour_at(lapse.begins, at(now));
  if (hour.textContent !== words) hour.textContent = words;
  const goes = document.getElementById(GOES);
  if (goes instanceof HTMLProgressElement && lapse.work) goes.value = share_of(lapse.work, at(now));
  if (lapse.glide.glides(now)) lapse.frame = requestAnimationFrame(move_on);
}

/** To be called once the page is drawn. */
export function keep_time() {
  if (!lapse.frame && !still?.matches) lapse.frame = requestAnimationFrame(move_on);
}
