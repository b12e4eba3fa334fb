// The pages of a trainee: joining, drills, own results, an exam, a drill.
import { draw } from '../../pages/draw.js';
import { button, head, main, table } from '../../pages/parts.js';
import { act } from './act_step.js';
import { debrief } from './debrief.js';
import { are_on } from './keys.js';
import { record_of_drill, result_words } from './record_parts.js';
import { drill_shown, exam_under_way, session } from './session.js';
import { STEPS, look, name_it, secure } from './steps.js';
import { t } from './texts.js';
import { limits, word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Finished} Finished */

function join_page() {
  const name = {
    id: 'name',
    name: 'name',
    type: 'text',
    maxlength: limits().name_bytes,
    autocomplete: 'off',
    required: true,
  };
  const code = { id: 'code', name: 'code', type: 'text', autocomplete: 'off', required: true };
  const asked = session.me.code && draw`<p><label>${t('code')} <input ${code}></label></p>`;
  return draw`${head(t('join'))}<p>${t('join-what')}</p><p>${t('join-kept')}</p>
    <form id="join"><p><label>${t('name')} <input ${name}></label></p>
    ${asked}<button class="main">${t('join')}</button></form>`;
}

/** Where to go on, if something was begun. */
function under_way() {
  const { news } = session;
  if (exam_under_way()) return draw`<p>${button('go', '/exam', t('go-on-exam'), main)}</p>`;
  if (!news?.state || news.exam || news.state.step >= 5) return '';
  const path = `/drill/${news.state.drill.number}`;
  return draw`<p>${button('go', path, t('go-on-drill'), main)}</p>`;
}

/** What was made of a drill so far. @param {import('./told.js').DrillOffered} drill */
function done_mark(drill) {
  if (drill.broken) return draw` <strong>${t('is-broken')}</strong>`;
  if (drill.found) return draw` <span class="good state">${t('done')}</span>`;
  return drill.tried > 0 && draw` <span class="amber state">${t('not-found-yet')}</span>`;
}

/** @param {import('./told.js').DrillOffered} drill */
function offered(drill) {
  const begin = button('begin', drill.number, `${drill.number} ${drill.title}`);
  const about = [drill.plant, t('about-minutes', drill.minutes)];
  if (drill.alike) about.push(t('alike-to', drill.alike));
  return draw`<li>${begin} <span class="soft">${about.join(', ')}</span>${done_mark(drill)}</li>`;
}

/** Of each family those that look the same. */
function families() {
  const letters = [...new Set(session.drills.map((drill) => drill.family))].sort();
  return letters.map((letter) => {
    const alike = session.drills.filter((drill) => drill.family === letter);
    return draw`<h3>${t('alike', letter)}</h3><ul class="cards">${alike.map(offered)}</ul>`;
  });
}

function drills_page() {
  const { drills } = session;
  if (!drills.length) return draw`${head(t('pick'))}<p>${word('refusals', 'no-drills')}</p>`;
  const astray = /^\/(drill\/|exam)/.test(location.pathname) && draw`<p>${t('no-such-drill')}</p>`;
  const of_exam = Math.min(limits().exam_drills, drills.length);
  return draw`${head(t('pick'))}${astray}${under_way()}
    <h2>${t('practice')}</h2><p>${t('practice-text')}</p>
    <p>${button('begin', 'random', t('shuffled'))}</p>
    ${families()}
    <h2>${t('exam-head')}</h2><p>${t('exam-text', of_exam)}
    ${t('exam-rule')}</p>
    <p>${button('exam', '', t('begin-exam'))}</p>`;
}

function record_page() {
  const recorded = /** @type {import('./told.js').Recorded} */ (session.record);
  return draw`${head(t('mine'))}${record_of_drill(recorded)}
    ${button('open-record', '', t('back-to-mine'), main)}${button('print', '', t('print'))}`;
}

