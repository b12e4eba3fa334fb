// What is spoken to those who do not see the page: changes of state, never counters, and not more
// than once in two seconds.
import { put_text } from '../../pages/lay_over.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Shown} Told */
/** @typedef {import('./told.js').End} End */

const SPEAK_EVERY_MS = 2000;

/** @param {End} end @param {string} link */
function end_words({ name, state, dark, refusal, cause }, link) {
  const where = link ? `${name} (${link})` : name;
  if (dark) return `${where}: ${t('s-dark')}`;
  const why = state === 'running' ? '' : refusal || cause;
  return [`${where}: ${t(`s-${state}`)}`, why].filter(Boolean).join(', ');
}

/** How things stand, in sentences that change only with a state. @param {Told} told */
export function state_words({ truth, bench }) {
  const words = truth.filter(({ word }) => word).map(({ word, rest }) => `${word} ${rest}`.trim());
  for (const { name, controller, device } of bench?.links ?? [])
    words.push(end_words(controller, name), end_words(device, name));
  for (const { name, moves } of bench?.machines ?? [])
    words.push(`${name}: ${t(moves ? 'moves' : 'stands-still')}`);
  return words;
}

/** @type {string[] | null} */
let before = null;
let spoken_at = -SPEAK_EVERY_MS;

/** Says what is another now than when it was said last. @param {Told} told */
export function say(told) {
  const words = state_words(told);
  if (before === null) {
    before = words;
    return;
  }
  const old = new Set(before);
  const fresh = words.filter((one) => !old.has(one));
  if (!fresh.length || performance.now() - spoken_at < SPEAK_EVERY_MS) return;
  before = words;
  spoken_at = performance.now();
  put_text('spoken', fresh.join('. '));
}
