// The first four steps of a drill: Secure, Look, Name, Act.
import { draw } from '../../pages/draw.js';
import { button, main } from '../../pages/parts.js';
import { choices } from './choices.js';
import { entry, foot, question } from './entries.js';
import { instruments_read } from './instruments.js';
import { log } from './log.js';
import { whole_bench } from './bench_links.js';
import { has_used, keep_button, machine_line } from './panels.js';
import { t } from './texts.js';
import { ids, limits, word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Exam} Exam */
/** @typedef {import('./told.js').List} List */

/** @type {import('./texts.js').Key[]} */
export const STEPS = ['secure', 'look', 'name-it', 'act', 'debrief'];

/**
 * A button of an act at the drill, under the words of the program.
 * @param {string} act
 * @param {string | number} value
 * @param {string[]} words that are filled in
 */
const act_button = (act, value = '', ...words) => button(act, value, word('acts', act, ...words));

/** @param {number} step @param {string} words */
const go_on = (step, words) => button('step', step, word('acts', 'step', words), main);
const back_to_look = () => button('step', 2, word('acts', 'step', t('go-on-look')));

/** @param {State} state */
export function secure(state) {
  const conduct = ids('conduct').map((one) =>
    button('conduct', one, word('acts', 'conduct', word('conduct', one)), {
      'aria-pressed': String(state.conduct.includes(one)),
    }),
  );
  return [
    entry(
      '',
      draw`${question(t('secure-question'))}
    <p>${t('people', state.drill.people)}</p><p>${machine_line(state)}</p>
    <div>${conduct}</div>`,
    ),
    log(state),
    foot(go_on(2, t('secured-go-on'))),
  ];
}

/**
 * Of several links each is acknowledged by itself or all are, and each machine has a start.
 * @param {State} state
 */
function acts_of_links({ links = [] }) {
  const machines = links.flatMap(({ machine }, at) =>
    machine ? [{ name: machine.name, at }] : [],
  );
  return [
    links.map(({ name }, at) => button('acknowledge', at, t('acknowledge-link', name))),
    button('acknowledge', '', t('acknowledge-all')),
    act_button('reset'),
    machines.map(({ name, at }) => button('restart', at, t('restart-one', name))),
  ];
}

/** @param {State} state */
function acts(state) {
  if (state.links) return entry('', draw`<h3>${t('at-the-line')}</h3>${acts_of_links(state)}`);
  const three = [act_button('acknowledge'), act_button('reset'), act_button('restart')];
  return entry('', draw`<h3>${t('at-the-bench')}</h3>${three}`);
}

/** @param {State} state @param {Exam | null} exam */
function hints(state, exam) {
  if (exam) return '';
  const told = state.hints.map((hint) => draw`<li>${hint}</li>`);
  const taken = draw`<h3>${t('hints')}</h3><ol>${told}</ol>`;
  const more = state.hints.length < limits().hints && act_button('hint');
  return entry('', draw`${state.hints.length > 0 && taken}${more}`);
}

/** @param {State} state @param {string} id */
const instrument_words = (state, id) =>
  state.links && id === 'io-panel' ? t('walk-stations') : word('instruments', id);

/** @param {State} state */
function instruments(state) {
  const to_read = ids('instruments').map((id) =>
    button('instrument', id, word('acts', 'instrument', instrument_words(state, id)), {
      'aria-pressed': String(has_used(state, id)),
    }),
  );
  const demands = state.guards.map((guard, i) =>
    button('demand', i, word('acts', 'demand', word('demands', guard.kind, guard.name))),
  );
  const keep = has_used(state, 'test-demand') && keep_button(state, 'test-demand');
  const kept = state.kept.map((reading) => word('readings', reading)).join('; ') || '-';
  return entry(
    '',
    draw`${question(t('look-question'))}
    <div>${to_read}
    ${demands}</div>
    ${keep}
    <p>${t('kept', kept)}</p>`,
  );
}

/** @param {State} state @param {Exam | null} exam */
export function look(state, exam) {
  return [
    whole_bench(state),
    instruments(state),
    instruments_read(state),
    hints(state, exam),
    acts(state),
    log(state),
    foot(go_on(3, t('go-on-name'))),
  ];
}

/** @param {string} name @param {List} list @param {string[]} offered */
function radios(name, list, offered) {
  const one = (/** @type {string} */ id) => {
    const radio = { type: 'radio', name, value: id, checked: choices.named[name] === id };
    return draw`<label><input ${radio}> ${word(list, id)}</label>`;
  };
  return draw`<div class="choices">${offered.map(one)}</div>`;
}

/** @param {State} state */
function which_link({ links }) {
  if (!links) return '';
  const one = (/** @type {string} */ name, /** @type {number} */ at) => {
    const checked = choices.named.link === String(at);
    const radio = { type: 'radio', name: 'link', value: at, checked };
    return draw`<label><input ${radio}> ${name}</label>`;
  };
  const radios = links.map(({ name, station }, at) => one(t('station-of', station, name), at));
  return draw`<fieldset><legend>${t('which-link-is-it')}</legend>
    <div class="choices">${radios}</div></fieldset>`;
}

/** @param {State} state @param {Exam | null} exam */
export function name_it(state, exam) {
  const explained = ids('what').map(
    (one) => draw`<dt>${word('what', one)}</dt><dd>${word('meanings', one)}</dd>`,
  );
  const evidence = state.kept.length
    ? radios('because', 'readings', state.kept)
    : draw`<p>${word('refusals', 'nothing-kept')}</p>`;
  const asked = draw`${question(t('name-it'))}
    ${which_link(state)}
    <fieldset><legend>${t('where-is-it')}</legend>
    ${radios('where', 'where', ids('where'))}</fieldset>
    <fieldset><legend>${t('what-is-it')}</legend>${radios('what', 'what', ids('what'))}
    <details><summary>${t('what-is-this')}</summary><dl>${explained}</dl></details></fieldset>
    <fieldset><legend>${t('because')}</legend>${evidence}</fieldset>`;
  return [
    entry('', asked),
    entry('', draw`<p class="soft">${t('cannot-tell-text')}</p>`),
    hints(state, exam),
    whole_bench(state),
    log(state),
    foot([
      back_to_look(),
      act_button('cannot-tell'),
      button('name', '', word('acts', 'name'), main),
    ]),
  ];
}

/** @param {State} state */
export function act(state) {
  const words = (/** @type {string} */ id) =>
    state.cards.find((card) => card.id === id)?.words ?? id;
  const { actions } = choices;
  const chosen = actions.map((id, i) => {
    const earlier = i > 0 && button('earlier', id, t('earlier', words(id)));
    return draw`<li>${words(id)} ${earlier}${button('choose', id, t('take-away', words(id)))}</li>`;
  });
  const full = actions.length >= limits().actions;
  const cards = state.cards
    .filter((card) => !actions.includes(card.id))
    .map((card) => draw`<li>${button('choose', card.id, card.words, { disabled: full })}</li>`);
  const hand_in = button('do', '', word('acts', 'do'), actions.length ? main : { disabled: true });
  return [
    entry(
      '',
      draw`${question(t('act-question', limits().actions))}
    <h3>${t('chosen-order')}</h3><ol>${chosen}</ol>
    <ul class="cards">${cards}</ul>`,
    ),
    log(state),
    foot([back_to_look(), hand_in]),
  ];
}
