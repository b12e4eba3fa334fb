// The first three steps of a drill: Secure, Look, Name.
import { draw } from '../../pages/draw.js';
import { button, main } from '../../pages/parts.js';
import { bench_to_look_up, named_stands, named_words } from './act_step.js';
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
import { unless_busy, why_busy } from './works.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Exam} Exam */
/** @typedef {import('./told.js').List} List */

/** @type {import('./texts.js').Key[]} */
export const STEPS = ['secure', 'look', 'name-it', 'act', 'debrief'];

/**
 * A button of an act at the drill, under the words of the program.
 * @param {string} act
 * @param {import('../../pages/draw.js').Attributes} [more]
 */
const act_button = (act, more = {}) => button(act, '', word('acts', act), more);

/** @param {number} step @param {string} words */
const go_on = (step, words) => button('step', step, word('acts', 'step', words), main);
const back_to_look = () => button('step', 2, word('acts', 'step', t('go-on-look')));

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
function acts_of_links({ links = [], ...state }) {
  const busy = unless_busy(state);
  const machines = links.flatMap(({ machine }, at) =>
    machine ? [{ name: machine.name, at }] : [],
  );
  return [
    links.map(({ name }, at) => button('acknowledge', at, t('acknowledge-link', name), busy)),
    button('acknowledge', '', t('acknowledge-all'), busy),
    act_button('reset', busy),
    machines.map(({ name, at }) => button('restart', at, t('restart-one', name), busy)),
  ];
}

/** @param {State} state */
function acts(state) {
  const busy = unless_busy(state);
  const three = [
    act_button('acknowledge', busy),
    act_button('reset', busy),
    act_button('restart', busy),
  ];
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
    button(
      'demand',
      i,
      word('acts', 'demand', word('demands', guard.kind, guard.name)),
      unless_busy(state),
    ),
  );
  return draw`<h3 class="group">${t('demand-a-guard')}</h3><div class="cards">${all}</div>
    ${keep_buttons(state, [has_used(state, 'test-demand') && 'test-demand'])}`;
}

/** From the first act on there is nothing more to name. @param {State} state */
const on_from_look = (state) =>
  named_stands(state) ? go_on(4, t('go-on-act')) : go_on(3, t('go-on-name'));

/** @param {State} state @param {Exam | null} exam */
export function look(state, exam) {
  return [
    workspace({
      top: story_and_plant(state),
      ask: [question(t('look-question')), kept(state)],
      bench: [whole_bench(state), instrument_tabs(state)],
      rest: [why_busy(state), demands(state), acts(state), hints(state, exam), log(state)],
      foot: foot(on_from_look(state)),
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

/** After the first act: read, not asked. @param {State} state */
function named_already(state) {
  return [
    workspace({
      top: is_wide() ? story_and_plant(state) : story_alone(state),
      ask: [question(t('named-head')), draw`<p>${t('named-stands', named_words(state))}</p>`],
      bench: bench_to_look_up(state),
      rest: log(state),
      foot: foot([back_to_look(), go_on(4, t('go-on-act'))]),
      asks_first: true,
    }),
  ];
}

/** @param {State} state @param {Exam | null} exam */
export function name_it(state, exam) {
  if (named_stands(state)) return named_already(state);
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
