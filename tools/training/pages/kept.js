// What was kept as evidence, beside the question that it is to answer.
import { draw } from '../../pages/draw.js';
import { button } from '../../pages/parts.js';
import { t } from './texts.js';
import { limits, word } from './words.js';

/** @typedef {import('./told.js').State} State */

/**
 * Buttons that keep readings, under one head.
 * @param {State} state
 * @param {(string | false | undefined)[]} readings
 */
export function keep_buttons(state, readings) {
  const offered = readings.filter((one) => typeof one === 'string');
  if (state.step > 2 || !offered.length) return '';
  const head = word('acts', 'keep', '').trim();
  return draw`<div class="keeps" role="group" aria-label="${head}"><span
    class="soft" aria-hidden="true">${head}</span> ${offered.map((reading) =>
      button('keep', reading, word('readings', reading), {
        'aria-pressed': String(state.kept.includes(reading)),
      }),
    )}</div>`;
}

/** @param {State} state */
export function kept(state) {
  const all = state.kept.map((reading) => {
    const words = word('readings', reading);
    const drop = { id: `b-drop-${reading}`, class: 'quiet', 'aria-label': t('drop', words) };
    return draw`<li><span>${words}</span>${
      state.step === 2 && button('keep', reading, t('drop-short'), drop)
    }</li>`;
  });
  return draw`<h3>${t('kept-head')} <span class="soft">${t(
    'kept-of',
    all.length,
    limits().kept,
  )}</span></h3>${
    all.length
      ? draw`<ul class="kept">${all}</ul>`
      : draw`<p
    class="soft">${t('nothing-kept-yet')}</p>`
  }`;
}
