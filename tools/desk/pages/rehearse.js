// Section 7: what the rehearsal of the file showed, and what is handed over.
import { draw } from '../../pages/draw.js';
import { marked } from '../../pages/marks.js';
import { rounded_down, rounded_up } from '../../pages/numbers.js';
import { table } from '../../pages/parts.js';
import { command_line, poster, refusal_at } from './controls.js';
import { t } from './texts.js';
import { bench_time } from './try.js';

/** @typedef {import('./told.js').Shown} Told */
/** @typedef {import('./told.js').Rehearsal} Rehearsal */
/** @typedef {import('./texts.js').Key} Key */

/** @param {boolean | null} ok @param {Key} good @param {Key} bad */
const judged = (ok, good, bad) =>
  ok === null
    ? marked('unknown', t('not-shown'))
    : ok
      ? marked('ok', t(good))
      : marked('warns', t(bad));

/** @param {number | null} ms */
const ms_or_none = (ms) => (ms === null ? t('none') : t('ms', rounded_up(ms)));

/** @param {Rehearsal['rows'][number]} row */
function error_row(row) {
  const {
    n,
    at_ms,
    what,
    way,
    outcome,
    caught_by,
    detect_ms,
    still_ms,
    allowed_ms,
    as_expected,
    injection,
    why,
    path,
  } = row;
  const replay =
    injection !== null &&
    poster(`replay-${n}`, '/api/replay', { injection }, t('replay'), {
      'data-then': 'sec-try',
      'aria-label': t('replay-of', what),
    });
  const take_out =
    path &&
    poster(`replay-${n}`, '/api/block', { do: 'remove', path }, t('take-block'), {
      'aria-label': `${t('take-block')}: ${what}`,
    });
  return {
    cells: [
      bench_time(at_ms),
      [what, draw`<br><span class="soft">${way}</span>`],
      [outcome, caught_by && draw`<br><span class="soft">${t('by', caught_by)}</span>`],
      ms_or_none(detect_ms),
      allowed_ms === null
        ? ms_or_none(still_ms)
        : t(
            'ms-of',
            still_ms === null ? t('none') : rounded_up(still_ms),
            rounded_down(allowed_ms),
          ),
      [judged(as_expected, 'as-expected', 'not-as-expected'), why && draw`<p>${why}</p>`],
      [replay, take_out, refusal_at(`replay-${n}`)],
    ],
    css: as_expected === false ? 'warned' : undefined,
  };
}

/** @param {Rehearsal['demands'][number]} row */
const demand_row = ({ guard, at_ms, must, shown, reduced_ms, stands_ms, allowed_ms, ok, why }) => ({
  cells: [
    guard,
    bench_time(at_ms),
    must,
    shown,
    ms_or_none(reduced_ms),
    allowed_ms === null
      ? ms_or_none(stands_ms)
      : t(
          'ms-of',
          stands_ms === null ? t('none') : rounded_up(stands_ms),
          rounded_down(allowed_ms),
        ),
    [judged(ok, 'stops-it', 'does-not-stop'), why && draw`<p>${why}</p>`],
  ],
  css: ok === false ? 'warned' : undefined,
});

/** @param {Rehearsal} rehearsal */
function papers({ files, folder }) {
  if (!files.length) return null;
  return draw`<h3>${t('papers')}</h3><ul class="plain">${files.map(
    ({ name, words }) =>
      draw`<li><a href="/evidence/${encodeURIComponent(name)}" target="_blank"
        rel="noopener">${words}</a> <span class="soft">${name}</span></li>`,
  )}</ul><p class="soft">${t('in-folder', folder)}</p>`;
}

/** @param {Rehearsal | null} rehearsal */
function state_of(rehearsal) {
  if (!rehearsal || rehearsal.state === 'none') return draw`<p>${t('not-rehearsed')}</p>`;
  if (rehearsal.state === 'runs')
    return draw`<p><progress aria-label="${t('rehearsing')}"></progress> ${t('rehearsing')}</p>`;
  const { verdict, sentence, state } = rehearsal;
  return draw`${state === 'old' && draw`<p class="old-words">${t('rehearsal-old')}</p>`}
    <p class="${state === 'old' ? 'soft' : ''}"><b class="word">${verdict}</b> ${sentence}</p>`;
}

const ERRORS = ['at', 'error', 'outcome', 'caught-after', 'still-after', 'judged', 'look'];
const GUARDS = ['guard', 'at', 'must', 'shown', 'reduced', 'stands', 'judged'];
const names = (/** @type {string[]} */ keys) => keys.map((key) => t(/** @type {Key} */ (key)));

/** @param {Rehearsal} shown */
function tables({ rows, demands, state }) {
  const errors =
    rows.length > 0 &&
    draw`<h3>${t('h-errors')}</h3>
    ${table(names(ERRORS), rows.map(error_row), t('h-errors'), 'verdicts')}`;
  const guards =
    demands.length > 0 &&
    draw`<h3>${t('h-demands')}</h3>
    ${table(names(GUARDS), demands.map(demand_row), t('h-demands'), 'demands')}`;
  return draw`<div ${{ class: state === 'old' ? 'is-old' : null }}>${errors}${guards}</div>`;
}

/** @param {Told} told */
export function rehearsal_part({ rehearsal, file }) {
  const shown = rehearsal && ['current', 'old'].includes(rehearsal.state) ? rehearsal : null;
  return draw`${state_of(rehearsal)}
    ${poster('rehearse', '/api/rehearse', {}, t('rehearse-now'))}${refusal_at('rehearse')}
    ${shown && tables(shown)}
    ${shown && papers(shown)}
    <h3>${t('h-repeat')}</h3>${shown && command_line(shown.command)}${command_line(file.repeat)}`;
}
