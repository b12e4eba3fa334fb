// The vocabulary of the training: the program has it, and tells it once.
import { filled } from '../../pages/filled.js';

/** @typedef {import('./told.js').Vocabulary} Vocabulary */
/** @typedef {import('./told.js').List} List */

/** @type {Vocabulary} */
let vocabulary;

/**
 * To be called before anything is drawn.
 * @param {Vocabulary} told
 */
export function learn(told) {
  vocabulary = told;
}

/**
 * What that identifier is called, its places filled in. One that the program never names is a
 * mistake in a page: it is
 * shown as it is, and told to the console.
 * @param {List} list
 * @param {string} id
 * @param {unknown[]} values
 */
export function word(list, id, ...values) {
  const words = vocabulary.words[list];
  if (Object.hasOwn(words, id)) return filled(words[id], values);
  console.error(`no word in "${list}" for "${id}"`);
  return id;
}
/**
 * The same for what may as well be words already.
 * @param {List} list
 * @param {string} id
 */
export const word_or_itself = (list, id) =>
  Object.hasOwn(vocabulary.words[list], id) ? vocabulary.words[list][id] : id;

/**
 * What is offered, by its group, in the order of the groups; what lies in none comes last.
 * @template {{ id: string }} One
 * @param {'conduct_groups' | 'card_groups'} table
 * @param {One[]} all
 * @returns {{ group: string, of_it: One[] }[]}
 */
export function in_groups(table, all) {
  const group_of = (/** @type {One} */ { id }) => vocabulary[table][id] ?? '';
  return [...ids('groups'), '']
    .map((group) => ({ group, of_it: all.filter((one) => group_of(one) === group) }))
    .filter(({ of_it }) => of_it.length > 0);
}

/** @param {List} list */
export const ids = (list) => Object.keys(vocabulary.words[list]);

/** Faults that can be put in: the way of each, and what it is. */
export const faults = () => Object.entries(vocabulary.faults);
/** @param {string} way */
export const what_of = (way) => vocabulary.faults[way];
export const fault_places = () => vocabulary.fault_places;
export const limits = () => vocabulary.limits;
