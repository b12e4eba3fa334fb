// The plant as it is drawn: nothing of an end that nobody read, each part at its own place, the
// machine between two tellings, and telegrams only between what was seen of them.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { Glide } from '../../tools/pages/glide.js';
import { moved, scene_drawing } from '../../tools/pages/scene_drawing.js';
import { scene_parts } from '../../tools/pages/scene_parts.js';
import { STANDS, forget_motion, scene, scene_of } from '../../tools/training/pages/scene.js';
import { slow_ways } from '../../tools/training/pages/slow_ways.js';
import { in_groups, word } from '../../tools/training/pages/words.js';
import { HOSTILE, all_of, state_at, told, unescaped } from './support.mjs';

globalThis.innerWidth = 1280;

const end = (more = {}) => ({
  name: 'press controller',
  state: 'safe-state',
  cause: 'time-expectation',
  measure: null,
  refusal: null,
  received: 301,
  per_second: 0,
  rejected_by: { integrity: 2, sequence: 1 },
  ...more,
});
const plant = (more = {}) => ({
  controller: 'press controller',
  stations: [{ name: 'press I/O', link: '' }],
  guards: [{ name: 'curtain', kind: 'curtain', at: 'press I/O', seen: null }],
  machines: [{ name: 'press', at: 'press I/O', link: '', travel_mm: 600, travel_degrees: 0 }],
  ...more,
});
const state = (more = {}) => state_at(2, { plant: plant(), ...more });
const drawn = (more) => unescaped(String(scene(state(more)).html));

test('an end that nobody read is not known, and nothing of it is drawn', () => {
  const html = drawn();
  assert.equal(html.match(/<text[^>]*>NOT KNOWN</g).length, 2);
  for (const id of Object.keys(told.words.states))
    assert.ok(!html.includes(word('states', id)), id);
  assert.doesNotMatch(html, /received|rejected/);
  const read = drawn({ controller: end() });
  assert.equal(read.match(/<text[^>]*>NOT KNOWN</g).length, 1);
  assert.match(read, /<text[^>]*>STOPPED</);
  assert.match(read, />received 301, stands</);
  assert.match(read, />rejected 3</);
  assert.match(drawn({ io: { name: 'press I/O', dark: true } }), />NO LIGHT</);
});

test('of a guard only what was seen is said, in the picture and in its description', () => {
  assert.doesNotMatch(drawn(), /latched|demanded|free/);
  const guards = [{ name: 'rope', kind: 'emergency-stop', at: 'press I/O', seen: 'latched' }];
  const html = drawn({ plant: plant({ guards }) });
  assert.match(html, /<text[^>]*>rope: latched</);
  assert.match(html, /aria-label="[^"]*rope: latched, at press I\/O/);
});

test('what was done to the machine oneself stands at it', () => {
  const machine = { name: 'press', moves: false, speed: 0, full: 60, position: 12, degrees: null };
  const html = drawn({ machine: { ...machine, isolated: true, emergency_stop: true } });
  assert.match(html, /<text[^>]*>isolated and locked</);
  assert.match(html, /<text[^>]*>emergency stop latched</);
  assert.match(html, /aria-label="[^"]*press: stands still, isolated and locked/);
});

const many = (count, guards) => {
  const stations = Array.from({ length: count }, (_, i) => `station ${i}`);
  const known = { mark: 'unknown', word: 'WAITS FOR YOU', facts: ['received 1'] };
  return {
    title: 'plant',
    controller: 'controller',
    stations: stations.map((name, i) => ({
      name,
      link: count > 1 ? `l${i}` : '',
      end: known,
      at_controller: known,
    })),
    guards: [...stations, 'controller'].flatMap((at) =>
      Array.from({ length: guards }, (_, i) => ({ name: `g${i}`, kind: 'mat', at, says: '' })),
    ),
    machines: stations.map((at, i) => ({
      id: `m${i}`,
      name: 'machine',
      at,
      says: 'moves',
      along: 5,
      travel: 10,
      degrees: i % 2 ? 80 : 0,
      holds: [
        ['locked', 'a'],
        ['latched', 'b'],
      ],
    })),
    ways: ['way out', 'way back'],
  };
};

