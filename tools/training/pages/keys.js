// Single keys, off until somebody switches them on (WCAG 2.1.4). None acts on the machine.
const GOES_TO = { c: 'panel-controller', i: 'panel-io', l: 'log', t: 'time-line', b: 'telegrams', s: 'settings', q: 'question' };
const KEPT = 'single-keys';

export const are_on = () => localStorage.getItem(KEPT) === 'on';
export const switch_keys = on => localStorage.setItem(KEPT, on ? 'on' : 'off');

/** `hold`: stops the clock or lets it run. */
export function listen_to_keys(hold) {
  document.addEventListener('keydown', event => {
    if (event.key === 'Escape') {
      const opened = [...document.querySelectorAll('details[open]')].at(-1);
      if (!opened) return;
      opened.open = false;
      opened.querySelector('summary').focus();
      return;
    }
    const typing = /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.nodeName) && !['radio', 'checkbox', 'range'].includes(event.target.type);
    if (!are_on() || typing || event.ctrlKey || event.altKey || event.metaKey) return;
    const key = event.key.toLowerCase();
    if (key === 'p') return hold();
    const place = document.getElementById(GOES_TO[key]);
    if (!place) return;
    event.preventDefault();
    place.scrollIntoView({ block: 'start' });
    place.focus();
  });
}
