// Of the instructor's page: faults by hand.
import { draw } from '../../pages/draw.js';
import { element, put } from '../../pages/lay_over.js';
import { button, choice, main, number_field } from '../../pages/parts.js';
import { t } from './texts.js';
import { fault_places, faults, limits, word } from './words.js';

const LASTING_MS = 1000; // at first
const AFTER_S = 10;

/** The form, empty: whom it is for is offered with the room. */
export function draw_hand() {
  const { fault_lasting_ms, fault_after_s } = limits();
  const lasting = { least: 1, most: fault_lasting_ms, value: LASTING_MS };
  const after = { least: 0, most: fault_after_s, value: AFTER_S };
  put(
    'fault',
    draw`${choice('who', t('i-who'), [['all', t('i-all')]])}${choice(
      'way',
      t('i-what'),
      faults().map(([way, what]) => [way, word('what', what)]),
    )}
    ${choice(
      'at',
      t('i-where'),
      fault_places().map((place) => [place, word('where', place)]),
    )}${number_field('lasting', t('i-lasting'), lasting)}
    ${choice('when', t('i-when'), [
      ['now', t('when-now')],
      ['demand', t('when-demand')],
      ['seconds', t('when-seconds')],
    ])}${number_field('after', t('i-seconds'), after)}
    ${choice('judged', t('i-judged'), [
      ['no', t('judged-no')],
      ['free', t('judged-free')],
    ])}
    <p>${button('put-in', '', t('i-put-in'), main)}${button('take-out', '', t('i-take-out'))}</p>`,
  );
  element('fault', HTMLFormElement).addEventListener('submit', (event) => event.preventDefault());
}

const chosen = (/** @type {string} */ id) => element(id, HTMLSelectElement).value;
const typed = (/** @type {string} */ id) => element(id, HTMLInputElement).value;

export const whom = () => chosen('who');

/** The fault as it is typed in. */
export function fault() {
  const when = chosen('when');
  return {
    who: whom(),
    way: chosen('way'),
    where: chosen('at'),
    lasting_ms: typed('lasting'),
    when,
    after_s: when === 'seconds' ? typed('after') : 0,
    free: chosen('judged') === 'free',
  };
}
