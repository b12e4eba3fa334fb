// What is chosen on the page and not yet handed in. The trainer's computer keeps it, so that it
// outlives a reload and another window shows the same; what was pressed here a moment ago is not
// undone by news from before.

const NEWS_MAY_LAG_MS = 1500;

export const choices = {
  /** @type {{ [question: string]: string }} */
  named: { link: '', where: '', what: '', because: '' },
};
let changed_at = 0;

/** A link is named only where there are several. @returns {{ [question: string]: string }} */
export function diagnosis_chosen() {
  const { link, ...rest } = choices.named;
  return link ? { link, ...rest } : rest;
}

let keep = (/** @type {{ [choice: string]: string }} */ _fields) => {};
/** @param {(fields: { [choice: string]: string }) => void} keeps brings it to the computer */
export function when_chosen(keeps) {
  keep = keeps;
}

/** @param {{ [choice: string]: string }} told */
export function take_draft(told) {
  if (Date.now() - changed_at < NEWS_MAY_LAG_MS) return;
  for (const question of Object.keys(choices.named)) choices.named[question] = told[question] ?? '';
}

/** A drill was begun: the computer has forgotten it already. */
export function choose_nothing() {
  choices.named = { link: '', where: '', what: '', because: '' };
  changed_at = 0;
}

/** @param {string} question @param {string} answer */
export function answer(question, answer) {
  choices.named[question] = answer;
  changed_at = Date.now();
  keep(diagnosis_chosen());
}
