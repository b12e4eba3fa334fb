// A record of one drill, as the instructor's page and the trainee's own show it.
import { draw } from '../../pages/draw.js';
import { hour_at, minutes_of } from '../../pages/numbers.js';
import { short_hash } from './hashes.js';
import { log_line } from './log.js';
import { t } from './texts.js';
import { free_words } from './trainers_hand.js';
import { word, word_or_itself } from './words.js';

/** @typedef {import('./told.js').Result} Result */
/** @typedef {import('./told.js').Recorded} Recorded */
/** @typedef {import('./told.js').DrillRecord} DrillRecord */
/** @typedef {import('./texts.js').Key} Key */

/** @param {{ link?: string, where: string, what: string }} named */
export const diagnosis = ({ link, where, what }) =>
  `${link ? `${t('link', link)}; ` : ''}${word('where', where)}; ${word('what', what)}`;

/** What came of a drill, and what was done about that since. @param {Result} one */
export function result_words(one) {
  if (one.deleted) return t('deleted', one.deleted);
  const words = word('results', one.result);
  return one.withdrawn ? `${words}; ${t('withdrawn', one.withdrawn)}` : words;
}

/**
 * What was answered in a drill.
 * @param {Result} result
 * @param {DrillRecord} record
 * @returns {[Key, unknown][]}
 */
function answers(result, record) {
  const words = (/** @type {'conduct' | 'readings'} */ list, /** @type {string[]} */ all) =>
    all.map((one) => word(list, one)).join('; ') || '-';
  return [
    ['r-secured', words('conduct', record.conduct)],
    ['r-evidence-kept', words('readings', record.kept)],
    ['r-diagnosis', record.cannot_tell ? word('acts', 'cannot-tell') : diagnosis(record)],
    ['r-actions', record.actions.join('; ')],
    ['r-hints', result.hints],
    ['the-cause', record.cause],
  ];
}

/** What the trainer did meanwhile. @param {DrillRecord | null} record */
function trainers_hand(record) {
  if (!record?.trainer) return t('r-unknown');
  if (!record.trainer.length) return t('r-none');
  return record.trainer.map(
    (one) => draw`<div>${hour_at(record.begins, one.at)} ${one.words}</div>`,
  );
}

/**
 * @param {import('./told.js').FreeJudged} free
 * @returns {[Key, unknown]}
 */
const free_row = (free) => ['r-free', free_words(free)];

/** @param {DrillRecord} record */
function what_was_done(record) {
  const dangers = record.dangerous.map((one) => {
    const words = word_or_itself('dangers', one.words);
    return draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${words}: ${one.why}</p>`;
  });
  const taken_back = word('remarks', 'corrected');
  const corrected = (record.corrected ?? []).map(
    (one) => draw`<p><strong>${taken_back}:</strong> ${one.words}: ${one.why}</p>`,
  );
  const lines = record.log.map((line) => draw`<li>${log_line(record.begins, line)}</li>`);
  return draw`${dangers}${corrected}
    <h3>${t('r-log')}</h3><ol class="plain">${lines}</ol>`;
}

/**
 * One drill of a record: what was answered, what it was worth, what was done.
 * @param {Recorded} recorded
 */
export function record_of_drill({ result, exam, record }) {
  /** @type {[Key, unknown][]} */
  const rows = [
    ['r-when', result.when],
    ['r-took', minutes_of(result.seconds)],
    ['r-mode', exam ? `${t('exam-head')} ${exam.id}` : t('practice')],
    ['r-result', result_words(result)],
    ['r-points', result.points ?? t('r-told')],
    ['r-trainer', trainers_hand(record)],
    ['r-program', t('i-program', result.version ?? '-')],
    ['r-hash', short_hash(result.hash)],
    ['r-hash-before', short_hash(result.before)],
    ...(record?.free ? [free_row(record.free)] : []),
    ...(record ? answers(result, record) : []),
  ];
  const drawn = rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`);
  return draw`<h2>${t('drill', result.drill, result.title)}</h2><dl>${drawn}</dl>
    ${record && what_was_done(record)}`;
}
