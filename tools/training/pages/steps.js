// The first four steps of a drill: Secure, Look, Name, Act.
import { draw } from '../../pages/draw.js';
import { button, main } from '../../pages/parts.js';
import { cards_offered, order_chosen } from './cards.js';
import { choices } from './choices.js';
import { foot, question } from './entries.js';
import { instrument_tabs } from './instruments.js';
import { keep_buttons, kept } from './kept.js';
import { log } from './log.js';
import { whole_bench } from './bench_links.js';
import { is_wide } from './looking.js';
import { has_used } from './panels.js';
import { story_alone, story_and_plant } from './story.js';
import { t } from './texts.js';
import { workspace } from './work.js';
import { ids, in_groups, limits, word } from './words.js';

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

/** Panels and instruments; where the page is narrow, folded away. @param {State} state */
function bench_to_look_up(state) {
  const all = [whole_bench(state), instrument_tabs(state)];
  if (is_wide()) return all;
  return draw`<details><summary>${t('what-was-read')}</summary>${all}</details>`;
}

/** @param {State} state */
export function secure(state) {
  const all = ids('conduct').map((id) => ({ id }));
  const groups = in_groups('conduct_groups', all).map(
    ({ group, of_it }) => draw`<h3 class="group">${word('groups', group)}</h3><div
      class="cards">${of_it.map(({ id }) =>
        button('conduct', id, word('acts', 'conduct', word('conduct', id)), {
          'aria-pressed': String(state.conduct.includes(id)),
        }),
      )}</div>`,
  );
  return [
    workspace({
      top: story_and_plant(state),
      ask: draw`${question(t('secure-question'))}<p>${t('people', state.drill.people)}</p>`,
      bench: '',
      rest: [groups, log(state)],
      foot: foot(go_on(2, t('secured-go-on'))),
    }),
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
  const three = [act_button('acknowledge'), act_button('reset'), act_button('restart')];
  return draw`<h3 class="group">${t(state.links ? 'at-the-line' : 'at-the-bench')}</h3>
    <div class="cards">${state.links ? acts_of_links(state) : three}</div>`;
}

/** @param {State} state @param {Exam | null} exam */
function hints(state, exam) {
  if (exam) return '';
  const told = state.hints.map((hint) => draw`<li>${hint}</li>`);
  const taken = draw`<h3 class="group">${t('hints')}</h3><ol>${told}</ol>`;
  const more = state.hints.length < limits().hints && act_button('hint');
  return draw`<div class="hints">${state.hints.length > 0 && taken}${more}</div>`;
}

/** @param {State} state */
function demands(state) {
  const all = state.guards.map((guard, i) =>
    button('demand', i, word('acts', 'demand', word('demands', guard.kind, guard.name))),
  );
  return draw`<h3 class="group">${t('demand-a-guard')}</h3><div class="cards">${all}</div>
    ${keep_buttons(state, [has_used(state, 'test-demand') && 'test-demand'])}`;
}

/** @param {State} state @param {Exam | null} exam */
export function look(state, exam) {
  return [
    workspace({
      top: story_and_plant(state),
      ask: [question(t('look-question')), kept(state)],
      bench: [whole_bench(state), instrument_tabs(state)],
      rest: [demands(state), acts(state), hints(state, exam), log(state)],
      foot: foot(go_on(3, t('go-on-name'))),
    }),
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
    <fieldset class="because"><legend>${t('because')}</legend>${evidence}</fieldset>
    ${which_link(state)}
    <fieldset><legend>${t('where-is-it')}</legend>
    ${radios('where', 'where', ids('where'))}</fieldset>
    <fieldset><legend>${t('what-is-it')}</legend>${radios('what', 'what', ids('what'))}
    <details><summary>${t('what-is-this')}</summary><dl>${explained}</dl></details></fieldset>`;
  return [
    workspace({
      top: is_wide() ? story_and_plant(state) : story_alone(state),
      ask: asked,
      bench: bench_to_look_up(state),
      rest: [draw`<p class="soft">${t('cannot-tell-text')}</p>`, hints(state, exam), log(state)],
      foot: foot([
        back_to_look(),
        act_button('cannot-tell'),
        button('name', '', word('acts', 'name'), main),
      ]),
      asks_first: true,
    }),
  ];
}

/** @param {State} state */
export function act(state) {
  const chosen = choices.actions.length > 0;
  const hand_in = button('do', '', word('acts', 'do'), chosen ? main : { disabled: true });
  return [
    workspace({
      top: is_wide() ? story_and_plant(state) : story_alone(state),
      ask: [
        question(t('act-question', limits().actions)),
        order_chosen(state),
        cards_offered(state),
      ],
      bench: bench_to_look_up(state),
      rest: log(state),
      foot: foot([back_to_look(), hand_in]),
      asks_first: true,
    }),
  ];
}
