// The trainee's page: shows what the trainer's computer says, and brings it what was pressed.
import { t } from '/texts.js';
import { draw, put, put_text, button, entry, table, hour_at, attributes } from '/drawing.js';
import { looking, cause_of } from '/bench.js';
import { STEPS, ACTIONS_MAX, choices, choose_nothing, secure, look, name_it, act as act_step } from '/steps.js';
import { debrief } from '/debrief.js';
import { listen_to_keys, are_on, switch_keys } from '/keys.js';

const LITTLE_LATE_MS = 250, LATE_MS = 1000, LOST_MS = 4000, TRY_AGAIN_MS = 3000, SPEAK_EVERY_MS = 2000;

let me = { joined: false }, news = null, drills = [], results = [];
let heard = 0, trouble = '', run = '', notice = '', try_at = null, stream = null;

// ---- pages ----
function join_page() {
  return draw`<h1>${t('join')}</h1><form id="join"><p><label>${t('name')} <input id="name" name="name" type="text" maxlength="40" autocomplete="off" required></label></p>
    ${me.code ? draw`<p><label>${t('code')} <input id="code" name="code" type="text" autocomplete="off" required></label></p>` : ''}<button class="main">${t('join')}</button></form>`;
}

const exam_under_way = () => news?.exam && !news.exam.over;
function drills_page() {
  const under_way = exam_under_way() ? draw`<p>${button('go', '/exam', t('go-on-exam'), 'class="main"')}</p>` :
    news?.state && !news.exam && news.state.step < 5 ? draw`<p>${button('go', '/drill/' + news.state.drill.number, t('go-on-drill'), 'class="main"')}</p>` : '';
  if (!drills.length) return draw`<h1>${t('pick')}</h1><p>${t('no-drills')}</p>`;
  return draw`<h1>${t('pick')}</h1>${under_way}
    <h2>${t('practice')}</h2><p>${t('practice-text')}</p><p>${button('begin', 'random', t('shuffled'))}</p>
    <ul class="cards">${drills.map(drill => draw`<li>${button('begin', drill.number, drill.number + ' ' + drill.title)} <span class="soft">${drill.plant}, ${t('about-minutes', drill.minutes)}</span></li>`)}</ul>
    <h2>${t('exam-head')}</h2><p>${t('exam-text', Math.min(6, drills.length))}</p><p>${button('exam', '', t('begin-exam'))}</p>`;
}

function mine_page() {
  if (!results.length) return draw`<h1>${t('mine')}</h1><p>${t('no-results')}</p>${button('go', '/drills', t('pick'))}`;
  return draw`<h1>${t('mine')}</h1><p>${t('mine-text')}</p>${table([t('when'), t('drills-head'), t('result'), t('points-head'), ''],
    results.map(one => [one.when, one.drill + ' ' + one.title, t(one.result), one.points ?? '', button('delete', one.id, t('delete-mine', one.drill, one.when))]), t('mine'))}${button('print', '', t('print'))}`;
}

function exam_page() {
  const { exam } = news;
  if (!exam.over) return draw`<h1>${t('handed-in', exam.at, exam.of)}</h1>${button('next-of-exam', '', t('next-of-exam'), 'class="main"')}`;
  return draw`<h1>${t('exam-over')}</h1>${table([t('drills-head'), t('result'), t('points-head'), ''],
    exam.drills.map((one, i) => [one.number + ' ' + one.title, t(one.result), one.points ?? '', button('explain', i + 1, t('explain', one.number, one.title))]), t('exam-over'))}
    ${button('go', '/drills', t('pick'))}${button('print', '', t('print'))}`;
}

function warning(state) {
  if (!state.warned) return '';
  const words = state.cards.find(card => card.id === state.warned.id)?.words ?? t(state.warned.id === 'acknowledge-early' ? 'acknowledge-first' : state.warned.id);
  return draw`<p class="danger" role="alert" id="warning" tabindex="-1"><strong>${t('danger-head')}:</strong> ${t('danger-text', words, state.warned.why)}</p>${button('understood', '', t('understood'), 'class="main"')}`;
}

function drill_page() {
  const { state, exam } = news;
  const step = [secure, look, name_it, act_step, debrief][state.step - 1](state, exam, drills);
  const way = draw`<ol class="way">${STEPS.map((one, i) => draw`<li ${attributes(i + 1 === state.step ? 'aria-current="step"' : '')}>${i + 1} ${t(one)}</li>`)}</ol>`;
  return [draw`<h1>${t('step', state.step, t(STEPS[state.step - 1]))}</h1>${way}`, entry('', draw`<p>${state.drill.plant}. ${state.drill.story}</p>
    ${state.cause ? draw`<p class="amber"><strong>${t('the-cause')}:</strong> ${state.cause}</p>` : ''}${warning(state)}`), step, helps(state)];
}

