// The debrief: what it was, what happened, and the reasons for the points.
import { draw } from '../../pages/draw.js';
import { hour_at, moment_at, rounded, span } from '../../pages/numbers.js';
import { button, main, table } from '../../pages/parts.js';
import { ages_told } from './ages.js';
import { one_telegram, what_ends_knew } from './debrief_ends.js';
import { what_was_done } from './done.js';
import { entry, foot, question } from './entries.js';
import { instruments_read } from './instruments.js';
import { event_words, log } from './log.js';
import { danger_mark } from './marks.js';
import { outcomes_told } from './outcome.js';
import { whole_bench } from './bench_links.js';
import { view_called } from './links.js';
import { slow_ways } from './slow_ways.js';
import { story_and_plant } from './story.js';
import { strip } from './strip.js';
import { t } from './texts.js';
import { trainers_hand } from './trainers_hand.js';
import { ids, word, word_or_itself } from './words.js';

/** @typedef {import('./told.js').Finished} Finished */
/** @typedef {import('./told.js').Remark} Remark */

const LETTERS = 'abcdefghijklmnopqrstuvwxyz';

/** @param {import('./told.js').State} state @param {string} id */
const card_words = (state, id) => state.cards.find((card) => card.id === id)?.words;

/** @param {Finished} state */
function heading({ score }) {
  const words = word('results', score.result);
  if (!score.judged) return draw`<span class="amber state">${words}</span>`;
  if (score.points === null) return danger_mark(words);
  const colour = score.result.startsWith('safe') ? 'good' : 'amber';
  return draw`<span class="${colour} state">${words}</span>`;
}

/** @param {Finished} state */
function verdict(state) {
  const { score } = state;
  const parts = [score.points, score.secure, score.evidence, score.diagnosis, score.action];
  const dangers = score.dangerous.map((one) => {
    const words = card_words(state, one.id) ?? word('dangers', one.id);
    const text = t('danger-text', words, one.why);
    return draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${text}</p>`;
  });
  const taken_back = score.corrected.map(
    (one) => draw`<li>${t('danger-text', one.words, one.why)}</li>`,
  );
  const link = score.right_link?.join(' / ');
  const where = score.right_where.map((one) => word('where', one)).join(' / ');
  const what = score.right_what.map((one) => word('what', one)).join(' / ');
  return draw`${question(heading(state))}
    ${score.points !== null && draw`<p>${t('points', ...parts)}</p>`}
    ${dangers}${trainers_hand(state)}
    ${taken_back.length > 0 && draw`<p>${word('remarks', 'corrected')}:</p><ul>${taken_back}</ul>`}
    <p><strong>${state.drill.title}:</strong> ${score.debrief}</p>
    <h3>${t('the-cause')}</h3><p>${score.cause}</p>
    <p>${link && t('right-link', link)} ${t('right-answer', where, what)}</p>`;
}

/** @param {Finished} state */
function ran_on({ score }) {
  if (score.ran_on === null) return '';
  const { to_command_ms, to_standstill_ms, at_most_ms } = score.ran_on;
  const model = at_most_ms === null ? '' : t('ran-on-model', rounded(at_most_ms));
  return draw`<p>${t('ran-on', rounded(to_command_ms), rounded(to_standstill_ms))} ${model}</p>`;
}

/** @param {Finished} state */
function what_happened(state) {
  const { story } = state.score;
  const { of, samples, link } = state.score.strip;
  const view = view_called(state, link);
  const is_cause = (/** @type {string} */ what) => what === 'fault' || what === 'guard-asked';
  const begin = story.find((event) => is_cause(event.what))?.at ?? story[0]?.at ?? 0;
  const marks = story.map((event, i) => ({ ...event, letter: LETTERS[i] ?? '' }));
  const shown = marks.filter(
    (one) =>
      samples.length > 1 && one.at >= samples[0][0] && one.at <= samples[samples.length - 1][0],
  );
  const since = (/** @type {number} */ at) =>
    `${at < begin ? '-' : '+'} ${span(Math.abs(at - begin) * 1000)}`;
  const rows = marks.map((one) => ({
    cells: [one.letter, moment_at(state.begins, one.at), since(one.at), event_words(one)],
    css: is_cause(one.what) ? 'cause' : undefined,
  }));
  const heads = [t('mark'), t('time'), t('since-cause'), t('what')];
  return entry(
    hour_at(state.begins, begin),
    draw`<h2>${t('what-happened')}</h2>
    <p>${word('strip_of', of)} ${link && t('right-link', link)}</p>${strip(view, samples, shown)}
    <h3>${t('same-as-table')}</h3>${table(heads, rows, t('what-happened'), 'story')}
    ${ran_on(state)}`,
  );
}

/**
 * What a remark is about, in words.
 * @param {Finished} state
 * @param {Remark} remark
 */
function about_words(state, { part, about }) {
  const card = card_words(state, about);
  if (card !== undefined) return card;
  if (part === 'evidence') return word('readings', about);
  if (part === 'diagnosis' && state.links?.some((link) => link.name === about))
    return t('link', about);
  if (part === 'diagnosis') return word(ids('what').includes(about) ? 'what' : 'where', about);
  return word_or_itself('conduct', about);
}

/** @param {Finished} state @param {Remark} remark */
function remark_words(state, remark) {
  const whole = `${remark.part}-${remark.says}`;
  if (remark.about === '' && ids('whole_remarks').includes(whole))
    return word('whole_remarks', whole);
  const said = `${word('parts', remark.part)}: ${word('remarks', remark.says)}`;
  const about = remark.about ? `: ${about_words(state, remark)}` : '';
  return said + about + (remark.why ? `. ${remark.why}` : '');
}

/** @param {import('./told.js').DrillOffered} drill */
const alike_line = ({ number, title }) => draw`<li>${t('look-alikes', `${number} ${title}`)}</li>`;

/** @param {Finished} state @param {import('./told.js').DrillOffered[]} drills */
function reasons(state, drills) {
  const { score } = state;
  const alike = drills.filter((drill) => score.look_alikes.includes(drill.number));
  alike.sort((a, b) => score.look_alikes.indexOf(a.number) - score.look_alikes.indexOf(b.number));
  const needed = score.needed.map((one) => draw`<li>${one.words}: ${one.why}</li>`);
  return entry(
    '',
    draw`<h2>${t('reasons')}</h2>
    <ul>${score.remarks.map((remark) => draw`<li>${remark_words(state, remark)}</li>`)}</ul>
    <h3>${t('right-acts')}</h3><ol>${needed}</ol>
    <ul>${alike.map(alike_line)}</ul>`,
  );
}

/**
 * @param {Finished} state
 * @param {import('./told.js').Exam | null} exam
 * @param {import('./told.js').DrillOffered[]} drills
 */
export function debrief(state, exam, drills) {
  const links = state.links?.map((link) => ({ ...link, time_line: null }));
  const instruments = instruments_read({ ...state, time_line: null, links });
  const on = exam
    ? button('explain', '', t('back-to-exam'), main)
    : [button('again', '', t('again')), button('next', '', t('next'), main)];
  return [
    draw`<div class="work debrief"><div class="top">${story_and_plant(state)}</div><div
      class="side">${verdict(state)}</div></div>`,
    outcomes_told(state.score.outcomes),
    what_was_done(state),
    what_happened(state),
    slow_ways(state),
    ages_told(state),
    one_telegram(state),
    what_ends_knew(state),
    reasons(state, drills),
    log(state),
    draw`<details><summary>${t('instruments-now')}</summary>
      ${whole_bench(state)}${instruments}</details>`,
    foot([on, button('print', '', t('print'))]),
  ];
}
