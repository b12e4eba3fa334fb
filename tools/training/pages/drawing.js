// Drawing: templates in which all is text but what was drawn, and a way to lay a page over the one that is there, so
// that focus and choices stay where they are.
import { t } from '/texts.js';

const escaped = text => String(text).replace(/[&<>"']/g, c => '&#' + c.charCodeAt(0) + ';');
/** Marks what is drawn already; everything else in a template is text. */
export class Drawn { constructor(html) { this.html = html; } }
export function draw(parts, ...values) {
  const drawn = value => value instanceof Drawn ? value.html : Array.isArray(value) ? value.map(drawn).join('') :
    value === null || value === undefined || value === false ? '' : escaped(value);
  return new Drawn(parts.reduce((html, part, i) => html + drawn(values[i - 1]) + part));
}
/** Attributes that are no text, such as `disabled`. */
export const attributes = text => new Drawn(text);

/** Makes `old` look like `wanted` without putting anew what stays. */
function lay_over(old, wanted) {
  for (const { name } of [...old.attributes])
    if (!wanted.hasAttribute(name) && !(name === 'open' && old.nodeName === 'DETAILS')) old.removeAttribute(name);
  for (const { name, value } of [...wanted.attributes]) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  if (old instanceof HTMLInputElement && ['radio', 'checkbox'].includes(old.type)) old.checked = wanted.checked;
  if (old instanceof HTMLInputElement && old.type === 'range') old.value = wanted.value;
  const fresh = [...wanted.childNodes];
  for (let i = 0; i < fresh.length; ++i) {
    const there = old.childNodes[i], next = fresh[i];
    if (!there) old.append(next);
    else if (there.nodeType !== next.nodeType || there.nodeName !== next.nodeName || there.id !== next.id) there.replaceWith(next);
    else if (there.nodeType === Node.TEXT_NODE) { if (there.data !== next.data) there.data = next.data; }
    else lay_over(there, next);
  }
  while (old.childNodes.length > fresh.length) old.lastChild.remove();
}

export function put(id, drawn) {
  const old = document.getElementById(id), wanted = old.cloneNode(false);
  wanted.innerHTML = drawn.html;
  const focused = old.contains(document.activeElement) ? document.activeElement.id : '';
  lay_over(old, wanted);
  // what moved to another place keeps the focus
  if (focused && document.activeElement?.id !== focused) document.getElementById(focused)?.focus({ preventScroll: true });
}
export function put_text(id, words) {
  const element = document.getElementById(id);
  if (element.textContent !== words) element.textContent = words;
}

const MARKS = {
  'start-up': '<circle cx="10" cy="10" r="7" stroke-dasharray="4 3"/>',
  running: '<circle class="full" cx="10" cy="10" r="7"/>',
  'safe-state': '<rect class="full" x="3" y="3" width="14" height="14"/>',
  'awaiting-acknowledgement': '<rect x="3" y="3" width="14" height="14"/><rect class="full" x="3" y="10" width="14" height="7"/>',
  unknown: '<path d="M10 2l8 8-8 8-8-8z"/><path d="M10 6v5M10 13v1"/>',
  danger: '<path class="full" d="M2 4h16L10 18z"/>',
};
/** A state of an end: its mark and its word. */
export const mark = id => draw`<span class="state ${id}"><svg viewBox="0 0 20 20" aria-hidden="true">${new Drawn(MARKS[id])}</svg>${t('s-' + id)}</span>`;
export const danger_mark = words => draw`<span class="state danger"><svg viewBox="0 0 20 20" aria-hidden="true">${new Drawn(MARKS.danger)}</svg>${words}</span>`;

export const button = (act, value, words, extra = '') =>
  draw`<button type="button" id="b-${act}-${value}" data-act="${act}" data-value="${value}" ${attributes(extra)}>${words}</button>`;
/** An entry of the book: its time in the margin, its text beside it. */
export const entry = (time, body, id = '') =>
  draw`<section class="entry" ${attributes(id && `id="${id}" tabindex="-1"`)}><div class="time">${time}</div><div class="body">${body}</div></section>`;
export const foot = body => draw`<div class="foot">${body}</div>`;
export const question = words => draw`<h2 id="question" tabindex="-1">${words}</h2>`;

/** A table that may be wider than the page, in a box of its own; cells are text or drawn. */
export function table(heads, rows, words, id = '') {
  return draw`<div class="wide" tabindex="0" role="region" aria-label="${words}" ${attributes(id && `id="${id}"`)}><table>
    <thead><tr>${heads.map(head => draw`<th scope="col">${head}</th>`)}</tr></thead>
    <tbody>${rows.map(row => draw`<tr ${attributes(row.css ? `class="${row.css}"` : '')}>${[...row].map(cell => draw`<td>${cell}</td>`)}</tr>`)}</tbody></table></div>`;
}

// ---- numbers ----
export const rounded = ms => ms === null ? '' : ms >= 100 ? Math.round(ms) : Math.round(ms * 10) / 10;
export const lasted = ms => ms < 10000 ? (ms / 1000).toFixed(1) + ' s' : Math.round(ms / 1000) + ' s';
export const hex = (value, digits = 4) => '0x' + value.toString(16).toUpperCase().padStart(digits, '0');
/** The hour at a plant time in seconds, for a plant whose time began at the hour `begins`. */
export function hour_at(begins, plant_time) {
  const [h, m, s] = begins.split(':').map(Number);
  const all = h * 3600 + m * 60 + s + Math.floor(plant_time);
  return [Math.floor(all / 3600) % 24, Math.floor(all / 60) % 60, all % 60].map(n => String(n).padStart(2, '0')).join(':');
}
/** The same to the millisecond. */
export const moment_at = (begins, plant_time) => hour_at(begins, plant_time) + (plant_time - Math.floor(plant_time)).toFixed(3).slice(1);
export const minutes_of = seconds => Math.floor(seconds / 60) + ':' + String(seconds % 60).padStart(2, '0');
