// The log of what was done, and what happened at the bench, in words.
import { draw } from '../../pages/draw.js';
import { hour_at } from '../../pages/numbers.js';
import { entry } from './entries.js';
import { t } from './texts.js';
import { what_of, word, word_or_itself } from './words.js';

/** @typedef {import('./told.js').LogLine} LogLine */

/**
 * What an act was about, in words.
 * @param {string} what
 * @param {string} about
 */
function about_words(what, about) {
  switch (what) {
    case 'conduct':
    case 'conduct-not':
      return word('conduct', about);
    case 'instrument':
      return word('instruments', about);
    case 'keep':
    case 'drop':
      return word('readings', about);
    case 'named':
      return word('what', about);
    case 'put-in':
      return word('what', what_of(about));
    case 'not-started':
      return word('not_started', about);
    case 'danger':
    case 'taken-back':
      return word_or_itself('dangers', about);
    default:
      return about; // the number of a step, the name of a guard
  }
}

/**
 * What was done, in words.
 * @param {string} what
 * @param {string} about
 */
export const done_words = (what, about) =>
  word('log', what, about ? about_words(what, about) : about);

/**
 * @param {string} begins
 * @param {LogLine} line
 */
export const log_line = (begins, line) =>
  hour_at(begins, line.at) + ' ' + done_words(line.what, line.about);

/** @param {import('./told.js').State} state */
export function log(state) {
  const lines = state.log.map((line) => draw`<li>${log_line(state.begins, line)}</li>`);
  const box = {
    class: 'log',
    role: 'log',
    'aria-live': 'off',
    tabindex: 0,
    'aria-label': t('log'),
    id: 'log',
  };
  return entry(t('log'), draw`<div ${box}><ol>${lines.reverse()}</ol></div>`);
}

/**
 * @param {string} what
 * @param {string} about
 * @param {string} kind of a guard
 */
function event_about(what, about, kind) {
  if (what.startsWith('fault')) return word('what', about);
  return what === 'demanded' || what === 'guard-asked' ? word('demanded', kind, about) : about;
}

/**
 * With the link that it happened at, where there are several.
 * @param {import('./told.js').BenchEvent} event
 */
export const event_words = (event) =>
  event.link ? t('of-link', event.link, words_of(event)) : words_of(event);

/** @param {import('./told.js').BenchEvent} event */
function words_of(event) {
  const about = event.about ?? '';
  if (event.what === 'changed')
    return word(
      'events',
      'changed',
      about,
      word('states', event.state ?? ''),
      word('causes', event.more ?? ''),
    );
  if (event.what === 'machine-not-started')
    return word('events', event.what, word('not_started', about));
  return word('events', event.what, event_about(event.what, about, event.more ?? ''));
}
