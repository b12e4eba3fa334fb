// Of the instructor's page: who is here, and where each is.
import { draw } from '../../pages/draw.js';
import { element, put, put_text } from '../../pages/lay_over.js';
import { minutes_of } from '../../pages/numbers.js';
import { button, table } from '../../pages/parts.js';
import { done_words } from './log.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Trainee} Trainee */
/** @typedef {import('./told.js').Room} Room */
/** @typedef {import('./texts.js').Key} Key */

/**
 * A button that says whom it is about to those who do not see the row.
 * @param {Trainee} one
 * @param {string} act
 * @param {Key} key
 * @param {boolean} [pressed] of a button that stays pressed
 */
const of_person = (one, act, key, pressed) =>
  button(act, one.id, t(key), {
    'aria-label': `${t(key)}: ${one.name}`,
    'aria-pressed': pressed === undefined ? undefined : String(pressed),
  });

/** @param {Trainee} one */
function hands(one) {
  const free = of_person(one, 'free', 'i-free');
  if (!one.drill) return ['', free];
  return [
    of_person(one, 'cause', 'i-show', one.cause_shown),
    of_person(one, 'paused', one.dangerous ? 'i-talk' : 'i-pause', one.pace === 'paused'),
    of_person(one, 'quarter', 'i-quarter', one.pace === 'quarter'),
    of_person(one, 'real', 'i-real', one.pace === 'real'),
    free,
  ];
}

/** What is told on asking only: nobody else in the room is to read it. @param {Trainee} one */
function hidden_of(one) {
  if (!one.cause) return '';
  const touches = (one.trainer ?? '').split(' | ').filter(Boolean);
  const touched = touches.length > 0 && draw`, ${t('i-touched', touches.length)}`;
  return draw`<details class="small" id="cause-${one.id}">
    <summary>${t('i-cause')}${touched}</summary>
    ${one.cause}${touches.map((words) => draw`<div class="soft">${words}</div>`)}</details>`;
}

/** @param {Trainee} one */
export const in_exam = (one) => Boolean(one.exam_of && !one.exam_over);
export const AWAY_MIN = 10;

/** @param {Trainee} one */
function row_of(one) {
  const away = one.away && draw`<br><span class="soft">${t('i-away')}</span>`;
  const exam = one.exam_of && draw`<br>${t('i-exam', one.exam_at, one.exam_of)}`;
  const last = one.last && done_words(one.last, one.about ?? '');
  const danger = one.dangerous && draw` <strong class="danger">${t('danger-head')}</strong>`;
  const waits = one.waits && draw`<br>${t('i-waits')}`;
  const broken = (one.broken ?? []).map((words) => draw`<br><strong>${words}</strong>`);
  return [
    [one.name, draw` <span class="soft">${one.id}</span>`, away],
    [one.drill ?? '', exam],
    one.step ?? '',
    draw`<span id="clock-${one.id}">${minutes_of(one.seconds ?? 0)}</span>`,
    [last, danger, waits],
    [hidden_of(one), broken],
    draw`<div class="acts">${hands(one)}</div>`,
  ];
}

/** @type {Trainee[]} */
let trainees = [];
export const people_here = () => trainees;
/** @param {string} id */
export const trainee = (id) => trainees.find((one) => one.id === id);

function people() {
  if (!trainees.length) return draw`<p>${t('i-nobody')}</p>`;
  const heads = [
    t('name'),
    t('drills-head'),
    t('i-step'),
    t('i-clock'),
    t('i-last'),
    t('i-cause'),
    t('i-acts'),
  ];
  return table(heads, trainees.map(row_of), t('room'));
}

/** Whom a fault is for: the choice stays where it can. */
function offer_people() {
  const who = element('who', HTMLSelectElement);
  const chosen = who.value;
  const options = trainees.map((one) => draw`<option value="${one.id}">${one.name}</option>`);
  put('who', draw`<option value="all">${t('i-all')}</option>${options}`);
  who.value = [...who.options].some((option) => option.value === chosen) ? chosen : 'all';
}

/** @param {Room} room */
export function show_room(room) {
  trainees = room.trainees;
  const head = [
    t('i-here', room.here, room.taken, room.places),
    room.code ? t('i-code', room.code) : '',
    room.wrong_codes > 0
      ? t('i-wrong-codes', room.wrong_codes, room.wrong_code_when, room.wrong_code_from)
      : '',
    t('i-address', room.address),
    t('i-names'),
  ];
  put_text('here', head.join(' '));
  if (room.problem) put_text('status', t('i-problem', room.problem));
  put(
    'all',
    draw`${button('paused', 'all', t('i-pause-all'))}${button('real', 'all', t('i-real-all'))}
    ${button('free-away', '', t('i-free-away', AWAY_MIN))}
    ${button('print-room', '', t('i-print-room'))}`,
  );
  const broken = room.broken_drills.map(
    (one) => draw`<p class="amber">${t('i-broken', one.drill, one.why.join('; '))}</p>`,
  );
  put('broken-drills', draw`${broken}`);
  put('room', people());
  offer_people();
}
