// What a button beside a refusal does of the page itself, where the program has nothing to do.
import { go_to, show_place } from './keys.js';
import { changed, looking } from './looking.js';
import { show } from './show.js';
import { desk } from './talk.js';

function redraw() {
  changed();
  show();
}

/** What the program told stands in that field again. @param {string} path */
function put_back(path) {
  looking.edits.delete(path);
  looking.refused.delete(path);
  redraw();
  for (const field of document.querySelectorAll('input[data-path]')) {
    if (!(field instanceof HTMLInputElement) || field.dataset.path !== path) continue;
    field.value = field.defaultValue;
    field.focus();
    return;
  }
}

/** The first row that differs, at that link if it says which. @param {string} link */
function to_differing(link) {
  const at = desk.told?.links.findIndex(({ name }) => name === link) ?? -1;
  if (at >= 0) looking.link = at;
  redraw();
  const row = document.querySelector(
    '#sec-typed tr.differs, #sec-bits tr.differs, #sec-bits .differing',
  );
  if (!(row instanceof HTMLElement)) return go_to('sec-typed');
  show_place(row);
  row.querySelector('input')?.focus({ preventScroll: true });
}

/** @param {string} as */
function choose_file(as) {
  const input = document.getElementById(`file-${as}`);
  if (!(input instanceof HTMLInputElement)) return;
  show_place(input);
  input.focus();
  input.click();
}

/** @type {{ [act: string]: (value: string) => unknown }} */
export const mends = {
  'put-back': put_back,
  'text-back': () => {
    looking.text = null;
    redraw();
  },
  reload: () => location.reload(),
  go: go_to,
  differs: to_differing,
  'choose-file': choose_file,
};
