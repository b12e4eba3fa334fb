// The first four steps of a drill: Secure, Look, Name, Act.
import { t } from '/texts.js';
import { draw, entry, button, foot, question, attributes } from '/drawing.js';
import { bench, instruments_read, log, keep_button, has_used, machine_line } from '/bench.js';

export const STEPS = ['secure', 'look', 'name-it', 'act', 'debrief'];
export const WHERE = ['controller', 'way-out', 'way-back', 'both-ways', 'io', 'guard', 'settings', 'nothing'];
export const WHAT = ['corruption', 'repetition', 'incorrect-sequence', 'loss', 'delay', 'insertion', 'masquerade', 'addressing', 'restart', 'stall', 'frozen-data', 'clock-drift', 'settings-differ', 'nothing'];
const CONDUCT = ['keep-out', 'leave-stopped', 'emergency-stop', 'lock-out', 'tell-shift', 'acknowledge-first'];
const MINUTES = { 'controller-panel': 0, 'io-panel': 2, 'time-line': 1, telegrams: 5, settings: 5, neighbour: 2 };
export const ACTIONS_MAX = 4;

/** What is chosen on the page and not yet handed in. */
export const choices = { actions: [], named: { where: '', what: '', because: '' } };
export function choose_nothing() {
  choices.actions = [];
  choices.named = { where: '', what: '', because: '' };
}

export function secure(state) {
  return [entry('', draw`${question(t('secure-question'))}<p>${t('people', state.drill.people)}</p><p>${machine_line(state)}</p>
    <div>${CONDUCT.map(one => button('conduct', one, t(one), `aria-pressed="${state.conduct.includes(one)}"`))}</div>`),
    log(state), foot(button('step', 2, t('secured-go-on'), 'class="main"'))];
}

function acts() {
  return entry('', draw`<h3>${t('at-the-bench')}</h3>${button('acknowledge', '', t('acknowledge'))}${button('reset', '', t('reset'))}${button('restart', '', t('restart'))}`);
}
function hints(state, exam) {
  if (exam) return '';
  return entry('', draw`${state.hints.length ? draw`<h3>${t('hints')}</h3><ol>${state.hints.map(hint => draw`<li>${hint}</li>`)}</ol>` : ''}${state.hints.length < 3 ? button('hint', '', t('hint')) : ''}`);
}

export function look(state, exam) {
  return [bench(state), entry('', draw`${question(t('look-question'))}
    <div>${Object.entries(MINUTES).map(([id, cost]) => button('instrument', id, t('minutes', t(id), cost), `aria-pressed="${has_used(state, id)}"`))}
    ${state.guards.map((guard, i) => button('demand', i, t('demand', guard.name)))}</div>
    ${has_used(state, 'test-demand') ? keep_button(state, 'test-demand') : ''}<p class="soft">${t('plant-minutes', state.minutes)}</p>
    <p>${t('kept', state.kept.map(reading => t('r-' + reading)).join('; ') || '-')}</p>`),
    instruments_read(state), hints(state, exam), acts(), log(state), foot(button('step', 3, t('go-on-name'), 'class="main"'))];
}

function radios(name, prefix, words) {
  return draw`<div class="choices">${words.map(one => draw`<label><input type="radio" name="${name}" value="${one}" ${attributes(choices.named[name] === one ? 'checked' : '')}> ${t(prefix + one)}</label>`)}</div>`;
}

export function name_it(state, exam) {
  return [entry('', draw`${question(t('name-it'))}
    <fieldset><legend>${t('where-is-it')}</legend>${radios('where', 'w-', WHERE)}</fieldset>
    <fieldset><legend>${t('what-is-it')}</legend>${radios('what', 'e-', WHAT)}
    <details><summary>${t('what-is-this')}</summary><dl>${WHAT.map(one => draw`<dt>${t('e-' + one)}</dt><dd>${t('d-' + one)}</dd>`)}</dl></details></fieldset>
    <fieldset><legend>${t('because')}</legend>${state.kept.length ? radios('because', 'r-', state.kept) : draw`<p>${t('nothing-kept')}</p>`}</fieldset>`),
    hints(state, exam), bench(state), log(state),
    foot([button('step', 2, t('go-on-look')), button('cannot-tell', '', t('cannot-tell')), button('name', '', t('this-is-it'), 'class="main"')])];
}

export function act(state) {
  const words = id => state.cards.find(card => card.id === id)?.words ?? id;
  const { actions } = choices;
  return [entry('', draw`${question(t('act-question'))}
    <h3>${t('chosen-order')}</h3><ol>${actions.map((id, i) => draw`<li>${words(id)} ${i ? button('earlier', id, t('earlier', words(id))) : ''}${button('choose', id, t('take-away', words(id)))}</li>`)}</ol>
    <ul class="cards">${state.cards.filter(card => !actions.includes(card.id)).map(card => draw`<li>${button('choose', card.id, card.words, actions.length >= ACTIONS_MAX ? 'disabled' : '')}</li>`)}</ul>`),
    log(state), foot([button('step', 2, t('go-on-look')), button('do', '', t('do-these'), actions.length ? 'class="main"' : 'disabled')])];
}
