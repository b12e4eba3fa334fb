// Step 4, Act: the plant stays in view, each act is done at once, handing over ends the drill.
import { draw } from '../../pages/draw.js';
import { button, main } from '../../pages/parts.js';
import { whole_bench } from './bench_links.js';
import { done_so_far } from './done.js';
import { foot, question } from './entries.js';
import { instrument_tabs } from './instruments.js';
import { log } from './log.js';
import { is_wide } from './looking.js';
import { diagnosis } from './record_parts.js';
import { story_and_plant } from './story.js';
import { t } from './texts.js';
import { workspace } from './work.js';
import { word } from './words.js';
import { works_offered } from './works.js';

/** @typedef {import('./told.js').State} State */

/** From the first act on what was named stands. @param {State} state */
export const named_stands = ({ done, work }) => done.length > 0 || work !== null;

/** What was named, in words. @param {State} state */
export function named_words(state) {
  if (state.cannot_tell) return word('acts', 'cannot-tell');
  return state.where && state.what ? diagnosis(state) : t('named-nothing');
}

/** @param {State} state */
export const what_was_named = (state) =>
  draw`<p class="soft">${t(
    named_stands(state) ? 'named-stands' : 'named-yet',
    named_words(state),
  )}</p>`;

/** Panels and instruments; where the page is narrow, folded away. @param {State} state */
export function bench_to_look_up(state) {
  const all = [whole_bench(state), instrument_tabs(state)];
  if (is_wide()) return all;
  return draw`<details><summary>${t('what-was-read')}</summary>${all}</details>`;
}

/** Why the drill cannot be handed over just now. @param {State} state */
function not_yet({ work, done, warned }) {
  if (work) return t('hand-over-busy');
  if (warned) return t('hand-over-warned');
  return done.length ? '' : t('hand-over-nothing');
}

/** @param {State} state */
function hand_over(state) {
  const why = not_yet(state);
  const kept_back = why ? { 'aria-disabled': 'true' } : main;
  const about = { 'aria-describedby': 'hand-over-why', ...kept_back };
  return [
    button('step', 2, word('acts', 'step', t('go-on-look'))),
    button('hand-over', '', word('acts', 'hand-over'), about),
    draw`<p class="soft" id="hand-over-why">${why || t('hand-over-ends')}</p>`,
  ];
}

/** @param {State} state */
export function act(state) {
  return [
    workspace({
      top: story_and_plant(state),
      ask: [question(t('act-question')), what_was_named(state), done_so_far(state)],
      bench: bench_to_look_up(state),
      rest: [works_offered(state), log(state)],
      foot: foot(hand_over(state)),
      asks_first: true,
    }),
  ];
}
