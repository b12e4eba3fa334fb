// The bench as the trainee meets it: both ends, signals, machine.
import { draw } from '../../pages/draw.js';
import { hour_at, lasted, rounded, span } from '../../pages/numbers.js';
import { button } from '../../pages/parts.js';
import { entry } from './entries.js';
import { looking } from './looking.js';
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

/**
 * @param {State} state
 * @param {End | null} end
 * @param {{ title: string, heading?: string, id: string, readings: unknown }} panel `heading`: in
 * place of the name of the end
 */
export function end_panel(state, end, { title, heading, id, readings }) {
  if (!end)
    return draw`<div id="${id}" tabindex="-1"><h3>${title}</h3>
    <p class="soft">${t('not-read')}</p></div>`;
  const name = heading ?? end.name;
  if (end.dark && !looking.old)
    return draw`<div id="${id}" tabindex="-1"><h3>${name}</h3>
    <p>${mark_dark()}<br>${t('dark-text')}</p>${readings}</div>`;
  const shown = looking.old ? mark_unknown() : mark(end.state);
  const rows = rows_of(state, end).map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`);
  return draw`<div id="${id}" tabindex="-1"><h3>${name}</h3>
    <p>${shown}<br>${refusal_or_cause_of(end)}</p>
    <dl>${rows}</dl>${readings}</div>`;
}

/**
 * @param {State} state
 * @param {string} reading
 */
export const keep_button = (state, reading) =>
  button('keep', reading, word('acts', 'keep', word('readings', reading)), {
    'aria-pressed': String(state.kept.includes(reading)),
  });

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
  return [t('now'), draw`<br>`, looking.old ? t('as-of', hour) : hour];
}

/** @param {State} state */
export function bench(state) {
  const keep = (/** @type {string} */ reading) =>
    state.step < 5 ? keep_button(state, reading) : null;
  const controller = has_used(state, 'controller-panel');
  const io = has_used(state, 'io-panel');
  const of_controller = controller && [
    keep('controller-panel'),
    keep('longest-cycle'),
    state.controller?.trip_ms !== undefined && keep('round-trips'),
  ];
  const ages = state.controller?.age_ms !== undefined && state.io?.age_ms !== undefined;
  const of_io = io && [keep('io-panel'), keep('on-since')];
  return entry(
    now_margin(state),
    draw`<p>${machine_line(state)}</p><div class="ends">
    ${end_panel(state, state.controller, {
      title: t('controller'),
      id: 'panel-controller',
      readings: [of_controller, controller && io && keep('received-counters')],
    })}
    ${end_panel(state, state.io, {
      title: t('device'),
      id: 'panel-io',
      readings: [of_io, controller && io && ages && keep('ages')],
    })}
    <div>${signals(state)}${keep('signals')}</div></div>`,
    'bench',
  );
}
