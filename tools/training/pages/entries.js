// The shift book: entries with a margin, questions, and what stands at the foot of the page.
import { draw } from '../../pages/draw.js';

/**
 * An entry of the book: its time in the margin, its text beside it.
 * @param {unknown} time
 * @param {unknown} body
 * @param {string} [id] of an entry that can be gone to
 */
export const entry = (time, body, id) =>
  draw`<section ${{ class: 'entry', id, tabindex: id && -1 }}>
    <div class="time">${time}</div><div class="body">${body}</div></section>`;

/** @param {unknown} body */
export const foot = (body) => draw`<div class="foot">${body}</div>`;

/** @param {unknown} words */
export const question = (words) => draw`<h2 id="question" tabindex="-1">${words}</h2>`;
