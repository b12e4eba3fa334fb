// Values that are being typed: Enter, or leaving the field, brings them to the program, Escape
// takes them back.
import { changed, looking } from './looking.js';
import { ask } from './talk.js';

/**
 * What stood in a field when somebody began to type in it, which another window may change
 * meanwhile.
 * @type {WeakMap<HTMLInputElement, string>}
 */
const bases = new WeakMap();

const TAKEN_MS = 1500; // after that long what the program tells stands in the field again

/** Somebody types there. @param {HTMLInputElement} input */
export function typing_in(input) {
  if (!bases.has(input)) bases.set(input, input.defaultValue);
}

/** @param {HTMLInputElement} input */
const was_changed = (input) => input.value.trim() !== input.defaultValue;

/**
 * @param {HTMLInputElement} input
 * @param {() => void} show
 */
export async function bring(input, show) {
  const { path } = input.dataset;
  const before = path === undefined ? undefined : looking.edits.get(path);
  // over a value that was refused it is typed over what stood there before that
  const base = before?.state === 'refused' ? before.base : (bases.get(input) ?? input.defaultValue);
  bases.delete(input);
  if (path === undefined || !was_changed(input)) return;
  const text = input.value.trim();
  /** @type {import('./looking.js').Edit} */
  const edit = { text, base, state: 'sent', refusal: null };
  looking.edits.set(path, edit);
  changed();
  input.defaultValue = text; // brought once, however the field is left
  input.value = text;
  const answer = await ask('/api/set', { path, value: text, base });
  if (looking.edits.get(path) !== edit) return;
  if (answer?.refusal) Object.assign(edit, { state: 'refused', refusal: answer.refusal });
  else if (answer === null) looking.edits.delete(path);
  else {
    edit.state = 'taken';
    setTimeout(() => forget_edit(path, edit, show), TAKEN_MS);
  }
  changed();
  show();
}

/**
 * @param {string} path
 * @param {import('./looking.js').Edit} edit
 * @param {() => void} show
 */
function forget_edit(path, edit, show) {
  if (looking.edits.get(path) !== edit) return;
  looking.edits.delete(path);
  changed();
  show();
}

/**
 * A value was brought by a button: at a field that was refused before stands what became of that.
 * @param {string} place
 * @param {string} path
 * @param {boolean} is_taken
 * @param {() => void} show
 */
export function after_set(place, path, is_taken, show) {
  const edit = looking.edits.get(path);
  const refusal = looking.refused.get(place);
  if (is_taken) looking.edits.delete(path);
  else if (edit && refusal && place === path) {
    edit.refusal = refusal;
    looking.refused.delete(place);
  }
  changed();
  show();
}

/** What the program told now is what stands in the fields that it took. */
export function told_again() {
  for (const [path, { state }] of looking.edits) if (state === 'taken') looking.edits.delete(path);
}

/**
 * @param {HTMLInputElement} input
 * @param {() => void} show
 */
export function take_back(input, show) {
  const { path } = input.dataset;
  if (path === undefined) return;
  bases.delete(input);
  looking.edits.delete(path);
  input.value = input.defaultValue;
  changed();
  show();
}
