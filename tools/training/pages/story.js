// What every step begins with: the story, what is dangerous just now, and the plant.
import { draw } from '../../pages/draw.js';
import { button, main } from '../../pages/parts.js';
import { outcome_shown } from './outcome.js';
import { scene } from './scene.js';
import { t } from './texts.js';
import { word } from './words.js';

/** @typedef {import('./told.js').State} State */

/** What was dangerous, until it is understood. @param {State} state */
function warning({ warned, cards, outcome }) {
  if (!warned) return '';
  const words = cards.find((card) => card.id === warned.id)?.words ?? word('dangers', warned.id);
  const text = t('danger-text', words, warned.why);
  const understood = button('understood', '', word('acts', 'understood'), main);
  const alert = { class: 'danger', role: 'alert', id: 'warning', tabindex: -1 };
  return draw`<p ${alert}><strong>${t('danger-head')}:</strong> ${text}</p>
    ${outcome_shown(outcome)}${understood}`;
}

/** @param {State} state */
function story(state) {
  const cause =
    state.cause && draw`<p class="amber"><strong>${t('the-cause')}:</strong> ${state.cause}</p>`;
  return draw`<div class="story"><p>${state.drill.plant}. ${state.drill.story}</p>
    ${cause}${warning(state)}</div>`;
}

/** With the plant. @param {State} state */
export const story_and_plant = (state) => [story(state), scene(state)];

/** Where room is scarce and the plant was looked at. @param {State} state */
export const story_alone = (state) => story(state);
