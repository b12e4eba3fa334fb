// What a dangerous act would have led to, as it is drawn and told: who is first is read off the
// same numbers that are told, and nothing is drawn of a hand that was not on its way.
import assert from 'node:assert/strict';
import test from 'node:test';
import { since_start } from '../../tools/pages/numbers.js';
import { first_of, outcome_drawing, race_places } from '../../tools/pages/outcome_drawing.js';
import { outcome_shown, outcomes_told } from '../../tools/training/pages/outcome.js';
import { secure } from '../../tools/training/pages/steps.js';
import { HOSTILE, all_of, state_at, unescaped } from './support.mjs';

globalThis.innerWidth = 1280;

const words = { title: 'a title', hand: 'hand', machine: 'machine', reckoned: 'worst', axis: 'ms' };
const outcome = (more = {}) => ({
  card: 'raise-watchdog',
  words: 'Raise the watchdog time',
  kind: 'late',
  says: 'A sentence with figures.',
  guard: 'front curtain',
  distance_mm: 500,
  hand_ms: 312.58,
  stood_ms: 397.02,
  reckoned_ms: null,
  went_on_mm: 23.41,
  tries: 1,
  steps: [
    { at_ms: 0, what: 'done', about: '' },
    { at_ms: 124120.4, what: 'reached-in', about: 'front curtain' },
  ],
  ...more,
});
const html = (drawn) => unescaped(String(drawn));
const said = (drawn) =>
  html(drawn)
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ');

test('the hand is first while the machine moves, or was not seen to stop, or may do so', () => {
  assert.equal(first_of({ hand_ms: 300, stood_ms: 400 }), 'hand');
  assert.equal(first_of({ hand_ms: 400, stood_ms: 300 }), 'machine');
  assert.equal(first_of({ hand_ms: 300, stood_ms: 300 }), 'machine');
  assert.equal(first_of({ hand_ms: 300, stood_ms: null }), 'hand');
  assert.equal(first_of({ hand_ms: 300, stood_ms: null, reckoned_ms: 200 }), 'hand');
  assert.equal(first_of({ hand_ms: 400, stood_ms: 300, reckoned_ms: 420 }), 'machine-this-time');
  assert.equal(first_of({ hand_ms: 400, stood_ms: 300, reckoned_ms: 390 }), 'machine');
  assert.equal(first_of({ hand_ms: 400, stood_ms: 300, reckoned_ms: 290 }), 'late');
});

test('both bars end to scale on one axis, and within the picture', () => {
  for (const width of [300, 640])
    for (const [hand_ms, stood_ms] of [
      [312, 397],
      [397, 312],
      [1, 9000],
      [9000, 1],
      [0, 0],
    ]) {
      const { x, hand, machine, most } = race_places({ hand_ms, stood_ms }, width);
      assert.ok(hand >= 0 && machine >= 0 && hand <= width && machine <= width);
      assert.ok(Math.abs(hand - x(hand_ms)) < 1e-9 && Math.abs(machine - x(stood_ms)) < 1e-9);
      assert.ok(most >= hand_ms && most >= stood_ms);
      assert.equal(hand < machine, hand_ms < stood_ms);
      const drawn = html(outcome_drawing({ hand_ms, stood_ms }, width, words));
      for (const one of all_of(drawn, / width="(-?[\d.]+)"/g)) assert.ok(+one >= 0, one);
      assert.doesNotMatch(drawn, /NaN|undefined/);
      // what moves while the hand is there is hatched, and only that
      assert.equal(/class="hatch"/.test(drawn), hand_ms < stood_ms);
      assert.doesNotMatch(drawn, /class="open"/);
    }
});

test('a machine that was not seen to stop has an open end, longer than the way of the hand', () => {
  const { hand, machine } = race_places({ hand_ms: 300, stood_ms: null }, 640);
  assert.ok(machine > hand);
  const drawn = html(outcome_drawing({ hand_ms: 300, stood_ms: null }, 640, words));
  assert.match(drawn, /class="open"/);
  assert.match(drawn, /class="hatch"/);
});

