// Lays a drawn page over the one that is there, so that focus and choices stay where they are.

/** @typedef {import('./draw.js').Drawing} Drawing */

/**
 * The element of that id; without it, or if it is of another kind, the page and its script do not
 * belong together.
 * @template {Element} E
 * @param {string} id
 * @param {new () => E} kind
 */
export function element(id, kind) {
  const found = document.getElementById(id);
  if (found instanceof kind) return found;
  throw new Error(`there is no ${kind.name} "${id}" in the page`);
}

/**
 * Whether somebody is typing there: a field with the focus that holds something else than what was
 * drawn into it.
 * @param {HTMLInputElement} field
 */
const is_typed_in = (field) =>
  field === document.activeElement && field.value !== field.defaultValue;

/**
 * Makes `old` look like `wanted` without putting anew what stays. A field with `data-told` shows
 * what the program tells, unless somebody is typing in it; what is inside of an element with
 * `data-own` is put there by somebody else, and stays.
 * @param {Element} old
 * @param {Element} wanted
 * @param {boolean} is_part of what is drawn, not the whole of it
 */
function lay_over(old, wanted, is_part) {
  const typing = old instanceof HTMLInputElement && is_typed_in(old);
  for (const { name } of [...old.attributes])
    if (!wanted.hasAttribute(name) && !(name === 'open' && old.nodeName === 'DETAILS'))
      old.removeAttribute(name);
  for (const { name, value } of [...wanted.attributes])
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  if (old instanceof HTMLInputElement && wanted instanceof HTMLInputElement) {
    if (['radio', 'checkbox'].includes(old.type)) old.checked = wanted.checked;
    if (old.type === 'range') old.value = wanted.value;
    if (wanted.hasAttribute('data-told') && !typing && old.value !== wanted.value)
      old.value = wanted.value;
  }
  const chosen = wanted instanceof HTMLSelectElement && wanted.hasAttribute('data-told');
  const told = chosen ? wanted.value : '';
  if (!is_part || !wanted.hasAttribute('data-own')) lay_children_over(old, wanted);
  if (chosen && old instanceof HTMLSelectElement && old !== document.activeElement)
    old.value = told;
}

/**
 * @param {Element} old
 * @param {Element} wanted
 */
function lay_children_over(old, wanted) {
  const fresh = [...wanted.childNodes];
  for (let i = 0; i < fresh.length; ++i) lay_child_over(old, old.childNodes[i], fresh[i]);
  while (old.childNodes.length > fresh.length) old.lastChild?.remove();
}

/**
 * @param {Element} parent
 * @param {ChildNode | undefined} there
 * @param {ChildNode} next
 */
function lay_child_over(parent, there, next) {
  if (!there) parent.append(next);
  else if (there instanceof Text && next instanceof Text) {
    if (there.data !== next.data) there.data = next.data;
  } else if (
    there instanceof Element &&
    next instanceof Element &&
    there.nodeName === next.nodeName &&
    there.id === next.id
  )
    lay_over(there, next, true);
  else there.replaceWith(next);
}

/**
 * Puts into the element of that id what was drawn.
 * @param {string} id
 * @param {Drawing} drawn
 */
export function put(id, drawn) {
  const old = element(id, HTMLElement);
  const wanted = /** @type {HTMLElement} */ (old.cloneNode(false));
  wanted.innerHTML = String(drawn);
  const focused = old.contains(document.activeElement) ? document.activeElement?.id : '';
  lay_over(old, wanted, false);
  // what moved to another place keeps the focus
  if (focused && document.activeElement?.id !== focused)
    document.getElementById(focused)?.focus({ preventScroll: true });
}

/**
 * @param {string} id
 * @param {string} words
 */
export function put_text(id, words) {
  const there = element(id, HTMLElement);
  if (there.textContent !== words) there.textContent = words;
}
