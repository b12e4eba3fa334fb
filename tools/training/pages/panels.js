// The bench as the trainee meets it: both ends, signals, machine.
import { draw } from '../../pages/draw.js';
import { hour_at, lasted, rounded, span } from '../../pages/numbers.js';
import { button } from '../../pages/parts.js';
import { entry } from './entries.js';
import { keep_buttons } from './kept.js';
import { is_wide, looking } from './looking.js';
import { mark, mark_dark, mark_latched, mark_locked, mark_unknown } from './marks.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').End} End */
/** @typedef {import('./texts.js').Key} Key */

/**
 * Why an end is in its state; what it rejected is told by the measure that found it.
 * @param {import('./told.js').Stopped} end
 */
export function cause_of({ cause, measure }) {
  if (cause === null) return '';
  return word('causes', cause === 'rejected-telegram' && measure ? measure : cause);
}
/** @param {import('./told.js').Stopped} end */
export const refusal_or_cause_of = (end) =>
  end.refusal ? t('refusal', word('start_refusals', end.refusal)) : cause_of(end);

/**
 * Since when an end is on: the hour, or, of one that is on for long, for how long.
 * @param {State} state
 * @param {End} end
 */
function on_since(state, end) {
  const long = end.on_for_s >= 2 * 86400;
  const ago = t('ago-only', span(end.on_for_s * 1000));
  return long ? ago : `${hour_at(state.begins, state.plant_time - end.on_for_s)} (${ago})`;
}

/**
 * What was measured last; where that is longer ago than the watchdog allows, when it was.
 * @param {State} state
 * @param {string} words
 * @param {number | null | undefined} as_of
 */
const of_last = (state, words, as_of) =>
  typeof as_of === 'number' ? t('of-last', words, hour_at(state.begins, as_of)) : words;

/**
 * @param {State} state
 * @param {End} end
 * @returns {[Key, unknown][]}
 */
function rows_of(state, end) {
  const rejected = Object.entries(end.rejected_by).map(
    ([measure, count]) => `${count} (${word('causes', measure)})`,
  );
  const received = end.per_second
    ? t('rising', end.received, end.per_second)
    : t('still', end.received);
  const last_good =
    end.last_good_ms === null ? t('never') : t('ago', lasted(end.last_good_ms), end.watchdog_ms);
  /** @type {[Key, unknown][]} */
  const rows = [
    ['counted-since', hour_at(state.begins, end.counted_since)],
    ['received', received],
    ['accepted', end.accepted],
    ['rejected', rejected.join(', ') || '0'],
    ['last-good', last_good],
    ['number-sent', end.number_sent],
    ['number-received', end.number_received],
    ['on-since', on_since(state, end)],
    ['starts-today', end.starts],
    ['longest-cycle', t('normal', rounded(end.longest_cycle_ms), end.cycle_ms)],
  ];
  const { age_ms = null, trip_ms = null, longest_trip_ms = null, longest_trip_at = null } = end;
  if (age_ms !== null)
    rows.push([
      'age',
      t(
        'age-between',
        of_last(state, t('ms', rounded(age_ms)), end.age_as_of),
        rounded(end.shortest_age_ms ?? null),
        rounded(end.longest_age_ms ?? null),
      ),
    ]);
  if (longest_trip_ms !== null && longest_trip_at !== null) {
    const last = of_last(state, t('ms', rounded(trip_ms)), end.trip_as_of);
    const longest = t('longest', rounded(longest_trip_ms), hour_at(state.begins, longest_trip_at));
    rows.push(['round-trip', t('trip', last, longest)]);
  }
  return rows;
}

/** Of so many rows it is seen without unfolding: of several links there are many panels. */
const ROWS_SEEN = { wide: { alone: 99, several: 4 }, narrow: { alone: 4, several: 1 } };

