// The instructor's page: room, faults by hand, clock, results. The secret stands after # in the address, so it never
// travels in one.
'use strict';
const secret = location.hash.slice(1);
const $ = id => document.getElementById(id);

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === 'onclick') element.addEventListener('click', value);
    else element.setAttribute(key, value);
  }
  element.append(...children.filter(child => child !== null && child !== undefined));
  return element;
}

async function ask(path, fields) {
  const options = { headers: { 'X-Token': secret } };
  if (fields) Object.assign(options, { method: 'POST', body: new URLSearchParams(fields) });
  const reply = await fetch('/api/instructor/' + path, options);
  if (!reply.ok) throw new Error((await reply.json().catch(() => ({}))).error ?? reply.status);
  return reply;
}

async function act(path, fields) {
  try {
    await ask(path, fields);
    $('status').textContent = t('i-done');
  } catch (error) {
    $('status').textContent = String(error.message);
  }
  await look();
}

function table(heads, rows) {
  return make('table', {}, make('thead', {}, make('tr', {}, ...heads.map(head => make('th', { scope: 'col' }, head)))),
    make('tbody', {}, ...rows));
}

let shown = '';
function show_room(room) {
  $('here').textContent = [t('i-here', room.here, room.places), room.code ? t('i-code', room.code) : '', room.address].join(' ');
  const text = JSON.stringify(room.trainees.map(one => ({ ...one, seconds: 0 })));
  for (const one of room.trainees) {
    const clock = $('clock-' + one.id);
    if (clock && one.seconds !== undefined) clock.textContent = clock_of(one.seconds);
  }
  if (text === shown) return;
  shown = text;
  const focus = document.activeElement?.id;
  const button = (id, what, onclick) => make('button', { type: 'button', id, onclick }, t(what));
  const rows = room.trainees.map(one => make('tr', {},
    make('td', {}, one.name), make('td', {}, one.drill ?? ''), make('td', {}, String(one.step ?? '')),
    make('td', { id: 'clock-' + one.id }, clock_of(one.seconds ?? 0)),
    make('td', {}, one.last ? t('l-' + one.last, t(one.about ?? '')) : '', one.dangerous ? make('strong', { class: 'danger' }, ' ' + t('danger-head')) : null),
    make('td', {}, one.cause ?? '', ...(one.broken ?? [])),
    make('td', {},
      ...(one.drill ? [
        button('show-' + one.id, one.cause_shown ? 'i-hide' : 'i-show', () => act('cause', { who: one.id, show: !one.cause_shown })),
        button('pause-' + one.id, 'i-pause', () => act('pace', { who: one.id, pace: 'paused' })),
        button('quarter-' + one.id, 'i-quarter', () => act('pace', { who: one.id, pace: 'quarter' })),
        button('real-' + one.id, 'i-real', () => act('pace', { who: one.id, pace: 'real' }))] : []),
      button('free-' + one.id, 'i-free', () => act('free', { who: one.id })))));
  $('room').replaceChildren(rows.length ? table([t('name'), t('drills'), t('i-step'), t('i-clock'), t('i-last'), t('i-cause'), t('i-acts')], rows) : make('p', {}, t('i-nobody')));
  const who = $('who');
  const chosen = who.value;
  who.replaceChildren(make('option', { value: 'all' }, t('i-all')), ...room.trainees.map(one => make('option', { value: one.id }, one.name)));
  if ([...who.options].some(option => option.value === chosen)) who.value = chosen;
  if (focus) $(focus)?.focus();
}

const clock_of = seconds => Math.floor(seconds / 60) + ':' + String(seconds % 60).padStart(2, '0');

let results_shown = '';
function show_results(results) {
  const text = JSON.stringify(results);
  if (text === results_shown) return;
  results_shown = text;
  const rows = results.map(one => make('tr', {}, make('td', {}, one.when), make('td', {}, one.name), make('td', {}, one.drill + ' ' + one.title),
    make('td', {}, t(one.result)), make('td', {}, one.points === null ? '' : String(one.points)), make('td', {}, clock_of(one.seconds)),
    make('td', {}, [one.where, one.what, one.actions].filter(Boolean).join('; ')),
    make('td', {}, make('button', { type: 'button', onclick: () => { if (confirm(t('i-sure', one.name, one.drill))) act('delete', { id: one.id }); } }, t('i-delete')))));
  $('results').replaceChildren(rows.length ? table([t('when'), t('name'), t('drills'), t('result'), t('points-head'), t('i-clock'), t('what'), t('i-acts')], rows) : make('p', {}, t('no-results')));
}

async function save(name) {
  const reply = await ask(name);
  const link = make('a', { href: URL.createObjectURL(await reply.blob()), download: name });
  link.click();
  URL.revokeObjectURL(link.href);
}

function labelled(text, control) { return make('label', {}, text + ' ', control); }

function build() {
  const ways = ['drop', 'random-bits', 'instead', 'hold', 'step', 'neighbour', 'no-crc', 'swap', 'restart', 'stall', 'frozen-data', 'clock-drift'];
  const words = { drop: 'e-loss', 'random-bits': 'e-corruption', instead: 'e-repetition', hold: 'e-incorrect-sequence', step: 'e-delay', neighbour: 'e-insertion', 'no-crc': 'e-masquerade', swap: 'e-addressing' };
  const option = (value, text) => make('option', { value }, text);
  $('fault').append(
    labelled(t('i-who'), make('select', { id: 'who' }, option('all', t('i-all')))), ' ',
    labelled(t('i-what'), make('select', { id: 'way' }, ...ways.map(way => option(way, t(words[way] ?? 'e-' + way))))), ' ',
    labelled(t('i-where'), make('select', { id: 'at' }, ...['way-out', 'way-back', 'both-ways', 'controller', 'io'].map(place => option(place, t('w-' + place))))), ' ',
    labelled(t('i-lasting'), make('input', { id: 'lasting', type: 'number', min: 1, max: 600000, value: 1000 })), ' ',
    make('button', { type: 'button', id: 'put-in', onclick: () => act('put-in', { who: $('who').value, way: $('way').value, where: $('at').value, lasting_ms: $('lasting').value }) }, t('i-put-in')),
    make('button', { type: 'button', id: 'take-out', onclick: () => act('take-out', { who: $('who').value }) }, t('i-take-out')));
  $('export').append(...['csv', 'json'].map(kind => make('button', { type: 'button', id: 'save-' + kind, onclick: () => save('results.' + kind) }, t('i-' + kind))),
    make('button', { type: 'button', onclick: () => print() }, t('i-print')));
}

async function look() {
  try {
    show_room(await (await ask('room')).json());
    show_results((await (await ask('results.json')).json()).results);
  } catch (error) {
    $('status').textContent = secret ? t('lost') + ' ' + error.message : t('i-secret');
  }
}

build();
look();
setInterval(look, 1000);
