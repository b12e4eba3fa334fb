// Step 4: the action cards by group, and those that were chosen, in their order.
import { draw } from '../../pages/draw.js';
import { button } from '../../pages/parts.js';
import { choices } from './choices.js';
import { t } from './texts.js';
import { in_groups, limits, word } from './words.js';

/** @typedef {import('./told.js').State} State */

/** @param {State} state */
export function order_chosen(state) {
  const { actions } = choices;
  const words_of = (/** @type {string} */ id) =>
    state.cards.find((card) => card.id === id)?.words ?? id;
  if (!actions.length) return draw`<p class="soft">${t('nothing-chosen')}</p>`;
  const chosen = actions.map((id, i) => {
    const words = words_of(id);
    const earlier = { class: 'quiet', 'aria-label': t('earlier', words) };
    const away = { class: 'quiet', 'aria-label': t('take-away', words) };
    return draw`<li><span>${words}</span><span class="moves">${
      i > 0 && button('earlier', id, t('earlier-short'), earlier)
    }${button('choose', id, t('take-away-short'), away)}</span></li>`;
  });
  return draw`<h3>${t('chosen-order')}</h3><ol class="chosen">${chosen}</ol>`;
}

/** @param {State} state */
export function cards_offered(state) {
  const { actions } = choices;
  const full = actions.length >= limits().actions;
  const left = state.cards.filter((card) => !actions.includes(card.id));
  return in_groups('card_groups', left).map(
    ({ group, of_it }) => draw`<h3 class="group">${group && word('groups', group)}</h3><div
      class="cards">${of_it.map(({ id, words }) =>
        button('choose', id, words, { disabled: full }),
      )}</div>`,
  );
}
