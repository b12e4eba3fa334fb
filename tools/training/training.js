// The trainee's page: shows what the trainer's computer says, and brings it what was pressed. Each change is drawn as a
// whole and then laid over the page, so that focus and choices stay where they are.
'use strict';
let me = { joined: false }, state = null, exam = false, drills = [], results = [];
let heard = 0, trouble = '', chosen = [], named = { where: '', what: '', because: '' }, spoken = '', stream = null;

// ---- drawing ----
const escaped = text => String(text).replace(/[&<>"']/g, c => '&#' + c.charCodeAt(0) + ';');
/** Marks what is drawn already; everything else in a template is text. */
class Drawn { constructor(html) { this.html = html; } }
function draw(parts, ...values) {
  const drawn = value => value instanceof Drawn ? value.html : Array.isArray(value) ? value.map(drawn).join('') :
    value === null || value === undefined || value === false ? '' : escaped(value);
  return new Drawn(parts.reduce((html, part, i) => html + drawn(values[i - 1]) + part));
}

/** Makes `old` look like `wanted` without putting anew what stays. */
function lay_over(old, wanted) {
  for (const { name } of [...old.attributes]) if (!wanted.hasAttribute(name)) old.removeAttribute(name);
  for (const { name, value } of [...wanted.attributes]) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  if (old instanceof HTMLInputElement && old.type !== 'text') old.checked = wanted.checked;
  const fresh = [...wanted.childNodes];
  for (let i = 0; i < fresh.length; ++i) {
    const there = old.childNodes[i], next = fresh[i];
    if (!there) old.append(next);
    else if (there.nodeType !== next.nodeType || there.nodeName !== next.nodeName || there.id !== next.id) there.replaceWith(next);
    else if (there.nodeType === Node.TEXT_NODE) { if (there.data !== next.data) there.data = next.data; }
    else lay_over(there, next);
  }
  while (old.childNodes.length > fresh.length) old.lastChild.remove();
}

function put(id, drawn) {
  const old = document.getElementById(id), wanted = old.cloneNode(false);
  wanted.innerHTML = drawn.html;
  lay_over(old, wanted);
}

const MARKS = {
  'start-up': '<circle cx="10" cy="10" r="7" stroke-dasharray="4 3"/>',
  running: '<circle class="full" cx="10" cy="10" r="7"/>',
  'safe-state': '<rect class="full" x="3" y="3" width="14" height="14"/>',
  'awaiting-acknowledgement': '<rect x="3" y="3" width="14" height="14"/><rect class="full" x="3" y="10" width="14" height="7"/>',
  unknown: '<path d="M10 2l8 8-8 8-8-8z"/><path d="M10 6v5M10 13v1"/>',
};
const mark = id => draw`<span class="state ${id}"><svg viewBox="0 0 20 20" aria-hidden="true">${new Drawn(MARKS[id])}</svg>${t('s-' + id)}</span>`;
const button = (act, value, words, extra = '') => draw`<button type="button" id="b-${act}-${value}" data-act="${act}" data-value="${value}" ${new Drawn(extra)}>${words}</button>`;
const entry = (time, body, id = '') => draw`<section class="entry" ${new Drawn(id && `id="${id}" tabindex="-1"`)}><div class="time">${time}</div><div class="body">${body}</div></section>`;
const rounded = ms => ms === null ? '' : ms >= 100 ? Math.round(ms) : Math.round(ms * 10) / 10;
function lasted(ms) { return ms < 10000 ? (ms / 1000).toFixed(1) + ' s' : Math.round(ms / 1000) + ' s'; }
function hour(plant_time) {
  const [h, m, s] = state.begins.split(':').map(Number);
  const all = h * 3600 + m * 60 + s + Math.floor(plant_time);
  return [Math.floor(all / 3600) % 24, Math.floor(all / 60) % 60, all % 60].map(n => String(n).padStart(2, '0')).join(':');
}

// ---- the bench ----
function cause_of(end) {
  if (end.refusal) return t('refusal', end.refusal);
  return end.cause === 'rejected-telegram' && end.measure ? t('c-' + end.measure) : t('c-' + end.cause);
}
const shown_state = id => Date.now() - heard > 1000 ? 'unknown' : id;

function end_panel(end, title, readings) {
  if (!end) return draw`<div><h3>${title}</h3><p class="soft">${t('not-read')}</p></div>`;
  const rejected = Object.entries(end.rejected_by).map(([measure, count]) => `${count} (${t('c-' + measure)})`).join(', ') || '0';
  const rows = [
    ['received', end.per_second ? t('rising', end.received, end.per_second) : t('still', end.received)],
    ['accepted', end.accepted], ['rejected', rejected],
    ['last-good', end.last_good_ms === null ? t('never') : t('ago', lasted(end.last_good_ms), end.watchdog_ms)],
    ['number-sent', end.number_sent], ['number-received', end.number_received],
    ['on-since', end.on_since ?? lasted(end.on_for_ms)], ['starts-today', end.starts],
    ['longest-cycle', t('normal', rounded(end.longest_cycle_ms), end.cycle_ms)]];
  if (end.age_ms !== null) rows.push(['age', t('ms', rounded(end.age_ms))]);
  if (end.longest_trip_ms !== undefined && end.longest_trip_ms !== null)
    rows.push(['round-trip', t('trip', rounded(end.trip_ms), rounded(end.longest_trip_ms)) + ' (' + hour(end.longest_trip_at) + ')']);
  return draw`<div><h3>${end.name}</h3><p>${mark(shown_state(end.state))}<br>${cause_of(end)}</p>
    <dl>${rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`)}</dl>${readings}</div>`;
}

function keep_button(reading) {
  const kept = state.kept.includes(reading);
  return button('keep', reading, t('keep') + ': ' + t('r-' + reading), `aria-pressed="${kept}"`);
}
const has_used = instrument => state.used.includes(instrument);

function signals() {
  return draw`<h3>${t('signals')}</h3><dl>${state.signals.map(signal => draw`<dt>${signal.name}</dt>
    <dd>${t('sent-used', signal.sent ? '1' : '0', signal.substitute ? t('substitute', '0') : signal.used ? '1' : '0')}</dd>`)}
    ${state.guards.filter(guard => guard.latched).map(guard => draw`<dt>${guard.name}</dt><dd>${t('latched')}</dd>`)}</dl>
    <p>${t('request', state.request ? t('yes') : t('no'))}; ${t(state.acknowledge_contact ? 'contact-closed' : 'contact-open')}</p>`;
}

function bench() {
  const both = has_used('controller-panel') && has_used('io-panel');
  return entry([t('now'), draw`<br>`, hour(state.plant_time)], draw`<p>${machine_line()}</p><div class="ends">
    ${end_panel(state.controller, t('controller'), [has_used('controller-panel') ? [keep_button('controller-panel'), keep_button('longest-cycle'), keep_button('round-trips')] : null, both ? keep_button('received-counters') : null])}
    ${end_panel(state.io, t('device'), [has_used('io-panel') ? [keep_button('io-panel'), keep_button('on-since')] : null, both ? keep_button('ages') : null])}
    <div>${signals()}${keep_button('signals')}</div></div>`, 'bench');
}
const machine_line = () => t('machine', state.machine.name, state.machine.moves ? t('moves') : t('stands'), state.machine.speed, state.machine.full);

function strip(samples) {
  if (samples.length < 2) return '';
  const [w, h] = [860, 220], from = samples[0][0], span = samples.at(-1)[0] - from || 1;
  const x = sample => 40 + (w - 130) * (sample[0] - from) / span;
  const line = (value, top, css, words, place) => draw`<polyline class="${css}" points="${samples.map(s => x(s).toFixed(1) + ',' + (h - 30 - (h - 50) * Math.min(1, (value(s) ?? top) / top)).toFixed(1)).join(' ')}"/><text x="${w - 84}" y="${place}">${words}</text>`;
  const full = state.machine.full || 1;
  return draw`<svg class="chart" viewBox="0 0 ${w} ${h}" role="img" aria-label="${t('strip-text')}">
    <text x="2" y="24">200</text><text x="2" y="${h - 30}">0</text>
    ${line(s => s[1], full, 'l1', t('speed') + ' ' + samples.at(-1)[1], 30)}
    ${line(s => s[2], 200, 'l2', t('silence-c'), 60)}${line(s => s[3], 200, 'l4', t('silence-d'), 90)}
    <text x="40" y="${h - 8}">${hour(from)}</text><text x="${w - 150}" y="${h - 8}">${hour(samples.at(-1)[0])}</text></svg><p class="soft">${t('strip-text')}</p>`;
}

function event_words(event) {
  if (event.what === 'changed') return t('t-changed', event.about, t('s-' + event.state), t('c-' + event.more));
  return t('t-' + event.what, event.what === 'fault' ? t('e-' + event.about) : event.about ?? '');
}
const exactly = plant_time => hour(plant_time) + (plant_time % 1).toFixed(3).slice(1);

function table(heads, rows, words) {
  return draw`<div class="wide" tabindex="0" role="region" aria-label="${words}"><table><thead><tr>${heads.map(head => draw`<th scope="col">${head}</th>`)}</tr></thead><tbody>${rows.map(row => draw`<tr>${row.map(cell => draw`<td>${cell}</td>`)}</tr>`)}</tbody></table></div>`;
}

function telegram_row(one) {
  const notes = [one.measure && t('c-' + one.measure), one.bits_changed && t('bits-changed', one.bits_changed), one.verdict === 'rejected' && one.fits !== null && t('fits', '0x' + one.fits.toString(16).toUpperCase().padStart(4, '0'))].filter(Boolean).join('; ');
  return [exactly(one.at), one.end, t('v-' + (one.kind === 'sent' ? 'sent' : one.verdict)) + (notes ? ': ' + notes : ''), one.number ?? '', draw`<span class="bytes">${one.bytes}</span>`];
}
const telegram_heads = () => [t('time'), t('at'), t('verdict'), t('number'), t('bytes')];

function instruments_read() {
  const parts = [];
  if (state.time_line) parts.push(entry('', draw`<h2>${t('time-line')}</h2>${strip(state.time_line.strip)}
    ${table([t('time'), t('what')], state.time_line.events.slice(-30).map(event => [exactly(event.at), event_words(event)]), t('time-line'))}${state.step < 5 ? keep_button('time-line') : ''}`));
  if (state.telegrams) parts.push(entry('', draw`<h2>${t('telegrams')}</h2>
    ${state.telegrams.around_stop.length ? [draw`<h3>${t('around-stop')}</h3>`, table(telegram_heads(), state.telegrams.around_stop.slice(46, 76).map(telegram_row), t('around-stop'))] : ''}
    <h3>${t('latest')}</h3>${table(telegram_heads(), state.telegrams.latest.slice(-16).map(telegram_row), t('latest'))}${state.step < 5 ? keep_button('telegrams') : ''}`));
  if (state.settings) parts.push(entry('', draw`<h2>${t('settings')}</h2>${table([t('setting'), t('sheet'), t('controller'), t('device')], state.settings.map(row => [row.what, address(row.sheet), address(row.controller), address(row.device)]), t('settings'))}${state.step < 5 ? keep_button('settings') : ''}`));
  if (state.neighbour) parts.push(entry('', draw`<h2>${t('neighbour')}</h2>${state.neighbour.length ? state.neighbour.map(end => draw`<h3>${end.name}, ${end.end}</h3><p>${mark(end.state)} ${end.refusal ? t('refusal', end.refusal) : ''}</p><dl><dt>${t('received')}</dt><dd>${end.received}</dd><dt>${t('rejected')}</dt><dd>${end.rejected}</dd></dl>`) : draw`<p>${t('no-neighbour')}</p>`}${state.step < 5 ? keep_button('neighbour') : ''}`));
  return parts;
}
const address = value => typeof value === 'number' ? '0x' + value.toString(16).toUpperCase().padStart(4, '0') : value ?? '';

function log() {
  const lines = state.log.map(line => {
    const about = line.what === 'step' ? line.about : t(line.what === 'keep' ? 'r-' + line.about : line.about);
    return draw`<li>${hour(line.at)} ${t('l-' + line.what, about)}</li>`;
  }).reverse();
  return entry(t('log'), draw`<div class="log" role="log" aria-live="off" tabindex="0" aria-label="${t('log')}"><ol>${lines}</ol></div>`);
}

function acts() {
  return entry('', draw`<h3>${t('at-the-bench')}</h3>${button('acknowledge', '', t('acknowledge'))}${button('reset', '', t('reset'))}${button('restart', '', t('restart'))}`);
}
function hints() {
  if (exam) return '';
  return entry('', draw`${state.hints.length ? draw`<h3>${t('hints')}</h3><ol>${state.hints.map(hint => draw`<li>${hint}</li>`)}</ol>` : ''}${state.hints.length < 3 ? button('hint', '', t('hint')) : ''}`);
}

// ---- the five steps ----
const STEPS = ['secure', 'look', 'name-it', 'act', 'debrief'];
const pressed = list => word => button('conduct', word, t(word), `aria-pressed="${list.includes(word)}"`);

function secure() {
  return [entry('', draw`<h2 id="question" tabindex="-1">${t('secure-question')}</h2><p>${t('people', state.drill.people)}</p><p>${machine_line()}</p>
    <div>${['keep-out', 'leave-stopped', 'emergency-stop', 'lock-out', 'tell-shift', 'acknowledge-first'].map(pressed(state.conduct))}</div>`),
    log(), foot(button('step', 2, t('secured-go-on'), 'class="main"'))];
}
const foot = body => draw`<div class="foot">${body}</div>`;

function look() {
  const minutes = { 'controller-panel': 0, 'io-panel': 2, 'time-line': 1, telegrams: 5, settings: 5, neighbour: 2 };
  return [bench(), entry('', draw`<h2 id="question" tabindex="-1">${t('look-question')}</h2>
    <div>${Object.entries(minutes).map(([id, cost]) => button('instrument', id, t('minutes', t(id), cost), `aria-pressed="${has_used(id)}"`))}
    ${state.guards.map((guard, i) => button('demand', i, t('demand', guard.name)))}</div>
    ${has_used('test-demand') ? keep_button('test-demand') : ''}<p class="soft">${t('plant-minutes', state.minutes)}</p>
    <p>${t('kept', state.kept.map(reading => t('r-' + reading)).join('; ') || '-')}</p>`),
    instruments_read(), hints(), acts(), log(), foot(button('step', 3, t('go-on-name'), 'class="main"'))];
}

function radios(name, prefix, words) {
  return draw`<div class="choices">${words.map(word => draw`<label><input type="radio" name="${name}" value="${word}" ${new Drawn(named[name] === word ? 'checked' : '')}> ${t(prefix + word)}</label>`)}</div>`;
}
const WHERE = ['controller', 'way-out', 'way-back', 'both-ways', 'io', 'guard', 'settings', 'nothing'];
const WHAT = ['corruption', 'repetition', 'incorrect-sequence', 'loss', 'delay', 'insertion', 'masquerade', 'addressing', 'restart', 'stall', 'frozen-data', 'clock-drift', 'settings-differ', 'nothing'];

function name_it() {
  return [entry('', draw`<h2 id="question" tabindex="-1">${t('name-it')}</h2>
    <fieldset><legend>${t('where-is-it')}</legend>${radios('where', 'w-', WHERE)}</fieldset>
    <fieldset><legend>${t('what-is-it')}</legend>${radios('what', 'e-', WHAT)}</fieldset>
    <fieldset><legend>${t('because')}</legend>${state.kept.length ? radios('because', 'r-', state.kept) : draw`<p>${t('nothing-kept')}</p>`}</fieldset>`),
    hints(), bench(), log(), foot([button('step', 2, t('go-on-look')), button('cannot-tell', '', t('cannot-tell')), button('name', '', t('this-is-it'), 'class="main"')])];
}

function act_step() {
  const words = id => state.cards.find(card => card.id === id)?.words ?? id;
  return [entry('', draw`<h2 id="question" tabindex="-1">${t('act-question')}</h2>
    <h3>${t('chosen-order')}</h3><ol>${chosen.map((id, i) => draw`<li>${words(id)} ${i ? button('earlier', id, t('earlier', words(id))) : ''}${button('choose', id, t('take-away', words(id)))}</li>`)}</ol>
    <ul>${state.cards.filter(card => !chosen.includes(card.id)).map(card => draw`<li>${button('choose', card.id, card.words, chosen.length >= 4 ? 'disabled' : '')}</li>`)}</ul>`),
    log(), foot([button('step', 2, t('go-on-look')), button('do', '', t('do-these'), chosen.length ? 'class="main"' : 'disabled')])];
}

function debrief() {
  const score = state.score;
  const good = score.result.startsWith('safe');
  const name = remark => state.cards.find(card => card.id === remark.about)?.words ?? t(remark.part === 'evidence' ? 'r-' + remark.about : remark.part === 'diagnosis' ? (WHAT.includes(remark.about) ? 'e-' : 'w-') + remark.about : remark.about);
  const rejected = state.telegrams?.around_stop.find(one => one.verdict === 'rejected');
  return [entry('', draw`<h2 id="question" tabindex="-1"><span class="${score.points === null ? 'danger' : good ? 'good' : 'amber'} state">${t(score.result)}</span></h2>
    ${score.points === null ? '' : draw`<p>${t('points', score.points, score.secure, score.evidence, score.diagnosis, score.action)}</p>`}
    ${score.dangerous.map(one => draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${t('danger-text', state.cards.find(card => card.id === one.id)?.words ?? t(one.id), one.why)}</p>`)}
    <p><strong>${state.drill.title}:</strong> ${score.debrief}</p>
    <h3>${t('the-cause')}</h3><p>${score.cause}</p><p>${t('right-answer', score.right_where.map(w => t('w-' + w)).join(' / '), score.right_what.map(w => t('e-' + w)).join(' / '))}</p>
    ${score.ran_on_ms === null ? '' : draw`<p>${t('ran-on', rounded(score.ran_on_ms))}</p>`}
    <h3>${t('right-acts')}</h3><ol>${score.needed.map(one => draw`<li>${state.cards.find(card => card.id === one.id)?.words}: ${one.why}</li>`)}</ol>
    <h3>${t('reasons')}</h3><ul>${score.remarks.map(remark => draw`<li>${t('p-' + remark.part)}: ${t('says-' + remark.says)}${remark.about ? ': ' + name(remark) : ''}${remark.why ? '. ' + remark.why : ''}</li>`)}</ul>
    <ul>${score.look_alikes.map(number => drills.find(drill => drill.number === number)).filter(Boolean).map(drill => draw`<li>${t('look-alikes', drill.number + ' ' + drill.title)}</li>`)}</ul>`),
    rejected ? entry('', draw`<h2>${t('one-telegram')}</h2>${table(telegram_heads(), [telegram_row(rejected)], t('one-telegram'))}`) : '',
    draw`<h2>${t('what-ends-knew')}</h2>`, bench_at_end(), instruments_read(), log(),
    foot([button('again', '', t('again')), button('next', '', t('next'), 'class="main"'), button('print', '', t('print'))])];
}
const bench_at_end = () => entry([t('now'), draw`<br>`, hour(state.plant_time)], draw`<div class="ends">${end_panel(state.controller, '', '')}${end_panel(state.io, '', '')}<div>${signals()}</div></div>`, 'bench');

