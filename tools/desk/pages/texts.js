// The sentences of the page, in three files, so that they can be translated: {0} and {1} are filled
// in. What the program names it tells the page itself.
import { filled } from '../../pages/filled.js';
import { BOOK } from './texts_book.js';
import { RESULTS } from './texts_results.js';
import { TRY } from './texts_try.js';

const TEXTS = { ...BOOK, ...TRY, ...RESULTS };
/** @typedef {keyof typeof TEXTS} Key */

/**
 * The text of that key with its places filled in.
 * @param {Key} key
 * @param {unknown[]} values
 */
export const t = (key, ...values) => filled(TEXTS[key], values);
