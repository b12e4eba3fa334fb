// What is chosen on the page and not yet handed in. The trainer's computer keeps it, so that it
// outlives a reload and another window shows the same; what was pressed here a moment ago is not
// undone by news from before.

const NEWS_MAY_LAG_MS = 1500;

export const choices = {
  /** @type {string[]} ids of action cards, in order */
  actions: [],
  /** @type {{ [question: string]: string }} */
  named: { link: '', where: '', what: '', because: '' },
};
let changed_at = 0;

/** A link is named only where there are several. @returns {{ [question: string]: string }} */
export function diagnosis_chosen() {
  const { link, ...rest } = choices.named;
  return link ? { link, ...rest } : rest;
}

/** What the computer has of it. @returns {{ [choice: string]: string }} */
const draft = () => ({ ...diagnosis_chosen(), actions: choices.actions.join(',') });

let keep = (/** @type {{ [choice: string]: string }} */ _fields) => {};
/** @param {(fields: { [choice: string]: string }) => void} keeps brings it to the computer */
export function when_chosen(keeps) {
  keep = keeps;
}
export function chosen() {
  changed_at = Date.now();
  keep(draft());
}

/** @param {{ [choice: string]: string }} told */
export function take_draft(told) {
  if (Date.now() - changed_at < NEWS_MAY_LAG_MS) return;
  choices.actions = (told.actions ?? '').split(',').filter(Boolean);
  for (const question of Object.keys(choices.named)) choices.named[question] = told[question] ?? '';
}

/** A drill was begun: the computer has forgotten it already. */
export function choose_nothing() {
  choices.actions = [];
  choices.named = { link: '', where: '', what: '', because: '' };
  changed_at = 0;
}

/** @param {string} question @param {string} answer */
export function answer(question, answer) {
  choices.named[question] = answer;
  chosen();
}

/**
 * Chooses an action, or takes it away again.
 * @param {string} id
 * @param {number} most
 */
export function choose(id, most) {
  const { actions } = choices;
  choices.actions = actions.includes(id)
    ? actions.filter((one) => one !== id)
    : [...actions, id].slice(0, most);
  chosen();
}

/**
 * One place earlier.
 * @param {string} id
 */
export function do_earlier(id) {
  const { actions } = choices;
  const at = actions.indexOf(id);
  if (at > 0) actions.splice(at - 1, 0, ...actions.splice(at, 1));
  chosen();
}
