// The instructor's page: room, faults by hand, clock, results, records. The secret stands after # in the address, so it
// never travels in one.
import { t } from '/texts.js';
import { draw, put, put_text, button, table, minutes_of, attributes } from '/drawing.js';
import { log_line, done_words, WAYS } from '/bench.js';

const LOOK_EVERY_MS = 1000;
const secret = location.hash.slice(1);
const $ = id => document.getElementById(id);

async function ask(path, fields) {
  const options = { headers: { 'X-Token': secret } };
  if (fields) Object.assign(options, { method: 'POST', body: new URLSearchParams(fields) });
  const reply = await fetch('/api/instructor/' + path, options);
  if (!reply.ok) throw new Error((await reply.json().catch(() => ({}))).error ?? reply.status);
  return reply;
}
async function act(path, fields) {
  try {
    const { refused } = await (await ask(path, fields)).json();
    put_text('status', refused ? t('i-refused', refused) : t('i-done'));
  } catch (error) {
    put_text('status', String(error.message));
  }
  await look();
}

// ---- the room ----
const small = (act, id, words, label) => button(act, id, words, `aria-label="${label}"`);
function row_of(one) {
  const named = words => `${words}: ${one.name}`.replace(/["<>&]/g, ' ');
  const hand = (what, words) => small(what, one.id, t(words), named(t(words)));
  const last = one.last ? done_words(one.last, one.about) : '';
  const pace = (to, words) => button(to, one.id, t(words), `aria-label="${named(t(words))}" aria-pressed="${one.pace === to}"`);
  return [[one.name, one.away ? draw`<br><span class="soft">${t('i-away')}</span>` : ''],
    [one.drill ?? '', one.exam_of ? draw`<br>${t('i-exam', one.exam_at, one.exam_of)}` : ''], one.step ?? '',
    draw`<span id="clock-${one.id}">${minutes_of(one.seconds ?? 0)}</span>`,
    [last, one.dangerous ? draw` <strong class="danger">${t('danger-head')}</strong>` : '', one.waits ? draw`<br>${t('i-waits')}` : ''],
    [one.cause ?? '', (one.broken ?? []).map(words => draw`<br><strong>${words}</strong>`)],
    [one.drill ? [button('cause', one.id, t('i-show'), `aria-label="${named(t('i-show'))}" aria-pressed="${one.cause_shown}"`),
      pace('paused', one.dangerous ? 'i-talk' : 'i-pause'), pace('quarter', 'i-quarter'), pace('real', 'i-real')] : '', hand('free', 'i-free')]];
}

let trainees = [];
const trainee = id => trainees.find(one => one.id === id);

function show_room(room) {
  trainees = room.trainees;
  put_text('here', [t('i-here', room.here, room.places), room.code ? t('i-code', room.code) : '', t('i-address', room.address), t('i-names')].join(' '));
  put_text('status', room.problem ? t('i-problem', room.problem) : $('status').textContent);
  put('all', draw`${button('paused', 'all', t('i-pause-all'))}${button('real', 'all', t('i-real-all'))}`);
  put('room', room.trainees.length ? table([t('name'), t('drills-head'), t('i-step'), t('i-clock'), t('i-last'), t('i-cause'), t('i-acts')], room.trainees.map(row_of), t('room')) : draw`<p>${t('i-nobody')}</p>`);
  const who = $('who'), chosen = who.value;
  put('who', draw`<option value="all">${t('i-all')}</option>${room.trainees.map(one => draw`<option value="${one.id}">${one.name}</option>`)}`);
  who.value = [...who.options].some(option => option.value === chosen) ? chosen : 'all';
}

// ---- results and records ----
let results = [], cut_off = false;
function show_results(told) {
  results = told;
  put('results', results.length ? table([t('when'), t('name'), t('drills-head'), t('result'), t('points-head'), t('i-clock'), t('what'), t('i-acts')],
    results.map(one => [one.when, one.name, one.drill + ' ' + one.title, t(one.result), one.points ?? '', minutes_of(one.seconds),
      [one.what ? t('w-' + one.where) + '; ' + t('e-' + one.what) : t('cannot-tell'), draw`<br><span class="soft">${one.actions}</span>`],
      [button('record', one.id, t('i-record', one.name, one.drill)), button('person', one.id, t('i-person', one.name)), button('delete', one.id, t('i-delete'), `aria-label="${(t('i-delete') + ': ' + one.name + ', ' + one.drill).replace(/["<>&]/g, ' ')}"`)]]), t('results')) : draw`<p>${t('no-results')}</p>`);
}

/** One drill of a record: what was answered, what it was worth, what was done. */
function record_of_drill({ result, record }) {
  const words = (kind, list) => list.map(one => t(kind + one)).join('; ') || '-';
  const rows = [['r-when', result.when], ['r-took', minutes_of(result.seconds)], ['r-mode', t(result.mode === 'exam' ? 'exam-head' : 'practice')],
    ['r-result', t(result.result)], ['r-points', result.points ?? t('r-told')]];
  if (record) rows.push(['r-secured', words('', record.conduct)], ['r-evidence-kept', words('r-', record.kept)],
    ['r-diagnosis', record.cannot_tell ? t('cannot-tell') : t('w-' + record.where) + '; ' + t('e-' + record.what)], ['r-actions', record.actions.join('; ')],
    ['r-hints', result.hints], ['r-plant-minutes', record.minutes + ' min'], ['the-cause', record.cause]);
  return draw`<h2>${t('drill', result.drill, result.title)}</h2><dl>${rows.map(([key, value]) => draw`<dt>${t(key)}</dt><dd>${value}</dd>`)}</dl>
    ${record ? draw`${record.dangerous.map(one => draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${t(one.words)}: ${one.why}</p>`)}
    <h3>${t('r-log')}</h3><ol class="plain">${record.log.map(line => draw`<li>${log_line(record.begins, line)}</li>`)}</ol>` : ''}`;
}

/** Of these results, which are of one person. */
async function show_record(of_person) {
  const records = [];
  for (const one of of_person) records.push(await (await ask('record?id=' + encodeURIComponent(one.id))).json());
  const several = records.length > 1 ? table([t('r-when'), t('r-drill'), t('r-took'), t('r-result'), t('r-points')], records.map(({ result }) =>
    [result.when, result.drill + ' ' + result.title, minutes_of(result.seconds), t(result.result), result.points ?? t('r-told')]), t('r-head')) : '';
  $('record').hidden = false;
  put('record', draw`<h1 id="record-head" tabindex="-1">${t('r-head')}</h1><dl><dt>${t('r-name')}</dt><dd>${of_person[0].name}</dd></dl>${several}
    <p>${t('r-note')}</p><p class="sign">${t('r-signed')}</p><p class="sign">${t('r-signature')}</p>${records.map(record_of_drill)}
    <p class="foot">${button('print-record', '', t('i-print-record'), 'class="main"')}${button('close', '', t('i-close'))}</p>`);
  $('record-head').focus();
  $('record').scrollIntoView();
}
const result_of = id => results.find(one => String(one.id) === id);

async function save(name) {
  const reply = await ask(name);
  const link = document.createElement('a');
  link.href = URL.createObjectURL(await reply.blob());
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
}

/** Asks once, and names the record. */
function remove(id) {
  const one = result_of(id);
  if (one && confirm(t('i-sure', one.name, one.drill))) act('delete', { id });
}

function print_record() {
  document.body.classList.add('record-only');
  print();
  document.body.classList.remove('record-only');
}

const pace = to => who => act('pace', { who, pace: to });
const PRESSED = {
  cause: who => act('cause', { who, show: !trainee(who)?.cause_shown }),
  paused: pace('paused'), quarter: pace('quarter'), real: pace('real'),
  free: who => { if (confirm(t('i-sure-free', trainee(who)?.name))) act('free', { who }); },
  'put-in': () => act('put-in', { who: $('who').value, way: $('way').value, where: $('at').value, lasting_ms: $('lasting').value, when: $('when').value, after_s: $('when').value === 'seconds' ? $('after').value : 0 }),
  'take-out': () => act('take-out', { who: $('who').value }),
  save: name => save(name),
  record: id => show_record([result_of(id)]),
  person: id => show_record(results.filter(one => one.name === result_of(id).name)),
  'print-record': print_record,
  close: () => { $('record').hidden = true; $('main').focus(); },
  delete: remove,
  print: () => print(),
};
document.addEventListener('click', event => {
  const pressed = event.target.closest('[data-act]');
  if (pressed) PRESSED[pressed.dataset.act]?.(pressed.dataset.value);
});

function build() {
  const choice = (id, label, options) => draw`<label>${t(label)} <select id="${id}">${options.map(([value, text]) => draw`<option value="${value}">${t(text)}</option>`)}</select></label> `;
  const number = (id, label, least, most, value, extra = '') => draw`<label>${t(label)} <input id="${id}" type="number" min="${least}" max="${most}" value="${value}" ${attributes(extra)}></label> `;
  put('fault', draw`${choice('who', 'i-who', [['all', 'i-all']])}${choice('way', 'i-what', Object.entries(WAYS))}
    ${choice('at', 'i-where', ['way-out', 'way-back', 'both-ways', 'controller', 'io'].map(place => [place, 'w-' + place]))}${number('lasting', 'i-lasting', 1, 600000, 1000)}
    ${choice('when', 'i-when', [['now', 'w-now'], ['demand', 'w-demand'], ['seconds', 'w-seconds']])}${number('after', 'i-seconds', 0, 60, 10)}
    <p>${button('put-in', '', t('i-put-in'), 'class="main"')}${button('take-out', '', t('i-take-out'))}</p>`);
  put('export', draw`${button('save', 'results.csv', t('i-csv'))}${button('save', 'results.json', t('i-json'))}${button('print', '', t('i-print'))}`);
  for (const [id, key] of [['book', 'title'], ['page-name', 'instructor'], ['h-room', 'room'], ['h-fault', 'i-fault'], ['h-results', 'results']]) put_text(id, t(key));
  document.title = t('title-instructor');
}

async function look() {
  try {
    show_room(await (await ask('room')).json());
    show_results((await (await ask('results.json')).json()).results);
    if (cut_off) put_text('status', '');
    cut_off = false;
  } catch (error) {
    cut_off = true;
    put_text('status', secret ? t('lost') + ' ' + error.message : t('i-secret'));
  }
}

$('fault').addEventListener('submit', event => event.preventDefault());
build();
look();
setInterval(look, LOOK_EVERY_MS);