// ---- pages ----
function join_page() {
  return draw`<h1>${t('join')}</h1><form id="join"><p><label>${t('name')} <input id="name" name="name" type="text" maxlength="40" autocomplete="off" required></label></p>
    ${me.code ? draw`<p><label>${t('code')} <input id="code" name="code" type="text" autocomplete="off" required></label></p>` : ''}<button class="main">${t('join')}</button></form>`;
}
function drills_page() {
  return draw`<h1>${t('pick')}</h1><p><label><input type="checkbox" id="exam" ${new Drawn(exam ? 'checked' : '')}> ${t('exam')}</label></p>
    <p>${button('begin', 'random', t('shuffled'))}</p><ul>${drills.map(drill => draw`<li>${button('begin', drill.number, drill.number + ' ' + drill.title)} <span class="soft">${drill.plant}</span></li>`)}</ul>`;
}
function mine_page() {
  if (!results.length) return draw`<h1>${t('mine')}</h1><p>${t('no-results')}</p>${button('go', '/drills', t('pick'))}`;
  return draw`<h1>${t('mine')}</h1>${table([t('when'), t('drills'), t('result'), t('points-head')], results.map(one => [one.when, one.drill + ' ' + one.title, t(one.result), one.points ?? '']), t('mine'))}${button('print', '', t('print'))}`;
}
function drill_page() {
  if (!state) return draw`<p>${t('pick')}: <a href="/drills">${t('drills')}</a></p>`;
  const step = [secure, look, name_it, act_step, debrief][state.step - 1]();
  return [draw`<h1>${t('step', state.step, t(STEPS[state.step - 1]))}</h1>`, entry('', draw`<p>${state.drill.plant}. ${state.drill.story}</p>
    ${state.cause ? draw`<p class="amber"><strong>${t('the-cause')}:</strong> ${state.cause}</p>` : ''}
    ${state.warned ? draw`<p class="danger" role="alert"><strong>${t('danger-head')}:</strong> ${t('danger-text', state.cards.find(card => card.id === state.warned.id)?.words ?? t('acknowledge-first'), state.warned.why)}</p>${button('understood', '', t('understood'), 'class="main"')}` : ''}`), step];
}

