// What the pages draw of several links: each place by itself, and of a dark station nothing.
import assert from 'node:assert/strict';
import test from 'node:test';
import { choices, diagnosis_chosen } from '../../tools/training/pages/choices.js';
import { event_words } from '../../tools/training/pages/log.js';
import { looking } from '../../tools/training/pages/looking.js';
import { look, name_it } from '../../tools/training/pages/steps.js';
import { all_of, state_at, unescaped } from './support.mjs';

globalThis.innerWidth = 1280;

const end = (name, state, more = {}) => ({
  name,
  state,
  cause: state === 'running' ? 'acknowledged' : 'time-expectation',
  measure: null,
  refusal: null,
  received: 301,
  per_second: state === 'running' ? 100 : 0,
  accepted: 301,
  number_sent: 7,
  number_received: 9,
  rejected_by: {},
  last_good_ms: 15,
  watchdog_ms: 45,
  longest_cycle_ms: 10,
  cycle_ms: 10,
  counted_since: 2,
  on_for_s: 12 * 86400,
  starts: 0,
  trip_ms: 10,
  ...more,
});
const machine = { name: 'turner', moves: false, speed: 0, full: 150, position: 3, degrees: null };
const link = (name, state, more = {}) => ({
  name,
  station: `${name} station`,
  machine: null,
  request: false,
  acknowledge_contact: false,
  controller: end('line controller', state),
  io: end(`${name} station`, state),
  signals: [{ name: `${name} free`, sent: true, used: state === 'running', substitute: false }],
  time_line: null,
  telegrams: null,
  settings: [{ what: 'cycle', about: '', sheet: `${name} sheet`, controller: '1', device: '1' }],
  ...more,
});
const line = (more = {}) =>
  state_at(2, {
    used: ['controller-panel', 'io-panel', 'settings'],
    links: [link('infeed', 'safe-state'), link('turner', 'running', { machine, ...more })],
  });
const html = (parts) =>
  unescaped(
    parts
      .flat(9)
      .map((part) => part?.html ?? '')
      .join(' '),
  );
const words = (parts) =>
  html(parts)
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ');

test('every link has a panel at the controller and one at its station, under its own name', () => {
  const heads = all_of(html(look(line(), null)), /<h3>([^<]*)<\/h3>/g);
  for (const head of ['link infeed', 'link turner']) assert.ok(heads.includes(head), head);
  assert.ok(heads.includes('infeed station (link infeed)'));
  assert.ok(heads.includes('turner station (link turner)'));
  const said = words(look(line(), null));
  assert.match(said, /turner: stands still, 0 of 150 mm\/s/);
  assert.match(said, /infeed free sent 1, used 0/);
});

test('of a station without supply only that is told', () => {
  const said = words(look(line({ io: { name: 'turner station', dark: true } }), null));
  assert.match(said, /turner station \(link turner\) NO LIGHT/);
  assert.equal(said.match(/starts today/g)?.length, 3);
});

test('settings, telegrams and time line are those of the link that is looked at', () => {
  assert.match(words(look(line(), null)), /infeed sheet/);
  looking.link = 1;
  assert.match(words(look(line(), null)), /turner sheet/);
  assert.doesNotMatch(words(look(line(), null)), /infeed sheet/);
  looking.link = 0;
});

test('each link is acknowledged by itself or all are, and only machines start', () => {
  const page = html(look(line(), null));
  assert.deepEqual(all_of(page, /data-act="acknowledge" data-value="([^"]*)"/g), ['0', '1', '']);
  assert.deepEqual(all_of(page, /data-act="restart" data-value="([^"]*)"/g), ['1']);
  assert.doesNotMatch(html(look(state_at(2), null)), /data-act="look-at"/);
});

test('a link is asked for and sent only where there are several', () => {
  assert.match(words(name_it(line(), null)), /Which link is it\?/);
  assert.doesNotMatch(words(name_it(state_at(3), null)), /Which link is it\?/);
  assert.deepEqual(Object.keys(diagnosis_chosen()), ['where', 'what', 'because']);
  choices.named.link = '1';
  assert.equal(diagnosis_chosen().link, '1');
  choices.named.link = '';
});

test('what happened at a link is told with its name', () => {
  const event = { at: 3, what: 'acknowledged', about: null, more: null };
  assert.equal(event_words({ ...event, link: 'infeed' }), 'infeed: acknowledged');
  assert.equal(event_words(event), 'acknowledged');
});

test('of a link without a machine no speed is drawn or told', () => {
  const samples = Array.from({ length: 20 }, (_, i) => [5 + i / 10, 0, 8, 9, 1, 1, 0, 5]);
  const shown = { events: [], strip: samples };
  const of = (at) => {
    looking.link = at;
    const state = line({ time_line: shown });
    state.links[0].time_line = shown;
    return html(look({ ...state, used: [...state.used, 'time-line'] }, null));
  };
  assert.match(of(1), /<polyline class="l1"/);
  assert.match(of(1), /: 0 mm\/s; last good/);
  assert.doesNotMatch(of(0), /<polyline class="l1"/);
  assert.doesNotMatch(of(0), /: 0 mm\/s; last good/);
  assert.match(of(0), /No machine at this link/);
  looking.link = 0;
});
