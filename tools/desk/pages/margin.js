// The margin: the plant in one drawing, each part of it a link to its place.
import { draw } from '../../pages/draw.js';
import { plant_drawing } from '../../pages/plant_drawing.js';
import { contents } from './sections.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Plant} Plant */
/** @typedef {import('../../pages/plant_parts.js').Part} Part */

const WIDTH = 256;
const FINGER = 44; // px that a finger meets
/** Where each kind of part leads to. */
const SECTIONS = {
  safeguard: '#sec-functions',
  controller: '#sec-typed',
  link: '#sec-watchdog',
  station: '#sec-typed',
  machine: '#sec-try',
};

/** @param {Part} part */
function words({ kind, name, lines, differs, warns }) {
  const state = [differs > 0 && t('n-differ', differs), warns > 0 && t('n-warn', warns)];
  const what = kind === 'link' && !name ? t('the-link', ...lines) : name;
  return [`${what}: ${t(`leads-${kind}`)}`, ...state.filter(Boolean)].join(', ');
}

/** @param {Plant} plant */
const in_words = ({ safeguards, controller, stations, machines }) =>
  [
    safeguards.map(({ name }) => name).join(', '),
    controller,
    stations.map(({ name }) => name).join(', '),
    machines.map(({ name }) => name).join(', '),
  ]
    .filter(Boolean)
    .join(' \u2192 ');

/** @param {Plant} plant */
function counts({ stations, links }) {
  const all = [...stations, ...links].reduce((sum, { differs }) => sum + differs, 0);
  return all > 0 ? draw` <b class="amber">${t('n-differ', all)}</b>` : null;
}

/** Of a narrow page one line, which opens. @param {Plant | null} plant @param {boolean} narrow */
export function margin(plant, narrow) {
  if (!plant) return draw``;
  const leads = {
    title: t('plant'),
    to: (/** @type {Part} */ { kind, name }) =>
      SECTIONS[kind] + (kind === 'station' ? `--${name}` : ''),
    words,
  };
  const drawing = plant_drawing(plant, WIDTH, leads, narrow ? FINGER : undefined);
  if (narrow)
    return draw`<details
      id="plant-line"><summary>
        <span>${in_words(plant)}</span>${counts(plant)}</summary>${drawing}</details>`;
  return draw`<nav aria-label="${t('plant')}">${drawing}</nav><p
    class="soft small">${t('plant-words')}</p>${contents()}`;
}
