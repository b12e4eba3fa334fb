// What the page knows of its trainee, and its talk with the trainer's computer.
import { get, post as send } from '../../pages/ask.js';
import { LiveStream } from '../../pages/live_stream.js';
import { take_draft } from './choices.js';
import { t } from './texts.js';
import { word_or_itself } from './words.js';

/** @typedef {import('./told.js').News} News */

export const session = {
  /** @type {import('./told.js').Me} */
  me: { joined: false },
  /** @type {News | null} */
  news: null,
  /** @type {import('./told.js').DrillOffered[]} */
  drills: [],
  /** @type {import('./told.js').Result[]} */
  results: [],
  heard: 0, // in ms since 1970
  trouble: '', // why the last act was refused
  notice: '', // what has happened besides
  run: '', // of the program
  /** @type {import('./told.js').Recorded | null} */
  record: null, // an own one that is looked at
};

let show = () => {};
/** @param {() => void} shows draws the page; called whenever there is something new */
export function when_news(shows) {
  show = shows;
}

export const stream = new LiveStream('/api/events', take);

export const exam_under_way = () => Boolean(session.news?.exam && !session.news.exam.over);
/** The drill that the page shows; null where it shows something else. */
export function drill_shown() {
  const state = session.news?.state ?? null;
  if (!session.me.joined || !state) return null;
  const exam = session.news?.exam ?? null;
  if (location.pathname === '/exam') return exam ? state : null;
  return !exam && location.pathname === `/drill/${state.drill.number}` ? state : null;
}

/** @param {News | { gone: string }} told */
export function take(told) {
  if ('gone' in told) {
    stream.close();
    enter(word_or_itself('refusals', told.gone));
    return;
  }
  session.news = told;
  take_draft(told.draft);
  session.heard = Date.now();
  if (session.run && session.run !== told.run) session.notice = t('restarted');
  session.run = told.run;
  show();
  document.documentElement.dataset.told = String(told.told_ms);
}

/** A refusal without words of its own. @param {number} status */
function words_of_status(status) {
  if (status === 413) return t('too-much');
  if (status === 429 || status === 503) return t('too-often');
  return t('not-done', status);
}

/**
 * What the computer answers; null if it refuses or is not reached, which then is shown.
 * @param {string} path
 * @param {{ [name: string]: unknown }} [fields]
 * @returns {Promise<any>}
 */
export async function post(path, fields = {}) {
  let reply;
  try {
    reply = await send('/api/' + path, fields, session.me.token ?? '');
  } catch {
    stream.lose();
    return null;
  }
  const body = await reply.json().catch(() => null);
  const why = body?.error ? word_or_itself('refusals', body.error) : words_of_status(reply.status);
  session.trouble = reply.ok ? '' : why;
  if (reply.status === 401) await enter(t('rejoin'));
  return reply.ok ? body : null;
}

/**
 * Finds out who this is, and shows it.
 * @param {string} [words] to be noticed
 * @param {import('./told.js').Me} [told]
 */
export async function enter(words = '', told = undefined) {
  session.me = told ?? (await get('/api/me')) ?? { joined: false };
  session.notice = words || session.notice;
  if (session.me.joined) {
    session.drills = (await get('/api/drills'))?.drills ?? [];
    await read_results([]);
    const state = await get('/api/state');
    if (state) take(state);
    stream.listen();
  } else {
    stream.close();
    session.news = null;
  }
  show();
}

/** @param {import('./told.js').Result[]} otherwise */
export async function read_results(otherwise) {
  session.results = (await get('/api/results'))?.results ?? otherwise;
}

/**
 * Opens an own record.
 * @param {string} id
 */
export async function open_record(id) {
  session.record = await get('/api/record?id=' + encodeURIComponent(id));
  show();
}

/** After the computer was lost. */
export async function try_again() {
  const told = await get('/api/me');
  stream.tried(told !== null);
  if (told !== null) await enter(told.joined ? '' : t('rejoin'), told);
  show();
}
