// Of the instructor's page: the results and exams as a list to work with, and as one to print.
import { draw } from '../../pages/draw.js';
import { minutes_of } from '../../pages/numbers.js';
import { button, table } from '../../pages/parts.js';
import { chain_told, printed_now, short_hash } from './hashes.js';
import { result_words } from './record_parts.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Result} Result */
/** @typedef {import('./told.js').ExamRecord} ExamRecord */
/** @typedef {import('./told.js').KeptAll} Kept */

/** @param {Result} one */
function acts_of(one) {
  const forget =
    one.person &&
    button('forget', one.id, t('i-forget-short'), { 'aria-label': t('i-forget', one.name) });
  if (one.deleted) return forget;
  return [
    button('record', one.id, t('i-record-short'), {
      'aria-label': t('i-record', one.name, one.drill),
    }),
    one.person &&
      button('person', one.id, t('i-person-short'), { 'aria-label': t('i-person', one.name) }),
    button('delete', one.id, t('i-delete'), {
      'aria-label': `${t('i-delete')}: ${one.name}, ${one.drill}`,
    }),
    forget,
  ];
}

/** What both lists tell of a result. @param {Result} one */
const told = (one) => [
  one.when,
  [one.name, one.person && draw` <span class="soft">${one.person}</span>`],
  one.exam ?? '',
  `${one.drill} ${one.title}`,
  result_words(one),
  one.points ?? '',
  one.deleted ? '' : minutes_of(one.seconds),
  [one.where_said, one.what_said].filter(Boolean).join('; '),
  one.trainer,
];
const heads = () => [
  t('when'),
  t('name'),
  t('i-exam-number'),
  t('drills-head'),
  t('result'),
  t('points-head'),
  t('r-took'),
  t('r-diagnosis'),
  t('i-trainer'),
];

/** @param {ExamRecord[]} exams */
function exams_table(exams) {
  const rows = exams.map((one) => [
    one.id,
    one.when,
    one.ended ?? '',
    [one.name, one.person && draw` <span class="soft">${one.person}</span>`],
    [word('exam_states', one.exam_state), one.exam_end && `: ${one.exam_end}`],
    t('i-done-of', one.exam_done, one.exam_drills, one.exam_judged),
    one.verdict_said ?? '',
    one.trainer,
    short_hash(one.hash),
  ]);
  const names = [
    t('i-exam-number'),
    t('r-when'),
    t('i-ended'),
    t('name'),
    t('i-state'),
    t('drills'),
    t('i-verdict'),
    t('i-trainer'),
    t('r-hash'),
  ];
  return draw`<h3>${t('i-exams')}</h3>${table(names, rows, t('i-exams'))}`;
}

/** To work with. @param {Kept} kept */
export function working_list({ results, exams, chain, wrong }) {
  const none = draw`<p>${t('no-results')}</p>`;
  const rows = results.map((one) => [...told(one), draw`<div class="acts">${acts_of(one)}</div>`]);
  return [
    chain_told(chain, wrong),
    results.length ? table([...heads(), t('i-acts')], rows, t('results')) : none,
    exams.length > 0 && exams_table(exams),
  ];
}

/** To print: a head that says what it is of, and nothing to press. @param {Kept} kept */
export function printed_list({ version, results, exams, chain, wrong }) {
  const rows = results.map((one) => [
    ...told(one),
    one.actions_said || one.actions,
    short_hash(one.hash),
  ]);
  return draw`<h1>${t('i-list')}</h1>
    <p>${t('i-printed', printed_now())}. ${t('i-program', version)}. ${t('r-note')}</p>
    ${chain_told(chain, wrong)}
    ${table([...heads(), t('r-actions'), t('r-hash')], rows, t('results'))}
    ${exams.length > 0 && exams_table(exams)}`;
}
