// The drawing of a plant. Each part is a link to its place on the page, named by what it leads to
// and how it stands.
import { draw } from './draw.js';
import { guard_icon } from './guard_icons.js';
import { MARKS } from './marks.js';
import { plant_parts, shortened } from './plant_parts.js';

/** @typedef {import('./plant_parts.js').Part} Part */
/**
 * @typedef {object} Leads
 * @property {string} title of the whole drawing
 * @property {(part: Part) => string | null} to where a part leads; null: nowhere
 * @property {(part: Part) => string} words what a part is and how it stands
 * @property {(part: Part) => Marked | null} [found] the mark beside a part, where it is not of what
 * differs or warns there
 */
/**
 * @typedef {object} Marked
 * @property {keyof typeof MARKS} mark
 * @property {number} count 0: there is nothing to count
 */

/** Two bars crossed, with the count: what differs; a ring: what warns. @param {Part} part */
function marks({ x, y, w, h, differs, warns }) {
  const left = x + w + 6;
  const middle = y + h / 2;
  return [
    differs > 0 &&
      draw`<path class="differs" d="M${left} ${middle - 4}h16M${left} ${middle + 4}h16M${
        left + 4
      } ${
        middle + 10
      }l8-20"/><text class="differs" x="${left + 20}" y="${middle + 5}">${differs}</text>`,
    warns > 0 &&
      differs === 0 &&
      draw`<circle class="warns" cx="${left + 8}" cy="${middle}" r="8"/><path class="warns" d="M${
        left + 8
      } ${middle - 4}v5M${left + 8} ${middle + 4}v1"/><text class="warns" x="${left + 20}" y="${
        middle + 5
      }">${warns}</text>`,
  ];
}

/** Its shape first, its count beside it. @param {Part} part @param {Marked} what */
const found_mark = ({ x, y, w, h }, { mark, count }) =>
  draw`<g class="found ${mark}" transform="translate(${x + w + 5},${y + h / 2 - 9})"><g
    class="sign" transform="scale(.9)">${MARKS[mark]}</g>${
      count > 0 && draw`<text x="20" y="14">${count}</text>`
    }</g>`;

/** @param {Part} part @param {Leads} leads */
function beside(part, leads) {
  if (!leads.found) return marks(part);
  const what = leads.found(part);
  return what && found_mark(part, what);
}

/** @param {Part} part */
function body({ kind, icon, lines, x, y, w, h }) {
  const boxed = kind === 'controller' || kind === 'station' || kind === 'machine';
  if (kind === 'safeguard')
    return draw`<rect class="reach" x="${x}" y="${y}" width="${w}" height="${h}"/>
      <g class="icon" transform="translate(${x},${y + h / 2 - 9})">${guard_icon(icon)}</g>
      <text x="${x + 36}" y="${y + h / 2 + 5}">${shortened(lines[0], w - 36)}</text>`;
  const first = kind === 'link' && h > 50 ? y + 26 : y + 18;
  return draw`<rect class="${boxed ? `box ${kind}` : 'reach'}" x="${x}" y="${y}" width="${w}"
    height="${h}" rx="2"/>
    ${lines.map(
      (line, i) =>
        draw`<text ${{
          class: i > 0 || kind === 'link' ? 'soft' : 'name',
          x: x + (boxed ? 10 : 2),
          y: first + i * 17,
        }}>${shortened(line, w - 14, 8)}</text>`,
    )}`;
}

/** @param {Part} part @param {Leads} leads */
function drawn_part(part, leads) {
  const inside = [body(part), beside(part, leads)];
  const to = leads.to(part);
  if (to === null) return draw`<g>${inside}</g>`;
  return draw`<a href="${to}"
    aria-label="${leads.words(part)}"><title>${part.name}</title>${inside}</a>`;
}

/**
 * @param {import('./plant_parts.js').Plant} plant
 * @param {number} width
 * @param {Leads} leads
 * @param {number} [row] how tall the row of a guard is
 */
export function plant_drawing(plant, width, leads, row = undefined) {
  const { height, parts, lines } = plant_parts(plant, width, row);
  const is_group = parts.some((part) => leads.to(part) !== null);
  return draw`<svg class="plant" width="${width}" height="${height}"
    viewBox="0 0 ${width} ${height}"
    role="${is_group ? 'group' : 'img'}" aria-label="${leads.title}">
    ${lines.map(({ d, kind }) => draw`<path class="${kind}" d="${d}"/>`)}
    ${parts.map((part) => drawn_part(part, leads))}</svg>`;
}
