// The head of the page: the file and what is done with it, the line that is always true, and what
// asks for an answer.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { if_able, poster, refusal_at } from './controls.js';
import { looking } from './looking.js';
import { stream } from './talk.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Shown} Told */
/** @typedef {import('./told.js').Truth} Truth */

/** Whether a file is open. @param {Told} told */
export const is_open = ({ file, plant }) =>
  file.name !== null || file.title !== '' || plant !== null;
/** Whether the beginnings are shown. @param {Told} told */
export const at_beginnings = (told) => !is_open(told) || looking.beginnings;

/** @param {Told} told */
export function file_line(told) {
  const { file } = told;
  if (!is_open(told))
    return draw`<h1>${t('desk')}</h1> <span class="soft">${t('in-folder', told.folder)}</span>`;
  const name = file.name ?? t('no-name');
  const state = file.changed ? t('changed') : file.saved_at ? t('saved-at', file.saved_at) : '';
  return draw`<h1>${t('desk')}</h1>
    <span class="file"><b>${name}</b>${state && `, ${state}`}</span>
    ${!file.writable && draw`<span class="soft">${t('not-writable')}</span>`}
    <button type="button" class="quiet" id="b-files" data-act="beginnings"
      aria-expanded="${String(looking.beginnings)}">${t(
        looking.beginnings ? 'back-to-file' : 'other-file',
      )}</button>`;
}

/** @param {Told} told */
function name_field({ file }) {
  if (file.name !== null) return null;
  return draw`<label class="save-as"><span>${t('save-as')}</span>
    <input type="text" id="save-name" aria-label="${t('save-as')}" placeholder="plant.toml"
      autocomplete="off" spellcheck="false"></label>`;
}

/** @param {Told} told */
export function file_actions(told) {
  const { file } = told;
  if (!is_open(told)) return draw``;
  const save = { class: file.changed ? 'main' : null, ...if_able(file.changed || !file.name) };
  const named = (/** @type {string} */ act, /** @type {string | undefined} */ what) =>
    what ? { 'aria-label': `${act}: ${what}`, title: `${act}: ${what}` } : {};
  const undo = { class: 'quiet', ...if_able(file.undo > 0), ...named(t('undo'), file.undo_words) };
  const redo = { class: 'quiet', ...if_able(file.redo > 0), ...named(t('redo'), file.redo_words) };
  return draw`${poster('head', '/api/undo', {}, t('undo'), undo)}
    ${poster('head', '/api/redo', {}, t('redo'), redo)}
    ${
      !file.broken &&
      poster('head', '/api/rehearse', {}, t('rehearse'), { 'data-then': 'sec-rehearse' })
    }
    ${name_field(told)}
    <button ${{ type: 'button', id: 'b-save', 'data-act': 'save', ...save }}>${t('save')}</button>
    ${refusal_at('head')}`;
}

/** By mark of a truth: its drawing and its colour. */
const CSS = { differs: 'amber', ok: 'green', warns: 'amber', none: 'soft' };

/** What is old is nothing that holds now. @param {Truth} one */
function truth({ mark: told, word, rest, to }) {
  const mark = looking.old ? 'none' : told;
  return draw`<a class="truth ${mark}" href="#sec-${to}">${mark !== 'none' && mark_alone(mark)}${
    looking.old && draw`<span class="soft">${t('was-so')}</span>`
  }
    ${word && draw`<b class="word ${CSS[mark]}">${word}</b> `}<span ${{
      class: word ? null : 'soft',
    }}>${rest}</span></a>`;
}

/** @param {Told} told */
export const truth_line = (told) => draw`${told.truth.map(truth)}`;

/** @param {Told | null} told */
export function lost_line(told) {
  if (stream.try_at === null) return draw``;
  const seconds = Math.max(0, Math.ceil((stream.try_at - Date.now()) / 1000));
  return draw`<p><b>${t('lost')}</b> ${told && t('old-as-of', told.now)} ${t('trying-again')}
    <span aria-hidden="true">${t('in-seconds', seconds)}</span>
    <button type="button" id="b-try-now" data-act="try-now">${t('try-now')}</button></p>`;
}

/** @param {string} theirs @param {string} mine */
function both_texts(theirs, mine) {
  const other = new Set(mine.split('\n'));
  const own = new Set(theirs.split('\n'));
  const lines = (/** @type {string} */ text, /** @type {Set<string>} */ there) =>
    text
      .split('\n')
      .map((line) =>
        there.has(line)
          ? draw`<span>${line || ' '}</span>`
          : draw`<span class="only"><b aria-hidden="true">\u203a </b>${line || ' '}</span>`,
      );
  const box = (/** @type {string} */ title, /** @type {unknown} */ text) =>
    draw`<div><h3>${title}</h3><pre class="wide text" tabindex="0" role="region"
      aria-label="${title}">${text}</pre></div>`;
  return draw`<div class="both">${box(t('theirs'), lines(theirs, other))}${box(
    t('mine'),
    lines(mine, own),
  )}</div>
    <p class="soft">${t('only-there')}</p>`;
}

/** @param {{ folder: string, draft: string | null }} gone */
const gone_drawn = ({ folder, draft }) =>
  draw`<section class="notice" aria-labelledby="h-gone"><h2 id="h-gone">${t('gone')}</h2>
    <p>${t('gone-words', folder)} ${draft ? t('gone-draft', draft) : t('gone-no-draft')}</p>
    ${poster('gone', '/api/save', { make: 'yes' }, t('gone-make'))}${refusal_at('gone')}</section>`;

/** What asks for an answer before anything else. @param {Told} told */
export function notices({ file }) {
  const { draft, foreign, gone } = file;
  return draw`${gone && gone_drawn(gone)}${
    draft &&
    draw`<section class="notice" aria-labelledby="h-draft"><h2 id="h-draft">${t(
      'draft',
      draft.name,
    )}</h2>
      <p>${t('draft-from', draft.from)}${draft.file_changed && ` ${t('draft-file-changed')}`}</p>
      ${poster('draft', '/api/draft', { take: 'yes' }, t('draft-yes'))}${poster(
        'draft',
        '/api/draft',
        { take: 'no' },
        t('draft-no'),
      )}
      ${refusal_at('draft')}</section>`
  }${
    foreign &&
    draw`<section class="notice" aria-labelledby="h-foreign"><h2 id="h-foreign">${t('foreign')}</h2>
      <p>${t('foreign-words')}</p>${
        foreign.theirs === null
          ? draw`<p>${t('theirs-gone')}</p>`
          : both_texts(foreign.theirs, foreign.mine)
      }
      ${poster(
        'foreign',
        '/api/foreign',
        { take: 'theirs' },
        t('take-theirs'),
      )}${poster('foreign', '/api/foreign', { take: 'mine' }, t('take-mine'))}
      ${refusal_at('foreign')}</section>`
  }${
    file.draft_trouble &&
    draw`<div class="notice says"><p>${t('draft-trouble')} ${file.draft_trouble}</p>
    ${poster('draft-kept', '/api/draft', { take: 'keep' }, t('again'))}
    ${refusal_at('draft-kept')}</div>`
  }${
    file.example &&
    draw`<p class="notice example">${t('example')} <a href="#sec-try">${t('example-try')}</a>
      <button type="button" class="quiet" id="b-begin-own"
        data-act="beginnings">${t('example-own')}</button></p>`
  }`;
}