function helps(state) {
  const clock = state.step === 5 || news.paused ? '' : button('hold', '', t(news.held ? 'let-clock-run' : 'hold-clock'));
  return entry('', draw`${clock}<details><summary>${t('keys')}</summary><p><label><input type="checkbox" id="keys" ${attributes(are_on() ? 'checked' : '')}> ${t('keys-on')}</label></p><p>${t('keys-list')}</p></details>`);
}

// ---- drawing the page ----
const at_drill = () => me.joined && Boolean(news?.state) && /^\/(drill\/|exam)/.test(location.pathname);
function page() {
  if (!me.joined) return join_page();
  if (at_drill()) return drill_page();
  if (location.pathname === '/exam' && news?.exam) return exam_page();
  return location.pathname === '/mine' ? mine_page() : drills_page();
}

function where_we_are() {
  if (!me.joined) return '';
  if (exam_under_way()) return me.name + ', ' + t('exam-at', news.exam.at, news.exam.of);
  return at_drill() ? me.name + ', ' + t('drill', news.state.drill.number, news.state.drill.title) : me.name;
}

function show() {
  const behind = Date.now() - heard, listening = me.joined && stream !== null;
  looking.old = listening && behind > LATE_MS;
  put('main', draw`${page()}`);
  put_text('where', where_we_are());
  put('ways', me.joined ? draw`<a href="/drills">${t('drills')}</a><a href="/mine">${t('mine')}</a>` : draw``);
  put('trouble', draw`${troubles(behind, listening)}`);
  say();
}

/** What an alert says changes seldom: what counts up or down in it is not spoken. */
function troubles(behind, listening) {
  const lines = [];
  if (trouble) lines.push(draw`<p>${trouble}</p>`);
  if (try_at !== null && me.joined) lines.push(draw`<p>${t('lost')} <span aria-hidden="true">${t('in-seconds', Math.max(0, Math.ceil((try_at - Date.now()) / 1000)))}</span> ${button('try-now', '', t('try-now'))}</p>`);
  else if (listening && at_drill() && behind > LATE_MS) lines.push(draw`<p>${t('late', Math.floor(behind / 1000), hour_at(news.state.begins, news.state.plant_time))}</p>`);
  else if (listening && at_drill() && behind > LITTLE_LATE_MS) lines.push(draw`<p class="little" aria-hidden="true">${t('a-little-late', (behind / 1000).toFixed(1))}</p>`);
  if (notice) lines.push(draw`<p>${notice}</p>`);
  if (news?.windows > 1 && at_drill()) lines.push(draw`<p>${t('windows')}</p>`);
  return lines;
}

let spoken = '', spoken_at = 0;
/** The status line speaks changes of state only, and not more than one in two seconds. */
function say() {
  let words = '';
  if (at_drill()) {
    const { state } = news;
    words = state.machine.name + ' ' + (state.machine.moves ? t('moves') : t('stands'));
    for (const end of [state.controller, state.io]) if (end) words += '. ' + end.name + ': ' + t('s-' + end.state) + ', ' + cause_of(end);
    if (news.paused) words += '. ' + t('paused');
    else if (news.held) words += '. ' + t('held');
  }
  if (words === spoken || (words && Date.now() - spoken_at < SPEAK_EVERY_MS)) return;
  spoken = words;
  spoken_at = Date.now();
  put_text('status', words);
}

// ---- talking to the trainer's computer ----
async function get(path) {
  try {
    const reply = await fetch('/api/' + path);
    return reply.ok ? await reply.json() : null;
  } catch { return null; }
}
async function post(path, fields = {}) {
  let reply;
  try {
    reply = await fetch('/api/' + path, { method: 'POST', headers: { 'X-Token': me.token ?? '' }, body: new URLSearchParams(fields) });
  } catch {
    lose();
    return null;
  }
  const body = await reply.json().catch(() => null);
  trouble = reply.ok ? '' : t(body?.error ?? String(reply.status));
  if (reply.status === 401) await enter(t('rejoin'));
  return reply.ok ? body : null;
}

function take(told) {
  news = told;
  heard = Date.now();
  if (run && run !== told.run) notice = t('restarted');
  run = told.run;
  show();
  document.documentElement.dataset.told = told.told_ms;
}

function listen() {
  if (stream) stream.close();
  stream = new EventSource('/api/events');
  stream.onmessage = message => { try_at = null; take(JSON.parse(message.data)); };
  stream.onerror = lose;
}
function lose() {
  if (stream) stream.close();
  stream = null;
  if (try_at === null) try_at = Date.now() + TRY_AGAIN_MS;
}
async function try_again() {
  const told = await get('me');
  try_at = told === null ? Date.now() + TRY_AGAIN_MS : null;
  if (told !== null) await enter(told.joined ? '' : t('rejoin'), told);
  show();
}