/** @param {[Key, unknown][]} rows */
const listed = (rows) =>
  draw`<dl>${rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`)}</dl>`;

/** @param {State} state @param {End} end @param {string} name */
function readings_of(state, end, name) {
  const [since, ...rows] = rows_of(state, end);
  const seen = ROWS_SEEN[is_wide() ? 'wide' : 'narrow'][state.links ? 'several' : 'alone'];
  if (rows.length < seen) return listed([since, ...rows]);
  return draw`${listed(rows.slice(0, seen))}<details class="small"><summary
    aria-label="${t('more-of-end', name)}">${t('more')}</summary>${listed([
      since,
      ...rows.slice(seen),
    ])}</details>`;
}

/**
 * @param {State} state
 * @param {End | null} end
 * @param {{ title: string, heading?: string, id: string, readings: unknown, read?: unknown }} panel
 * `heading`: in place of the name of the end; `read`: what reads it
 */
export function end_panel(state, end, { title, heading, id, readings, read }) {
  if (!end)
    return draw`<div id="${id}" tabindex="-1"><h3>${title}</h3>
    <p>${mark_unknown()} <span class="soft">${t('not-read')}</span></p>${read}</div>`;
  const name = heading ?? end.name;
  if (end.dark && !looking.old)
    return draw`<div id="${id}" tabindex="-1"><h3>${name}</h3>
    <p>${mark_dark()}<br>${t('dark-text')}</p>${readings}</div>`;
  const shown = looking.old ? mark_unknown() : mark(end.state);
  return draw`<div id="${id}" tabindex="-1"><h3>${name}</h3>
    <p>${shown}<br>${refusal_or_cause_of(end)}</p>
    ${readings_of(state, end, name)}${readings}</div>`;
}

/**
 * @param {State} state
 * @param {string} instrument
 */
export const has_used = (state, instrument) => state.used.includes(instrument);

/** @param {import('./told.js').Signal} signal */
function used_value(signal) {
  return signal.substitute ? t('substitute', '0') : signal.used ? '1' : '0';
}

/** @param {State} state @param {string} [heading] */
export function signals(state, heading = t('signals')) {
  const values = state.signals.map(
    (signal) => draw`<dt>${signal.name}</dt>
    <dd>${t('sent-used', signal.sent ? '1' : '0', used_value(signal))}</dd>`,
  );
  const guards = state.guards.filter((guard) => guard.latched);
  const contact = t(state.acknowledge_contact ? 'contact-closed' : 'contact-open');
  return draw`<h3>${heading}</h3><dl>${values}
    ${guards.map((guard) => draw`<dt>${guard.name}</dt><dd>${t('latched')}</dd>`)}</dl>
    <p>${t('request', state.request ? t('yes') : t('no'))}; ${contact}</p>`;
}

/** @param {State} state */
export function machine_line({ machine }) {
  const moves = machine.moves ? t('moves') : t('stands');
  let line = t('machine', machine.name, moves, machine.speed, machine.full);
  if (machine.degrees !== null) line = t('machine-turned', line, machine.position, machine.degrees);
  else if (machine.position !== null) line = t('machine-at', line, machine.position);
  // both stand beside each other: one is no substitute for the other
  return [
    line,
    machine.emergency_stop && draw`<br>${mark_latched(t('emergency-latched'))}`,
    machine.isolated && draw`<br>${mark_locked(t('isolated'))}`,
  ];
}

/** @param {State} state */
export function now_margin(state) {
  const hour = hour_at(state.begins, state.plant_time);
  return [t('now'), ' ', draw`<br>`, looking.old ? t('as-of', hour) : hour];
}

/**
 * What goes there and reads it, while one looks.
 * @param {State} state
 * @param {string} instrument
 * @param {string} [words]
 */
export const read_button = (state, instrument, words = word('instruments', instrument)) =>
  state.step < 3 && !has_used(state, instrument)
    ? button('instrument', instrument, word('acts', 'instrument', words))
    : '';

/** @param {State} state */
export function bench(state) {
  const controller = has_used(state, 'controller-panel');
  const io = has_used(state, 'io-panel');
  const ages = state.controller?.age_ms !== undefined && state.io?.age_ms !== undefined;
  const trips = state.controller?.trip_ms !== undefined;
  return entry(
    now_margin(state),
    draw`<div class="ends">
    ${end_panel(state, state.controller, {
      title: t('controller'),
      id: 'panel-controller',
      readings: '',
      read: read_button(state, 'controller-panel'),
    })}
    ${end_panel(state, state.io, {
      title: t('device'),
      id: 'panel-io',
      readings: '',
      read: read_button(state, 'io-panel'),
    })}
    <div class="signals">${signals(state)}</div></div>
    ${keep_buttons(state, [
      controller && 'controller-panel',
      io && 'io-panel',
      controller && io && 'received-counters',
      'signals',
      io && 'on-since',
      controller && 'longest-cycle',
      controller && trips && 'round-trips',
      controller && io && ages && 'ages',
    ])}`,
    'bench',
  );
}
