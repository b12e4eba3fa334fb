// What happens when something is pressed or chosen on the trainee's page.
import { element } from '../../pages/lay_over.js';
import { answer, choices, choose_nothing, diagnosis_chosen, when_chosen } from './choices.js';
import { switch_keys } from './keys.js';
import { forget_hour } from './lapse.js';
import { looking } from './looking.js';
import {
  enter,
  exam_under_way,
  open_record,
  post,
  read_results,
  session,
  take,
  try_again,
} from './session.js';
import { forget_motion } from './scene.js';
import { show } from './show.js';
import { slow_play, slow_step, slow_to } from './slow_ways.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').News} News */

function to_the_top() {
  scrollTo(0, 0);
  (document.getElementById('question') ?? element('main', HTMLElement)).focus();
}

function to_the_head() {
  scrollTo(0, 0);
  (document.getElementById('head') ?? element('main', HTMLElement)).focus();
}

/**
 * What was begun is shown from its top.
 * @param {string} path
 * @param {News | null} told
 */
function go_to(path, told) {
  if (!told) return show();
  choose_nothing();
  session.notice = '';
  looking.moment = null;
  looking.link = 0;
  looking.open = '';
  looking.group = '';
  forget_motion();
  forget_hour();
  if (location.pathname !== path) history.pushState(null, '', path);
  take(told);
  to_the_head();
}

/** What is to be sent with a new beginning; null where the trainee stays in an exam. */
function may_leave() {
  if (!exam_under_way()) return '';
  return confirm(t('sure-leave-exam')) ? 'true' : null;
}

/** @param {string | number | null | undefined} number of the drill, or "random" */
async function begin(number) {
  const { drills } = session;
  const drill =
    number === 'random' ? drills[Math.floor(Math.random() * drills.length)].number : number;
  const leave = may_leave();
  if (leave !== null) go_to(`/drill/${drill}`, await post('start', { drill, leave }));
}

async function begin_exam() {
  const leave = may_leave();
  if (leave !== null) go_to('/exam', await post('exam', { leave }));
}

function begin_next() {
  const { drills, news } = session;
  const at = drills.findIndex((drill) => drill.number === news?.state?.drill.number);
  return begin(drills[(at + 1) % drills.length].number);
}

/** What came of an act is brought into view, if it is not; what was pressed keeps the focus. */
function show_what_came() {
  document.getElementById('done')?.scrollIntoView({ block: 'nearest' });
}

/**
 * An act at the drill, as the program knows it.
 * @param {string} name
 * @param {{ [field: string]: unknown }} fields
 */
async function act(name, fields) {
  const step = session.news?.state?.step;
  if (name === 'instrument') looking.open = String(fields.value);
  const warned = Boolean(session.news?.state?.warned);
  const told = await post('act', { act: name, ...fields });
  if (!told) return show();
  take(told);
  const warning = document.getElementById('warning');
  if (warning && !warned) {
    warning.scrollIntoView({ block: 'start' });
    warning.focus();
  } else if (name === 'work') show_what_came();
  if (session.news?.state?.step === step) return;
  to_the_top();
  if (session.news?.state?.step !== 5) return;
  looking.moment = null;
  await read_results(session.results);
}

/** Stops the clock, or lets it run. */
export async function hold() {
  const told = await post('hold', { on: session.news?.held ? '' : 'true' });
  if (told) take(told);
  else show();
}

/** @param {string} id of an own result */
async function withdraw(id) {
  const one = session.results.find((result) => String(result.id) === id);
  if (!one || !confirm(t('sure-mine', one.drill))) return;
  session.results = (await post('withdraw', { id }))?.results ?? session.results;
  show();
}

/** An own record, or with nothing the list again. @param {string} id */
async function look_at_record(id) {
  if (id) await open_record(id);
  else session.record = null;
  show();
  to_the_head();
}

/** Of an instrument that was read. @param {string} id */
export function open_tab(id) {
  looking.open = id;
  show();
}

/**
 * Acts of the page itself; every other is one at the drill.
 * @type {{ [act: string]: (value: string) => unknown }}
 */
export const OF_THE_PAGE = {
  begin,
  again: () => begin(session.news?.state?.drill.number),
  next: begin_next,
  exam: begin_exam,
  'next-of-exam': async () => go_to('/exam', await post('next')),
  explain: async (place) => go_to('/exam', await post('explain', { place })),
  go: (path) => {
    location.href = path;
  },
  print: () => print(),
  withdraw,
  'open-record': look_at_record,
  hold,
  'try-now': try_again,
  'slow-play': slow_play,
  'slow-step': slow_step,
  open: open_tab,
  'look-at': (at) => {
    looking.link = Number(at);
    show();
  },
  group: (id) => {
    const opens = document.getElementById(`b-group-${id}`)?.getAttribute('aria-expanded');
    looking.group = opens === 'true' ? 'none' : id;
    show();
  },
  name: () => act('name', diagnosis_chosen()),
};

/** @param {Event} event */
function press({ target }) {
  const pressed = target instanceof Element ? target.closest('[data-act]') : null;
  if (!(pressed instanceof HTMLElement)) return;
  if (pressed.getAttribute('aria-disabled') === 'true') return;
  const { act: name = '', value = '', link = '' } = pressed.dataset;
  if (Object.hasOwn(OF_THE_PAGE, name)) OF_THE_PAGE[name](value);
  else act(name, link ? { value, link } : { value });
}

/** @param {Event} event */
function pick({ target }) {
  if (!(target instanceof HTMLInputElement)) return;
  if (Object.hasOwn(choices.named, target.name)) answer(target.name, target.value);
  if (target.id === 'keys') switch_keys(target.checked);
}

/** @param {Event} event */
function read_moment({ target }) {
  if (!(target instanceof HTMLInputElement)) return;
  if (target.id === 'slow-at') slow_to(Number(target.value));
  if (target.id !== 'moment') return;
  const moments = (target.dataset.moments ?? '').split(' ');
  looking.moment = Number(moments[Number(target.value)]);
  show();
}

/** @param {Event} event */
async function join(event) {
  event.preventDefault();
  const name = element('name', HTMLInputElement).value;
  const code = document.getElementById('code');
  const joined = await post('join', {
    name,
    code: code instanceof HTMLInputElement ? code.value : '',
  });
  if (!joined) return show();
  session.notice = '';
  history.replaceState(null, '', '/drills');
  await enter();
  to_the_head();
}

export function listen_to_people() {
  when_chosen((fields) => post('draft', fields));
  document.addEventListener('click', press);
  document.addEventListener('change', pick);
  document.addEventListener('input', read_moment);
  document.addEventListener('submit', join);
  addEventListener('popstate', show);
}
