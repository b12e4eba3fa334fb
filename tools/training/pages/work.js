// The workspace of a step: where it happened and what was read at the left, what is asked and done
// at the right; on a narrow page one below the other, in the order in which they are needed.
import { draw } from '../../pages/draw.js';
import { is_wide } from './looking.js';

/**
 * @typedef {object} Work
 * @property {unknown} top story and plant
 * @property {unknown} ask the question of the step, and what was kept
 * @property {unknown} bench panels and instruments
 * @property {unknown} rest what can be done, the log
 * @property {unknown} foot where to go on
 * @property {boolean} [asks_first] the question is what counts, the bench only to look it up
 */

/** @param {Work} work */
export function workspace({ top, ask, bench, rest, foot, asks_first = false }) {
  const begin = draw`<div class="top">${top}</div>`;
  if (!is_wide())
    return draw`<div class="work">${begin}${
      asks_first ? [ask, rest, bench] : [ask, bench, rest]
    }${foot}</div>`;
  const side = draw`<div class="side"><div class="stays">${ask}${rest}${foot}</div></div>`;
  return draw`<div class="work">${begin}${side}<div class="bench">${bench}</div></div>`;
}