test('a worst case that is only reckoned is drawn broken, on the same axis', () => {
  const race = { hand_ms: 400, stood_ms: 300, reckoned_ms: 520 };
  const { x } = race_places(race, 640);
  assert.ok(x(520) <= 640);
  const drawn = html(outcome_drawing(race, 640, words));
  assert.match(drawn, /class="reckoned"/);
  assert.match(drawn, /class="hatch"/); // behind the hand, in the worst case
  assert.match(drawn, />worst</);
  const text = said(outcome_shown(outcome(race)));
  assert.match(text, /In time this time, too late in the worst case/);
  assert.match(text, /worst case reckoned: 520 ms/);
  assert.doesNotMatch(
    html(outcome_drawing({ ...race, reckoned_ms: null }, 640, words)),
    /reckoned/,
  );
});

test('numbers, bars and verdict are told in words, with the steps and their times', () => {
  const shown = html(outcome_shown(outcome()));
  const text = said(outcome_shown(outcome()));
  assert.match(text, /A sentence with figures\./);
  assert.match(text, /The hand is there first/);
  assert.match(text, /hand at the dangerous place: 312 ms/); // never later than it is
  assert.match(text, /machine stands: 398 ms/); // never sooner
  assert.match(text, /500 mm .* after 312 ms \(ISO 13855\).* moved on by 23\.5 mm/);
  assert.match(shown, /aria-label="Bars over one axis, ms since [^"]*312 ms[^"]*398 ms/);
  assert.match(text, /0\.000 s .* 2 min 04\.120 s somebody reaches in: front curtain/);
  const stands = said(outcome_shown(outcome({ hand_ms: 400, stood_ms: 300 })));
  assert.match(stands, /The machine stands first, this time/);
  assert.doesNotMatch(stands, /hand is there first/);
  const worst = said(outcome_shown(outcome({ tries: 8 })));
  assert.match(worst, /The worst of 8 tries/);
  assert.doesNotMatch(text, /tries/);
  const open = said(outcome_shown(outcome({ stood_ms: null })));
  assert.match(open, /not seen to stop/);
  assert.doesNotMatch(open, /null|undefined/);
  // of a machine that does not stop nothing is reckoned
  const bridged = said(outcome_shown(outcome({ stood_ms: null, reckoned_ms: 239 })));
  assert.doesNotMatch(bridged, /239|worst case/);
});

test('where no hand was on its way nothing of it is drawn', () => {
  const none = { guard: null, distance_mm: null, hand_ms: null, stood_ms: null };
  const drawn = html(outcome_shown(outcome({ ...none, went_on_mm: null, tries: 12, steps: [] })));
  assert.doesNotMatch(
    drawn,
    /<svg class="outcome"|is there first|stands first|tries|null|undefined/,
  );
  assert.match(drawn, /A sentence with figures\./);
});

test('where no distance is written down it is not said who is first', () => {
  const of = (more) => outcome_shown(outcome({ distance_mm: null, hand_ms: null, ...more }));
  assert.match(said(of({})), /whether a hand is there first is not known/);
  assert.doesNotMatch(html(of({})), /<svg class="outcome"|The hand is there first|stands first/);
  assert.match(said(of({})), /moved on by 23\.5 mm/);
  assert.doesNotMatch(said(of({ stood_ms: null })), /is not known/);
});

test('it stands beside the reason until that is understood, if it was played', () => {
  const warned = { id: 'restart-early', why: 'A reason.' };
  const of = (more) => said(secure(state_at(1, more))[0]);
  assert.match(of({ warned, outcome: outcome() }), /A reason\..*What it would have led to/);
  assert.doesNotMatch(of({ warned }), /What it would have led to/);
  assert.doesNotMatch(of({}), /Dangerous/);
});

test('a debrief tells all of them under the acts that led there, or nothing', () => {
  const two = [outcome(), outcome({ card: 'other', words: 'Another act', kind: 'nothing' })];
  const text = said(outcomes_told(two));
  assert.ok(text.includes('Raise the watchdog time') && text.includes('Another act'));
  assert.equal(outcomes_told([]), false);
});

test('an outcome keeps hostile names', () => {
  for (const name of HOSTILE) {
    const drawn = html(outcomes_told([outcome({ words: name, says: name, guard: name })]));
    const bare = String(outcomes_told([outcome({ words: name, says: name, guard: name })]));
    assert.doesNotMatch(bare.replace(/"[^"]*"/g, '""'), /<(script|img|b|button)\b/);
    assert.ok(drawn.includes(name));
  }
});

test('a moment since a start is told to the millisecond', () => {
  assert.equal(since_start(0), '0.000 s');
  assert.equal(since_start(41512.5), '41.513 s');
  assert.equal(since_start(59999.6), '1 min 00.000 s');
  assert.equal(since_start(124120), '2 min 04.120 s');
});
