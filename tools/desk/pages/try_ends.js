// Both ends of each link at the bench: state, cause, counters, the time that is left; and the ways
// between them.
import { draw } from '../../pages/draw.js';
import { marked } from '../../pages/marks.js';
import { rounded } from '../../pages/numbers.js';
import { grouped } from '../../pages/ways_drawing.js';
import { bench_act, refusal_at, slug } from './controls.js';
import { looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Bench} Bench */
/** @typedef {import('./told.js').BenchLink} BenchLink */
/** @typedef {import('./told.js').End} End */

const FEW = 2; // links of which all are shown open
/** Marks by state of an end. */
const MARK_OF = {
  starting: 'start-up',
  running: 'running',
  stopped: 'safe-state',
  waits: 'awaiting-acknowledgement',
};

/** @param {End} end */
export function state_mark(end) {
  if (looking.old) return marked('unknown', t('s-unknown'));
  if (end.dark) return marked('dark', t('s-dark'));
  return marked(MARK_OF[end.state], t(`s-${end.state}`));
}

/** What is left of the watchdog, as a bar that runs out. @param {End} end */
function time_left({ silence_ms, watchdog_ms, state, dark }) {
  if (dark || state === 'starting') return null;
  if (silence_ms === null) return draw`<p class="soft">${t('never-heard')}</p>`;
  const left = Math.max(0, watchdog_ms - silence_ms);
  const share = watchdog_ms > 0 ? Math.round((left / watchdog_ms) * 1000) / 10 : 0;
  return draw`<svg class="left" width="100%" height="10" aria-hidden="true"><rect class="all"
    width="100%" height="10"/>
    <rect class="is" width="${share}%" height="10"/></svg>
    <p>${t('left', rounded(left), rounded(watchdog_ms))}</p>`;
}

/** @param {End} end */
function counters({ sent, received, accepted, rejected, rejected_by }) {
  const by = Object.entries(rejected_by).map(([measure, count]) => `${measure} ${grouped(count)}`);
  return draw`<dl class="counts"><dt>${t('sent')}</dt><dd>${grouped(sent)}</dd>
    <dt>${t('received')}</dt><dd>${grouped(received)}</dd>
    <dt>${t('accepted')}</dt><dd>${grouped(accepted)}</dd>
    <dt>${t('rejected')}</dt><dd ${{ class: rejected > 0 ? 'amber' : null }}>${grouped(rejected)}${
      by.length > 0 && `: ${by.join(', ')}`
    }</dd></dl>`;
}

/** @param {End} end @param {string} id @param {boolean} narrow */
const counters_folded = (end, id, narrow) =>
  narrow
    ? draw`<details id="${id}"><summary>${t('counters')}</summary>${counters(end)}</details>`
    : counters(end);

/**
 * @param {End} end
 * @param {'controller' | 'device'} at
 * @param {string} link
 * @param {boolean} narrow
 */
function end_box(end, at, link, narrow) {
  const place = `end-${at}-${link}`;
  const power = end.dark ? t('power-on') : t('power-off');
  return draw`<div class="end ${at}"><h3>${end.name}</h3>
    <p>${state_mark(end)}</p>
    ${
      end.refusal
        ? draw`<p class="says">\u201c${end.refusal}\u201d</p>`
        : end.cause && draw`<p>${end.cause}</p>`
    }
    ${time_left(end)}${counters_folded(end, `counts-${slug(place)}`, narrow)}
    ${end.asks && bench_act(place, { do: 'acknowledge', link }, t('acknowledge'))}
    ${bench_act(place, { do: 'power', link, end: at, on: end.dark ? '1' : '0' }, power, {
      'aria-label': `${power}: ${end.name}`,
      'aria-pressed': String(end.dark),
    })}${refusal_at(place)}</div>`;
}

/** @param {BenchLink} link */
function between({ name, cable_out, faults }) {
  const place = `cable-${name}`;
  const taken = faults.map(
    ({ n, words }) =>
      draw`<li>${words} ${bench_act(place, { do: 'take-out', link: name, n }, t('take-out'))}</li>`,
  );
  return draw`<div class="between"><div class="ways-box" id="ways-${slug(name)}" data-own></div>
    <p class="cable">${bench_act(
      place,
      { do: 'cable', link: name, on: cable_out ? '1' : '0' },
      cable_out ? t('cable-is-out') : t('cable-out'),
      { 'aria-pressed': String(cable_out) },
    )}</p>
    ${faults.length > 0 && draw`<ul class="plain faults">${taken}</ul>`}${refusal_at(place)}</div>`;
}

/** @param {End} end the end in one line */
const short_end = (end) => draw`<span>${end.name} ${state_mark(end)}</span>`;

/** @param {BenchLink} link @param {boolean} few @param {boolean} narrow */
function link_drawn(link, few, narrow) {
  const { name, controller, device } = link;
  const is_open = few || looking.opened.has(name);
  const halted = [device, controller].filter(({ state }) => state !== 'running');
  const trouble =
    halted.find(({ refusal }) => refusal)?.refusal ?? halted.find(({ cause }) => cause)?.cause;
  const head =
    !few &&
    draw`<div class="link-head"><button ${{
      type: 'button',
      id: `b-open-${slug(name)}`,
      class: 'quiet',
      'data-act': 'open-link',
      'data-value': name,
      'aria-expanded': String(is_open),
    }}>${is_open ? '\u2013' : '+'} ${name}</button>${short_end(controller)}${short_end(device)}
    ${trouble && draw`<span class="amber">${trouble}</span>`}</div>`;
  const title = few && name && draw`<h3>${t('link', name)}</h3>`;
  return draw`<div class="link" id="bench-link-${slug(name)}">${head}${title}${
    is_open &&
    draw`<div class="ends">${end_box(
      controller,
      'controller',
      name,
      narrow,
    )}${between(link)}${end_box(device, 'device', name, narrow)}</div>`
  }</div>`;
}

/** Whether that link is drawn with its ways. @param {Bench} bench @param {string} name */
export const is_opened = (bench, name) => bench.links.length <= FEW || looking.opened.has(name);

/** @param {Bench} bench @param {boolean} narrow */
export const ends = ({ links }, narrow) =>
  draw`${links.map((link) => link_drawn(link, links.length <= FEW, narrow))}`;