async function enter(words = '', told = undefined) {
  me = told ?? await get('me') ?? { joined: false };
  notice = words || notice;
  if (me.joined) {
    drills = (await get('drills'))?.drills ?? [];
    results = (await get('results'))?.results ?? [];
    const state = await get('state');
    if (state) take(state);
    listen();
  } else {
    if (stream) stream.close();
    stream = null;
    news = null;
  }
  show();
}

/** What was begun is shown from its top. */
function go_to(path, told) {
  if (!told) return show();
  choose_nothing();
  notice = '';
  looking.moment = null;
  if (location.pathname !== path) history.pushState(null, '', path);
  take(told);
  scrollTo(0, 0);
  document.getElementById('main').focus();
}

/** Nothing where the trainee stays in an exam. */
function may_leave() {
  if (!exam_under_way()) return '';
  return confirm(t('sure-leave-exam')) ? 'true' : null;
}

async function begin(number) {
  const drill = number === 'random' ? drills[Math.floor(Math.random() * drills.length)].number : number;
  const leave = may_leave();
  if (leave === null) return;
  go_to('/drill/' + drill, await post('start', { drill, leave }));
}

async function act(name, fields) {
  const step = news?.state?.step, warned = Boolean(news?.state?.warned);
  const told = await post('act', { act: name, ...fields });
  if (!told) return show();
  take(told);
  const warning = document.getElementById('warning');
  if (warning && !warned) {
    warning.scrollIntoView({ block: 'center' });
    warning.focus();
  }
  if (news.state?.step === step) return;
  scrollTo(0, 0);
  (document.getElementById('question') ?? document.getElementById('main')).focus();
  if (news.state?.step === 5) {
    looking.moment = null;
    results = (await get('results'))?.results ?? results;
  }
}

const hold = async () => { const told = await post('hold', { on: news?.held ? '' : 'true' }); if (told) take(told); else show(); };

async function remove(id) {
  const one = results.find(result => String(result.id) === id);
  if (!one || !confirm(t('sure-mine', one.drill))) return;
  results = (await post('delete', { id }))?.results ?? results;
  show();
}

const PRESSED = {
  begin,
  again: () => begin(news.state.drill.number),
  next: () => { const at = drills.findIndex(drill => drill.number === news.state.drill.number); begin(drills[(at + 1) % drills.length].number); },
  exam: async () => { const leave = may_leave(); if (leave !== null) go_to('/exam', await post('exam', { leave })); },
  'next-of-exam': async () => go_to('/exam', await post('next')),
  explain: async place => go_to('/exam', await post('explain', { place })),
  go: path => { location.href = path; },
  print: () => print(),
  delete: remove,
  hold,
  'try-now': try_again,
  choose: id => { const { actions } = choices; choices.actions = actions.includes(id) ? actions.filter(one => one !== id) : [...actions, id].slice(0, ACTIONS_MAX); show(); },
  earlier: id => { const { actions } = choices, at = actions.indexOf(id); actions.splice(at - 1, 0, ...actions.splice(at, 1)); show(); },
  name: () => act('name', choices.named),
  do: () => act('do', { value: choices.actions.join(',') }),
};
document.addEventListener('click', event => {
  const pressed = event.target.closest('[data-act]');
  if (!pressed) return;
  const { act: name, value } = pressed.dataset;
  if (PRESSED[name]) PRESSED[name](value); else act(name, { value });
});
document.addEventListener('change', event => {
  if (event.target.name in choices.named) choices.named[event.target.name] = event.target.value;
  if (event.target.id === 'keys') switch_keys(event.target.checked);
});
document.addEventListener('input', event => {
  if (event.target.id !== 'moment') return;
  looking.moment = Number(event.target.dataset.moments.split(' ')[event.target.value]);
  show();
});
document.addEventListener('submit', async event => {
  event.preventDefault();
  const joined = await post('join', { name: document.getElementById('name').value, code: document.getElementById('code')?.value ?? '' });
  if (joined) { notice = ''; await enter(); } else show();
});
addEventListener('popstate', show);
setInterval(() => {
  if (try_at !== null && Date.now() >= try_at) { try_at = Date.now() + LOST_MS; try_again(); } else if (try_at !== null || at_drill()) show();
}, 500);
listen_to_keys(hold);

document.title = t('title');
put_text('book', t('title'));
put_text('skip-bench', t('skip-bench'));
put_text('skip-question', t('skip-question'));
document.getElementById('ways').setAttribute('aria-label', t('pages'));
put('main', draw`<p>${t('moment')}</p>`);
enter();
