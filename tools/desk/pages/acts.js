// What happens when something on the page is pressed, typed, chosen or dropped.
import { element } from '../../pages/lay_over.js';
import { dropped_acts, listen_to_drops, take_file } from './drops.js';
import { after_set, bring, take_back, typing_in } from './edits.js';
import { explain } from './explain.js';
import { go_to, listen_to_keys } from './keys.js';
import { mends } from './mends.js';
import { changed, looking } from './looking.js';
import { show } from './show.js';
import { desk, enter, post } from './talk.js';
import { follow, watchdog_looked_at } from './watchdog.js';

const TOLD_BY_THEN_MS = 1000;

/** @param {string} id */
const typed_in = (id) => {
  const found = document.getElementById(id);
  return found instanceof HTMLInputElement || found instanceof HTMLSelectElement
    ? found.value.trim()
    : '';
};

export async function save() {
  const name = typed_in('save-name');
  await post('/api/save', name ? { name } : {}, 'head');
}

/** What posts by itself. @param {HTMLElement | SVGElement} pressed */
async function post_it({ dataset }) {
  const { place = '', path = '', fields = '{}', then } = dataset;
  const posted = JSON.parse(fields);
  const body = await post(path, posted, place);
  if (path === '/api/set') after_set(place, posted.path, body !== null, show);
  if (path === '/api/begin' && body) begun();
  if (body && then) go_to(then);
}

/** Another file: nothing of the one before holds. */
function begun() {
  looking.beginnings = false;
  looking.link = 0;
  looking.opened.clear();
  looking.handles.clear();
  looking.edits.clear();
  looking.explained = null;
  looking.text = null;
  changed();
  show();
}

/** @param {HTMLTextAreaElement} text @param {number} line */
function mark_line(text, line) {
  const lines = text.value.split('\n');
  const from = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  text.focus();
  text.setSelectionRange(from, from + (lines[line - 1]?.length ?? 0));
  text.scrollTop = Math.max(0, (text.scrollHeight / Math.max(1, lines.length)) * (line - 4));
}

/**
 * Acts of the page itself.
 * @type {{ [act: string]: (value: string, dataset: DOMStringMap) => unknown }}
 */
const ACTS = {
  save,
  beginnings: () => {
    looking.beginnings = !looking.beginnings;
    changed();
    show();
    scrollTo(0, 0);
  },
  seen: (place) => {
    looking.refused.delete(place);
    const edit = looking.edits.get(place);
    if (edit?.state === 'refused') looking.edits.delete(place);
    changed();
    show();
  },
  'try-now': enter,
  'to-line': (line) => mark_line(element('text', HTMLTextAreaElement), Number(line)),
  link: (at) => {
    looking.link = Number(at);
    changed();
    show();
  },
  'open-link': (name) => {
    if (!looking.opened.delete(name)) looking.opened.add(name);
    changed();
    show();
  },
  explain: (id, { link = '' }) => {
    const fact = desk.told?.bench?.facts.find((one) => String(one[0]) === id && one[1] === link);
    return explain(link, id, fact?.[3] ?? undefined, show);
  },
  'close-explained': () => {
    looking.explained = null;
    changed();
    show();
    go_to('sec-try');
  },
  text: async () => {
    if (await post('/api/text', { text: element('text', HTMLTextAreaElement).value }, 'text'))
      looking.text = null;
  },
  ...dropped_acts,
  ...mends,
};

/** @param {HTMLElement | SVGElement} pressed */
function act(pressed) {
  if (pressed.getAttribute('aria-disabled') === 'true') return;
  const { act: name = '', value = '', mend, place = '' } = pressed.dataset;
  if (mend !== undefined && name !== 'post' && looking.refused.delete(place)) {
    changed();
    show();
  }
  if (name === 'post') post_it(pressed);
  else if (Object.hasOwn(ACTS, name)) ACTS[name](value, pressed.dataset);
}

/** @param {Event} event */
const acting = ({ target }) => {
  const found = target instanceof Element ? target.closest('[data-act]') : null;
  return found instanceof HTMLElement || found instanceof SVGElement ? found : null;
};

