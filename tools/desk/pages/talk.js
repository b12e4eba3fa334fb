// The page's talk with the program: the stream of how things stand, what is posted, refusals.
import { post as send } from '../../pages/ask.js';
import { SharedStream } from '../../pages/shared_stream.js';
import { changed, looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Told} Told */
/** @typedef {import('./told.js').Shown} Shown */
/** @typedef {import('./told.js').Refusal} Refusal */
/** @typedef {import('./told.js').Mend} Mend */

const SILENT_MS = 4000; // the hour is told each second

export const desk = {
  /** @type {Shown | null} */
  told: null,
  heard: 0, // on the clock of the page, ms
  /** Why the page may not come in. */
  outside: '',
  entered: false,
};

let show = () => {};
/** @param {() => void} shows draws the page; called whenever there is something new */
export function when_news(shows) {
  show = shows;
}

const token = () => location.hash.slice(1);
export const stream = new SharedStream('/api/events', take);

/** Where nothing is open. @type {import('./told.js').OpenFile} */
const NO_FILE = {
  name: null,
  title: '',
  changed: false,
  saved_at: null,
  undo: 0,
  redo: 0,
  stamp: 0,
  example: false,
  writable: true,
  broken: null,
  foreign: null,
  gone: null,
  draft: null,
  repeat: '',
};

/** @param {Told} told */
function take(told) {
  desk.told = { ...told, file: told.file ?? NO_FILE };
  desk.heard = performance.now();
  if (looking.old) changed();
  looking.old = false;
  show();
}

/** @param {Response} reply @returns {Promise<any>} */
const body_of = (reply) => reply.json().catch(() => null);

/**
 * Why it was refused, with what mends it; what says nothing of that can be asked for again.
 * @param {Response} reply
 * @param {any} body
 * @param {Mend} again
 * @returns {Refusal}
 */
export const refusal_of = (reply, body, again) => ({
  error: body?.error || t('not-done', reply.status),
  mends: body?.mends?.length || (body?.kind && !body.mends?.length) ? body.mends : [again],
});

/** @typedef {{ body: any, refusal: Refusal | null }} Answer */
/** What was asked last: one after the other, so that a value typed last is in what is saved. */
let asked = /** @type {Promise<unknown>} */ (Promise.resolve());

/**
 * What the program answers; null if it is not reached.
 * @param {string} path
 * @param {{ [name: string]: unknown }} fields
 * @returns {Promise<Answer | null>}
 */
export function ask(path, fields) {
  const turn = asked.then(() => ask_now(path, fields));
  asked = turn;
  return turn;
}

/**
 * @param {string} path
 * @param {{ [name: string]: unknown }} fields
 * @returns {Promise<Answer | null>}
 */
async function ask_now(path, fields) {
  try {
    const reply = await send(path, fields, token());
    const body = await body_of(reply);
    if (reply.ok) return { body, refusal: null };
    const again = { words: t('again'), path, fields: /** @type {any} */ (fields) };
    return { body: null, refusal: refusal_of(reply, body, again) };
  } catch {
    stream.lose();
    show();
    return null;
  }
}

/**
 * The same, with a refusal shown at that place.
 * @param {string} path
 * @param {{ [name: string]: unknown }} fields
 * @param {string} place
 * @returns {Promise<any>}
 */
export async function post(path, fields, place) {
  const answer = await ask(path, fields);
  looking.refused.delete(place);
  if (answer?.refusal) looking.refused.set(place, answer.refusal);
  else if (answer?.body?.note) {
    const { note, mends = [] } = answer.body;
    looking.refused.set(place, { error: note, mends, note: true });
  }
  changed();
  show();
  return answer?.body ?? null;
}

/**
 * What is read at a path; a refusal is shown at that place.
 * @param {string} path
 * @param {string} place
 */
export async function read(path, place) {
  const again = { words: t('again'), act: 'read-again', value: path };
  looking.refused.delete(place);
  let body = null;
  try {
    const reply = await fetch(path);
    body = await body_of(reply);
    if (!reply.ok) {
      looking.refused.set(place, refusal_of(reply, body, again));
      body = null;
    }
  } catch {
    looking.refused.set(place, { error: t('not-there'), mends: [again] });
  }
  changed();
  return body;
}

/** Comes in with the secret of the address, and listens. */
export async function enter() {
  let reply = null;
  try {
    reply = await send('/api/enter', {}, token());
  } catch {
    reply = null;
  }
  if (reply === null) stream.lose();
  else if (reply.ok) {
    desk.outside = '';
    desk.entered = true;
    stream.tried(true);
    if (!document.hidden) stream.listen();
  } else {
    desk.outside = (await body_of(reply))?.error || t('not-done', reply.status);
    stream.tried(true);
  }
  show();
}

/** Looks whether the program still tells something; it says the hour each second. */
export function look_after() {
  if (document.hidden) return;
  if (stream.open && desk.told && performance.now() - desk.heard > SILENT_MS) stream.lose();
  if (stream.take_try()) enter();
  if (stream.try_at !== null) {
    if (!looking.old) changed();
    looking.old = true;
    show();
  }
}

/** A page that nobody sees does not listen; what it shows when it is seen again is told anew. */
export function when_seen() {
  if (document.hidden) stream.close();
  else if (desk.entered) {
    desk.heard = performance.now();
    stream.listen();
  }
}
