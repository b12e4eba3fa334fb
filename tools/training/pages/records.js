// Of the instructor's page: results, and the records behind them.
import { draw } from '../../pages/draw.js';
import { element, put } from '../../pages/lay_over.js';
import { minutes_of } from '../../pages/numbers.js';
import { button, main, table } from '../../pages/parts.js';
import { certificate } from './certificate.js';
import { chain_lines, printed_now, short_hash } from './hashes.js';
import { ask } from './instructor_talk.js';
import { record_of_drill, result_words } from './record_parts.js';
import { printed_list, working_list } from './results_list.js';
import { printed_room } from './room_list.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Result} Result */
/** @typedef {import('./told.js').Recorded} Recorded */
/** @typedef {import('./told.js').ExamRecord} ExamRecord */
/** @typedef {import('./texts.js').Key} Key */

/** @type {import('./results_list.js').Kept} */
let kept = {
  version: '',
  results: [],
  exams: [],
  chain: { entries: 0, last: null, since: null, holds: true, kept: true },
  wrong: [],
};
/** @param {string} id */
export const result_of = (id) => kept.results.find((one) => String(one.id) === id);
/**
 * All of the person whose result this is; of somebody unknown this one alone, for a name tells
 * nobody apart.
 * @param {string} id
 */
export function results_of_person(id) {
  const chosen = result_of(id);
  if (!chosen) return [];
  if (!chosen.person) return [chosen];
  return kept.results.filter((one) => one.person === chosen.person && !one.deleted);
}

/** @param {import('./results_list.js').Kept} told */
export function show_results(told) {
  kept = told;
  put('results', draw`${working_list(kept)}`);
}

/** @param {Recorded[]} records */
function overview(records) {
  if (records.length <= 1) return '';
  const heads = [
    t('r-when'),
    t('r-mode'),
    t('r-drill'),
    t('r-took'),
    t('r-result'),
    t('r-points'),
    t('r-trainer'),
  ];
  const rows = records.map(({ result }) => [
    result.when,
    result.exam ? `${t('exam-head')} ${result.exam}` : t('practice'),
    `${result.drill} ${result.title}`,
    minutes_of(result.seconds),
    result_words(result),
    result.points ?? t('r-told'),
    result.trainer,
  ]);
  return table(heads, rows, t('r-head'));
}

/** Exams as a whole. @param {ExamRecord[]} exams */
function exams_of(exams) {
  const lines = exams.map((one) => {
    const words = word('exam_states', one.exam_state);
    const state = one.exam_state === 'over' ? '' : `, ${words} ${one.exam_end ?? ''}`;
    const done = t('i-done-of', one.exam_done, one.exam_drills, one.exam_judged);
    return draw`<dt>${t('r-exam')} ${one.id}</dt><dd>${one.when}, ${done}${state}</dd>
      <dt>${t('r-exam-verdict')}</dt><dd>${one.verdict_said ?? t('r-exam-no-verdict')}</dd>
      <dt>${t('r-trainer')}</dt><dd>${one.trainer || t('r-none-exam')}</dd>
      <dt>${t('r-hash')}</dt><dd>${short_hash(one.hash)}</dd>
      <dt>${t('r-hash-before')}</dt><dd>${short_hash(one.before)}</dd>`;
  });
  return lines;
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
  const { name, person } = of_person[0];
  const whole = of_person.length > 1;
  const exams = kept.exams.filter((one) =>
    whole ? one.person === person && person : of_person[0].exam === one.id,
  );
  const print_it = button('print-record', '', t('i-print-record'), main);
  const paper = person && button('certificate', of_person[0].id, t('c-button', name));
  show_paper(
    draw`<h1 id="record-head" tabindex="-1">${t('r-head')}</h1>
    <p>${t('i-printed', printed_now())}.</p>
    <dl><dt>${t('r-name')}</dt><dd>${name}</dd>
    <dt>${t('r-person')}</dt><dd>${person ?? t('r-unknown')}</dd>
    <dt>${t('r-program')}</dt><dd>${t('i-program', kept.version)}</dd>
    ${exams_of(exams)}${chain_lines(kept.chain)}</dl>
    ${overview(records)}
    <p>${t('r-note')}</p><div class="signs"><p class="sign">${t('r-place')}</p>
    <p class="sign">${t('r-signed')}</p><p class="sign">${t('r-signature')}</p></div>
    ${records.map(record_of_drill)}
    <p class="foot">${print_it}${paper}${button('close', '', t('i-close'))}</p>`,
  );
}

/** A paper of the person whose result this is. @param {string} id */
export function show_certificate(id) {
  const chosen = result_of(id);
  if (chosen?.person) show_paper(certificate(kept, chosen));
}

/** @param {import('../../pages/draw.js').Drawing} drawn */
function show_paper(drawn) {
  const place = element('record', HTMLElement);
  place.hidden = false;
  put('record', drawn);
  element('record-head', HTMLElement).focus();
  place.scrollIntoView();
}

export function close_record() {
  element('record', HTMLElement).hidden = true;
  element('main', HTMLElement).focus();
}

/**
 * Prints one thing of the page, without the rest.
 * @param {string} only
 */
function print_only(only) {
  document.body.classList.add(only);
  print();
  document.body.classList.remove(only);
}
/** The record alone, without room and results. */
export const print_record = () => print_only('record-only');
/** The list alone: results and exams, without room, code and causes. */
export function print_list() {
  put('list', printed_list(kept));
  print_only('list-only');
}
/** Who is here, to be signed: without codes, causes and what goes wrong at whom. */
export function print_room() {
  put('list', printed_room(kept.version));
  print_only('list-only');
}
