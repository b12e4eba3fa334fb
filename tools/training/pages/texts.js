// The sentences of the pages, in five files, so that they can be translated: {0} and {1} are filled
// in. What the program names (instruments, acts, findings, states ...) it tells the pages itself,
// see words.js; words of drills stand in the drills' own files, field names and meanings in
// telegrams come from the decoder.
import { filled } from '../../pages/filled.js';
import { ACT } from './texts_act.js';
import { BENCH } from './texts_bench.js';
import { BOOK } from './texts_book.js';
import { DEBRIEF } from './texts_debrief.js';
import { INSTRUCTOR } from './texts_instructor.js';

const TEXTS = { ...BOOK, ...BENCH, ...ACT, ...DEBRIEF, ...INSTRUCTOR };
/** @typedef {keyof typeof TEXTS} Key */

/**
 * The text of that key with its places filled in.
 * @param {Key} key
 * @param {unknown[]} values
 */
export const t = (key, ...values) => filled(TEXTS[key], values);