function show() {
  const path = location.pathname;
  const page = !me.joined ? join_page() : path.startsWith('/drill/') ? drill_page() : path === '/mine' ? mine_page() : drills_page();
  put('main', draw`${page}`);
  const at_drill = me.joined && path.startsWith('/drill/') && state;
  put('where', draw`${at_drill ? t('drill', state.drill.number, state.drill.title) : me.name ?? ''}`);
  put('ways', me.joined ? draw`<a href="/drills">${t('drills')}</a><a href="/mine">${t('mine')}</a>` : draw``);
  say(at_drill);
  const behind = Date.now() - heard;
  const words = !stream || !at_drill ? trouble : behind > 4000 ? t('lost') : behind > 1000 ? t('late', (behind / 1000).toFixed(1)) : trouble;
  if (document.getElementById('trouble').textContent !== words) document.getElementById('trouble').textContent = words;
}

/** The status line speaks changes of state only. */
function say(at_drill) {
  const line = document.getElementById('status');
  let words = '';
  if (at_drill) {
    words = state.machine.name + ' ' + (state.machine.moves ? t('moves') : t('stands'));
    for (const end of [state.controller, state.io]) if (end) words += '. ' + end.name + ': ' + t('s-' + end.state) + ', ' + cause_of(end);
    if (state.paused) words += '. ' + t('paused');
  }
  if (words === spoken) return;
  spoken = words;
  line.textContent = words;
}

