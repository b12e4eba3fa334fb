// Of the debrief: what the trainer did at the bench, and what was said to that.
import { draw } from '../../pages/draw.js';
import { hour_at } from '../../pages/numbers.js';
import { t } from './texts.js';
import { word } from './words.js';

/**
 * What a free drill was judged by, and what was secured.
 * @param {import('./told.js').FreeJudged} free
 */
export function free_words({ faults, secured }) {
  const words = faults.map(({ link, where, what }) => {
    const of_link = link ? `${t('link', link)}; ` : '';
    return `${of_link}${word('where', where)}; ${word('what', what)}`;
  });
  if (!words.length) return t('free-nothing');
  return `${t('free-by', words.join(' / '))} ${t(secured ? 'free-secured' : 'free-not-secured')}`;
}

/** @param {import('./told.js').Finished} state */
export function trainers_hand(state) {
  const { score } = state;
  if (!score.trainer.length) return '';
  const done = score.trainer.map(
    (one) => draw`<li>${hour_at(state.begins, one.at)} ${one.words}</li>`,
  );
  const said = state.cannot_tell
    ? word('acts', 'cannot-tell')
    : `${word('where', state.where)}; ${word('what', state.what)}`;
  const unjudged =
    !score.judged &&
    draw`<p>${score.free ? free_words(score.free) : t('not-judged-why')}</p>
    <p><strong>${t('you-said')}:</strong> ${said}</p>`;
  return draw`<h3>${t('trainer-was-here')}</h3><ul>${done}</ul>${unjudged}`;
}
