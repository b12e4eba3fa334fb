// What the pages draw and say of a drill's state: one time, nothing alive that is dead, the stop in
// the picture.
import assert from 'node:assert/strict';
import test from 'node:test';
import { debrief } from '../../tools/training/pages/debrief.js';
import { look } from '../../tools/training/pages/steps.js';
import { frame_of } from '../../tools/training/pages/strip_frame.js';
import { strip } from '../../tools/training/pages/strip.js';
import { looking } from '../../tools/training/pages/looking.js';
import { state_at, unescaped } from './support.mjs';

globalThis.innerWidth = 1280;

const end = (more = {}) => ({
  name: 'press I/O',
  state: 'safe-state',
  cause: 'time-expectation',
  measure: null,
  refusal: null,
  received: 301,
  per_second: 0,
  accepted: 301,
  number_sent: 7,
  number_received: 9,
  rejected_by: {},
  last_good_ms: 15000,
  watchdog_ms: 45,
  longest_cycle_ms: 10,
  cycle_ms: 10,
  counted_since: 2,
  on_for_s: 12 * 86400,
  starts: 0,
  ...more,
});
const words_of = (drawn) =>
  unescaped(String(drawn.html ?? drawn))
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ');
const drawn = (parts) =>
  words_of({
    html: parts
      .flat(9)
      .map((part) => part?.html ?? part)
      .join(' '),
  });

/** Samples from the one moment to the other, ten a second; `bits` of signals and guards. */
const samples = (from, to, more = [1, 1, 0, 5]) =>
  Array.from({ length: Math.round((to - from) * 10) + 1 }, (_, i) => [
    from + i / 10,
    60,
    8,
    9,
    ...more,
  ]);

test('what was measured long ago is told with its hour, and only there', () => {
  const used = ['controller-panel', 'io-panel'];
  const measured = { trip_ms: 10, longest_trip_ms: 61, longest_trip_at: 5 };
  const of = (as_of) =>
    drawn(
      look(
        state_at(2, { used, controller: end({ ...measured, trip_as_of: as_of }), io: end() }),
        null,
      ),
    );
  assert.match(of(5), /last 10 ms, of the last one at 01:58:05; longest 61 ms \(01:58:05\)/);
  assert.match(of(null), /last 10 ms; longest 61 ms/);
  assert.doesNotMatch(of(null), /age of what comes/);
  assert.doesNotMatch(of(null), /Keep this as evidence: ages/);
});

test('since when an end is on is an hour of the same clock, or how long ago', () => {
  const used = ['io-panel'];
  const of = (more) => drawn(look(state_at(2, { used, io: end(more) }), null));
  assert.match(of({}), /on since 12 days ago/);
  assert.match(of({}), /starts today 0/);
  assert.match(of({ on_for_s: 490, starts: 1 }), /on since 01:50:00 \(8 min 10 s ago\)/);
  assert.match(of({}), /counted since 01:58:02/);
});

test('a refused start is told without a device, and no instrument costs minutes', () => {
  const io = end({ state: 'start-up', refusal: 'watchdog of the device' });
  const said = drawn(look(state_at(2, { used: ['io-panel'], io }), null));
  assert.match(said, /start refused: the watchdog of the I\/O differs/);
  assert.doesNotMatch(said, / min\)/);
});

test('guards are demanded in the words of their kind', () => {
  const guards = [
    { name: 'curtain', kind: 'curtain', latched: false },
    { name: 'two hand control', kind: 'two-hand', latched: false },
    { name: 'rope', kind: 'emergency-stop', latched: false },
  ];
  const said = drawn(look(state_at(2, { guards }), null));
  assert.match(said, /Hold the test rod into the curtain/);
  assert.match(said, /Let go of the two hand control/);
  assert.match(said, /Pull or press the rope/);
});

test('a strip is drawn in the pieces that are on record, side by side', () => {
  const frame = frame_of([...samples(3, 8), ...samples(40, 60)]);
  assert.equal(frame.pieces.length, 2);
  const x = [3, 8, 40, 60].map((at) => Number(frame.x(at)));
  assert.deepEqual(
    [...x].sort((a, b) => a - b),
    x,
  );
  assert.ok(x[2] - x[1] > 10 && x[2] - x[1] < 30);
  assert.ok(x[0] === frame.left && Math.abs(x[3] - frame.right) < 1);
  assert.ok(x.every(Number.isFinite));
  // between the pieces a moment stands at the end of the one before
  assert.equal(frame.x(20), frame.x(8));
});

