// Of the time line: what each guard, each signal and each end was, as rows of bars, and in words
// for one moment.
import { draw } from '../../pages/draw.js';
import { t } from './texts.js';
import { ids, word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').Sample} Sample */
/** @typedef {import('./strip_frame.js').Frame} Frame */
/** @typedef {{ name: string, is: (sample: Sample) => boolean }} Row */

const ROW = 28; // in the picture

/** Bits beyond those that shifting knows as well. @param {number} bits @param {number} i */
const bit = (bits, i) => Math.floor(bits / 2 ** i) % 2 === 1;

/** @param {Sample} sample */
const states_of = (sample) => {
  const states = ids('states');
  return [states[Math.floor(sample[7] / 4)], states[sample[7] % 4]];
};

/** @param {State} state */
const names_of = (state) => [
  state.controller?.name ?? t('controller'),
  state.io?.name ?? t('device'),
];

/** @param {State} state @returns {Row[]} */
function rows_of(state) {
  const guards = state.guards.map((guard, i) => ({
    name: t('row-demanded', guard.name),
    is: (/** @type {Sample} */ sample) => bit(sample[6], i),
  }));
  const signals = state.signals.flatMap((signal, i) => [
    {
      name: t('row-sent', signal.name),
      is: (/** @type {Sample} */ sample) => bit(sample[4], i),
    },
    {
      name: t('row-used', signal.name),
      is: (/** @type {Sample} */ sample) => bit(sample[5], i),
    },
  ]);
  const ends = names_of(state).map((name, i) => ({
    name: t('row-runs', name),
    is: (/** @type {Sample} */ sample) => states_of(sample)[i] === 'running',
  }));
  return [...guards, ...signals, ...ends];
}

/** @param {State} state */
export const rows_height = (state) => rows_of(state).length * ROW;

/**
 * @param {State} state
 * @param {Frame} frame
 * @param {number} top
 */
export function rows_drawn(state, { left, pieces, x }, top) {
  return rows_of(state).map((row, i) => {
    const y = top + i * ROW + 20;
    const thin = pieces.map((piece) => `M${x(piece[0][0])} ${y}H${x(piece[piece.length - 1][0])}`);
    const thick = pieces.flatMap((piece) =>
      piece.slice(0, -1).flatMap((sample, k) => {
        if (!row.is(sample)) return [];
        const begins = k === 0 || !row.is(piece[k - 1]);
        const ends = k + 2 === piece.length || !row.is(piece[k + 1]);
        const end = ends ? `H${x(piece[k + 1][0])}` : '';
        return [(begins ? `M${x(sample[0])} ${y}` : '') + end];
      }),
    );
    return draw`<text x="${left}" y="${y - 7}">${row.name}</text>
    <path class="off" d="${thin.join('')}"/><path class="on" d="${thick.join('')}"/>`;
  });
}

/**
 * What is demanded and what is 0 at that moment, and the states of both ends.
 * @param {State} state
 * @param {Sample} sample
 */
export function rows_read(state, sample) {
  const names = names_of(state);
  const states = states_of(sample).map((one) => word('states', one));
  const demanded = state.guards.filter((_, i) => bit(sample[6], i)).map((guard) => guard.name);
  const off = state.signals.flatMap((signal, i) => [
    ...(bit(sample[4], i) ? [] : [t('moment-sent', signal.name)]),
    ...(bit(sample[5], i) ? [] : [t('moment-used', signal.name)]),
  ]);
  const words = [
    demanded.length > 0 && t('moment-demanded', demanded.join(', ')),
    off.length > 0 && t('moment-off', off.join(', ')),
  ];
  return {
    ends: [names[0], states[0], names[1], states[1]],
    more: words.filter(Boolean).join(' '),
  };
}
