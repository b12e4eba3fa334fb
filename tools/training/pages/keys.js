// Single keys, off until somebody switches them on (WCAG 2.1.4). None acts on the machine.

/** @type {{ [key: string]: string }} */
const GOES_TO = {
  c: 'panel-controller',
  i: 'panel-io',
  l: 'log',
  t: 'time-line',
  b: 'telegrams',
  s: 'settings',
  q: 'question',
};
const KEPT = 'single-keys';

export const are_on = () => localStorage.getItem(KEPT) === 'on';
/** @param {boolean} on */
export const switch_keys = (on) => localStorage.setItem(KEPT, on ? 'on' : 'off');

function close_what_was_opened_last() {
  const opened = [...document.querySelectorAll('details')].filter((one) => one.open).pop();
  if (!opened) return;
  opened.open = false;
  opened.querySelector('summary')?.focus();
}

/** Whether a key is text there. @param {EventTarget | null} target */
const is_typing = (target) =>
  target instanceof HTMLSelectElement ||
  target instanceof HTMLTextAreaElement ||
  (target instanceof HTMLInputElement && !['radio', 'checkbox', 'range'].includes(target.type));

/**
 * @param {() => unknown} hold stops the clock or lets it run
 * @param {(id: string) => void} open brings an instrument to light that was read
 */
export function listen_to_keys(hold, open) {
  document.addEventListener('keydown', (event) => {
    if (event.key === 'Escape') return close_what_was_opened_last();
    if (!are_on() || is_typing(event.target)) return;
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const key = event.key.toLowerCase();
    if (key === 'p') return hold();
    if (document.getElementById(`tab-${GOES_TO[key]}`)?.dataset.act === 'open') open(GOES_TO[key]);
    const place = document.getElementById(GOES_TO[key]);
    if (!place) return;
    event.preventDefault();
    place.scrollIntoView({ block: 'start' });
    place.focus();
  });
}
