// What a dangerous act would have led to, as it was played: the sentence, the hand and the
// standstill over one axis, and the steps of it.
import { draw } from '../../pages/draw.js';
import { rounded_down, rounded_up, since_start } from '../../pages/numbers.js';
import { first_of, outcome_drawing } from '../../pages/outcome_drawing.js';
import { entry } from './entries.js';
import { page_width } from './looking.js';
import { danger_mark, warning_mark } from './marks.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').Outcome} Outcome */

const MOST = 640; // px wide
const SHEET = 26; // of padding and border

/** @type {{ [first: string]: import('./texts.js').Key }} */
const FIRST = {
  hand: 'hand-first',
  late: 'machine-late',
  'machine-this-time': 'machine-this-time',
  machine: 'machine-first',
};

/** Whoever was first: it was dangerous, and held at the best this time. @param {string} first */
const verdict = (first) =>
  first === 'machine' ? warning_mark(t(FIRST[first])) : danger_mark(t(FIRST[first]));

/** Who is there first, drawn; nothing where no hand was on its way. @param {Outcome} outcome */
function race(outcome) {
  const { guard, hand_ms, stood_ms } = outcome;
  if (guard === null) return '';
  if (hand_ms === null) return stood_ms !== null && draw`<p>${t('race-unknown', guard)}</p>`;
  // what is reckoned holds of a machine that stops
  const reckoned_ms = stood_ms === null ? null : outcome.reckoned_ms;
  const hand = t('race-hand', rounded_down(hand_ms));
  const machine = stood_ms === null ? t('race-goes-on') : t('race-stands', rounded_up(stood_ms));
  const reckoned = reckoned_ms === null ? '' : t('race-reckoned', rounded_up(reckoned_ms));
  const axis = t('race-axis', guard);
  const title = t('race-title', axis, [hand, machine, reckoned].filter(Boolean).join('. '));
  const width = Math.min(MOST, page_width() - SHEET);
  return draw`<p>${verdict(first_of({ hand_ms, stood_ms, reckoned_ms }))}</p>
    ${outcome_drawing({ hand_ms, stood_ms, reckoned_ms }, width, {
      title,
      hand,
      machine,
      reckoned,
      axis,
    })}`;
}

/** What the bars rest on, and what they do not show. @param {Outcome} outcome */
function figures({ guard, distance_mm, hand_ms, went_on_mm, tries }) {
  const stands = guard !== null && distance_mm !== null && hand_ms !== null;
  const said = [
    stands ? t('race-from', guard, distance_mm, rounded_down(hand_ms)) : '',
    went_on_mm === null || guard === null ? '' : t('went-on', rounded_up(went_on_mm)),
    guard !== null && tries > 1 ? t('worst-of-tries', tries) : '',
  ].filter(Boolean);
  return said.length > 0 && draw`<p>${said.join(' ')}</p>`;
}

/** @param {Outcome} outcome */
function steps({ steps }) {
  if (!steps.length) return '';
  const lines = steps.map(
    ({ at_ms, what, about }) =>
      draw`<li><span class="soft">${since_start(at_ms)}</span>
      ${[word('outcome_steps', what), about].filter(Boolean).join(': ')}</li>`,
  );
  return draw`<p class="group">${t('outcome-steps')}</p><ol class="outcome-steps">${lines}</ol>`;
}

/** @param {Outcome} outcome */
const told = (outcome) =>
  draw`<div><p><strong>${outcome.says}</strong></p>
    ${race(outcome)}${figures(outcome)}</div><div>${steps(outcome)}</div>`;

/** Of the act that was just explained. @param {Outcome | null} outcome */
export const outcome_shown = (outcome) =>
  outcome &&
  draw`<section class="outcome-of" aria-labelledby="outcome-head">
    <h3 id="outcome-head">${t('outcome-head')}</h3>${told(outcome)}</section>`;

/** Of the debrief. @param {Outcome[]} outcomes */
export const outcomes_told = (outcomes) =>
  outcomes.length > 0 &&
  entry(
    '',
    draw`<h2>${t('outcomes-head')}</h2><p class="soft">${t('outcomes-text')}</p>${outcomes.map(
      (one) => draw`<section class="outcome-of"><h3>${one.words}</h3>${told(one)}</section>`,
    )}`,
    'outcomes',
  );
