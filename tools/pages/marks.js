// States by mark and word: never by colour alone.
import { draw } from './draw.js';

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
  fails: draw`<path d="M4 4l12 12M16 4L4 16"/>`,
  locked: draw`<rect class="full" x="3" y="9" width="14" height="9"/>
    <path d="M6 9V6a4 4 0 0 1 8 0v3"/>`,
  latched: draw`<circle class="full" cx="10" cy="7" r="5"/><path d="M3 17h14M10 12v5"/>`,
  tools: draw`<path d="M4 17l7-7M9 3l8 8M11 1l8 8-4 3-7-7z"/>`,
  differs: draw`<path d="M2 7h16M2 13h16M6 18L14 2"/>`,
  warns: draw`<circle cx="10" cy="10" r="8"/><path d="M10 5v6M10 14v1"/>`,
  ok: draw`<path d="M3 11l5 5L17 4"/>`,
};

/** @param {string} id */
export function mark_alone(id) {
  const shape = MARKS[/** @type {keyof typeof MARKS} */ (id)];
  return draw`<svg class="mark" viewBox="0 0 20 20" aria-hidden="true">${shape}</svg>`;
}

/**
 * A mark with its word or sentence.
 * @param {string} id
 * @param {unknown} words
 */
export function marked(id, words) {
  const shape = MARKS[/** @type {keyof typeof MARKS} */ (id)];
  const svg = draw`<svg viewBox="0 0 20 20" aria-hidden="true">${shape}</svg>`;
  return draw`<span class="state ${id}">${svg}${words}</span>`;
}
