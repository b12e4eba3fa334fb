// The bench as the trainee meets it: both ends, signals, machine, and what the instruments show.
import { t, word } from '/texts.js';
import { draw, entry, mark, button, table, rounded, lasted, hex, hour_at, moment_at } from '/drawing.js';

/** What the page itself knows besides the state: whether what is shown is old, and the moment that is read. */
export const looking = { old: false, moment: null };

export function cause_of(end) {
  if (end.refusal) return t('refusal', end.refusal);
  return t('c-' + (end.cause === 'rejected-telegram' && end.measure ? end.measure : end.cause));
}

function end_panel(state, end, title, id, readings) {
  if (!end) return draw`<div id="${id}" tabindex="-1"><h3>${title}</h3><p class="soft">${t('not-read')}</p></div>`;
  const rejected = Object.entries(end.rejected_by).map(([measure, count]) => `${count} (${t('c-' + measure)})`).join(', ') || '0';
  const rows = [
    ['received', end.per_second ? t('rising', end.received, end.per_second) : t('still', end.received)],
    ['accepted', end.accepted], ['rejected', rejected],
    ['last-good', end.last_good_ms === null ? t('never') : t('ago', lasted(end.last_good_ms), end.watchdog_ms)],
    ['number-sent', end.number_sent], ['number-received', end.number_received],
    ['on-since', end.on_since ?? lasted(end.on_for_ms)], ['starts-today', end.starts],
    ['longest-cycle', t('normal', rounded(end.longest_cycle_ms), end.cycle_ms)]];
  if (end.age_ms !== null) rows.push(['age', t('ms', rounded(end.age_ms))]);
  if (end.longest_trip_ms !== undefined && end.longest_trip_ms !== null)
    rows.push(['round-trip', t('trip', rounded(end.trip_ms), rounded(end.longest_trip_ms)) + ' (' + hour_at(state.begins, end.longest_trip_at) + ')']);
  return draw`<div id="${id}" tabindex="-1"><h3>${end.name}</h3><p>${mark(looking.old ? 'unknown' : end.state)}<br>${cause_of(end)}</p>
    <dl>${rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`)}</dl>${readings}</div>`;
}

export function keep_button(state, reading) {
  const kept = state.kept.includes(reading);
  return button('keep', reading, t('keep') + ': ' + t('r-' + reading), `aria-pressed="${kept}"`);
}
export const has_used = (state, instrument) => state.used.includes(instrument);

function signals(state) {
  return draw`<h3>${t('signals')}</h3><dl>${state.signals.map(signal => draw`<dt>${signal.name}</dt>
    <dd>${t('sent-used', signal.sent ? '1' : '0', signal.substitute ? t('substitute', '0') : signal.used ? '1' : '0')}</dd>`)}
    ${state.guards.filter(guard => guard.latched).map(guard => draw`<dt>${guard.name}</dt><dd>${t('latched')}</dd>`)}</dl>
    <p>${t('request', state.request ? t('yes') : t('no'))}; ${t(state.acknowledge_contact ? 'contact-closed' : 'contact-open')}</p>`;
}

export function machine_line({ machine }) {
  const line = t('machine', machine.name, machine.moves ? t('moves') : t('stands'), machine.speed, machine.full);
  return machine.position === null ? line : t('machine-at', line, machine.position);
}

const now_margin = state => [t('now'), draw`<br>`, looking.old ? t('as-of', hour_at(state.begins, state.plant_time)) : hour_at(state.begins, state.plant_time)];

export function bench(state) {
  const keep = reading => state.step < 5 ? keep_button(state, reading) : null;
  const controller = has_used(state, 'controller-panel'), io = has_used(state, 'io-panel');
  return entry(now_margin(state), draw`<p>${machine_line(state)}</p><div class="ends">
    ${end_panel(state, state.controller, t('controller'), 'panel-controller',
      [controller ? [keep('controller-panel'), keep('longest-cycle'), keep('round-trips')] : null, controller && io ? keep('received-counters') : null])}
    ${end_panel(state, state.io, t('device'), 'panel-io',
      [io ? [keep('io-panel'), keep('on-since')] : null, controller && io ? keep('ages') : null])}
    <div>${signals(state)}${keep('signals')}</div></div>`, 'bench');
}

// ---- the strip: speed above, silence of both ends below ----
const SILENCE_TOP = 200;  // ms

/** The sample that is read: the one nearest to the chosen moment, at first the last. */
function chosen_sample(samples) {
  if (looking.moment === null) return samples.length - 1;
  let best = 0;
  for (let i = 1; i < samples.length; ++i)
    if (Math.abs(samples[i][0] - looking.moment) < Math.abs(samples[best][0] - looking.moment)) best = i;
  return best;
}

function moment_words(state, sample) {
  const ago = value => value === null ? t('none-yet') : t('ms-ago', value);
  return t('at-moment', moment_at(state.begins, sample[0]), sample[1], ago(sample[2]), ago(sample[3]));
}

/** `marks`: moments with a letter, drawn through both halves. */
export function strip(state, samples, marks = []) {
  if (samples.length < 2) return '';
  const w = Math.max(300, Math.min(860, innerWidth - (innerWidth > 700 ? 150 : 36))), left = 40, right = w - 96;
  const from = samples[0][0], span = samples.at(-1)[0] - from || 1;
  const x = at => (left + (right - left) * (at - from) / span).toFixed(1);
  const line = (value, scale, base, height, css) => draw`<polyline class="${css}" points="${samples.map(s => x(s[0]) + ',' +
    (base - height * Math.min(1, (value(s) ?? scale) / scale)).toFixed(1)).join(' ')}"/>`;
  const full = state.machine.full || 1, at = chosen_sample(samples);
  const watchdogs = [...new Set([state.controller?.watchdog_ms, state.io?.watchdog_ms].filter(ms => ms && ms < SILENCE_TOP))];
  return draw`<svg class="chart" viewBox="0 0 ${w} 260" role="img" aria-label="${t('strip-text', SILENCE_TOP)}">
    ${marks.map((one, i) => draw`<line class="mark" x1="${x(one.at)}" x2="${x(one.at)}" y1="20" y2="228"/><text class="letter" x="${x(one.at)}" y="${14}" text-anchor="middle">${i && x(one.at) - x(marks[i - 1].at) < 12 ? '' : one.letter}</text>`)}
    <text x="${left - 6}" y="32" text-anchor="end">${full}</text><text x="${left - 6}" y="102" text-anchor="end">0</text>
    <line class="base" x1="${left}" x2="${right}" y1="100" y2="100"/>
    ${line(s => s[1], full, 100, 74, 'l1')}<text x="${right + 6}" y="104">${t('speed')}</text>
    <text x="${left - 6}" y="132" text-anchor="end">${SILENCE_TOP}</text><text x="${left - 6}" y="230" text-anchor="end">0</text>
    <line class="base" x1="${left}" x2="${right}" y1="228" y2="228"/>
    ${watchdogs.map(ms => draw`<line class="limit" x1="${left}" x2="${right}" y1="${228 - 100 * ms / SILENCE_TOP}" y2="${228 - 100 * ms / SILENCE_TOP}"/><text x="${left + 4}" y="${224 - 100 * ms / SILENCE_TOP}">${t('watchdog-line', ms)}</text>`)}
    ${line(s => s[2], SILENCE_TOP, 228, 100, 'l2')}<text x="${right + 6}" y="206">${t('silence-c')}</text>
    ${line(s => s[3], SILENCE_TOP, 228, 100, 'l4')}<text x="${right + 6}" y="224">${t('silence-d')}</text>
    <path class="l2" d="M${right + 6} 190h24"/><path class="l4" d="M${right + 6} 234h24"/>
    <line class="cursor" x1="${x(samples[at][0])}" x2="${x(samples[at][0])}" y1="20" y2="232"/>
    <text x="${left}" y="252">${hour_at(state.begins, from)}</text><text x="${right}" y="252" text-anchor="end">${hour_at(state.begins, samples.at(-1)[0])}</text></svg>
    <p class="soft">${t('strip-text', SILENCE_TOP)}</p>
    <p><label>${t('read-moment')} <input type="range" class="moment" id="moment" min="0" max="${samples.length - 1}" value="${at}" data-moments="${samples.map(s => s[0]).join(' ')}" aria-valuetext="${moment_words(state, samples[at])}"></label><br>${moment_words(state, samples[at])}</p>`;
}

