// Of the instructor's page: results, and the records behind them.
import { draw } from '../../pages/draw.js';
import { element, put } from '../../pages/lay_over.js';
import { minutes_of } from '../../pages/numbers.js';
import { button, main, table } from '../../pages/parts.js';
import { ask } from './instructor_talk.js';
import { log_line } from './log.js';
import { t } from './texts.js';
import { word, word_or_itself } from './words.js';

/** @typedef {import('./told.js').Result} Result */
/** @typedef {import('./told.js').Recorded} Recorded */
/** @typedef {import('./told.js').DrillRecord} DrillRecord */
/** @typedef {import('./texts.js').Key} Key */

/** @type {Result[]} */
let results = [];
/** @param {string} id */
export const result_of = (id) => results.find((one) => String(one.id) === id);
/** All of the person whose result this is. @param {string} id */
export const results_of_person = (id) => results.filter((one) => one.name === result_of(id)?.name);

/** @param {{ where: string, what: string }} named */
const diagnosis = ({ where, what }) => `${word('where', where)}; ${word('what', what)}`;

/** @param {Result} one */
function row_of(one) {
  return [
    one.when,
    one.name,
    `${one.drill} ${one.title}`,
    word('results', one.result),
    one.points ?? '',
    minutes_of(one.seconds),
    [
      one.what ? diagnosis(one) : word('acts', 'cannot-tell'),
      draw`<br><span class="soft">${one.actions}</span>`,
    ],
    [
      button('record', one.id, t('i-record', one.name, one.drill)),
      button('person', one.id, t('i-person', one.name)),
      button('delete', one.id, t('i-delete'), {
        'aria-label': `${t('i-delete')}: ${one.name}, ${one.drill}`,
      }),
    ],
  ];
}

/** @param {Result[]} told */
export function show_results(told) {
  results = told;
  const heads = [
    t('when'),
    t('name'),
    t('drills-head'),
    t('result'),
    t('points-head'),
    t('i-clock'),
    t('what'),
    t('i-acts'),
  ];
  const none = draw`<p>${t('no-results')}</p>`;
  put('results', results.length ? table(heads, results.map(row_of), t('results')) : none);
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

/** @param {DrillRecord} record */
function what_was_done(record) {
  const dangers = record.dangerous.map((one) => {
    const words = word_or_itself('dangers', one.words);
    return draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${words}: ${one.why}</p>`;
  });
  const lines = record.log.map((line) => draw`<li>${log_line(record.begins, line)}</li>`);
  return draw`${dangers}
    <h3>${t('r-log')}</h3><ol class="plain">${lines}</ol>`;
}

/**
 * One drill of a record: what was answered, what it was worth, what was done.
 * @param {Recorded} recorded
 */
function record_of_drill({ result, record }) {
  /** @type {[Key, unknown][]} */
  const rows = [
    ['r-when', result.when],
    ['r-took', minutes_of(result.seconds)],
    ['r-mode', t(result.mode === 'exam' ? 'exam-head' : 'practice')],
    ['r-result', word('results', result.result)],
    ['r-points', result.points ?? t('r-told')],
    ...(record ? answers(result, record) : []),
  ];
  const drawn = rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`);
  return draw`<h2>${t('drill', result.drill, result.title)}</h2><dl>${drawn}</dl>
    ${record && what_was_done(record)}`;
}

/** @param {Recorded[]} records */
function overview(records) {
  if (records.length <= 1) return '';
  const heads = [t('r-when'), t('r-drill'), t('r-took'), t('r-result'), t('r-points')];
  const rows = records.map(({ result }) => [
    result.when,
    `${result.drill} ${result.title}`,
    minutes_of(result.seconds),
    word('results', result.result),
    result.points ?? t('r-told'),
  ]);
  return table(heads, rows, t('r-head'));
}

/**
 * Of these results, which are of one person.
 * @param {Result[]} of_person
 */
export async function show_record(of_person) {
  /** @type {Recorded[]} */
  const records = [];
  for (const one of of_person)
    records.push(await (await ask('record?id=' + encodeURIComponent(one.id))).json());
  const print_it = button('print-record', '', t('i-print-record'), main);
  const place = element('record', HTMLElement);
  place.hidden = false;
  put(
    'record',
    draw`<h1 id="record-head" tabindex="-1">${t('r-head')}</h1>
    <dl><dt>${t('r-name')}</dt><dd>${of_person[0].name}</dd></dl>${overview(records)}
    <p>${t('r-note')}</p><p class="sign">${t('r-signed')}</p>
    <p class="sign">${t('r-signature')}</p>${records.map(record_of_drill)}
    <p class="foot">${print_it}${button('close', '', t('i-close'))}</p>`,
  );
  element('record-head', HTMLElement).focus();
  place.scrollIntoView();
}

export function close_record() {
  element('record', HTMLElement).hidden = true;
  element('main', HTMLElement).focus();
}

/** The record alone, without room and results. */
export function print_record() {
  document.body.classList.add('record-only');
  print();
  document.body.classList.remove('record-only');
}
