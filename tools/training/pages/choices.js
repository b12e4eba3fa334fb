// What is chosen on the page and not yet handed in.

export const choices = {
  /** @type {string[]} ids of action cards, in order */
  actions: [],
  /** @type {{ [question: string]: string }} */
  named: { where: '', what: '', because: '' },
};

export function choose_nothing() {
  choices.actions = [];
  choices.named = { where: '', what: '', because: '' };
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
}

/**
 * One place earlier.
 * @param {string} id
 */
export function do_earlier(id) {
  const { actions } = choices;
  const at = actions.indexOf(id);
  if (at > 0) actions.splice(at - 1, 0, ...actions.splice(at, 1));
}
