// What each signal is on its way from the contact to the command, and each machine.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { rounded } from '../../pages/numbers.js';
import { bench_act, refusal_at, slug } from './controls.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Bench} Bench */
/** @typedef {import('./told.js').BenchSignal} BenchSignal */
/** @typedef {import('./told.js').BenchMachine} BenchMachine */
/** @typedef {import('./told.js').Stage} Stage */

/**
 * A bit: its digit, and 0 with another edge than 1.
 * @param {number | boolean} value
 * @param {boolean} [substitute]
 */
const bit = (value, substitute = false) =>
  draw`<span class="${value ? 'one' : 'zero'}${substitute ? ' substitute' : ''}">${
    value ? 1 : 0
  }</span>`;

/** @param {Bench} bench @param {BenchSignal} signal */
function contacts({ guards }, { name }) {
  const of = guards.filter(({ signals }) => signals.includes(name));
  return of.map((guard) => draw`<span class="contact">${guard.name} ${bit(guard.free)}</span> `);
}

/**
 * How long after the value was computed it came to that stage.
 * @param {BenchSignal} signal
 * @param {Stage} stage
 */
function after({ at_ms }, stage) {
  const from = at_ms?.computed ?? null;
  const at = at_ms?.[stage] ?? null;
  if (stage === 'computed' || from === null || at === null || at < from) return null;
  return draw` <span class="soft">+${rounded(at - from)}</span>`;
}

/** @param {Bench} bench @param {BenchSignal} signal */
function signal_row(bench, signal) {
  const { name, link, reaction_meant, command_now, differs, substitute } = signal;
  const stage = (/** @type {Stage} */ at) => {
    const is_substitute = at === 'used' && substitute;
    return draw`<td data-label="${t(at)}">${bit(signal[at], is_substitute)}${after(signal, at)}${
      is_substitute && draw` <span class="soft">${t('substitute')}</span>`
    }</td>`;
  };
  const command = differs
    ? draw`<b class="amber unequal">${mark_alone('differs')}<span>${command_now}</span></b><br>
      <span class="amber">${t('meant-is', reaction_meant)}</span>`
    : command_now;
  return draw`<tr ${{ class: differs ? 'differs' : null }}><th scope="row">${name}${
    link && bench.links.length > 1 && draw` <span class="soft">${link}</span>`
  }</th><td data-label="${t('contact')}">${contacts(bench, signal)}</td>
    ${stage('computed')}${stage('sent')}${stage('received')}${stage('used')}
    <td
      data-label="${t('command-now')}">${command}</td></tr>`;
}

/** @param {Bench} bench @param {boolean} narrow where it is long, so it is folded */
export function rows(bench, narrow) {
  if (!narrow) return rows_drawn(bench);
  const differs = bench.signals.some((one) => one.differs);
  return draw`<details ${{ id: 'rows-fold', open: differs }}><summary>${t(
    'rows-words',
  )}</summary>${rows_drawn(bench)}</details>`;
}

/** @param {Bench} bench */
function rows_drawn(bench) {
  const heads = ['bit', 'contact', 'computed', 'sent', 'received', 'used', 'command-now'];
  return draw`<div class="wide" role="region" tabindex="0" aria-label="${t('rows-words')}"><table
    class="rows"><thead><tr>${heads.map(
      (key) => draw`<th scope="col">${t(/** @type {import('./texts.js').Key} */ (key))}</th>`,
    )}</tr></thead><tbody>${bench.signals.map((signal) =>
      signal_row(bench, signal),
    )}</tbody></table></div>
  <p class="soft small">${t('rows-after')}</p>`;
}

/** @param {number} share @param {string} css */
const bar = (share, css) =>
  draw`<svg class="left" width="100%" height="10" aria-hidden="true"><rect class="all"
    width="100%" height="10"/>
    <rect class="${css}" width="${Math.round(Math.min(1, Math.max(0, share)) * 1000) / 10}%"
      height="10"/></svg>`;

/** @param {BenchMachine} machine */
function moments({ reduced_ms, stands_ms, last_demand, moves, stopped_by_hand }) {
  if (stopped_by_hand) return draw`<p class="soft">${t('stopped-by-hand')}</p>`;
  if (last_demand === null) return draw`<p class="soft">${t('no-demand')}</p>`;
  const at = (/** @type {number | null} */ ms) =>
    ms === null ? t(moves ? 'not-yet' : 'none') : t('after-ms', rounded(ms));
  return draw`<dl class="counts"><dt>${t('last-demand')}</dt><dd>${last_demand}</dd>
    <dt>${t('reduced')}</dt><dd>${at(reduced_ms)}</dd><dt>${t('stands')}</dt>
      <dd>${at(stands_ms)}</dd></dl>`;
}

/**
 * The emergency stop that is wired to the machine itself: it needs no link, and latches.
 * @param {BenchMachine} machine
 * @param {string} place
 */
const stop_switch = ({ name, emergency_stop: pressed }, place) =>
  bench_act(
    place,
    { do: 'stop', machine: name, on: pressed ? '0' : '1' },
    t(pressed ? 'stop-pressed' : 'stop', name),
    { id: `b-stop-${slug(name)}`, 'aria-pressed': String(pressed), title: t('stop-words') },
  );

/** @param {BenchMachine} machine */
function machine_drawn(machine) {
  const { name, speed_mm_s, full_mm_s, position_mm, travel_mm, moves, command, refused } = machine;
  const place = `machine-${name}`;
  const share = full_mm_s > 0 ? speed_mm_s / full_mm_s : 0;
  const at =
    position_mm === null
      ? null
      : travel_mm === null
        ? draw`<p>${t('at-mm', rounded(position_mm))}</p>`
        : draw`<p>${t(
            'at-of',
            rounded(position_mm),
            rounded(travel_mm),
          )}</p>${bar(position_mm / travel_mm, 'is place')}`;
  return draw`<div class="machine" id="machine-${slug(name)}">
    <div><h3>${name} <span class="${moves ? 'green' : 'soft'} word">${t(
      moves ? 'moves' : 'stands-still',
    )}</span></h3>
    <p>${t('command')}: <b>${command}</b></p>${bench_act(
      place,
      { do: 'start', machine: name },
      t('start', name),
    )} ${stop_switch(machine, place)}
    <p class="soft small">${t('stop-words')}</p></div>
    <div><p>${t('speed', rounded(speed_mm_s), rounded(full_mm_s))}</p>${bar(
      share,
      'is speed',
    )}${at}</div>
    <div>${moments(machine)}</div>${
      refused &&
      draw`<p
      class="says">${refused}</p>`
    }${refusal_at(place)}</div>`;
}

/** @param {Bench} bench */
export const machines = ({ machines }) =>
  machines.length ? draw`<div class="machines">${machines.map(machine_drawn)}</div>` : draw``;
