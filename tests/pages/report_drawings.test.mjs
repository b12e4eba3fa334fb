// What the report draws with the modules that pages share: the plant with what was found where, and
// the watchdog's window.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { plant_parts } from '../../tools/pages/plant_parts.js';
import { drawn_plant } from '../../tools/report/pages/plant_picture.js';
import { drawn_watchdog } from '../../tools/report/pages/watchdog_picture.js';
import { HOSTILE, unescaped } from './support.mjs';

const nothing = (words, to = '#there') => ({ mark: null, count: 0, to, words });
/** Guards at two stations, listed in the other order than they are drawn in. */
const drawing = (name = 'saw') => ({
  controller: 'controller',
  controller_differs: 3,
  stations: [
    { name: 'first', link: 'a', ip: '', differs: 1 },
    { name: 'second', link: 'b', ip: '', differs: 2 },
  ],
  links: [
    { name: 'b', exchange: 'polled', watchdog: '40 ms', differs: 0 },
    { name: 'a', exchange: 'polled', watchdog: '80 ms', differs: 0 },
  ],
  safeguards: [
    { name: 'late', kind: 'curtain', at: 'second', warns: 4 },
    { name: 'early', kind: null, at: 'first', warns: 5 },
    { name: 'own', kind: 'field', at: 'controller', warns: 6 },
  ],
  machines: [
    { name: 'lift', at: 'second', speed: '1 mm/s', reactions: 1 },
    { name, at: 'first', speed: '1 mm/s', reactions: 1 },
  ],
});
const plant = (more = {}) => ({
  drawing: drawing(),
  controller: nothing('the controller'),
  links: [nothing('link b'), nothing('link a')],
  stations: [nothing('station first'), nothing('station second')],
  safeguards: [nothing('guard late'), nothing('guard early'), nothing('guard own')],
  machines: [nothing('machine lift'), nothing('machine saw')],
  ...more,
});

test('each part keeps its number in the plant, wherever it is drawn', () => {
  const { parts } = plant_parts(drawing(), 300);
  const of = (kind) => parts.filter((part) => part.kind === kind).map(({ name, at }) => [name, at]);
  assert.deepEqual(of('safeguard'), [
    ['own', 2],
    ['early', 1],
    ['late', 0],
  ]);
  assert.deepEqual(of('link'), [
    ['a', 1],
    ['b', 0],
  ]);
  assert.deepEqual(of('machine'), [
    ['saw', 1],
    ['lift', 0],
  ]);
});

test('a part is told and marked by what was found at it, not by its neighbours', () => {
  const found = { mark: 'danger', count: 7, to: '#guards', words: 'early: NOT MET' };
  const safeguards = [nothing('guard late'), found, nothing('guard own')];
  const html = String(drawn_plant(plant({ safeguards }), 300));
  assert.equal(html.match(/class="found /g).length, 1);
  const [link] = html.match(/<a href="#guards"[^]*?<\/a>/);
  assert.match(link, /aria-label="early: NOT MET"/);
  assert.match(link, /class="found danger"[^]*<text[^>]*>7<\/text>/);
  assert.match(link, />early<\/text>/);
});

test('what is typed makes no mark of its own here: only what was found does', () => {
  const html = String(drawn_plant(plant(), 300));
  assert.doesNotMatch(html, /class="(differs|warns|found)/);
  // each part leads somewhere and has a name
  assert.equal(html.match(/<a href="#there"/g).length, 10);
});

test('each kind of mark has a shape of its own, and a count only where there is one', () => {
  const shapes = ['danger', 'fails', 'differs', 'warns', 'unknown'].map((mark) => {
    const controller = { ...nothing('c'), mark };
    const html = String(drawn_plant(plant({ controller }), 300));
    const [found] = html.match(/<g class="found[^]*?<\/g><\/a>/);
    assert.doesNotMatch(found, /<text/);
    return /<g\s+class="sign"[^>]*>([^]*?)<\/g>/.exec(found)[1];
  });
  assert.equal(new Set(shapes).size, 5);
  for (const shape of shapes) assert.match(shape, /<(path|circle|rect)/);
});

test('a drawing of the report keeps hostile names', () => {
  for (const name of HOSTILE) {
    const controller = { mark: 'danger', count: 1, to: '#a', words: name };
    const html = String(drawn_plant(plant({ drawing: drawing(name), controller }), 300));
    assert.doesNotMatch(html.replace(/"[^"]*"/g, '""'), /<(script|img|b|button)\b|<[^>]* on\w+/);
    assert.ok(unescaped(html).includes(name));
  }
});

const tried = (more = {}) => ({
  points: [
    [10, 50, 40, 60, 400, false],
    [20, 0.01, 0, 0.5, 420, true],
    [30, null, null, 0.2, 440, null],
  ],
  limit: 1,
  now: 24,
  there: 430,
  window: { from_ms: 20, to_ms: 25 },
  ...more,
});

test('the window of the report has its limits, its window, what is set, and no knob', () => {
  const html = String(drawn_watchdog(tried(), 600));
  for (const words of [
    'limit 1 a year',
    'there 430 mm',
    'usable from 20 ms to 25 ms',
    'set to 24 ms',
  ])
    assert.ok(html.includes(`>${words}</text>`), words);
  assert.doesNotMatch(html, /class="handle"|NaN|undefined|Infinity/);
  assert.doesNotMatch(String(drawn_watchdog(tried({ now: 99 }), 600)), /set to/);
  assert.doesNotMatch(String(drawn_watchdog(tried({ now: null }), 600)), /set to/);
});

test('how much it may be at most is drawn, never less', () => {
  const html = String(drawn_watchdog(tried(), 600));
  assert.equal(html.match(/class="interval"/g).length, 2);
  // up, and further than the point
  const [, from, to] = /class="interval" d="M[\d.]+ ([\d.]+)V([\d.]+)m/.exec(html);
  assert.ok(Number(to) < Number(from));
  assert.equal(html.match(/class="l1 point open"/g).length, 1, 'a bound is open');
  assert.match(html, /class="coarse"/);
});

test('of no watchdogs nothing is drawn', () => {
  assert.equal(drawn_watchdog(tried({ points: [] }), 600), null);
});