test('the slider reaches the stop, and a moment is read with states, guards and signals', () => {
  const guards = [{ name: 'curtain', kind: 'curtain', latched: false }];
  const signals = [
    { name: 'curtain free', sent: true, used: true, substitute: false },
    { name: 'closing allowed', sent: true, used: true, substitute: false },
  ];
  const all = [
    ...samples(3, 5, [3, 3, 0, 5]),
    ...samples(5.1, 8, [2, 1, 1, 10]),
    ...samples(40, 60),
  ];
  looking.moment = 5.1;
  const html = String(strip(state_at(2, { guards, signals }), all).html);
  looking.moment = null;
  const moments = /data-moments="([^"]*)"/.exec(html)[1].split(' ').map(Number);
  assert.equal(moments.length, all.length);
  assert.ok(moments.some((one) => Math.abs(one - 5) < 0.01));
  const read = /aria-valuetext="([^"]*)"/.exec(html)[1];
  assert.match(unescaped(read), /controller: STOPPED\. I\/O: STOPPED\./);
  assert.match(read, /Demanded: curtain\./);
  assert.match(read, /At 0: curtain free as sent, closing allowed as used\./);
  for (const row of [
    'curtain demanded',
    'curtain free: sent',
    'closing allowed: used',
    'controller runs',
  ])
    assert.ok(html.includes(row), row);
  assert.equal(html.includes('NaN'), false);
});

const score = (more) => ({
  result: 'safe-not-found',
  points: 55,
  secure: 30,
  evidence: 0,
  diagnosis: 0,
  action: 25,
  dangerous: [],
  corrected: [],
  outcomes: [],
  judged: true,
  trainer: [],
  remarks: [],
  cause: 'A cause.',
  debrief: 'A debrief.',
  right_where: ['io'],
  right_what: ['clock-drift'],
  needed: [],
  look_alikes: [],
  ran_on: { to_command_ms: 22.71, to_standstill_ms: 135, at_most_ms: 135 },
  story: [
    { at: 1, what: 'fault', about: 'clock-drift', more: null },
    { at: 2, what: 'demanded', about: 'curtain', more: 'curtain' },
    { at: 31.86, what: 'machine-told-to-stop', about: null, more: null },
    { at: 201, what: 'machine-may-run', about: null, more: null },
  ],
  strip: { of: 'stop', samples: samples(30, 35) },
  ages: null,
  telegram: null,
  ends: [],
  ...more,
});

test('a debrief tells the parts of a stop apart, spans as people do, all of the table', () => {
  const said = drawn(debrief(state_at(5, { score: score({}) }), null, []));
  assert.match(said, /to the command to the drive: 22\.7 ms, the part of the link/);
  assert.match(
    said,
    /standstill: 135 ms, the part of the machine\. By its model the machine needs at most 135/,
  );
  assert.match(said, /\+ 30\.9 s drive: told to stop/);
  assert.match(said, /\+ 3 min 20 s drive: stop taken back/);
  assert.match(said, /curtain interrupted/);
  assert.match(said, /Around the first stop of an end\./);
});

test('ages are drawn where told, and the observer is named where no end knows them', () => {
  const ages = {
    measured: false,
    controller: [
      [1, 17],
      [100, 217],
      [210, 437],
    ],
    io: [
      [1, 3],
      [210, 3],
    ],
  };
  const said = drawn(debrief(state_at(5, { score: score({ ages }) }), null, []));
  assert.match(said, /As the observer knows it\. No end could read it/);
  assert.match(said, /At the controller from 17 to 437 ms, at the I\/O from 3 to 3 ms/);
  const measured = drawn(
    debrief(state_at(5, { score: score({ ages: { ...ages, measured: true } }) }), null, []),
  );
  assert.match(measured, /As each end measured it/);
  assert.doesNotMatch(
    drawn(debrief(state_at(5, { score: score({}) }), null, [])),
    /How old what came was/,
  );
});
