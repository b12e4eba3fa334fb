// Bars drawn to scale: a time as the sum of its parts against what is required, and a distance
// against what is there.
import { linear, round_values } from './axis.js';
import { draw } from './draw.js';
import { rounded } from './numbers.js';

/**
 * @param {{ name: string, ms: number }[]} parts
 * @param {number} allowed_ms 0: nothing is required
 * @param {number} width
 */
export function part_places(parts, allowed_ms, width) {
  const whole = parts.reduce((sum, { ms }) => sum + ms, 0);
  const x = linear(0, Math.max(whole, allowed_ms, 1) * 1.04, 1, width - 1);
  let from = 0;
  const places = parts.map(({ name, ms }) => {
    const place = { name, ms, x: x(from), w: x(from + ms) - x(from) };
    from += ms;
    return place;
  });
  return { places, whole, limit: allowed_ms > 0 ? x(allowed_ms) : null };
}

/**
 * @param {{ name: string, ms: number }[]} parts
 * @param {number | null} required_ms
 * @param {number} width
 * @param {{ title: string, required: (ms: number) => string }} words
 */
export function response_bar(parts, required_ms, width, words) {
  const { places, limit } = part_places(parts, required_ms ?? 0, width);
  const letter = (/** @type {number} */ i) => String.fromCharCode(65 + i);
  return draw`<svg class="bars" width="${width}" height="62" role="img" aria-label="${words.title}">
    ${places.map(
      (
        { x, w },
        i,
      ) => draw`<rect class="part ${i % 2 ? 'odd' : 'even'}" x="${x}" y="22" width="${w}"
        height="22"/>
      ${w > 12 && draw`<text x="${x + w / 2}" y="58" text-anchor="middle">${letter(i)}</text>`}`,
    )}
    ${
      limit !== null &&
      draw`<path class="limit" d="M${limit} 16V50"/>
      <text x="${limit}" y="12" text-anchor="end">${words.required(required_ms ?? 0)}</text>`
    }</svg>
    <ol class="parts">${places.map(
      ({ name, ms }, i) => draw`<li><b>${letter(i)}</b> ${name} ${rounded(ms)} ms</li>`,
    )}</ol>`;
}

/**
 * @param {number} needed_mm
 * @param {number | null} there_mm
 * @param {number} width
 * @param {{ title: string, needed: string, there: string, danger: string }} words
 */
export function distance_bar(needed_mm, there_mm, width, words) {
  const most = Math.max(needed_mm, there_mm ?? 0, 1) * 1.08;
  const x = linear(0, most, 1, width - 24);
  const ticks = round_values(0, most, width / 90);
  return draw`<svg class="bars" width="${width}" height="104" role="img"
    aria-label="${words.title}">
    <text class="soft" x="1" y="12">${words.danger}</text>
    <path class="zone" d="M1 18V84"/>
    <path class="needed" d="M1 36H${x(needed_mm)}M${x(needed_mm)} 29v14"/>
    <text x="6" y="30">${words.needed}</text>
    ${
      there_mm !== null &&
      draw`<path class="there" d="M1 66H${x(there_mm)}M${x(there_mm)} 22v50"/>
      <text x="6" y="60">${words.there}</text>`
    }
    <path class="frame" d="M1 84H${x(most)}"/>
    ${ticks.map(
      (mm) =>
        draw`<path class="tick" d="M${x(mm)} 84v4"/><text class="soft" x="${x(mm)}" y="101" ${{
          'text-anchor': mm === 0 ? 'start' : 'middle',
        }}>${mm}</text>`,
    )}</svg>`;
}