/** @param {MouseEvent} event */
function press(event) {
  const pressed = acting(event);
  // a telegram moves on under the pointer: it is taken when the button goes down
  const is_taken = pressed?.classList.contains('telegram') && event.detail > 0;
  if (pressed) return is_taken ? undefined : act(pressed);
  const link = event.target instanceof Element ? event.target.closest('a[href^="#"]') : null;
  if (!link) return;
  event.preventDefault(); // the secret stands in the address
  lead_to((link.getAttribute('href') ?? '').slice(1));
}

/** @param {PointerEvent} event */
function take_moving(event) {
  const pressed = acting(event);
  if (event.button === 0 && pressed?.classList.contains('telegram')) act(pressed);
}

/** A part of the plant leads to its section; a station also to its link. @param {string} to */
function lead_to(to) {
  const [section, station] = to.split('--');
  const at = desk.told?.links.findIndex(({ device }) => device === station) ?? -1;
  if (at >= 0) ACTS.link(String(at), {});
  go_to(section);
}

/** Stands in its group until the program runs at it, or refuses. @param {string} rate */
async function choose_rate(rate) {
  looking.rate = rate;
  changed();
  if (!(await post('/api/bench', { do: 'rate', rate }, 'time'))) looking.rate = null;
  setTimeout(() => {
    if (looking.rate !== rate) return;
    looking.rate = null;
    changed();
    show();
  }, TOLD_BY_THEN_MS);
}

/** @param {Event} event */
function choose({ target }) {
  if (target instanceof HTMLInputElement && target.name === 'rate') choose_rate(target.value);
  if (target instanceof HTMLSelectElement && target.id === 'mode')
    post('/api/bench', { do: 'mode', mode: target.value }, 'people');
  if (target instanceof HTMLInputElement && target.type === 'file') take_file(target);
}

/** @param {Event} event */
function slide({ target }) {
  if (!(target instanceof HTMLInputElement) || target.dataset.handle === undefined || !desk.told)
    return;
  const of = watchdog_looked_at(desk.told);
  const point = of?.points[Number(target.value)];
  if (!point) return;
  looking.handles.set(target.dataset.handle, point.watchdog_ms);
  changed();
  show();
  follow(desk.told);
}

/** @param {SubmitEvent} event */
function submit(event) {
  event.preventDefault();
  const { target } = event;
  if (!(target instanceof HTMLFormElement)) return;
  if (target.id === 'fault') {
    const fields = { do: 'fault', link: typed_in('fault-link'), way: typed_in('fault-way') };
    const direction = direction_of(fields.way, typed_in('fault-where'));
    post('/api/bench', { ...fields, direction, when: typed_in('fault-when') }, 'fault');
  }
  const { what } = target.dataset;
  if (what === undefined) return;
  const link = typed_in('job-link');
  const much = what === 'campaign' ? { trials: typed_in('trials') } : { years: typed_in('years') };
  post('/api/job', { do: 'start', what, ...much, ...(link && { link }) }, 'jobs');
}

/** On a way it is a direction, at an end that end. @param {string} way @param {string} where */
function direction_of(way, where) {
  const offer = desk.told?.bench?.offers?.find((one) => one.way === way);
  return offer?.at === 'end' ? where : `to-${where}`;
}

/** @param {Event} event */
function typing({ target }) {
  if (target instanceof HTMLInputElement && target.dataset.path !== undefined) typing_in(target);
}

/** @param {FocusEvent} event */
function leave({ target }) {
  if (target instanceof HTMLInputElement && target.dataset.path !== undefined) bring(target, show);
}

export function listen_to_people() {
  document.addEventListener('click', press);
  document.addEventListener('pointerdown', take_moving);
  document.addEventListener('change', choose);
  document.addEventListener('input', slide);
  document.addEventListener('input', typing);
  document.addEventListener('submit', submit);
  document.addEventListener('focusout', leave);
  listen_to_keys({
    act,
    save,
    bring: (input) => bring(input, show),
    take_back: (input) => take_back(input, show),
  });
  listen_to_drops();
}
