// The drawings that pages share: where parts, telegrams and figures stand.
import assert from 'node:assert/strict';
import test from 'node:test';
import { enclosing_tens, logarithmic, round_values, tens } from '../../tools/pages/axis.js';
import { plant_drawing } from '../../tools/pages/plant_drawing.js';
import { plant_parts, shortened } from '../../tools/pages/plant_parts.js';
import { part_places } from '../../tools/pages/scale_bars.js';
import { VirtualClock } from '../../tools/pages/virtual_clock.js';
import { power_of_ten } from '../../tools/pages/powers.js';
import { watchdog_charts } from '../../tools/pages/watchdog_charts.js';
import { HEIGHT, box_of, grouped, ways_drawing } from '../../tools/pages/ways_drawing.js';
import { place_of, places_of } from '../../tools/pages/ways_places.js';
import { HOSTILE, unescaped } from './support.mjs';

const telegram = (more = {}) => ({
  id: 1,
  way: 0,
  number: 15282,
  made_ms: 100,
  due_ms: 102,
  fate: null,
  fate_ms: null,
  reason: '',
  ...more,
});

test('a telegram is on its way between its making and when it is due', () => {
  assert.equal(place_of(telegram(), 99.9, 80), null);
  assert.equal(place_of(telegram(), 100, 80).share, 0);
  assert.equal(place_of(telegram(), 101, 80).share, 0.5);
  assert.equal(place_of(telegram(), 101, 80).state, 'going');
  const there = place_of(telegram(), 105, 80);
  assert.deepEqual([there.share, there.state, there.age_ms], [1, 'waits', 5]);
});

test('what became of a telegram is shown from when it happened, not before', () => {
  const taken = telegram({ fate: 'accepted', fate_ms: 103 });
  assert.equal(place_of(taken, 102.5, 80).state, 'waits');
  assert.equal(place_of(taken, 103, 80), null);
  const rejected = telegram({ fate: 'rejected', fate_ms: 103, reason: 'number' });
  assert.equal(place_of(rejected, 101, 80).state, 'going');
  const seen = place_of(rejected, 150, 80);
  assert.deepEqual(
    [seen.state, seen.share, seen.age_ms, seen.reason],
    ['rejected', 1, 3, 'number'],
  );
  assert.equal(place_of(rejected, 184, 80), null);
  assert.equal(place_of(rejected, 140, 0).state, 'rejected');
});

test('of a telegram that is due nowhere no place on its way is made up', () => {
  const nowhere = telegram({ due_ms: null });
  const { share, state } = place_of(nowhere, 140, 80);
  assert.deepEqual([share, state], [0, 'leaves']);
  assert.equal(place_of({ ...nowhere, fate: 'lost', fate_ms: 101 }, 102, 80).state, 'lost');
});

test('of what was rejected or lost the last of each way is shown', () => {
  const old = telegram({ id: 1, fate: 'rejected', fate_ms: 103 });
  const fresh = telegram({ id: 2, fate: 'rejected', fate_ms: 104 });
  const back = telegram({ id: 3, way: 1, fate: 'rejected', fate_ms: 104 });
  const ids = places_of([old, fresh, back, telegram({ id: 4 })], 104, 80).map(({ id }) => id);
  assert.deepEqual(ids, [4, 2, 3]);
});

test('telegrams stay between the ends, each way in its own direction', () => {
  for (const width of [240, 358, 460])
    for (const way of [0, 1])
      for (const state of ['going', 'rejected', 'lost'])
        for (const share of [0, 0.3, 1]) {
          const { x, y, wide } = box_of({ way, share, state, number: 4294967295 }, width);
          assert.ok(x >= 0 && x + wide <= width, `${width} ${way} ${share}: ${x}`);
          assert.ok(y >= 0 && y + 24 <= HEIGHT);
        }
  assert.equal(box_of({ way: 0, share: 0, state: 'going', number: 1 }, 400).x, 0);
  const last = box_of({ way: 1, share: 0, state: 'going', number: 1 }, 400);
  assert.equal(last.x + last.wide, 400);
  assert.equal(grouped(1234567), '1\u202f234\u202f567');
});

test('the clock glides between two told instants and never past the last one', () => {
  const clock = new VirtualClock();
  clock.told(10, '1/200', 0);
  assert.equal(clock.at(5000), 10);
  clock.told(10.5, '1/200', 5100);
  assert.equal(clock.at(5100), 10);
  assert.ok(clock.at(5200) > 10 && clock.at(5200) < 10.5);
  assert.equal(clock.at(9000), 10.5);
  assert.equal(clock.glides(9000), false);
});

test('the clock jumps where nothing between is known', () => {
  const clock = new VirtualClock();
  clock.told(10, '1/200', 0);
  clock.told(15, '1/20', 100); // another rate
  assert.equal(clock.at(100), 15);
  clock.told(20, '1/20', 200);
  clock.told(3, '1/20', 300); // begun anew
  assert.equal(clock.at(300), 3);
  clock.told(4, 'paused', 400); // a step
  assert.equal(clock.at(400), 4);
});