export function event_words(event) {
  if (event.what === 'changed') return t('t-changed', event.about, t('s-' + event.state), t('c-' + event.more));
  return t('t-' + event.what, event.what === 'fault' ? word('e-', event.about) : event.about ?? '');
}

// ---- instruments ----
export function telegram_row(state, one) {
  const notes = [one.measure && t('c-' + one.measure), one.bits_changed && t('bits-changed', one.bits_changed),
    one.verdict === 'rejected' && one.fits !== null && t('fits', hex(one.fits))].filter(Boolean).join('; ');
  const row = [moment_at(state.begins, one.at), one.end, t('v-' + (one.kind === 'sent' ? 'sent' : one.verdict)) + (notes ? ': ' + notes : ''),
    one.number ?? '', draw`<span class="bytes">${one.bytes}</span>`];
  if (one.verdict === 'rejected') row.css = 'rejected';
  return row;
}
export const telegram_heads = () => [t('time'), t('at'), t('verdict'), t('number'), t('bytes')];

const typed = value => typeof value === 'number' ? hex(value) : value ?? '';

export function instruments_read(state) {
  const keep = reading => state.step < 5 ? keep_button(state, reading) : '';
  const parts = [];
  if (state.time_line)
    parts.push(entry('', draw`<h2>${t('time-line')}</h2>${strip(state, state.time_line.strip)}
      ${table([t('time'), t('what')], state.time_line.events.slice(-30).map(event => [moment_at(state.begins, event.at), event_words(event)]), t('time-line'))}
      ${keep('time-line')}`, 'time-line'));
  if (state.telegrams)
    parts.push(entry('', draw`<h2>${t('telegrams')}</h2>
      ${state.telegrams.around_stop.length ? [draw`<h3>${t('around-stop')}</h3>`, table(telegram_heads(), state.telegrams.around_stop.slice(46, 76).map(one => telegram_row(state, one)), t('around-stop'))] : ''}
      <h3>${t('latest')}</h3>${table(telegram_heads(), state.telegrams.latest.slice(-16).map(one => telegram_row(state, one)), t('latest'))}${keep('telegrams')}`, 'telegrams'));
  if (state.settings)
    parts.push(entry('', draw`<h2>${t('settings')}</h2>${table([t('setting'), t('sheet'), t('controller'), t('device')],
      state.settings.map(row => [t('st-' + row.what, row.about), typed(row.sheet), typed(row.controller), typed(row.device)]), t('settings'))}${keep('settings')}`, 'settings'));
  if (state.neighbour)
    parts.push(entry('', draw`<h2>${t('neighbour')}</h2>${state.neighbour.length ? state.neighbour.map(end => draw`<h3>${end.name}, ${end.end === 'controller' ? t('controller') : t('device')}</h3>
      <p>${mark(end.state)} ${end.refusal ? t('refusal', end.refusal) : ''}</p><dl><dt>${t('received')}</dt><dd>${end.received}</dd><dt>${t('rejected')}</dt><dd>${end.rejected}</dd></dl>`) : draw`<p>${t('no-neighbour')}</p>`}${keep('neighbour')}`, 'neighbour'));
  return parts;
}

/** Ways of faults by the errors they are. */
export const WAYS = { drop: 'e-loss', 'random-bits': 'e-corruption', instead: 'e-repetition', hold: 'e-incorrect-sequence', step: 'e-delay', neighbour: 'e-insertion', 'no-crc': 'e-masquerade', swap: 'e-addressing', restart: 'e-restart', stall: 'e-stall', 'frozen-data': 'e-frozen-data', 'clock-drift': 'e-clock-drift' };

/** What was done, in words. */
export function done_words(what, about) {
  if (what === 'step' || !about) return t('l-' + what, about);
  return t('l-' + what, t(what === 'keep' || what === 'drop' ? 'r-' + about : what === 'named' ? 'e-' + about : what === 'put-in' ? WAYS[about] : about));
}
export const log_line = (begins, line) => hour_at(begins, line.at) + ' ' + done_words(line.what, line.about);
export function log(state) {
  return entry(t('log'), draw`<div class="log" role="log" aria-live="off" tabindex="0" aria-label="${t('log')}" id="log"><ol>${state.log.map(line => draw`<li>${log_line(state.begins, line)}</li>`).reverse()}</ol></div>`);
}
