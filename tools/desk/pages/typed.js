// Section 1: what is meant, and what is typed at each end, compared row by row.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { command_line, field, poster, refusal_at, refusal_of_cell, slug } from './controls.js';
import { looking } from './looking.js';
import { found } from './strength.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Link} Link */
/** @typedef {import('./told.js').Row} Row */
/** @typedef {import('./told.js').Told} Told */

/** How much differs at a link. @param {Link} link */
export function differing(link) {
  const rows = link.groups.flatMap(({ rows }) => rows).filter(({ same }) => !same).length;
  return rows + link.signals.filter(({ same }) => !same).length;
}

/** The link that is looked at. @param {Told} told */
export const link_looked_at = ({ links }) => links[Math.min(looking.link, links.length - 1)];

/**
 * Which of several links is looked at; its differences beside its name.
 * @param {Told} told
 * @param {string} place
 */
export function link_choice({ links }, place) {
  if (links.length < 2) return null;
  const chosen = Math.min(looking.link, links.length - 1);
  return draw`<div class="tabs" role="group" aria-label="${t('links')}">${links.map((link, i) => {
    const count = differing(link);
    return draw`<button ${{
      type: 'button',
      id: `b-link-${place}-${i}`,
      'data-act': 'link',
      'data-value': i,
      'aria-pressed': String(i === chosen),
    }}>${link.name}<span class="soft">, ${link.device}</span>${
      count > 0 &&
      draw` <span class="amber">${mark_alone('differs')}${count}<span
        class="spoken"> ${t('differ')}</span></span>`
    }</button>`;
  })}</div>`;
}

/**
 * What a row that differs shows at each end, and where it is mended.
 * @param {Row} row
 * @param {Link} link
 */
function says(row, link) {
  const { seen_at_controller = '', seen_at_device = '', mend, mend_fields, note } = row;
  const mend_button =
    mend_fields &&
    poster(
      `row-${row.id}`,
      '/api/set',
      { path: mend_fields.path, value: mend_fields.value },
      mend_fields.words,
    );
  const refused = [row.meant, row.controller, row.device].map(refusal_of_cell);
  const at = (/** @type {string} */ end, /** @type {string} */ seen) =>
    seen && draw`<p><b>${t('end-shows', end)}</b> \u201c${seen}\u201d</p>`;
  const differs =
    !row.same &&
    (seen_at_controller || seen_at_device || mend || mend_fields) &&
    draw`<div class="says">${at(link.controller, seen_at_controller)}${at(
      link.device,
      seen_at_device,
    )}
      ${(mend || mend_button) && draw`<p>${mend} ${mend_button}</p>`}</div>`;
  return [
    note && draw`<p class="soft small">${note}</p>`,
    differs,
    refused,
    refusal_at(`row-${row.id}`),
  ];
}

/** @param {Row} row @param {Link} link */
function row_drawn(row, link) {
  const differs = !row.same;
  const below = says(row, link).flat().filter(Boolean);
  const cell = (/** @type {'meant' | 'controller' | 'device'} */ at, /** @type {string} */ name) =>
    draw`<td data-label="${name}">${field(
      row[at],
      t('setting-at', row.setting, name),
      differs && at !== 'meant',
    )}</td>`;
  return draw`<tr ${{ class: differs ? 'differs' : null, id: `row-${slug(link.name + row.id)}` }}>
    <th scope="row">${row.setting}${
      differs &&
      draw` <span class="amber unequal">${mark_alone('differs')}<span>${t('differs')}</span></span>`
    }</th>
    ${cell('meant', t('meant'))}${cell('controller', link.controller)}${cell(
      'device',
      link.device,
    )}</tr>
    ${below.length > 0 && draw`<tr class="below"><td colspan="4">${below}</td></tr>`}`;
}

/** What the two lists came to. @param {Told} told */
function by_lists({ lists }) {
  if (!lists) return null;
  return draw`<h3>${t('by-lists')}</h3><p>${lists.sentence}</p>${found(lists.rows)}
    ${command_line(lists.command ?? '')}`;
}

/**
 * The rows of which that holds, under their groups.
 * @param {Link} link
 * @param {(row: Row) => boolean} holds
 */
function settings(link, holds) {
  const groups = link.groups
    .map(({ title, rows }) => ({ title, rows: rows.filter(holds) }))
    .filter(({ rows }) => rows.length > 0);
  return draw`<table class="settings">
    <thead><tr><th scope="col">${t('setting')}</th><th scope="col">${t('meant')}</th>
    <th scope="col">${link.controller}</th><th scope="col">${link.device}</th></tr></thead>
    ${groups.map(
      ({ title, rows }) => draw`<tbody><tr class="group"><th colspan="4"
        scope="rowgroup">${title}</th></tr>
      ${rows.map((row) => row_drawn(row, link))}</tbody>`,
    )}</table>`;
}

/**
 * On a narrow page what differs stands first, and the rest is folded.
 * @param {Link} link
 * @param {boolean} narrow
 */
function all_settings(link, narrow) {
  const differs = link.groups.some(({ rows }) => rows.some(({ same }) => !same));
  if (!narrow || !differs) return settings(link, () => true);
  return draw`${settings(link, ({ same }) => !same)}<details id="agreeing"><summary>${t(
    'agreeing',
  )}</summary>${settings(link, ({ same }) => same)}</details>`;
}

/** @param {Told} told @param {boolean} [narrow] */
export function typed(told, narrow = false) {
  const link = link_looked_at(told);
  if (!link) return draw`<p class="soft">${t('no-links')}</p>`;
  return draw`${link_choice(told, 'typed')}${all_settings(link, narrow)}
    <p class="soft small">${t('as-meant-words')}</p>
    <details><summary>${t('two-lists')}</summary><p>${t('two-lists-words')}</p>
    ${file_choice('controller-list', t('list-of', link.controller))}
    ${file_choice(
      'device-list',
      t('list-of', link.device),
    )}${refusal_at('drop')}</details>${by_lists(told)}`;
}

/** A file that can be chosen, or dropped there. @param {string} as @param {string} words */
export const file_choice = (as, words) =>
  draw`<p class="drop" data-drop="${as}"><label>${words} <input type="file" id="file-${as}"
    data-as="${as}"></label>
    <span class="soft">${t('or-drop')}</span></p>`;
