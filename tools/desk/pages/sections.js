// The frame of the page: its sections, numbered, in the order in which they are read. On a narrow
// page trying comes before typing.
import { draw } from '../../pages/draw.js';
import { element, put } from '../../pages/lay_over.js';
import { t } from './texts.js';

/** Parts of the running link that are drawn anew with each telling. */
export const BENCH_PARTS = [
  'try-runs',
  'try-ends',
  'try-list',
  'try-explained',
  'try-tray',
  'try-rows',
  'try-machines',
  'try-put-in',
  'try-done',
];

/**
 * Parts of each section by its id, each drawn by itself.
 * @type {[string, import('./texts.js').Key, import('./texts.js').Key, string[]][]}
 */
const SECTIONS = [
  ['typed', 'h-typed', 'h-typed-small', ['typed']],
  ['bits', 'h-bits', 'h-bits-small', ['bits']],
  ['functions', 'h-functions', 'h-functions-small', ['functions']],
  ['try', 'h-try', 'h-try-small', ['try-time', ...BENCH_PARTS]],
  ['watchdog', 'h-watchdog', 'h-watchdog-small', ['watchdog']],
  ['strength', 'h-strength-all', 'h-strength-all-small', ['strength']],
  ['rehearse', 'h-rehearse', 'h-rehearse-small', ['rehearse']],
];

/** @type {boolean | null} */
let laid_narrow = null;
/** Sections that were opened by themselves, since something differs there. @type {Set<string>} */
const unfolded = new Set();

/** @param {string} id */
const fold_of = (id) => element(`fold-${id}`, HTMLDetailsElement);

/**
 * Where something comes to differ, the section opens; whoever closes it then keeps it closed.
 * @param {string} id
 * @param {boolean} differs
 */
export function unfold(id, differs) {
  if (!differs) unfolded.delete(id);
  else if (!unfolded.has(id)) {
    unfolded.add(id);
    fold_of(id).open = true;
  }
}

/** A narrow page shows what is tried; all else is one press away. @param {boolean} narrow */
function fold(narrow) {
  unfolded.clear();
  for (const [id] of SECTIONS) {
    fold_of(id).open = !narrow || id === 'try';
    const summary = fold_of(id).querySelector('summary');
    if (summary) summary.tabIndex = narrow ? 0 : -1;
  }
}

/** On a wide page nothing is folded. @param {Event} event */
function keep_open(event) {
  const summary = event.target instanceof Element ? event.target.closest('.fold > summary') : null;
  if (summary && !laid_narrow) event.preventDefault();
}

/** What was folded has a width only now. @param {Event} event */
function opened({ target }) {
  if (target instanceof HTMLDetailsElement && target.open) dispatchEvent(new Event('resize'));
}

/** @param {boolean} narrow */
export function lay_out(narrow) {
  const is_there = document.getElementById('sec-typed') !== null;
  if (is_there && narrow === laid_narrow) return;
  laid_narrow = narrow;
  if (!is_there)
    put(
      'main',
      draw`<div id="beginnings"></div><div id="broken"></div><div id="sections">${SECTIONS.map(
        (
          [id, title, small, parts],
          i,
        ) => draw`<section class="part" id="sec-${id}" tabindex="-1" aria-labelledby="h-${id}">
      <p class="no" aria-hidden="true">${i + 1}</p><div class="body"><details
        class="fold" id="fold-${id}"><summary><h2 id="h-${id}"><span
        class="spoken">${i + 1} </span>${t(title)} <small>${t(small)}</small></h2></summary>
      ${parts.map((part) => draw`<div id="${part}"></div>`)}</details></div></section>`,
      )}</div>`,
    );
  fold(narrow);
  const of = (/** @type {string} */ id) => element(`sec-${id}`, HTMLElement);
  const head = element('head', HTMLElement);
  const truth = element('truth', HTMLElement);
  if (narrow) {
    of('typed').before(of('try'));
    head.before(truth);
  } else {
    of('functions').after(of('try'));
    head.after(truth);
  }
}

/** All sections, to be gone to. */
export const contents = () =>
  draw`<nav aria-label="${t('contents')}"><ol class="contents">${SECTIONS.map(
    ([id, title]) => draw`<li><a href="#sec-${id}">${t(title)}</a></li>`,
  )}</ol></nav>`;

/** How much of the window the bars on top take, for what is gone to and for the margin. */
function tell_top() {
  const taken = ['head', 'truth']
    .map((id) => element(id, HTMLElement))
    .filter((bar) => getComputedStyle(bar).position === 'sticky')
    .reduce((sum, bar) => sum + bar.offsetHeight, 0);
  document.documentElement.style.setProperty('--top', `${taken}px`);
}

/** The line on top grows with what it says. */
export function watch_top() {
  document.addEventListener('click', keep_open);
  document.addEventListener('toggle', opened, true);
  const observer = new ResizeObserver(tell_top);
  for (const id of ['head', 'truth']) observer.observe(element(id, HTMLElement));
}
