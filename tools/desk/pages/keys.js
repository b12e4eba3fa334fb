// What the keyboard does besides Tab: fields, the grid of bits, telegrams, and saving.
import { entered } from './bits.js';
import { moved } from './bits_keys.js';
import { post } from './talk.js';

/**
 * @typedef {object} Does
 * @property {(pressed: HTMLElement | SVGElement) => void} act
 * @property {() => unknown} save
 * @property {(input: HTMLInputElement) => unknown} bring
 * @property {(input: HTMLInputElement) => unknown} take_back
 */

/** Opens what it is folded in, and scrolls to it. @param {Element} place */
export function show_place(place) {
  const own = place.matches('section') ? place.querySelector('details.fold') : null;
  for (
    let at = own ?? place.closest('details');
    at;
    at = at.parentElement?.closest('details') ?? null
  )
    at.setAttribute('open', '');
  place.scrollIntoView({ block: 'start' });
}

/** Shows the place of that id, and puts the focus there. @param {string} id */
export function go_to(id) {
  const place = id === 'top' ? document.getElementById('main') : document.getElementById(id);
  if (id === 'top') scrollTo(0, 0);
  else if (place) show_place(place);
  place?.focus({ preventScroll: true });
}

/** @param {HTMLElement} cell */
function to_signal(cell) {
  const { signal } = cell.dataset;
  if (!signal) return;
  const fields = [...document.querySelectorAll('#bits table.list tr')];
  const row = fields.find(
    (one) => one.querySelector('th')?.firstChild?.textContent?.trim() === signal,
  );
  row?.querySelector('input')?.focus();
}

/** @param {KeyboardEvent} event @param {HTMLElement} cell */
function in_grid(event, cell) {
  if (event.key === 'Enter') {
    to_signal(cell);
    return true;
  }
  const { grid = '', row = '0', column = '0' } = cell.dataset;
  const rows = cell.closest('tbody')?.rows.length ?? 1;
  const to = moved(event.key, { row: Number(row), column: Number(column) }, rows, 8);
  if (!to) return false;
  const next = document.getElementById(`${grid}-${to.row}-${to.column}`);
  if (!next) return false;
  entered.set(grid, `${to.row}-${to.column}`);
  cell.tabIndex = -1;
  next.tabIndex = 0;
  next.focus();
  return true;
}

/** @param {KeyboardEvent} event @param {Does} does */
function in_field(event, does) {
  const { target, key } = event;
  if (!(target instanceof HTMLInputElement)) return false;
  if (target.id === 'save-name' && key === 'Enter') {
    does.save();
    return true;
  }
  if (target.dataset.path === undefined) return false;
  if (key === 'Enter') does.bring(target);
  else if (key === 'Escape') does.take_back(target);
  else return false;
  return true;
}

/** A letter with Ctrl that acts on the file. @param {KeyboardEvent} event @param {Does} does */
function with_ctrl({ key, ctrlKey, metaKey, altKey, shiftKey, target }, does) {
  if (!(ctrlKey || metaKey) || altKey) return false;
  const typing = target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement;
  const letter = key.toLowerCase();
  if (letter === 's') {
    if (typing) target.blur();
    does.save();
  } else if (letter === 'z' && !typing) post(shiftKey ? '/api/redo' : '/api/undo', {}, 'head');
  else return false;
  return true;
}

/** @param {Does} does */
export function listen_to_keys(does) {
  document.addEventListener('keydown', (event) => {
    const { target, key } = event;
    const cell = target instanceof HTMLElement && target.dataset.grid !== undefined ? target : null;
    const drawn = target instanceof SVGElement && target.getAttribute('role') === 'button';
    if (with_ctrl(event, does) || in_field(event, does) || (cell && in_grid(event, cell)))
      event.preventDefault();
    else if (drawn && (key === 'Enter' || key === ' ')) {
      event.preventDefault();
      does.act(/** @type {SVGElement} */ (target));
    }
  });
}
