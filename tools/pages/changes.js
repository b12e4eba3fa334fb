// A state made of the last one and of what has changed since, as tools/text/changes.hpp says it.
// What did not change is the same object as before.

const REPLACED = 0;
const MEMBERS = 1;
const SHIFTED = 2;
const PLACES = 3;

/**
 * @param {any} before
 * @param {any[]} change
 * @returns {any}
 */
export function changed(before, [how, ...what]) {
  switch (how) {
    case REPLACED:
      return what[0];
    case MEMBERS: {
      const now = { ...before };
      for (const [key, change] of Object.entries(what[0])) now[key] = changed(before[key], change);
      return now;
    }
    case SHIFTED:
      return [...before.slice(what[0]), ...what.slice(1)];
    case PLACES: {
      const now = [...before];
      for (const [place, change] of what) now[place] = changed(before[place], change);
      return now;
    }
    default:
      throw new Error(`a change of kind ${how}`);
  }
}
