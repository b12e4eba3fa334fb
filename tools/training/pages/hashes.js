// Hashes of kept records, as they stand on paper and beside lists: see
// tools/training/record_chain.hpp.
import { draw } from '../../pages/draw.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Chain} Chain */

/**
 * The first four groups of four digits: enough to find it in the file.
 * @param {string | null} hash
 */
export const short_hash = (hash) =>
  hash ? (hash.slice(0, 16).match(/.{4}/g) ?? []).join(' ') : t('r-unknown');

/** When something is printed: local date and hour. */
export const printed_now = () => new Date().toLocaleString('sv').slice(0, 16);

/** How the file's chain stands, for a record. @param {Chain} chain */
export function chain_lines(chain) {
  const broken = !chain.holds && draw`<dd><strong>${t('r-chain-broken')}</strong></dd>`;
  const since = chain.since && draw`<dd>${t('r-chain-since', chain.since)}</dd>`;
  const nowhere = !chain.kept && draw`<dd><strong>${t('r-not-kept')}</strong></dd>`;
  return draw`<dt>${t('r-last-hash')}</dt><dd>${short_hash(chain.last)}
    (${t('r-entry', chain.entries)})</dd>${since}${broken}${nowhere}`;
}

/**
 * The same above the list of results, with what does not hold.
 * @param {Chain} chain
 * @param {string[]} wrong
 */
export function chain_told(chain, wrong) {
  if (!chain.entries) return '';
  const lines = wrong.map((one) => draw`<li>${one}</li>`);
  const broken =
    wrong.length > 0 &&
    draw`<div class="amber"><p>${t('r-chain-broken')}</p><ul>${lines}</ul></div>`;
  return draw`<p class="soft">${t('r-last-hash')}: ${short_hash(chain.last)}
    (${t('r-entry', chain.entries)}). ${!chain.kept && t('r-not-kept')}</p>${broken}`;
}
