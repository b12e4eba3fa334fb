// Telegrams on their way at the bench: drawn while time is slowed, between what was told and never
// past it; at full speed the last of each way in words, and every rejected one.
import { draw } from '../../pages/draw.js';
import { put } from '../../pages/lay_over.js';
import { VirtualClock } from '../../pages/virtual_clock.js';
import { grouped, ways_drawing } from '../../pages/ways_drawing.js';
import { places_of } from '../../pages/ways_places.js';
import { slug } from './controls.js';
import { t } from './texts.js';
import { is_opened } from './try_ends.js';

/** @typedef {import('./told.js').Bench} Bench */
/** @typedef {import('./told.js').BenchLink} BenchLink */
/** @typedef {import('./told.js').Fact} Fact */
/** @typedef {import('../../pages/ways_places.js').Place} Place */

const clock = new VirtualClock();
export const still = matchMedia('(prefers-reduced-motion: reduce)');
/** @type {Bench | null} */
let bench = null;
let frame = 0;
let drawn_at = 0;
const FRAME_MS = 30;
/**
 * Widths of the pictures by id; the page is asked only when it may have changed.
 * @type {Map<string, number>}
 */
const widths = new Map();
addEventListener('resize', () => widths.clear());

/** @param {Fact} fact */
const telegram_of = ([id, , way, number, made_ms, due_ms, fate, fate_ms, reason]) => ({
  id,
  way,
  number,
  made_ms,
  due_ms,
  fate,
  fate_ms,
  reason,
});

/** @param {Place} place */
const state_words = ({ state, reason }) =>
  state === 'rejected' ? t('t-rejected', reason) : t(`t-${state}`);

/** @param {BenchLink} link */
const words_of = ({ controller, device }) => ({
  title: t('ways-of', controller.name, device.name),
  to_device: t('to', device.name),
  to_controller: t('to', controller.name),
  state: state_words,
  telegram: (/** @type {Place} */ place) =>
    t(
      'telegram-words',
      grouped(place.number),
      place.way === 0 ? device.name : controller.name,
      state_words(place),
    ),
});

/** @param {Fact} fact @param {BenchLink} link */
function last_line([id, , way, number, , , fate, , reason], link) {
  const to = way === 0 ? link.device.name : link.controller.name;
  const words =
    fate === 'rejected' ? t('t-rejected', reason) : fate === null ? t('t-going') : t(`f-${fate}`);
  return draw`<li ${{ class: fate === 'rejected' ? 'amber' : null }}>${t('to', to)}: <button ${{
    type: 'button',
    id: `b-explain-${id}`,
    class: 'quiet',
    'data-act': 'explain',
    'data-value': id,
    'data-link': link.name,
    'aria-label': t('explain', grouped(number)),
  }}>${grouped(number)}</button> ${words}</li>`;
}

/** @param {BenchLink} link */
function in_words(link) {
  if (!bench) return draw``;
  const facts = bench.facts.filter((fact) => fact[1] === link.name);
  const last = [0, 1].flatMap((way) =>
    facts.filter((fact) => fact[2] === way && fact[6] !== 'rejected').slice(-1),
  );
  const rejected = facts.filter((fact) => fact[6] === 'rejected').slice(-4);
  return draw`<div class="last"><p class="soft">${t(
    link.cable_out ? 'no-way' : 'too-fast',
  )}</p><ul class="plain">${[...last, ...rejected].map((fact) =>
    last_line(fact, link),
  )}</ul></div>`;
}

/** @param {string} id */
function width_of(id) {
  let width = widths.get(id);
  if (width === undefined) {
    width = Math.max(240, Math.floor(document.getElementById(id)?.clientWidth ?? 0));
    widths.set(id, width);
  }
  return width;
}

/** @param {BenchLink} link @param {number} at_ms */
function draw_link(link, at_ms) {
  if (!bench) return;
  const id = `ways-${slug(link.name)}`;
  if (!document.getElementById(id)) return;
  if (bench.rate === '1/1') return put(id, in_words(link));
  const telegrams = bench.facts.filter((fact) => fact[1] === link.name).map(telegram_of);
  const places = places_of(telegrams, at_ms, link.device.watchdog_ms);
  const of = { link: slug(link.name), cut: link.cable_out };
  put(id, ways_drawing(places, width_of(id), words_of(link), of));
}

function draw_ways() {
  frame = 0;
  if (!bench) return;
  const now = performance.now();
  if (now - drawn_at < FRAME_MS) {
    frame = requestAnimationFrame(draw_ways);
    return;
  }
  drawn_at = now;
  const at_ms = still.matches ? bench.at_ms : clock.at(now);
  for (const link of bench.links) if (is_opened(bench, link.name)) draw_link(link, at_ms);
  if (bench.rate !== '1/1' && !still.matches && clock.glides(now))
    frame = requestAnimationFrame(draw_ways);
}

/** @param {Bench | null} told */
export function show_ways(told) {
  bench = told;
  if (!told) return;
  clock.told(told.at_ms, told.rate, performance.now());
  if (frame) cancelAnimationFrame(frame);
  drawn_at = 0;
  draw_ways();
}

/**
 * What is on its way, as a list for the keyboard and for those who see no picture.
 * @param {Bench} told
 */
export function ways_list(told) {
  if (told.rate === '1/1') return draw``;
  const items = told.links.flatMap((link) =>
    told.facts
      .filter((fact) => fact[1] === link.name)
      .slice(-12)
      .reverse()
      .map((fact) => last_line(fact, link)),
  );
  if (!items.length) return draw``;
  return draw`<details class="small"><summary>${t('as-list')}</summary><ul class="plain log"
    tabindex="0" aria-label="${t('as-list')}">${items}</ul></details>`;
}