const plant = (stations, guards = [], name = 'controller') => ({
  controller: name,
  stations: stations.map((one, i) => ({ name: one, link: `l${i}`, ip: '192.0.2.1', differs: i })),
  links: stations.map((_, i) => ({
    name: `l${i}`,
    exchange: 'polled',
    watchdog: '80 ms',
    differs: 0,
  })),
  safeguards: guards.map(([one, at]) => ({ name: one, kind: 'curtain', at, warns: 1 })),
  machines: stations.map((at) => ({ name: `machine of ${at}`, at, speed: '1 mm/s', reactions: 1 })),
});

test('each part of a plant has its own place, one below the other, within the drawing', () => {
  for (const count of [1, 2, 8]) {
    const stations = Array.from({ length: count }, (_, i) => `station ${i}`);
    const guards = [...stations.map((at, i) => [`guard ${i}`, at]), ['own', 'controller']];
    const { parts, width, height } = plant_parts(plant(stations, guards), 256);
    const of = (kind) => parts.filter((part) => part.kind === kind);
    assert.equal(of('station').length, count);
    assert.equal(of('machine').length, count);
    assert.equal(of('safeguard').length, count + 1);
    assert.equal(of('controller').length, 1);
    for (const { x, y, w, h } of parts) {
      assert.ok(x >= 0 && w > 60 && x + w + 40 <= width, `${x} ${w}`);
      assert.ok(y >= 0 && y + h <= height);
    }
    const sorted = [...parts].sort((a, b) => a.y - b.y);
    for (let i = 1; i < sorted.length; ++i)
      assert.ok(sorted[i].y >= sorted[i - 1].y + sorted[i - 1].h, 'parts lie on each other');
  }
});

test('a guard at a place that is no station is drawn at the controller, not left out', () => {
  const { parts } = plant_parts(plant(['a'], [['lost', 'nowhere']]), 256);
  const [guard] = parts.filter(({ kind }) => kind === 'safeguard');
  const [controller] = parts.filter(({ kind }) => kind === 'controller');
  assert.ok(guard.y < controller.y);
});

test('a machine with its drive at the controller is drawn there, apart from its guards', () => {
  for (const guards of [[], [['own', 'controller']]]) {
    const told = {
      ...plant(['a'], guards),
      machines: [{ name: 'fly', at: 'controller', speed: '' }],
    };
    const { parts, lines } = plant_parts(told, 256);
    const of = (kind) => parts.find((part) => part.kind === kind);
    const { y, h, x } = of('machine');
    assert.ok(y >= 0 && y + h < of('controller').y);
    if (guards.length) assert.ok(of('safeguard').y + of('safeguard').h <= y);
    assert.ok(
      lines.some(({ d }) => d === `M18 ${y + h / 2}h${x - 18}`),
      'it is wired',
    );
  }
});

test('what differs is drawn with its count, and told in words', () => {
  const leads = {
    title: 'plant',
    to: () => '#there',
    words: ({ name, differs }) => `${name} ${differs}`,
  };
  const html = String(plant_drawing(plant(['a', 'b', 'c']), 256, leads));
  assert.equal(html.match(/<text class="differs"/g).length, 2);
  assert.match(html, /<text class="differs"[^>]*>2<\/text>/);
  assert.match(html, /aria-label="c 2"/);
});

test('drawings keep hostile names', () => {
  for (const name of HOSTILE) {
    const leads = { title: name, to: () => '#' + name, words: () => name };
    const words = {
      title: name,
      to_device: name,
      to_controller: name,
      telegram: () => name,
      state: () => name,
    };
    const place = { ...telegram(), share: 0.5, state: 'rejected', age_ms: 1, reason: name };
    for (const html of [
      String(plant_drawing(plant([name], [[name, name]], name), 256, leads)),
      String(ways_drawing([place], 400, words, { link: 'x', cut: false })),
    ]) {
      const without = html.replace(/"[^"]*"/g, '""');
      assert.doesNotMatch(without, /<(script|img|b|button)\b/);
      assert.doesNotMatch(without, /<[^>]* on\w+/);
      assert.ok(unescaped(html).includes(name));
    }
  }
});

test('names too long are shortened where they stand', () => {
  assert.equal(shortened('roller drive', 200), 'roller drive');
  assert.ok(shortened('a very long name of a station', 100).length <= 13);
  assert.match(shortened('a very long name of a station', 100), /\u2026$/);
});

