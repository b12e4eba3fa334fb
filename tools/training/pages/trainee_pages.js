// The pages of a trainee: joining, drills, own results, an exam, a drill.
import { draw } from '../../pages/draw.js';
import { button, main, table } from '../../pages/parts.js';
import { debrief } from './debrief.js';
import { entry } from './entries.js';
import { are_on } from './keys.js';
import { drill_shown, exam_under_way, session } from './session.js';
import { STEPS, act, look, name_it, secure } from './steps.js';
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
  return draw`<h1>${t('join')}</h1>
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

function drills_page() {
  const { drills } = session;
  if (!drills.length) return draw`<h1>${t('pick')}</h1><p>${word('refusals', 'no-drills')}</p>`;
  const offered = drills.map((drill) => {
    const begin = button('begin', drill.number, `${drill.number} ${drill.title}`);
    const about = t('about-minutes', drill.minutes);
    return draw`<li>${begin} <span class="soft">${drill.plant}, ${about}</span></li>`;
  });
  const of_exam = Math.min(limits().exam_drills, drills.length);
  return draw`<h1>${t('pick')}</h1>${under_way()}
    <h2>${t('practice')}</h2><p>${t('practice-text')}</p>
    <p>${button('begin', 'random', t('shuffled'))}</p>
    <ul class="cards">${offered}</ul>
    <h2>${t('exam-head')}</h2><p>${t('exam-text', of_exam)}
    ${t('exam-rule')}</p>
    <p>${button('exam', '', t('begin-exam'))}</p>`;
}

function mine_page() {
  const { results } = session;
  if (!results.length)
    return draw`<h1>${t('mine')}</h1><p>${t('no-results')}</p>
    ${button('go', '/drills', t('pick'))}`;
  const heads = [t('when'), t('drills-head'), t('result'), t('points-head'), ''];
  const rows = results.map((one) => [
    one.when,
    `${one.drill} ${one.title}`,
    word('results', one.result),
    one.points ?? '',
    button('delete', one.id, t('delete-mine', one.drill, one.when)),
  ]);
  return draw`<h1>${t('mine')}</h1><p>${t('mine-text')}</p>
    ${table(heads, rows, t('mine'))}${button('print', '', t('print'))}`;
}

/** @param {import('./told.js').Exam} exam */
function exam_page(exam) {
  if (!exam.over)
    return draw`<h1>${t('handed-in', exam.at, exam.of)}</h1>
    ${button('next-of-exam', '', t('next-of-exam'), main)}`;
  const heads = [t('drills-head'), t('result'), t('points-head'), ''];
  const rows = exam.drills.map((one, i) => [
    `${one.number} ${one.title}`,
    word('results', one.result),
    one.points ?? '',
    button('explain', i + 1, t('explain', one.number, one.title)),
  ]);
  return draw`<h1>${word('exam', exam.verdict ?? '')}</h1>
    <p>${t('exam-rule')}</p>${table(heads, rows, t('exam-over'))}
    ${button('go', '/drills', t('pick'))}${button('print', '', t('print'))}`;
}

/** What was dangerous, until it is understood. @param {State} state */
function warning({ warned, cards }) {
  if (!warned) return '';
  const words = cards.find((card) => card.id === warned.id)?.words ?? word('dangers', warned.id);
  const text = t('danger-text', words, warned.why);
  const understood = button('understood', '', word('acts', 'understood'), main);
  const alert = { class: 'danger', role: 'alert', id: 'warning', tabindex: -1 };
  return draw`<p ${alert}><strong>${t('danger-head')}:</strong> ${text}</p>${understood}`;
}

/** The clock, and single keys. @param {State} state */
function helps(state) {
  const { news } = session;
  const clock = state.step < 5 && !news?.paused;
  const hold = clock && button('hold', '', t(news?.held ? 'let-clock-run' : 'hold-clock'));
  const keys = { type: 'checkbox', id: 'keys', checked: are_on() };
  return entry(
    '',
    draw`${hold}<details><summary>${t('keys')}</summary>
    <p><label><input ${keys}> ${t('keys-on')}</label></p><p>${t('keys-list')}</p></details>`,
  );
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
  const cause =
    state.cause && draw`<p class="amber"><strong>${t('the-cause')}:</strong> ${state.cause}</p>`;
  return [
    draw`<h1>${t('step', state.step, t(STEPS[state.step - 1]))}</h1><ol class="way">${way}</ol>`,
    entry(
      '',
      draw`<p>${state.drill.plant}. ${state.drill.story}</p>
    ${cause}${warning(state)}`,
    ),
    step_page(state),
    helps(state),
  ];
}

/** The page of this address. */
export function page() {
  const state = drill_shown();
  const exam = session.news?.exam;
  if (!session.me.joined) return join_page();
  if (state) return drill_page(state);
  if (location.pathname === '/exam' && exam) return exam_page(exam);
  return location.pathname === '/mine' ? mine_page() : drills_page();
}