// ---- talking to the trainer's computer ----
async function get(path) {
  const reply = await fetch('/api/' + path);
  return reply.ok ? reply.json() : null;
}
async function post(path, fields) {
  let reply;
  try {
    reply = await fetch('/api/' + path, { method: 'POST', headers: { 'X-Token': me.token ?? '' }, body: new URLSearchParams(fields) });
  } catch { trouble = t('lost'); return null; }
  const body = await reply.json().catch(() => null);
  trouble = reply.ok ? '' : t(body?.error ?? String(reply.status));
  if (reply.status === 401) { me = { joined: false }; }
  return reply.ok ? body : null;
}

function listen() {
  if (stream) stream.close();
  stream = new EventSource('/api/events');
  let drawn = 0;
  stream.onmessage = message => {
    heard = Date.now();
    const news = JSON.parse(message.data);
    exam = location.pathname.startsWith('/drill/') ? news.exam : exam;
    state = news.state;
    if (heard - drawn < 200 || !location.pathname.startsWith('/drill/')) return;
    drawn = heard;
    show();
  };
}

async function enter() {
  me = await get('me') ?? { joined: false };
  if (me.joined) {
    drills = (await get('drills'))?.drills ?? [];
    results = (await get('results'))?.results ?? [];
    state = await get('state');
    heard = Date.now();
    listen();
  }
  show();
}

