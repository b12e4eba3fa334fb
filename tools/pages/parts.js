// Parts that every page is made of.
import { draw } from './draw.js';

/** @typedef {import('./draw.js').Attributes} Attributes */
/** @typedef {import('./draw.js').Drawing} Drawing */
/**
 * A cell is a text, a number, something drawn, or a list of these; a row may be of a kind that the
 * style knows.
 * @typedef {{ cells: unknown[], css?: string }} Row
 */

/**
 * A button that asks for an act: what is pressed is told by `data-act` and `data-value`.
 * @param {string} act
 * @param {string | number} value
 * @param {unknown} words a text, or what is drawn of several
 * @param {Attributes} [more]
 */
export const button = (act, value, words, more = {}) =>
  draw`<button ${{
    type: 'button',
    id: `b-${act}-${value}`,
    'data-act': act,
    'data-value': value,
    ...more,
  }}>${words}</button>`;

/**
 * The head of a page, which can be gone to.
 * @param {string} words
 */
export const head = (words) => draw`<h1 id="head" tabindex="-1">${words}</h1>`;

/** The button that people are meant to press next. */
export const main = { class: 'main' };

/**
 * A table that may be wider than the page, in a box of its own.
 * @param {string[]} heads
 * @param {(Row | unknown[])[]} rows
 * @param {string} words for those who do not see it
 * @param {string} [id]
 */
export function table(heads, rows, words, id) {
  const body = rows.map((row) => {
    const { cells, css } = Array.isArray(row) ? { cells: row, css: undefined } : row;
    return draw`<tr ${{ class: css }}>${cells.map(
      (cell, i) => draw`<td ${{ 'data-label': heads[i] || undefined }}>${cell}</td>`,
    )}</tr>`;
  });
  const box = { class: 'wide', tabindex: 0, role: 'region', 'aria-label': words, id };
  return draw`<div ${box}><table>
    <thead><tr>${heads.map((head) => draw`<th scope="col">${head}</th>`)}</tr></thead>
    <tbody>${body}</tbody></table></div>`;
}

/**
 * @param {string} id
 * @param {string} label
 * @param {[value: string, text: string][]} options
 */
export const choice = (id, label, options) =>
  draw`<label>${label} <select id="${id}">${options.map(
    ([value, text]) => draw`<option value="${value}">${text}</option>`,
  )}</select></label> `;

/**
 * @param {string} id
 * @param {string} label
 * @param {{ least: number, most: number, value: number }} numbers
 */
export const number_field = (id, label, { least, most, value }) =>
  draw`<label>${label} <input ${{ id, type: 'number', min: least, max: most, value }}></label> `;
