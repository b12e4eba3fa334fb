// Draws the trainee's page: its head, its trouble, what its status line speaks, and the page
// itself.
import { draw } from '../../pages/draw.js';
import { element, put, put_text } from '../../pages/lay_over.js';
import { hour_at } from '../../pages/numbers.js';
import { button } from '../../pages/parts.js';
import { last_done } from './done.js';
import { keep_time, tell_hour } from './lapse.js';
import { looking } from './looking.js';
import { views_of } from './links.js';
import { refusal_or_cause_of } from './panels.js';
import { keep_moving } from './scene.js';
import { drill_shown, exam_under_way, session, stream } from './session.js';
import { show_slow_ways } from './slow_ways.js';
import { t } from './texts.js';
import { page } from './trainee_pages.js';
import { word } from './words.js';

const LITTLE_LATE_MS = 250;
const LATE_MS = 1000;
const SPEAK_EVERY_MS = 2000;

function where_we_are() {
  const { me, news } = session;
  if (!me.joined) return '';
  const exam = exam_under_way() && news?.exam;
  if (exam) return `${me.name}, ${t('exam-at', exam.at, exam.of)}`;
  const state = drill_shown();
  return state
    ? `${me.name}, ${t('drill', state.drill.number, state.drill.title)}`
    : (me.name ?? '');
}

/**
 * How late what is shown is, in words.
 * @param {number} behind ms
 */
function lateness(behind) {
  const state = drill_shown();
  const { try_at } = stream;
  if (try_at !== null && session.me.joined) {
    const seconds = Math.max(0, Math.ceil((try_at - Date.now()) / 1000));
    const wait = draw`<span aria-hidden="true">${t('in-seconds', seconds)}</span>`;
    return draw`<p>${t('lost')} ${wait} ${button('try-now', '', t('try-now'))}</p>`;
  }
  if (!session.me.joined || !stream.open || !state) return '';
  if (behind > LATE_MS) {
    const hour = hour_at(state.begins, state.plant_time);
    return draw`<p>${t('late', Math.floor(behind / 1000), hour)}</p>`;
  }
  if (behind <= LITTLE_LATE_MS) return '';
  const late = t('a-little-late', (behind / 1000).toFixed(1));
  return draw`<p class="little" aria-hidden="true">${late}</p>`;
}

/**
 * What an alert says changes seldom: what counts up or down in it is not spoken.
 * @param {number} behind ms
 */
function troubles(behind) {
  const { trouble, notice, news } = session;
  const windows = news !== null && news.windows > 1 && drill_shown();
  return [
    trouble && draw`<p>${trouble}</p>`,
    lateness(behind),
    notice && draw`<p>${notice}</p>`,
    windows && draw`<p>${t('windows')}</p>`,
  ];
}

/** @param {import('./told.js').End} end @param {string} name */
const end_words = (end, name) =>
  end.dark
    ? `${name}: ${t('s-dark')}`
    : `${name}: ${word('states', end.state)}, ${refusal_or_cause_of(end)}`;

/** Both ends; of several links those that do not run. @param {import('./told.js').State} state */
function ends_words(state) {
  const ends = views_of(state).flatMap(({ controller, io, link_name }) => [
    { end: controller, name: [controller?.name, link_name].filter(Boolean).join(', ') },
    { end: io, name: io?.name ?? '' },
  ]);
  const words = ends.flatMap(({ end, name }) =>
    end && (!state.links || end.dark || end.state !== 'running') ? [end_words(end, name)] : [],
  );
  const run = ends.filter(({ end }) => end && !end.dark && end.state === 'running').length;
  return state.links && run > 0 ? [...words, t('others-run', run)] : words;
}

/**
 * What is under way, or what came of what was done last.
 * @param {import('./told.js').State} state
 */
function work_words({ work, done, begins, step }) {
  if (step !== 4) return '';
  if (work) return t('status-work-of', hour_at(begins, work.until), work.words);
  return last_done(done);
}

/** What is always to be seen: the machine, what is under way, the ends as far as they were read. */
function status_words() {
  const state = drill_shown();
  if (!state) return '';
  const { machine, work, begins } = state;
  const words = [`${machine.name} ${machine.moves ? t('moves') : t('stands')}`];
  if (work) words.push(t('status-work', hour_at(begins, work.until)));
  words.push(...ends_words(state));
  if (session.news?.paused) words.push(t('paused'));
  else if (session.news?.held) words.push(t('held'));
  return words.join('. ');
}

/** The title of the window tells the page. */
function title() {
  const heading = document.querySelector('main h1')?.textContent ?? '';
  const state = drill_shown();
  const drill = state?.drill.title ? t('drill', state.drill.number, state.drill.title) : '';
  document.title = [heading, drill, t('title')].filter(Boolean).join(' - ');
}

/** Links past the head of the page, where there is something to go to. */
function skips() {
  for (const target of ['bench', 'question'])
    element('skip-' + target, HTMLElement).hidden = document.getElementById(target) === null;
}

let spoken = '';
let spoken_at = 0;
/**
 * The line above the page is what the page shows, always. It is spoken only when a state changes,
 * with what came of an act, and not more than once in two seconds.
 */
function say() {
  const seen = status_words();
  put_text('status', seen);
  const state = drill_shown();
  const words = [state ? work_words(state) : '', seen].filter(Boolean).join('. ');
  if (words === spoken || (words && Date.now() - spoken_at < SPEAK_EVERY_MS)) return;
  spoken = words;
  spoken_at = Date.now();
  put_text('spoken', words);
}

export function show() {
  const behind = Date.now() - session.heard;
  const { joined } = session.me;
  looking.old = joined && stream.open && behind > LATE_MS;
  looking.held = Boolean(session.news?.paused || session.news?.held);
  const state = drill_shown();
  if (state) tell_hour(state);
  put('main', draw`${page()}`);
  keep_moving();
  keep_time();
  show_slow_ways(state?.score?.ways ?? null);
  put_text('where', where_we_are());
  put(
    'ways',
    draw`${joined && draw`<a href="/drills">${t('drills')}</a><a href="/mine">${t('mine')}</a>`}`,
  );
  put('trouble', draw`${troubles(behind)}`);
  title();
  skips();
  say();
}