test('axes have round values and whole powers of ten', () => {
  assert.deepEqual(round_values(0, 100, 5), [0, 20, 40, 60, 80, 100]);
  assert.deepEqual(round_values(40, 120, 4), [40, 60, 80, 100, 120]);
  assert.deepEqual(round_values(5, 5, 4), [5]);
  assert.deepEqual(enclosing_tens([0.02, 350]), { from: 0.01, to: 1000 });
  assert.deepEqual(enclosing_tens([0, 0]), { from: 0.1, to: 10 });
  assert.deepEqual(enclosing_tens([1]), { from: 1, to: 10 });
  const y = logarithmic(0.01, 100, 100, 0);
  assert.deepEqual([y(0.01), y(1), y(100), y(0)], [100, 50, 0, 100]);
  assert.ok(tens(1e-12, 1e6).length <= 10);
  assert.deepEqual([0, -2, 3].map(power_of_ten), ['1', '0.01', '1000']);
  assert.deepEqual([-9, 12].map(power_of_ten), ['10⁻⁹', '10¹²']);
});

test('the parts of a response lie side by side, to scale, against what is required', () => {
  const parts = [
    { name: 'a', ms: 20 },
    { name: 'b', ms: 60 },
  ];
  const { places, whole, limit } = part_places(parts, 160, 402);
  assert.equal(whole, 80);
  assert.ok(Math.abs(places[1].x - (places[0].x + places[0].w)) < 1e-9);
  assert.ok(Math.abs(places[1].w / places[0].w - 3) < 1e-9);
  assert.ok(Math.abs((limit - 1) / (places[1].x + places[1].w - 1) - 2) < 1e-9);
  assert.equal(part_places(parts, 0, 402).limit, null);
});

const chart_words = {
  title: 'title',
  stops: 'stops',
  distance: 'distance',
  coarse: 'NOT EXACT',
  axis: 'axis',
  ms: (ms) => `${ms} ms`,
  limit: (value) => `at most ${value}`,
  there: (mm) => `there ${mm}`,
  window: (from, to) => `usable ${from} to ${to}`,
};
const point = (watchdog_ms, usable, needed_mm = 100) => ({
  watchdog_ms,
  stops_per_year: { value: 1 / watchdog_ms, words: '' },
  needed_mm,
  usable,
});
const charts = (points, more = {}) =>
  String(
    watchdog_charts(
      { points, coarse: false, at: 0, limit_per_year: 0.1, there_mm: 90, window: null, ...more },
      500,
      chart_words,
    ),
  );

test('what is coarse is ruled and named, and an exact chart has none of it', () => {
  const exact = charts([point(10, false), point(20, true)]);
  assert.doesNotMatch(exact, /NOT EXACT|class="coarse"/);
  const some = charts([point(10, true), point(20, null)]);
  assert.equal(some.match(/class="coarse"/g).length, 1);
  assert.match(some, /NOT EXACT/);
  const all = charts([point(10, true), point(20, true)], { coarse: true });
  assert.equal(all.match(/class="coarse"/g).length, 2);
});

test('a window is named only where there is one; no distance, no curve of it', () => {
  assert.doesNotMatch(charts([point(10, true), point(20, true)]), /usable/);
  const open = charts([point(10, true), point(20, true)], { window: { from_ms: 10, to_ms: 15 } });
  assert.match(open, /usable 10 to 15/);
  const none = charts([point(10, true, null), point(20, true, null)], { there_mm: null });
  assert.doesNotMatch(none, /NaN|Infinity|undefined/);
  assert.doesNotMatch(charts([point(10, true)]), /NaN|Infinity|undefined/);
});

test('what never stops for nothing is drawn under the limit, and named 0', () => {
  const never = { ...point(10, true), stops_per_year: { value: 0, words: 'never' } };
  const html = charts([never, { ...never, watchdog_ms: 20 }]);
  const limit = Number(/class="limit" d="M\d+ ([\d.]+)H/.exec(html)[1]);
  const drawn = Number(/class="l1 point"[^>]* cy="([\d.]+)"/.exec(html)[1]);
  assert.ok(drawn > limit + 20, `${drawn} under ${limit}`);
  assert.match(html, /text-anchor="end">0<\/text>/);
});

test('without a distance there is one chart', () => {
  const one = charts([point(10, true, null), point(20, true, null)], { there_mm: null });
  assert.doesNotMatch(one, /distance/);
  assert.match(charts([point(10, true), point(20, true)]), /distance/);
});

test('where nothing is claimed the bound is drawn, open, never 0', () => {
  const of = (value, high) => ({ ...point(10, true), stops_per_year: { value, high, words: '' } });
  const height = (drawn) =>
    Number(/<circle class="l1 point[^"]*" cx="[^"]*" cy="([^"]*)"/.exec(drawn)[1]);
  const bound = charts([of(null, 5), point(20, true)]);
  assert.match(bound, /class="l1 point open"/);
  assert.ok(
    height(bound) < height(charts([of(0.05, 5), point(20, true)])),
    'higher than the point of a smaller figure',
  );
  assert.equal(charts([of(null, null), point(20, true)]).match(/class="l1 point/g).length, 1);
});
