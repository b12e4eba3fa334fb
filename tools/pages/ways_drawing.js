// Telegrams on their way between two ends: the controller at the left, the device at the right.
// Drawn in pixels, so that texts keep their size however wide it is.
import { draw } from './draw.js';
import { rounded } from './numbers.js';
import { shortened } from './plant_parts.js';

/** @typedef {import('./ways_places.js').Place} Place */
/**
 * @typedef {object} Words
 * @property {string} title of the picture
 * @property {string} to_device name of that way
 * @property {string} to_controller
 * @property {(place: Place) => string} telegram what it is, for those who do not see it
 * @property {(place: Place) => string} state beside it
 */

export const HEIGHT = 196;
const LINE = [72, 124]; // y of both ways
const LANE = [6, 166]; // of what was rejected or lost, beside the way
const TALL = 24;

/**
 * As people read it: 15 282. One that is not in the bytes has none.
 * @param {number | null} number
 */
export const grouped = (number) =>
  (number === null ? '\u2013' : String(number)).replace(/\B(?=(\d{3})+$)/g, '\u202f');

/** @param {Place} place @param {number} width */
export function box_of({ way, share, state, number }, width) {
  const wide = grouped(number).length * 8 + 18;
  const along = way === 0 ? share : 1 - share;
  const aside = state === 'rejected' || state === 'lost';
  const y = aside ? LANE[way] : LINE[way] - TALL / 2;
  return { x: Math.round(along * (width - wide) * 10) / 10, y, wide };
}

/**
 * @typedef {object} Of
 * @property {string} link
 * @property {boolean} cut
 * @property {boolean} [only_shown] its telegrams explain nothing when they are pressed
 */

/** @param {Place} place @param {string} link */
const pressable = ({ id }, link) => ({
  role: 'button',
  tabindex: 0,
  'data-act': 'explain',
  'data-value': id,
  'data-link': link,
});

/** @param {Place} place @param {number} width @param {Words} words @param {Of} of */
function telegram(place, width, words, { link, only_shown }) {
  const { x, y, wide } = box_of(place, width);
  const { id, way, state, number, age_ms } = place;
  const aside = state === 'rejected' || state === 'lost';
  const left = x < width / 2;
  const beside = aside
    ? draw`<text class="says" x="${left ? x + wide + 8 : x - 8}" y="${y + 17}" ${{
        'text-anchor': left ? 'start' : 'end',
      }}>${shortened(words.state(place), width - wide - 12, 8)}</text>`
    : draw`<text ${{
        class: 'soft',
        x: x < 40 ? 2 : x + wide > width - 40 ? width - 2 : x + wide / 2,
        y: way === 0 ? y - 6 : y + TALL + 15,
        'text-anchor': x < 40 ? 'start' : x + wide > width - 40 ? 'end' : 'middle',
      }}>${state === 'going' ? `${rounded(age_ms)} ms` : words.state(place)}</text>`;
  const cross =
    state === 'lost' && draw`<path class="cross" d="M${x} ${y}L${x + wide} ${y + TALL}"/>`;
  return draw`<g ${{
    id: `telegram-${link}-${id}`,
    class: `telegram ${state}`,
    ...(only_shown ? { role: 'img' } : pressable(place, link)),
    'aria-label': words.telegram(place),
  }}><rect class="reach" x="${x - 4}" y="${y - 10}" width="${wide + 8}" height="44"/>
    <rect class="paper" x="${x}" y="${y}" width="${wide}" height="${TALL}" rx="2"/>
    <text class="number" x="${x + wide / 2}" y="${y + 17}"
      text-anchor="middle">${grouped(number)}</text>
    ${cross}${beside}</g>`;
}

/** @param {number} way @param {number} width @param {string} name @param {boolean} cut */
function line(way, width, name, cut) {
  const y = LINE[way];
  const head = way === 0 ? `M${width - 9} ${y - 6}l8 6-8 6` : `M9 ${y - 6}l-8 6 8 6`;
  const css = cut ? 'way cut' : 'way';
  const along = cut
    ? `M0 ${y}h${width / 2 - 14}M${width / 2 + 14} ${y}h${width / 2 - 14}`
    : `M0 ${y}h${width}`;
  return draw`<path class="${css}" d="${along}${head}"/>
    <text class="soft name" x="${way === 0 ? 0 : width}"
      y="${LINE[way] + (way === 0 ? 27 : -18)}" ${{
        'text-anchor': way === 0 ? 'start' : 'end',
      }}>${name}</text>`;
}

/**
 * @param {Place[]} places
 * @param {number} width
 * @param {Words} words
 * @param {Of} of
 */
export const ways_drawing = (places, width, words, of) =>
  draw`<svg class="ways" width="${width}" height="${HEIGHT}" role="group"
    aria-label="${words.title}">
    ${line(0, width, words.to_device, of.cut)}${line(1, width, words.to_controller, of.cut)}
    ${places.map((place) => telegram(place, width, words, of))}</svg>`;