/** What may be done with an own result. @param {import('./told.js').Result} one */
function own_acts(one) {
  if (one.deleted) return '';
  const open = button('open-record', one.id, t('open-mine', one.drill, one.when));
  if (one.mode === 'exam' || one.withdrawn) return open;
  return [open, button('withdraw', one.id, t('withdraw-mine', one.drill, one.when))];
}

function mine_page() {
  const { results } = session;
  if (session.record) return record_page();
  if (!results.length)
    return draw`${head(t('mine'))}<p>${t('no-results')}</p>
    ${button('go', '/drills', t('pick'))}`;
  const heads = [t('when'), t('drills-head'), t('result'), t('points-head'), ''];
  const rows = results.map((one) => [
    one.when,
    `${one.drill} ${one.title}`,
    result_words(one),
    one.points ?? '',
    own_acts(one),
  ]);
  return draw`${head(t('mine'))}<p>${t('mine-text')}</p>
    ${table(heads, rows, t('mine'))}${button('print', '', t('print'))}`;
}

/** @param {import('./told.js').Exam} exam */
function exam_page(exam) {
  if (!exam.over)
    return draw`${head(t('handed-in', exam.at, exam.of))}
    ${button('next-of-exam', '', t('next-of-exam'), main)}`;
  const heads = [t('drills-head'), t('result'), t('points-head'), ''];
  const rows = exam.drills.map((one, i) => [
    `${one.number} ${one.title}`,
    word('results', one.result),
    one.points ?? '',
    button('explain', i + 1, t('explain', one.number, one.title)),
  ]);
  return draw`${head(word('exam', exam.verdict ?? ''))}
    <p>${t('exam-rule')}</p>
    <p>${t('exam-number', exam.number, exam.judged ?? 0, exam.of)}</p>
    ${table(heads, rows, t('exam-over'))}
    ${button('go', '/drills', t('pick'))}${button('print', '', t('print'))}`;
}

/** The clock, and single keys. @param {State} state */
function helps(state) {
  const { news } = session;
  const clock = state.step < 5 && !news?.paused;
  const hold = clock && button('hold', '', t(news?.held ? 'let-clock-run' : 'hold-clock'));
  const keys = { type: 'checkbox', id: 'keys', checked: are_on() };
  return draw`<div class="helps">${hold}<details><summary>${t('keys')}</summary>
    <p><label><input ${keys}> ${t('keys-on')}</label></p><p>${t('keys-list')}</p></details></div>`;
}

/** @param {State} state */
function step_page(state) {
  const exam = session.news?.exam ?? null;
  if (state.step === 5) return debrief(/** @type {Finished} */ (state), exam, session.drills);
  return [secure, look, name_it, act][state.step - 1](state, exam);
}

/** @param {State} state */
function drill_page(state) {
  const way = STEPS.map(
    (one, i) =>
      draw`<li ${{ 'aria-current': i + 1 === state.step && 'step' }}>${i + 1} ${t(one)}</li>`,
  );
  return [
    draw`<div class="step-head">${head(
      t('step', state.step, t(STEPS[state.step - 1])),
    )}<ol class="way">${way}</ol></div>`,
    step_page(state),
    helps(state),
  ];
}

function held_back_page() {
  const back = session.news?.exam
    ? button('explain', '', t('back-to-exam'), main)
    : button('go', '/drills', t('pick'), main);
  return draw`${head(t('handed-in-head'))}<p>${t('held-back')}</p>${back}`;
}

/** The page of this address. */
export function page() {
  const state = drill_shown();
  const exam = session.news?.exam;
  if (!session.me.joined) return join_page();
  if (state) return drill_page(state);
  if (session.news?.held_back && /^\/(drill\/|exam)/.test(location.pathname))
    return held_back_page();
  if (location.pathname === '/exam' && exam) return exam_page(exam);
  return location.pathname === '/mine' ? mine_page() : drills_page();
}