test('each part of a scene has its own place within the picture, wide and narrow', () => {
  for (const width of [280, 334, 536, 560, 698])
    for (const [count, guards] of [
      [1, 0],
      [1, 3],
      [3, 1],
      [5, 2],
    ]) {
      const layout = scene_parts(many(count, guards), width);
      const boxes = [...layout.guards, ...layout.machines, ...layout.ends];
      assert.equal(layout.machines.length, count);
      assert.equal(layout.guards.length, guards * (count + 1));
      for (const { x, y, w, h } of boxes)
        assert.ok(
          x >= 0 && y >= 0 && x + w <= width && y + h <= layout.height,
          `${width} ${count} ${guards}: ${x} ${y} ${w} ${h} of ${layout.height}`,
        );
      boxes.forEach((a, i) =>
        boxes.slice(i + 1).forEach((b) => {
          const apart =
            a.x + a.w <= b.x || b.x + b.w <= a.x || a.y + a.h <= b.y || b.y + b.h <= a.y;
          assert.ok(apart, `${width} ${count} ${guards}: ${JSON.stringify([a, b])}`);
        }),
      );
    }
});

test('a machine stands where it is along its way, never beyond its ends', () => {
  const way = { travel: 600, degrees: 0, span: 100 };
  assert.equal(moved(way, 300), 'translate(50.0,0)');
  assert.equal(moved(way, 900), 'translate(100.0,0)');
  assert.equal(moved(way, -5), 'translate(0.0,0)');
  assert.equal(moved({ ...way, degrees: 80 }, 300), 'rotate(-40.00)');
  assert.equal(moved({ ...way, travel: 0 }, 1250), 'translate(25.0,0)');
});

test('what moves glides between two tellings, and never past the last', () => {
  const glide = new Glide();
  glide.told(1000, 10, 'runs', 0);
  assert.equal(glide.at(500), 10);
  glide.told(1100, 20, 'runs', 100);
  assert.ok(glide.at(150) > 10 && glide.at(150) < 20);
  assert.equal(glide.at(5000), 20);
  assert.equal(glide.glides(5000), false);
  glide.told(1200, 40, 'paused', 200);
  assert.equal(glide.at(200), 40);
  glide.told(300, 7, 'runs', 300); // another drill
  assert.equal(glide.at(300), 7);
});

test('a machine is drawn at the place that was told', () => {
  forget_motion();
  const machine = { name: 'press', moves: true, speed: 60, full: 60, position: 300, degrees: null };
  const { machines } = scene_of(state({ machine: { ...machine, isolated: false } }));
  assert.equal(machines[0].along, 300);
  assert.equal(machines[0].says, 'moves, 60 mm/s');
});

test('a scene keeps hostile names', () => {
  for (const name of HOSTILE) {
    const hostile = { ...many(1, 1), title: name, controller: name };
    hostile.guards[0].name = name;
    const html = String(scene_drawing(hostile, 698)).replace(/"[^"]*"/g, '""');
    assert.doesNotMatch(html, /<(script|img|b|button)\b/);
    assert.doesNotMatch(html, /<[^>]* on\w+/);
  }
});

/** Where the figure is drawn: its place in the picture, how large, and what it says. */
function figure_in(scene, width) {
  const html = String(scene_drawing(scene, width));
  const place = /class="you" transform="translate\(([\d.]+),([\d.]+)\)"/.exec(html);
  if (!place) return null;
  const inside = html.slice(place.index);
  const [, scale] = /scale\(([\d.]+)\)/.exec(inside);
  const [, words] = /<text[^>]*>([^<]*)</.exec(inside);
  return { x: +place[1], y: +place[2], h: 36 * +scale, words };
}
const seen_from = (place, count, guards) => ({
  ...many(count, guards),
  you: { place, short: 'you', long: `you, ${place}` },
});
const PLACES = ['outside', 'controller', 'io', 'way', 'guard', 'machine', 'office'];

