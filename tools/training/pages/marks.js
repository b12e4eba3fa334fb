// The states of a drill by mark and word.
import { marked } from '../../pages/marks.js';
import { t } from './texts.js';
import { word } from './words.js';

/**
 * A state of an end: its mark and its word.
 * @param {string} state
 */
export const mark = (state) => marked(state, word('states', state));
/** The state of an end of which nothing new is heard. */
export const mark_unknown = () => marked('unknown', t('s-unknown'));
/** An end that has no supply. */
export const mark_dark = () => marked('dark', t('s-dark'));
/** A machine that is isolated and locked. @param {string} words */
export const mark_locked = (words) => marked('locked', words);
/** An emergency stop that is latched. @param {string} words */
export const mark_latched = (words) => marked('latched', words);
/** @param {string} words */
export const danger_mark = (words) => marked('danger', words);
/** What held this time. @param {string} words */
export const warning_mark = (words) => marked('warns', words);
