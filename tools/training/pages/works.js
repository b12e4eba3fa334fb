// Step 4: what can be done, by its group. Each act says where it is done and how long it takes; it
// is done at once.
import { draw } from '../../pages/draw.js';
import { hour_at, span } from '../../pages/numbers.js';
import { button } from '../../pages/parts.js';
import { is_wide, looking } from './looking.js';
import { t } from './texts.js';
import { in_groups, word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Card} Card */

const WHY = 'busy-why';

/**
 * What keeps an act from being pressed while another is under way: it keeps the focus, and says
 * why.
 * @param {State} state
 */
export const unless_busy = (state) =>
  state.work ? { 'aria-disabled': 'true', 'aria-describedby': WHY } : {};

/** Why nothing else can be done just now; to stand on a page with acts. @param {State} state */
export function why_busy({ work, begins }) {
  if (!work) return '';
  const until = hour_at(begins, work.until);
  return draw`<p class="soft why" id="${WHY}">${t('busy-why', until)}</p>`;
}

/**
 * Of several links it is done at one, or at all of them; a machine is started by itself.
 * @param {State} state
 * @param {Card} card
 */
function of_links({ links = [], ...state }, { id, words, place }) {
  const at_machine = place === 'machine';
  const all = links.map(({ name, machine }, at) => ({ at, name, machine }));
  const offered = all.filter(({ machine }) => !at_machine || machine);
  const one = (/** @type {string | number} */ at, /** @type {string} */ name) =>
    button('work', id, name, {
      id: `b-work-${id}-${at}`,
      'data-link': at,
      'aria-label': t('of-link', words, name),
      ...unless_busy(state),
    });
  return draw`<div class="each">${offered.map(({ at, name, machine }) =>
    one(at, at_machine && machine ? machine.name : name),
  )}${!at_machine && one('', t('all-links'))}</div>`;
}

/** How long it takes. @param {Card} card */
function long_of({ takes_s }) {
  if (takes_s <= 0) return t('work-at-once');
  return takes_s < 60 ? t('seconds', takes_s) : span(takes_s * 1000);
}

/** @param {State} state @param {Card} card */
function offered(state, card) {
  const { id, words, place, links } = card;
  const before = state.done.filter((one) => one.card === id).length;
  const about = draw`<span class="words">${words}${
    before > 0 &&
    draw` <span class="soft">(${before > 1 ? t('done-times', before) : t('done-once')})</span>`
  }</span> <span class="place">${word('places', place)}</span> <span
    class="long">${long_of(card)}</span>`;
  if (links && state.links)
    return draw`<li><div class="work-of">${about}${of_links(state, card)}</div></li>`;
  return draw`<li>${button('work', id, about, { class: 'work-at', ...unless_busy(state) })}</li>`;
}

/** The group that lies open; on a wide page one does. @param {{ group: string }[]} groups */
function open_group(groups) {
  const { group } = looking;
  if (groups.some((one) => one.group === group)) return group;
  return is_wide() && group !== 'none' ? (groups[0]?.group ?? '') : '';
}

/** @param {State} state */
export function works_offered(state) {
  const groups = in_groups('card_groups', state.cards);
  const open = open_group(groups);
  const shown = groups.find(({ group }) => group === open);
  const tabs = groups.map(({ group, of_it }) =>
    button(
      'group',
      group,
      draw`${group ? word('groups', group) : t('own-cards')}
      <span class="soft">${of_it.length}</span>`,
      { 'aria-expanded': String(group === open), 'aria-controls': 'works' },
    ),
  );
  return draw`<section class="acts-offered" aria-label="${t('acts-offered')}">
    <div class="tabs">${tabs}</div>${why_busy(state)}<div id="works">${
      shown
        ? draw`<ul class="works">${shown.of_it.map((card) => offered(state, card))}</ul>`
        : draw`<p class="soft">${t('open-a-group')}</p>`
    }</div></section>`;
}
