// What can be pressed or typed on the page, and refusals beside it.
import { draw } from '../../pages/draw.js';
import { looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('../../pages/draw.js').Attributes} Attributes */
/** @typedef {import('./told.js').Cell} Cell */
/** @typedef {import('./told.js').Refusal} Refusal */

/** @param {string} text as a part of an id */
export const slug = (text) => text.replace(/[^a-z0-9]+/gi, '-');

/**
 * A button that posts these fields to that path; a refusal is shown at the place.
 * @param {string} place
 * @param {string} path
 * @param {{ [name: string]: string | number }} fields
 * @param {unknown} words
 * @param {Attributes} [more]
 */
export const poster = (place, path, fields, words, more = {}) =>
  draw`<button ${{
    type: 'button',
    id: `b-${slug([place, path, ...Object.values(fields)].join(' '))}`,
    'data-act': 'post',
    'data-place': place,
    'data-path': path,
    'data-fields': JSON.stringify(fields),
    ...more,
  }}>${words}</button>`;

/**
 * An act at the bench.
 * @param {string} place
 * @param {{ [name: string]: string | number }} fields
 * @param {unknown} words
 * @param {Attributes} [more]
 */
export const bench_act = (place, fields, words, more) =>
  poster(place, '/api/bench', fields, words, more);

/** What cannot be pressed now keeps the focus. @param {boolean} can @returns {Attributes} */
export const if_able = (can) => ({ 'aria-disabled': can ? null : 'true' });

/**
 * A button that mends what was refused at that place.
 * @param {string} place
 * @param {import('./told.js').Mend} mend
 */
export function mend_button(place, mend) {
  if ('path' in mend)
    return poster(place, mend.path, mend.fields, mend.words, { 'data-mend': true });
  return draw`<button ${{
    type: 'button',
    id: `b-${slug([place, mend.act, mend.value].join(' '))}`,
    'data-act': mend.act,
    'data-value': mend.value,
    'data-place': place,
    'data-mend': true,
  }}>${mend.words}</button>`;
}

/** @param {string} place @param {Refusal | undefined | null} refusal */
function refusal_drawn(place, refusal) {
  if (!refusal) return null;
  const { error, mends, note } = refusal;
  return draw`<div ${{
    class: note ? 'refused noted' : 'refused',
    role: note ? 'status' : 'alert',
    id: `refused-${slug(place)}`,
  }}><span>${error}</span>
    ${mends.map((mend) => mend_button(place, mend))}
    <button type="button" class="quiet" id="b-seen-${slug(place)}" data-act="seen"
      data-value="${place}">${t('seen')}</button></div>`;
}

/** What was refused at that place, with its mends. @param {string} place */
export const refusal_at = (place) => refusal_drawn(place, looking.refused.get(place));

/** What was refused of a typed value. @param {Cell} cell */
export const refusal_of_cell = ({ path }) => {
  const edit = path === null ? undefined : looking.edits.get(path);
  return path !== null && edit?.state === 'refused' ? refusal_drawn(path, edit.refusal) : null;
};

/**
 * A value that can be typed: with a dashed edge where it is as meant. What cannot be typed is text.
 * @param {Cell} cell
 * @param {string} label
 * @param {boolean} [differs]
 */
export function field({ path, typed, shown, other, line }, label, differs = false) {
  const is_said = !typed && shown.includes(other);
  const beside = other && !is_said && draw` <span class="other">${other}</span>`;
  if (path === null) return draw`<span class="fixed">${shown}</span>${beside}`;
  const edit = looking.edits.get(path);
  const value = edit?.text ?? typed ?? '';
  const as_meant = value === '';
  const css = ['typed', as_meant && 'as-meant', differs && 'differing'].filter(Boolean).join(' ');
  return draw`<input ${{
    type: 'text',
    id: `f-${slug(path)}`,
    class: css,
    'data-path': path,
    'data-told': true,
    value,
    placeholder: shown,
    autocomplete: 'off',
    spellcheck: 'false',
    title: line === null ? null : t('at-line', line),
    'aria-label': as_meant ? t('label-as-meant', label, shown) : label,
    'aria-invalid': edit?.state === 'refused' ? 'true' : null,
    'aria-describedby': edit?.state === 'refused' ? `refused-${slug(path)}` : null,
  }}>${beside}`;
}

/** A command line that does the same. @param {string} command */
export const command_line = (command) =>
  command && draw`<p class="command"><code>${command}</code></p>`;
