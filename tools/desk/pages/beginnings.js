// Where nothing is open yet: templates, each with its drawing, and the files of the folder; and a
// file that does not parse, as text.
import { draw } from '../../pages/draw.js';
import { plant_drawing } from '../../pages/plant_drawing.js';
import { poster, refusal_at } from './controls.js';
import { looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Shown} Told */

/** @param {Told['beginnings']['templates'][number]} template */
function template({ name, shows, plant }) {
  const title = name.replaceAll('_', ' ');
  const leads = { title: t('plant-of', title), to: () => null, words: () => '' };
  return draw`<li><h3>${title}</h3><p>${shows}</p>
    ${plant && plant_drawing(plant, 256, leads)}
    <p>${poster('begin', '/api/begin', { template: name }, t('begin-with', title), {
      'data-then': 'top',
    })}</p></li>`;
}

/** @param {Told['beginnings']['files'][number]} file */
const file_row = ({ name, title, broken }) =>
  draw`<li>${poster('begin', '/api/begin', { file: name }, name, { 'data-then': 'top' })}
    <span>${title}</span>
    ${broken && draw`<span class="amber">${t('file-broken')}</span>`}</li>`;

/** @param {Told} told */
export function beginnings_page({ beginnings, folder }) {
  const { templates, files } = beginnings;
  return draw`<section class="part" id="sec-beginnings" tabindex="-1"><p class="no"></p><div
    class="body">
    <h2>${t('h-begin')}</h2><p>${t('begin-words')}</p>${refusal_at('begin')}
    <h3 class="above">${t('h-files', folder)}</h3>
    ${
      files.length
        ? draw`<ul class="files">${files.map(file_row)}</ul>`
        : draw`<p
      class="soft">${t('no-files')}</p>`
    }
    <h3 class="above">${t('h-templates')}</h3>
    ${
      templates.length
        ? draw`<ul class="templates">${templates.map(template)}</ul>`
        : draw`<p
      class="soft">${t('no-templates')}</p>`
    }
    </div></section>`;
}

const AROUND = 3;

/**
 * The lines around the one that is wrong, with their numbers.
 * @param {string} text
 * @param {number} line
 */
export function excerpt(text, line) {
  const lines = text.split('\n');
  const from = Math.max(1, line - AROUND);
  const to = Math.min(lines.length, line + AROUND);
  const width = String(to).length;
  return Array.from({ length: Math.max(0, to - from + 1) }, (_, i) => {
    const at = from + i;
    const words = `${at === line ? '\u203a' : ' '} ${String(at).padStart(width)}  ${lines[at - 1]}`;
    return draw`<span ${{ class: at === line ? 'this' : null }}>${words}</span>`;
  });
}

/** @param {Told} told */
export function broken_page({ file }) {
  const { broken } = file;
  if (!broken) return draw``;
  const text = looking.text ?? '';
  const lines = Math.max(12, Math.min(40, text.split('\n').length + 1));
  return draw`<section class="part" id="sec-text" tabindex="-1"><p class="no"></p><div class="body">
    <h2>${t('h-broken', file.name ?? '')}</h2>
    <p class="says" id="broken-words">${broken.message}</p>
    <pre class="excerpt" tabindex="0" role="region"
      aria-label="${t('around-line', broken.line)}">${excerpt(text, broken.line)}</pre>
    <p>${t('broken-words')}</p>
    <label for="text">${t('text-label')}</label>
    <textarea id="text" class="wide" rows="${lines}" spellcheck="false" wrap="off"
      aria-describedby="broken-words" ${{ 'data-line': broken.line }}>${text}</textarea>
    <p><button type="button" id="b-to-line" data-act="to-line"
      data-value="${broken.line}">${t('to-line', broken.line)}</button>
    <button type="button" id="b-text" data-act="text" class="main">${t('text-take')}</button></p>
    ${refusal_at('text')}</div></section>`;
}
