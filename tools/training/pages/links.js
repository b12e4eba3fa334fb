// Several links at one controller: each is looked at as if it stood alone.
import { draw } from '../../pages/draw.js';
import { button } from '../../pages/parts.js';
import { looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').State} State */

/** What one link shows, as the state of a drill. @param {State} state @param {number} at */
function view_of(state, at) {
  const link = /** @type {import('./told.js').LinkShown[]} */ (state.links)[at];
  return {
    ...state,
    ...link,
    machine: link.machine ?? state.machine,
    link_name: link.name,
    no_machine: !link.machine,
  };
}

/** @typedef {State & { link_name?: string }} View */
/** A view for each link; of one that stands alone the state itself. @param {State} state */
export const views_of = (state) =>
  /** @type {View[]} */ (state.links?.map((_, at) => view_of(state, at)) ?? [state]);

/**
 * The link of that name; the state itself if it stands alone.
 * @param {State} state
 * @param {string} [name]
 */
export const view_called = (state, name) =>
  views_of(state).find((view) => view.link_name === name) ?? views_of(state)[0];

/** The link whose time line, telegrams and settings are looked at. @param {State} state */
export const chosen_view = (state) => views_of(state)[looking.link] ?? views_of(state)[0];

/** Buttons that choose it; nothing where there is one link. @param {State} state */
export const link_choice = (state) =>
  state.links &&
  draw`<p>${t('which-link')} ${state.links.map((link, at) =>
    button('look-at', at, link.name, { 'aria-pressed': String(looking.link === at) }),
  )}</p>`;
