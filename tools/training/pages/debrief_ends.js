// Of the debrief: one telegram byte by byte, and what each end knew.
import { draw } from '../../pages/draw.js';
import { hour_at, moment_at, rounded } from '../../pages/numbers.js';
import { table } from '../../pages/parts.js';
import { entry } from './entries.js';
import { notes_on } from './instruments.js';
import { cause_of } from './panels.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Finished} Finished */
/** @typedef {import('./told.js').Field} Field */
/** @typedef {import('./told.js').EndKnew} EndKnew */

/** @param {string} text */
const bytes = (text) => draw`<span class="bytes">${text}</span>`;

/**
 * @param {Field} field
 * @param {boolean} altered whether what was sent is told as well
 */
function field_row(field, altered) {
  const sent = altered ? [bytes(field.sent ?? '')] : [];
  const found = field.found ?? '';
  const cells = [
    field.field,
    field.bytes ? bytes(field.bytes) : t('not-in-bytes'),
    ...sent,
    field.meaning,
    word('covered', field.covered),
    field.expected ?? '',
    field.differs ? draw`<strong>${found}</strong>` : found,
  ];
  return { cells, css: field.differs || field.sent !== null ? 'rejected' : undefined };
}

/**
 * The first telegram that was rejected, byte by byte.
 * @param {Finished} state
 */
export function one_telegram(state) {
  const found = state.score.telegram;
  if (!found) return entry('', draw`<h2>${t('one-telegram')}</h2><p>${t('no-telegram')}</p>`);
  const altered = found.fields.some((field) => field.sent !== null);
  const heads = [
    t('field'),
    t('bytes'),
    ...(altered ? [t('as-sent')] : []),
    t('meaning'),
    t('under-crc'),
    t('expected'),
    t('found'),
  ];
  const rows = found.fields.map((field) => field_row(field, altered));
  const came = found.telegram;
  const { accepted_before } = found;
  const moment = moment_at(state.begins, came.at);
  const words = t('telegram-came', moment, came.end, notes_on(came, found.failed));
  const before = accepted_before !== null && t('number-before', accepted_before);
  return entry(
    hour_at(state.begins, came.at),
    draw`<h2>${t('one-telegram')}</h2>
    <p>${words} ${before}</p>
    <p class="bytes all">${came.bytes}</p>${table(heads, rows, t('one-telegram'), 'telegram')}`,
  );
}

/**
 * When and why it stopped, or that it did not.
 * @param {Finished} state
 * @param {EndKnew} end
 */
function how_it_ended(state, end) {
  if (end.stopped !== null) {
    const cause = end.cause === 'power-up' ? t('k-lost-power') : cause_of(end);
    return t('k-stopped', end.name, moment_at(state.begins, end.stopped), cause);
  }
  return end.state === 'running' ? t('k-runs', end.name) : t('k-never', end.name, end.accepted);
}

/**
 * What came in the watchdog time before that.
 * @param {EndKnew} end
 */
function what_came(end) {
  if (end.fresh + end.repeats + end.rejected + end.ignored === 0) return t('k-silent');
  const window = end.stopped !== null ? 'k-window' : 'k-window-now';
  const came = t(window, end.window_ms, end.fresh, end.repeats, end.rejected);
  return end.ignored ? `${came} ${t('k-start', end.ignored)}` : came;
}

/** @param {EndKnew} end */
function numbers(end) {
  const came = end.fresh + end.repeats + end.rejected + end.ignored;
  if (came <= 1 || end.last_number === null) return [];
  return end.first_number === end.last_number
    ? [t('k-one-number', end.last_number)]
    : [t('k-numbers', end.first_number, end.last_number)];
}

/**
 * One paragraph for each end: when and why it stopped, and what it had to go by.
 * @param {Finished} state
 */
export function what_ends_knew(state) {
  const paragraphs = state.score.ends.map((end) => {
    const said = [
      how_it_ended(state, end),
      ...(end.refusal ? [t('refusal', word('start_refusals', end.refusal)) + '.'] : []),
      what_came(end),
      ...numbers(end),
      end.last_good_ms === null ? t('k-no-good') : t('k-last-good', rounded(end.last_good_ms)),
    ];
    return draw`<p class="knew">${said.join(' ')}</p>`;
  });
  return entry('', draw`<h2>${t('what-ends-knew')}</h2>${paragraphs}`);
}
