// What the instruments show that were used.
import { draw } from '../../pages/draw.js';
import { in_both_bases, moment_at } from '../../pages/numbers.js';
import { button, table } from '../../pages/parts.js';
import { entry } from './entries.js';
import { chosen_view, link_choice } from './links.js';
import { event_words } from './log.js';
import { mark } from './marks.js';
import { keep_buttons } from './kept.js';
import { looking } from './looking.js';
import { has_used } from './panels.js';
import { strip } from './strip.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Telegram} Telegram */

/**
 * What else is known of a telegram: measures that it failed, bits that were changed, whose address
 * it has.
 * @param {Telegram} telegram
 * @param {string[]} failed
 */
export function notes_on(telegram, failed) {
  const notes = failed.map((measure) => word('causes', measure));
  if (telegram.bits_changed) notes.push(t('bits-changed', telegram.bits_changed));
  if (telegram.verdict === 'rejected' && telegram.fits !== null)
    notes.push(t('fits', in_both_bases(telegram.fits)));
  return notes.join('; ');
}

/** @param {State} state @param {Telegram} one */
function telegram_row(state, one) {
  const notes = notes_on(one, one.measure ? [one.measure] : []);
  const verdict = word('verdicts', one.verdict);
  const cells = [
    moment_at(state.begins, one.at),
    one.end,
    notes ? `${verdict}: ${notes}` : verdict,
    one.number ?? '',
    draw`<span class="bytes">${one.bytes}</span>`,
  ];
  return { cells, css: one.verdict === 'rejected' ? 'rejected' : undefined };
}

/** @param {State} state @param {Telegram[]} telegrams @param {string} words */
function telegram_table(state, telegrams, words) {
  const heads = [t('time'), t('at'), t('verdict'), t('number'), t('bytes')];
  const rows = telegrams.map((one) => telegram_row(state, one));
  return table(heads, rows, words);
}

/** @param {State} state @param {NonNullable<State['time_line']>} shown */
function time_line(state, shown) {
  const rows = shown.events.map((event) => [moment_at(state.begins, event.at), event_words(event)]);
  const name = word('instruments', 'time-line');
  return draw`${strip(state, shown.strip)}
      ${table([t('time'), t('what')], rows, name)}
      `;
}

/** @param {State} state @param {NonNullable<State['telegrams']>} shown */
function telegrams(state, { around_stop, latest }) {
  const around = around_stop.length
    ? [draw`<h3>${t('around-stop')}</h3>`, telegram_table(state, around_stop, t('around-stop'))]
    : '';
  const last = telegram_table(state, latest, t('latest'));
  const of_start = [...around_stop, ...latest].some((one) =>
    ['start', 'ignored'].includes(one.verdict),
  );
  const start = of_start && draw`<p class="soft">${t('of-start')}</p>`;
  return draw`${start}
      ${around}
      <h3>${t('latest')}</h3>${last}`;
}

/** @param {NonNullable<State['settings']>} rows */
function settings(rows) {
  const typed = (/** @type {string | import('./told.js').Address | null} */ value) =>
    typeof value === 'object' && value !== null ? in_both_bases(value) : (value ?? '');
  const heads = [t('setting'), t('sheet'), t('controller'), t('device')];
  const cells = rows.map((row) => [
    word('settings', row.what, row.about),
    typed(row.sheet),
    typed(row.controller),
    typed(row.device),
  ]);
  return table(heads, cells, word('instruments', 'settings'));
}

/** @param {import('./told.js').NeighbourEnd} end */
function neighbour_end(end) {
  const role = end.end === 'controller' ? t('controller') : t('device');
  const refusal = end.refusal ? t('refusal', word('start_refusals', end.refusal)) : '';
  return draw`<h3>${end.name}, ${role}</h3>
      <p>${mark(end.state)} ${refusal}</p><dl>
      <dt>${t('address')}</dt><dd>${in_both_bases(end.address)}</dd>
      <dt>${t('number-sent')}</dt><dd>${end.number_sent}</dd>
      <dt>${t('received')}</dt><dd>${end.received}</dd>
      <dt>${t('rejected')}</dt><dd>${end.rejected}</dd></dl>`;
}

/**
 * What each instrument shows that was used, by its id, in the order in which they are offered.
 * @param {State} state
 * @returns {[string, unknown][]}
 */
function shown_by(state) {
  const view = chosen_view(state);
  /** @type {[string, unknown][]} */
  const parts = [];
  if (view.time_line) parts.push(['time-line', time_line(view, view.time_line)]);
  if (view.telegrams) parts.push(['telegrams', telegrams(view, view.telegrams)]);
  if (view.settings) parts.push(['settings', settings(view.settings)]);
  if (state.neighbour) {
    const ends = state.neighbour.map(neighbour_end);
    parts.push(['neighbour', ends.length ? ends : draw`<p>${t('no-neighbour')}</p>`]);
  }
  return parts;
}

/** @param {State} state @param {string} id */
const which_link = (state, id) => id !== 'neighbour' && link_choice(state);

/** All of them, one below the other. @param {State} state */
export const instruments_read = (state) =>
  shown_by(state).map(([id, body]) =>
    entry('', draw`<h2>${word('instruments', id)}</h2>${which_link(state, id)}${body}`, id),
  );

/** Those that lie in one place, each behind its tab. */
const TABS = ['time-line', 'telegrams', 'settings', 'neighbour'];

/** The one that lies open: what was asked for, else what was read last. @param {State} state */
function open_tab({ used }) {
  if (TABS.includes(looking.open) && used.includes(looking.open)) return looking.open;
  return used.filter((id) => TABS.includes(id)).pop() ?? '';
}

/**
 * Instruments as tabs that stay. A tab that was not read yet reads it.
 * @param {State} state
 */
export function instrument_tabs(state) {
  const open = open_tab(state);
  const shown = shown_by(state).find(([id]) => id === open);
  const tabs = TABS.map((id) => {
    const read = has_used(state, id);
    const pressed = { 'aria-pressed': String(id === open), id: `tab-${id}` };
    const words = word('acts', 'instrument', word('instruments', id));
    return button(
      read ? 'open' : 'instrument',
      id,
      words,
      read ? pressed : { ...pressed, class: 'unread' },
    );
  });
  return draw`<section class="instruments" aria-label="${t('read-further')}"><div
    class="tabs">${tabs}</div>${
      shown
        ? draw`<div class="sheet" id="${open}" tabindex="-1"><h2
          class="spoken">${word('instruments', open)}</h2>${which_link(state, open)}${shown[1]}
          ${keep_buttons(state, [open])}</div>`
        : draw`<p class="soft sheet">${t('no-tab')}</p>`
    }</section>`;
}