async function begin(number) {
  const drill = number === 'random' ? drills[Math.floor(Math.random() * drills.length)].number : number;
  const mode = document.getElementById('exam')?.checked ?? exam ? 'exam' : 'practice';
  const begun = await post('start', { drill, mode });
  if (!begun) return show();
  state = begun;
  exam = mode === 'exam';
  heard = Date.now();
  chosen = [];
  named = { where: '', what: '', because: '' };
  history.pushState(null, '', '/drill/' + drill);
  scrollTo(0, 0);
  show();
  document.getElementById('main').focus();
}

async function act(name, fields) {
  const step = state?.step;
  const done = await post('act', { act: name, ...fields });
  if (done) state = done;
  show();
  if (done && state.step !== step) {
    scrollTo(0, 0);
    document.getElementById('question')?.focus();
    if (state.step === 5) results = (await get('results'))?.results ?? results;
  }
}

document.addEventListener('click', event => {
  const pressed_one = event.target.closest('[data-act]');
  if (!pressed_one) return;
  const { act: name, value } = pressed_one.dataset;
  if (name === 'begin') return begin(value);
  if (name === 'again') return begin(state.drill.number);
  if (name === 'next') { const at = drills.findIndex(drill => drill.number === state.drill.number); return begin(drills[(at + 1) % drills.length].number); }
  if (name === 'print') return print();
  if (name === 'go') { location.href = value; return; }
  if (name === 'choose') { chosen = chosen.includes(value) ? chosen.filter(id => id !== value) : [...chosen, value].slice(0, 4); return show(); }
  if (name === 'earlier') { const at = chosen.indexOf(value); chosen.splice(at - 1, 0, ...chosen.splice(at, 1)); return show(); }
  if (name === 'name') return act('name', named);
  if (name === 'do') return act('do', { value: chosen.join(',') });
  act(name, { value });
});
document.addEventListener('change', event => {
  if (event.target.name in named) named[event.target.name] = event.target.value;
});
document.addEventListener('submit', async event => {
  event.preventDefault();
  const joined = await post('join', { name: document.getElementById('name').value, code: document.getElementById('code')?.value ?? '' });
  if (joined) await enter(); else show();
});
addEventListener('popstate', show);
setInterval(() => { if (me.joined && location.pathname.startsWith('/drill/')) show(); }, 500);
enter();
