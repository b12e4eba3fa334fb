// Safeguards as they are drawn, by their kind.
import { draw } from './draw.js';

/** By kind of safeguard, in 28 by 18 px. @type {{ [kind: string]: import('./draw.js').Drawing }} */
const ICONS = {
  'interlocked-guard': draw`<path class="thick" d="M2 9h20"/><path d="M22 3v12h4"/>`,
  curtain: draw`<path d="M4 1v16M24 1v16"/><path class="beam" d="M4 4h20M4 9h20M4 14h20"/>`,
  field: draw`<path d="M14 16L3 7a14 14 0 0 1 22 0z"/>`,
  rope: draw`<path d="M2 5q12 10 24 0M14 10v7"/>`,
  'emergency-stop': draw`<path class="full" d="M5 8a9 6 0 0 1 18 0z"/><path d="M14 8v6M5 16h18"/>`,
  'two-hand': draw`<circle cx="7" cy="9" r="5"/><circle cx="21" cy="9" r="5"/>`,
  mat: draw`<path d="M3 14h22M6 14l3-8h13l3 8"/>`,
};
const ANY = draw`<path d="M6 3h16v12H6z"/><path d="M10 9h8"/>`;

/** @param {string} kind */
export const guard_icon = (kind) => (Object.hasOwn(ICONS, kind) ? ICONS[kind] : ANY);
