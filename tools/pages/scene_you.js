// Whoever looks at a plant, as a small figure at its place. Where the picture has no such place, or
// several, the figure stands in the free lane and says in words where it is.
import { draw } from './draw.js';

/** @typedef {import('./scene_parts.js').Scene} Scene */
/** @typedef {import('./scene_parts.js').SceneLayout} SceneLayout */
/** @typedef {{ x: number, y: number, scale: number, words: string }} Standing */

const BESIDE = 64; // px from the right end of what it stands at
const SMALL = 0.62;

/** @param {import('./scene_parts.js').Box} box */
const right_of = ({ x, w }) => x + w - BESIDE;

/**
 * In the lane under the ends of the only link; null: there is no such place.
 * @param {Scene} scene
 * @param {SceneLayout} layout
 */
function along_the_lane({ you }, { ends, guards, lane }) {
  const [controller, station] = ends;
  const last = guards.filter(({ x }) => x > station.x).pop();
  switch (you?.place) {
    case 'controller':
      return { x: right_of(controller), y: lane.y };
    case 'way':
      return { x: (controller.x + controller.w + station.x) / 2 - 24, y: lane.y };
    case 'io':
      return { x: right_of(station), y: lane.y };
    case 'guard':
      return last ? { x: last.x + 4, y: Math.max(lane.y, last.y + last.h) } : null;
    default:
      return null;
  }
}

/**
 * @param {Scene} scene
 * @param {SceneLayout} layout
 * @returns {Standing | null} null: it is not said where
 */
export function standing(scene, layout) {
  const { you, stations } = scene;
  if (!you) return null;
  const alone = stations.length === 1;
  const own = layout.wide && alone ? along_the_lane(scene, layout) : null;
  if (own) return { ...own, scale: 1, words: you.short };
  return { ...layout.lane, scale: layout.wide && alone ? 1 : SMALL, words: you.long };
}

/** @param {Standing | null} where */
export function you_drawn(where) {
  if (!where) return '';
  const { x, y, scale, words } = where;
  const beside = Math.round(20 * scale) + 4;
  return draw`<g class="you" transform="translate(${x},${y})"><g
    transform="scale(${scale})"><circle class="full" cx="9" cy="6" r="5"/><path
    d="M9 11v13M2 16h14M9 24l-6 11M9 24l6 11"/></g><text class="name" x="${beside}"
    y="${Math.round(18 * scale) + 5}">${words}</text></g>`;
}
