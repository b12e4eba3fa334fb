// Files that are dropped on the page or chosen: lists of settings and measured times.
import { changed, looking } from './looking.js';
import { show } from './show.js';
import { desk, post } from './talk.js';
import { t } from './texts.js';
import { watchdog_looked_at } from './watchdog.js';

const MOST_BYTES = 8 * 1024 * 1024;

/** @param {string} as */
const place_of = (as) => (as === 'measured' ? 'measured' : 'drop');

/** @param {string} as @param {{ name: string, text: string }} file */
function bring_file(as, { name, text }) {
  // measured times are of the link that is looked at
  const link = (desk.told && watchdog_looked_at(desk.told)?.link) ?? '';
  const of = as === 'measured' ? { link } : {};
  return post('/api/drop', { as, name, text, ...of }, place_of(as));
}

/**
 * @param {File} file
 * @param {string} as
 * @returns {Promise<{ name: string, text: string } | null>}
 */
async function read_file(file, as) {
  if (file.size <= MOST_BYTES) return { name: file.name, text: await file.text() };
  looking.refused.set(place_of(as), {
    error: t('too-large', file.name),
    mends: as ? [{ words: t('other-file-choose'), act: 'choose-file', value: as }] : [],
  });
  changed();
  show();
  return null;
}

/** @param {HTMLInputElement} input */
export async function take_file(input) {
  const { as = '' } = input.dataset;
  const file = input.files?.[0];
  const read = file && (await read_file(file, as));
  if (read) await bring_file(as, read);
  input.value = '';
}

/** @param {DragEvent} event */
async function drop(event) {
  const files = [...(event.dataTransfer?.files ?? [])];
  if (!files.length) return;
  event.preventDefault();
  const place = event.target instanceof Element ? event.target.closest('[data-drop]') : null;
  const as = place instanceof HTMLElement ? (place.dataset.drop ?? '') : '';
  for (const file of files.slice(0, 4)) {
    const read = await read_file(file, as);
    if (!read) continue;
    if (as) await bring_file(as, read);
    else looking.dropped.push(read);
  }
  changed();
  show();
}

export const dropped_acts = {
  /** @param {string} as @param {DOMStringMap} dataset */
  dropped: async (as, { file = '0' }) => {
    const [one] = looking.dropped.splice(Number(file), 1);
    changed();
    show();
    if (as && one) await bring_file(as, one);
  },
};

export function listen_to_drops() {
  document.addEventListener('dragover', (event) => event.preventDefault());
  document.addEventListener('drop', drop);
}
