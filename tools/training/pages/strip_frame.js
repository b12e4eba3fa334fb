// Where moments stand in the picture of a time line: pieces of record side by side, with a gap
// where nothing is drawn.

import { page_width } from './looking.js';

/** @typedef {import('./told.js').Sample} Sample */
/**
 * @typedef {object} Frame
 * @property {number} width
 * @property {number} left
 * @property {number} right
 * @property {Sample[][]} pieces of samples that follow each other
 * @property {(at: number) => string} x
 */

const APART_S = 0.3; // samples that are further apart do not follow each other
const GAP = 18; // in the picture
const LEAST = 60; // of a piece

/** @param {Sample[]} samples */
function pieces_of(samples) {
  /** @type {Sample[][]} */
  const pieces = [];
  samples.forEach((sample, i) => {
    if (i === 0 || sample[0] - samples[i - 1][0] > APART_S) pieces.push([]);
    pieces[pieces.length - 1].push(sample);
  });
  return pieces.filter((piece) => piece.length > 1);
}

/**
 * @param {Sample[]} samples
 * @returns {Frame}
 */
export function frame_of(samples) {
  const width = page_width();
  const left = 40;
  const right = width - 96;
  const pieces = pieces_of(samples);
  const spans = pieces.map((piece) => piece[piece.length - 1][0] - piece[0][0]);
  const room = right - left - GAP * (pieces.length - 1) - LEAST * pieces.length;
  const whole = spans.reduce((sum, one) => sum + one, 0) || 1;
  let from = left;
  const places = pieces.map((piece, i) => {
    const wide = LEAST + (Math.max(0, room) * spans[i]) / whole;
    const place = { begin: piece[0][0], span: spans[i], from, wide };
    from += wide + GAP;
    return place;
  });
  const x = (/** @type {number} */ at) => {
    const place = places.filter((one) => one.begin <= at).pop() ?? places[0];
    const share = Math.min(1, Math.max(0, (at - place.begin) / place.span));
    return (place.from + place.wide * share).toFixed(1);
  };
  return { width, left, right, pieces, x };
}
