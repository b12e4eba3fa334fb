// The instructor's page: room, faults by hand, clock, results, records.
import { get, pause } from '../../pages/ask.js';
import { draw } from '../../pages/draw.js';
import { put, put_text } from '../../pages/lay_over.js';
import { button } from '../../pages/parts.js';
import { draw_hand, fault, whom } from './hand.js';
import { ask, save, secret } from './instructor_talk.js';
import {
  close_record,
  print_list,
  print_record,
  print_room,
  result_of,
  results_of_person,
  show_certificate,
  show_record,
  show_results,
} from './records.js';
import { AWAY_MIN, in_exam, show_room, trainee } from './room.js';
import { t } from './texts.js';
import { learn, word_or_itself } from './words.js';

/** @typedef {import('./texts.js').Key} Key */

const LOOK_EVERY_MS = 1000;
const ASK_AGAIN_MS = 3000;

let cut_off = false;
async function look() {
  try {
    show_room(await (await ask('room')).json());
    show_results(await (await ask('results.json')).json());
    if (cut_off) put_text('status', '');
    cut_off = false;
  } catch (error) {
    cut_off = true;
    const why = error instanceof Error ? error.message : String(error);
    put_text('status', secret ? `${t('lost')} ${why}` : t('i-secret'));
  }
}

/**
 * @param {string} path
 * @param {{ [name: string]: unknown }} fields
 */
async function act(path, fields) {
  try {
    const { refused, left_out } = await (await ask(path, fields)).json();
    const done = left_out ? t('i-left-out', left_out) : t('i-done');
    put_text('status', refused ? t('i-refused', word_or_itself('refusals', refused)) : done);
  } catch (error) {
    put_text('status', error instanceof Error ? error.message : String(error));
  }
  await look();
}

/**
 * What changes the thing that is judged: somebody in an exam is asked about by name, and then
 * stands in the request once more.
 * @param {string} path
 * @param {{ [name: string]: unknown, who: string }} fields
 */
function act_at(path, fields) {
  const one = trainee(fields.who);
  if (!one || !in_exam(one)) return act(path, fields);
  if (confirm(t('i-sure-exam', one.name))) return act(path, { ...fields, confirm: one.id });
}

/** Asks once, and names the record. @param {string} id */
function remove(id) {
  const one = result_of(id);
  if (one && confirm(t('i-sure', one.name, one.drill))) act('delete', { id, confirm: id });
}

/** All that is kept of somebody. @param {string} id of one of the results */
function forget(id) {
  const one = result_of(id);
  if (one?.person && confirm(t('i-sure-forget', one.name, one.person)))
    act('delete-person', { who: one.person, confirm: one.person });
}

function free_away() {
  if (confirm(t('i-sure-away', AWAY_MIN))) act('free', { who: 'away', minutes: AWAY_MIN });
}

/** @param {string} who */
function free(who) {
  if (confirm(t('i-sure-free', trainee(who)?.name))) act('free', { who });
}

/** @param {string} id */
function show_one_record(id) {
  const one = result_of(id);
  return one && show_record([one]);
}

const pace = (/** @type {string} */ to) => (/** @type {string} */ who) =>
  act('pace', { who, pace: to });
/** @type {{ [act: string]: (value: string) => unknown }} */
const PRESSED = {
  cause: (who) => act_at('cause', { who, show: !trainee(who)?.cause_shown }),
  paused: pace('paused'),
  quarter: pace('quarter'),
  real: pace('real'),
  free,
  'free-away': free_away,
  'put-in': () => act_at('put-in', fault()),
  'take-out': () => act_at('take-out', { who: whom() }),
  save,
  record: show_one_record,
  person: (id) => show_record(results_of_person(id)),
  'print-record': print_record,
  close: close_record,
  delete: remove,
  forget,
  print: print_list,
  'print-room': print_room,
  certificate: show_certificate,
};
document.addEventListener('click', ({ target }) => {
  const pressed = target instanceof Element ? target.closest('[data-act]') : null;
  if (!(pressed instanceof HTMLElement)) return;
  PRESSED[pressed.dataset.act ?? '']?.(pressed.dataset.value ?? '');
});

function build() {
  draw_hand();
  const csv = button('save', 'results.csv', t('i-csv'));
  const json = button('save', 'results.json', t('i-json'));
  put('export', draw`${csv}${json}${button('print', '', t('i-print'))}`);
  /** @type {[string, Key][]} */
  const heads = [
    ['book', 'title'],
    ['page-name', 'instructor'],
    ['h-room', 'room'],
    ['h-fault', 'i-fault'],
    ['h-results', 'results'],
  ];
  for (const [id, key] of heads) put_text(id, t(key));
  document.title = t('title-instructor');
}

let words;
while (!(words = await get('/api/words'))) await pause(ASK_AGAIN_MS);
learn(words);
build();
look();
setInterval(look, LOOK_EVERY_MS);
