// Of the instructor's page: a paper for one person about what was done, with which result, and who
// trained.
import { draw } from '../../pages/draw.js';
import { minutes_of } from '../../pages/numbers.js';
import { button, main, table } from '../../pages/parts.js';
import { chain_lines, printed_now, short_hash } from './hashes.js';
import { result_words } from './record_parts.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Result} Result */
/** @typedef {import('./told.js').ExamRecord} ExamRecord */
/** @typedef {import('./results_list.js').Kept} Kept */

/** Practice and exams alike, in the order in which they were done. @param {Result[]} results */
function drills_table(results) {
  const heads = [
    t('r-when'),
    t('r-mode'),
    t('r-drill'),
    t('r-took'),
    t('r-result'),
    t('r-points'),
    t('r-trainer'),
    t('r-hash'),
  ];
  const rows = results.map((one) => [
    one.when,
    one.exam ? `${t('exam-head')} ${one.exam}` : t('practice'),
    `${one.drill} ${one.title}`,
    one.deleted ? '' : minutes_of(one.seconds),
    result_words(one),
    one.points ?? '-',
    one.trainer,
    short_hash(one.hash),
  ]);
  return table(heads, rows, t('c-drills'));
}

/** @param {ExamRecord[]} exams */
function exams_table(exams) {
  const heads = [t('i-exam-number'), t('r-when'), t('i-state'), t('drills'), t('i-verdict')];
  const rows = exams.map((one) => [
    one.id,
    one.when,
    [word('exam_states', one.exam_state), one.exam_end && `: ${one.exam_end}`],
    t('i-done-of', one.exam_done, one.exam_drills, one.exam_judged),
    one.verdict_said ?? t('r-exam-no-verdict'),
    one.trainer,
    short_hash(one.hash),
  ]);
  return draw`<h2>${t('i-exams')}</h2>
    ${table([...heads, t('r-trainer'), t('r-hash')], rows, t('i-exams'))}`;
}

/**
 * What is on paper is all that is kept of the person: nothing is left out because it went badly.
 * @param {Kept} kept
 * @param {Result} of one of the person's results
 */
export function certificate({ version, results, exams, chain }, of) {
  const own = results.filter((one) => one.person === of.person);
  const own_exams = exams.filter((one) => one.person === of.person);
  const days = own.map((one) => one.when.slice(0, 10)).sort();
  const name_of_trainer = { type: 'text', id: 'trained-by', autocomplete: 'off', maxlength: '80' };
  return draw`<h1 id="record-head" tabindex="-1">${t('c-head')}</h1>
    <p>${t('i-printed', printed_now())}. ${t('i-program', version)}.</p>
    <dl><dt>${t('r-name')}</dt><dd>${of.name}</dd>
    <dt>${t('r-person')}</dt><dd>${of.person}</dd>
    <dt>${t('c-days')}</dt><dd>${t('c-from-to', days[0], days[days.length - 1])}</dd>
    <dt><label for="trained-by">${t('c-trained-by')}</label></dt><dd><input ${name_of_trainer}></dd>
    ${chain_lines(chain)}</dl>
    <p><strong>${t('c-no-claim')}</strong></p>
    ${own_exams.length > 0 && exams_table(own_exams)}
    <h2>${t('c-drills')}</h2>${drills_table(own)}
    <p>${t('c-all', own.length)} ${t('c-check')}</p>
    <div class="signs"><p class="sign">${t('r-place')}</p>
    <p class="sign">${t('r-signed')}</p><p class="sign">${t('r-signature')}</p></div>
    <p class="foot">${button('print-record', '', t('c-print'), main)}
    ${button('close', '', t('i-close'))}</p>`;
}
