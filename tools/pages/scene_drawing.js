// The scene of a plant: ends with how they stand as far as it is known, guards, and the machine at
// its place. It is one picture with one description; nothing in it is to be pressed.
import { draw } from './draw.js';
import { guard_icon } from './guard_icons.js';
import { MARKS } from './marks.js';
import { shortened } from './plant_parts.js';
import { scene_parts } from './scene_parts.js';
import { standing, you_drawn } from './scene_you.js';

/** @typedef {import('./scene_parts.js').Scene} Scene */
/** @typedef {import('./scene_parts.js').SceneEnd} SceneEnd */
/** @typedef {import('./scene_parts.js').SceneLayout} SceneLayout */
/**
 * @typedef {{ travel: number, degrees: number, span: number }} Way where a part moves, span in px
 */

const ROUND = 1000; // mm of a way that is not said: then the mark begins again
const LETTER = 10; // px of one in capitals, of a narrow one half
const SIGN = 30; // and what is free beside them

/**
 * Where the moving part stands.
 * @param {Way} way
 * @param {number} along mm
 */
export function moved({ travel, degrees, span }, along) {
  const share = travel > 0 ? Math.min(1, Math.max(0, along / travel)) : (along % ROUND) / ROUND;
  if (degrees !== 0) return `rotate(${(-degrees * share).toFixed(2)})`;
  return `translate(${(share * span).toFixed(1)},0)`;
}

/** @param {string} word */
const chip_width = (word) =>
  [...word].reduce((sum, one) => sum + (' I'.includes(one) ? LETTER / 2 : LETTER), SIGN);

/** @param {SceneEnd} end @param {number} x @param {number} y */
function chip({ mark, word }, x, y) {
  const shape = MARKS[/** @type {keyof typeof MARKS} */ (mark)];
  return draw`<g class="chip ${mark}" transform="translate(${x},${y})"><rect class="tint"
    width="${chip_width(word)}" height="22" rx="2"/><g class="sign"
    transform="translate(4,2) scale(.9)">${shape}</g><text x="26" y="16">${word}</text></g>`;
}

/** @param {SceneLayout['ends'][number]} box @param {boolean} wide */
function end_box({ name, ends, x, y, w, h }, wide) {
  if (!wide) return end_line({ name, ends, x, y, w, h });
  return draw`<rect class="box" x="${x}" y="${y}" width="${w}" height="${h}" rx="2"/>
    <text class="name" x="${x + 10}" y="${y + 19}">${shortened(name, w - 16, 8)}</text>
    ${ends.map(({ at, link, end }) => {
      const top = y + at + (link ? 18 : 0);
      const label =
        link && draw`<text class="soft" x="${x + 10}" y="${y + at + 14}">${link}</text>`;
      const facts = h < 90 || link ? [] : end.facts;
      return draw`${label}${chip(end, x + 10, top)}${facts.map(
        (fact, i) =>
          draw`<text class="soft" x="${x + 10}" y="${top + 39 + i * 18}">${shortened(
            fact,
            w - 14,
            6.9,
          )}</text>`,
      )}`;
    })}`;
}

/** An end in one line. @param {Omit<SceneLayout['ends'][number], never>} box */
function end_line({ name, ends, x, y, w, h }) {
  const right = ends[0] ? chip_width(ends[0].end.word) : 0;
  const words = name || ends[0]?.link || '';
  return draw`${
    name && draw`<rect class="box" x="${x}" y="${y}" width="${w}" height="${h}" rx="2"/>`
  }<text class="${name ? 'name' : 'soft'}" x="${x + 8}" y="${y + 20}">${shortened(
    words,
    w - right - 20,
    8,
  )}</text>${ends.map(({ at, end }) => chip(end, x + w - right - 4, y + at))}`;
}

/** @param {SceneLayout['guards'][number]} box */
function guard_row({ guard, x, y, w, h }) {
  const words = guard.says ? `${guard.name}: ${guard.says}` : guard.name;
  return draw`<g class="icon" transform="translate(${x + 2},${y + h / 2 - 9})">${guard_icon(
    guard.kind,
  )}</g><text ${{ class: guard.says ? 'name' : null, x: x + 38, y: y + h / 2 + 5 }}>${shortened(
    words,
    w - 38,
    guard.says ? 8 : 7.4,
  )}</text>`;
}

const ROOMY = 400; // px: what is held stands beside what moves, not above it

/** @param {SceneLayout['machines'][number]} box */
function machine_picture({ machine, x, y, w, h }) {
  const { id, name, says, along, travel, degrees, holds } = machine;
  const base = y + h - 24;
  const span = degrees ? 0 : w - 52;
  const at = moved({ travel, degrees, span }, along);
  const own = { id, 'data-travel': travel, 'data-degrees': degrees, 'data-span': span };
  const left = x + 14;
  const long = Math.min(90, h - 52 - (w > ROOMY ? 0 : holds.length * 20));
  const hinge = w > ROOMY ? x + w / 2 : left + 6;
  const part = degrees
    ? draw`<g transform="translate(${hinge},${base})"><g ${{ ...own, transform: at }}><path
        class="part" d="M0 0h${long}"/></g><circle class="hinge" r="4"/></g>`
    : draw`<g transform="translate(${left},${base - 22})"><g ${{ ...own, transform: at }}><rect
        class="part" width="24" height="20" rx="2"/></g></g>`;
  const ends =
    travel > 0 &&
    !degrees &&
    draw`<text class="soft" x="${left - 4}" y="${base + 18}">0</text><text class="soft"
      x="${x + w - 10}" y="${base + 18}" text-anchor="end">${travel} mm</text>`;
  return draw`<rect class="bed" x="${x}" y="${y}" width="${w}" height="${h}" rx="2"/>
    <text class="name" x="${x + 10}" y="${y + 19}">${shortened(name, w / 2, 8)}</text>
    <text x="${x + w - 10}" y="${y + 19}" text-anchor="end">${says}</text>
    ${holds.map(([mark, words], i) => {
      const shape = MARKS[/** @type {keyof typeof MARKS} */ (mark)];
      return draw`<g class="chip held"
        transform="translate(${x + 10},${y + 26 + i * 20})"><g class="sign"
        transform="scale(.8)">${shape}</g><text x="22" y="13">${words}</text></g>`;
    })}
    <path class="rail" d="M${x + 8} ${base}H${x + w - 8}"/>${part}${ends}`;
}

/**
 * @param {Scene} scene
 * @param {number} width
 */
export function scene_drawing(scene, width) {
  const layout = scene_parts(scene, width);
  const { height, ends, guards, machines, lines, notes, wide } = layout;
  return draw`<svg class="plant scene" width="${width}" height="${height}"
    viewBox="0 0 ${width} ${height}" role="img" aria-label="${scene.title}">
    ${lines.map(({ d, kind }) => draw`<path class="${kind}" d="${d}"/>`)}
    ${notes.map(
      ({ x, y, anchor, words }) =>
        draw`<text class="soft" x="${x}" y="${y}" text-anchor="${anchor}">${words}</text>`,
    )}
    ${ends.map((one) => end_box(one, wide))}${guards.map(guard_row)}
    ${machines.map(machine_picture)}${you_drawn(standing(scene, layout))}</svg>`;
}