test('whoever looks on stands at one place of the picture, or says where it is', () => {
  assert.equal(figure_in(many(1, 1), 698), null);
  for (const width of [280, 334, 560, 698])
    for (const [count, guards] of [
      [1, 0],
      [1, 3],
      [3, 1],
    ])
      for (const place of PLACES) {
        const which = `${width} ${count} ${guards} ${place}`;
        const scene = seen_from(place, count, guards);
        const layout = scene_parts(scene, width);
        const figure = figure_in(scene, width);
        assert.ok(figure.x >= 0 && figure.x + 40 <= width, which);
        assert.ok(figure.y >= 0 && figure.y + figure.h <= layout.height, which);
        // apart from every end and guard, and in no machine: who stands at one is not in it
        for (const { x, y, w, h } of [...layout.ends, ...layout.guards]) {
          const over = figure.x < x + w && figure.x + 14 > x;
          assert.ok(!over || figure.y + figure.h <= y || figure.y >= y + h, which);
        }
        const [bed] = layout.machines;
        assert.ok(figure.y + figure.h <= bed.y || count > 1, which);
        if (figure.words === 'you') assert.equal(count, 1, which);
        else assert.equal(figure.words, `you, ${place}`, which);
      }
});

test('the figure stands where it was told, each place apart from the others', () => {
  const at = Object.fromEntries(
    PLACES.map((place) => [place, figure_in(seen_from(place, 1, 2), 698)]),
  );
  assert.ok(at.controller.x < at.way.x && at.way.x < at.io.x && at.io.x < at.guard.x);
  for (const place of ['controller', 'way', 'io', 'guard'])
    assert.equal(at[place].words, 'you', place);
  for (const place of ['outside', 'office', 'machine'])
    assert.equal(at[place].words, `you, ${place}`);
});

test('where the trainee is, and tools that lie in the zone, are told in words as well', () => {
  const zone = { locked: true, stop_latched: false, tools_in: true };
  const html = drawn({ step: 4, here: 'io', zone });
  assert.match(html, /<text[^>]*>tools in the zone</);
  const title = /aria-label="([^"]*)"/.exec(html)[1];
  assert.ok(title.includes(`You: ${word('places', 'io')}`) && title.includes('tools in the zone'));
  assert.doesNotMatch(drawn({ here: 'io' }), /class="you"/); // where one walks to read is no place
  assert.deepEqual(Object.keys(STANDS), Object.keys(told.words.places));
});

test('each action card and each choice lies in one of the groups', () => {
  const file = new URL('../../scenarios/drills/actions.toml', import.meta.url);
  const cards = all_of(readFileSync(file, 'utf8'), /^id = "([^"]+)"/gm);
  assert.ok(cards.length > 30);
  assert.deepEqual([...cards].sort(), Object.keys(told.card_groups).sort());
  const of_it = in_groups(
    'card_groups',
    cards.map((id) => ({ id })),
  );
  assert.deepEqual(
    of_it.map(({ group }) => group),
    Object.keys(told.words.groups),
  );
  assert.equal(of_it.flatMap((one) => one.of_it).length, cards.length);
  // a card of one's own lies in none, and is not lost
  assert.equal(in_groups('card_groups', [{ id: 'own' }])[0].of_it.length, 1);
});

test('telegrams of a debrief are told with what became of them, and no more', () => {
  const ways = {
    controller: 'press controller',
    device: 'press I/O',
    watchdog_ms: 45,
    stop_ms: 3046,
    from_ms: 2900,
    to_ms: 3100,
    facts: [
      [1, 0, 15282, 3000, 3000.3, 'repeated', 3001, null],
      [2, 1, 15282, 3001, null, 'lost', 3001, null],
      [3, 1, 15283, 3011, 3011.3, 'rejected', 3020, 'integrity'],
      [4, 1, null, 3021, null, null, null, null],
      [5, 0, 15284, 3030, 3030.3, null, null, null],
    ],
  };
  const html = unescaped(String(slow_ways(state_at(5, { score: { ways } })).html));
  const said = html.replace(/<[^>]*>/g, ' ').replace(/\s+/g, ' ');
  for (const words of ['nothing new', 'lost on the way', 'rejected: CRC does not fit'])
    assert.ok(said.includes(words), words);
  assert.ok(said.includes('not seen again here') && said.includes('arrived, not looked at yet'));
  assert.match(said, /46 ms before the first stop/);
  assert.equal(slow_ways(state_at(5, { score: { ways: null } })), '');
});
