// States by mark and word: never by colour alone.
import { draw } from '../../pages/draw.js';
import { t } from './texts.js';
import { word } from './words.js';

/** By state, as the program names them, and for what is no state of an end. */
export const MARKS = {
  'start-up': draw`<circle cx="10" cy="10" r="7" stroke-dasharray="4 3"/>`,
  running: draw`<circle class="full" cx="10" cy="10" r="7"/>`,
  'safe-state': draw`<rect class="full" x="3" y="3" width="14" height="14"/>`,
  'awaiting-acknowledgement': draw`<rect x="3" y="3" width="14" height="14"/>
    <rect class="full" x="3" y="10" width="14" height="7"/>`,
  unknown: draw`<path d="M10 2l8 8-8 8-8-8z"/><path d="M10 6v5M10 13v1"/>`,
  dark: draw`<circle cx="10" cy="10" r="7"/><path d="M5 15L15 5"/>`,
  danger: draw`<path class="full" d="M2 4h16L10 18z"/>`,
  locked: draw`<rect class="full" x="3" y="9" width="14" height="9"/>
    <path d="M6 9V6a4 4 0 0 1 8 0v3"/>`,
  latched: draw`<circle class="full" cx="10" cy="7" r="5"/><path d="M3 17h14M10 12v5"/>`,
};

/**
 * @param {string} id
 * @param {unknown} words
 */
function marked(id, words) {
  const shape = MARKS[/** @type {keyof typeof MARKS} */ (id)];
  const svg = draw`<svg viewBox="0 0 20 20" aria-hidden="true">${shape}</svg>`;
  return draw`<span class="state ${id}">${svg}${words}</span>`;
}

/**
 * A state of an end: its mark and its word.
 * @param {string} state
 */
export const mark = (state) => marked(state, word('states', state));
/** The state of an end of which nothing new is heard. */
export const mark_unknown = () => marked('unknown', t('s-unknown'));
/** An end that has no supply. */
export const mark_dark = () => marked('dark', t('s-dark'));
/** A machine that is isolated and locked. @param {string} words */
export const mark_locked = (words) => marked('locked', words);
/** An emergency stop that is latched. @param {string} words */
export const mark_latched = (words) => marked('latched', words);
/** @param {string} words */
export const danger_mark = (words) => marked('danger', words);
