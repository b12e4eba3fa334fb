// What the desk's page draws and says of what it was told.
import assert from 'node:assert/strict';
import test from 'node:test';
import { excerpt } from '../../tools/desk/pages/beginnings.js';
import { bits } from '../../tools/desk/pages/bits.js';
import { moved } from '../../tools/desk/pages/bits_keys.js';
import { field, refusal_at } from '../../tools/desk/pages/controls.js';
import { truth_line } from '../../tools/desk/pages/head.js';
import { looking } from '../../tools/desk/pages/looking.js';
import { state_words } from '../../tools/desk/pages/speak.js';
import { ends } from '../../tools/desk/pages/try_ends.js';
import { rows } from '../../tools/desk/pages/try_rows.js';
import { tray } from '../../tools/desk/pages/try.js';
import { differing, typed } from '../../tools/desk/pages/typed.js';
import { nearest, watchdog_looked_at } from '../../tools/desk/pages/watchdog.js';
import { following } from '../../tools/desk/pages/watchdog.js';
import { HOSTILE, unescaped } from './support.mjs';

const words_of = (drawn) =>
  unescaped(String(drawn))
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ');
const cell = (more = {}) => ({
  path: 'a.b',
  typed: null,
  shown: '80 ms',
  other: '',
  line: null,
  ...more,
});
const row = (more = {}) => ({
  id: 'watchdog',
  setting: 'watchdog',
  meant: cell({ typed: '80 ms' }),
  controller: cell({ path: 'c.d' }),
  device: cell({ path: 'e.f' }),
  same: true,
  seen_at_controller: '',
  seen_at_device: '',
  mend: '',
  mend_fields: null,
  note: '',
  ...more,
});
const free = () => Array.from({ length: 8 }, () => ({ signal: null, differs: false }));
const link = (more = {}) => ({
  name: '',
  controller: 'yard controller',
  device: 'roller drive',
  groups: [{ id: 'link', title: 'Link', rows: [row()] }],
  bits: [],
  signals: [],
  ...more,
});
const end = (more = {}) => ({
  name: 'roller drive',
  state: 'running',
  cause: '',
  refusal: null,
  since_ms: 0,
  silence_ms: 14,
  watchdog_ms: 80,
  sent: 1,
  received: 1,
  accepted: 1,
  rejected: 0,
  rejected_by: {},
  dark: false,
  asks: false,
  ...more,
});
const bench = (more = {}) => ({
  rate: '1/1',
  links: [
    {
      name: '',
      cable_out: false,
      controller: end({ name: 'yard controller' }),
      device: end(),
      faults: [],
    },
  ],
  guards: [],
  signals: [],
  machines: [],
  modes: [],
  ...more,
});

test('arrow keys stay in the grid of bits', () => {
  const at = (key, row, column) => moved(key, { row, column }, 4, 8);
  assert.deepEqual(at('ArrowLeft', 1, 0), { row: 1, column: 0 });
  assert.deepEqual(at('ArrowRight', 1, 6), { row: 1, column: 7 });
  assert.deepEqual(at('ArrowDown', 3, 2), { row: 3, column: 2 });
  assert.deepEqual(at('ArrowUp', 2, 2), { row: 1, column: 2 });
  assert.deepEqual(at('End', 2, 2), { row: 2, column: 7 });
  assert.deepEqual(at('PageDown', 0, 5), { row: 3, column: 5 });
  assert.equal(at('Tab', 1, 1), null);
});

test('a field is empty and dashed where it is as meant, and keeps what was typed', () => {
  const as_meant = String(field(cell(), 'watchdog'));
  assert.match(as_meant, /class="typed as-meant"/);
  assert.match(as_meant, /value=""/);
  assert.match(as_meant, /placeholder="80 ms"/);
  const own = String(field(cell({ typed: '0x23', shown: '35' }), 'address'));
  assert.match(own, /value="0x23"/);
  assert.doesNotMatch(own, /as-meant/);
  assert.doesNotMatch(String(field(cell({ path: null }), 'cycle')), /<input/);
});

test('what was refused stays in its field, with the words and the mend beside it', () => {
  const mend = { words: 'Type 80 ms', path: '/api/set', fields: { path: 'a.b', value: '80 ms' } };
  const back = { words: 'Put back 60 ms', act: 'put-back', value: 'a.b' };
  const refusal = { error: '"80 mss" is no time.', mends: [back, mend] };
  looking.edits.set('a.b', { text: '80 mss', state: 'refused', refusal });
  const html = String(typed({ links: [link()] }));
  looking.edits.clear();
  assert.match(html, /value="80 mss"/);
  assert.match(html, /aria-invalid="true"/);
  assert.match(words_of(html), /"80 mss" is no time\. Put back 60 ms Type 80 ms/);
  assert.match(html, /data-act="put-back"[^>]*data-value="a\.b"[^>]*data-place="a\.b"/);
  assert.match(unescaped(html), /data-fields="{"path":"a.b","value":"80 ms"}"/);
  looking.refused.set('head', { error: 'The disk is full.', mends: [] });
  assert.match(words_of(refusal_at('head')), /The disk is full/);
  looking.refused.clear();
});

test('a row that differs says so in words, with what each end shows and how to mend it', () => {
  const differs = row({
    same: false,
    seen_at_device: 'Start refused: watchdog differs',
    mend: 'Ten times as long.',
    mend_fields: { path: 'c.d', value: '', words: 'As meant' },
  });
  const wrong = link({ groups: [{ id: 'link', title: 'Link', rows: [differs, row()] }] });
  assert.equal(differing(wrong), 1);
  const said = words_of(typed({ links: [wrong] }));
  assert.match(said, /watchdog differs roller drive shows: “Start refused: watchdog differs”/);
  assert.match(said, /Ten times as long\. As meant/);
  assert.doesNotMatch(words_of(typed({ links: [link()] })), /differs/);
});

test('exchanged bits are marked in the grid by a mark and a word', () => {
  const controller = free();
  const device = free();
  controller[7] = { signal: 'closed', differs: true };
  device[6] = { signal: 'closed', differs: true };
  const map = {
    direction: 'to-device',
    to: 'roller drive',
    bytes: [
      { byte: 0, controller, device },
      { byte: 1, controller: free(), device: free() },
    ],
    values: [],
    differs: ['Exchanged.'],
  };
  const html = String(bits({ links: [link({ bits: [map] })] }, false));
  assert.equal(html.match(/role="gridcell"/g).length, 16);
  assert.equal(html.match(/tabindex="0"[^>]*data-grid/g).length, 1);
  assert.match(html, /aria-label="yard controller, byte 0, bit 0: closed, differs"/);
  assert.match(words_of(html), /1 more bytes hold no bit/);
  assert.match(words_of(html), /Exchanged\./);
});

test('a link whose start is refused shows STARTING and the refusal, and RUNNING nowhere', () => {
  const refused = end({ state: 'starting', refusal: 'Start refused: address', silence_ms: null });
  const controller = end({ name: 'yard controller', state: 'starting', silence_ms: null });
  const said = words_of(
    ends(
      bench({ links: [{ name: '', cable_out: false, controller, device: refused, faults: [] }] }),
    ),
  );
  assert.match(said, /STARTING/);
  assert.match(said, /Start refused: address/);
  assert.doesNotMatch(said, /RUNNING/);
});

test('of many links those closed show state and refusal in their line', () => {
  const device = end({ state: 'starting', refusal: 'Start refused: address' });
  const links = ['a', 'b', 'c'].map((name) => ({
    name,
    cable_out: false,
    controller: end(),
    device,
    faults: [],
  }));
  const said = words_of(ends(bench({ links })));
  assert.equal(said.match(/Start refused: address/g).length, 3);
});

test('where the connection is lost no end is said to run', () => {
  looking.old = true;
  const said = words_of(ends(bench()));
  looking.old = false;
  assert.doesNotMatch(said, /RUNNING/);
  assert.match(said, /NOT KNOWN/);
});

test('a held guard shows its word and is pressed', () => {
  const guard = (more) => ({
    name: 'flap',
    kind: null,
    at: '',
    held: false,
    free: true,
    latched: false,
    reset_needed: false,
    signals: [],
    follows: null,
    ...more,
  });
  const html = String(tray(bench({ guards: [guard({ held: true, free: false })] })));
  assert.match(html, /aria-pressed="true"[^>]*>flap: held, 0</);
  const calm = String(tray(bench({ guards: [guard()] })));
  assert.match(calm, /aria-pressed="false"[^>]*>flap</);
});

test('a command that is not the reaction meant is said in the row', () => {
  const signal = {
    name: 'closed',
    link: '',
    direction: 'to-device',
    computed: 0,
    sent: 0,
    received: 1,
    used: 1,
    substitute: false,
    at_ms: { computed: 100, sent: 102.1, received: 40, used: null },
    machine: 'rollers',
    reaction_meant: 'power off',
    command_now: 'ramp',
    differs: true,
  };
  const said = words_of(rows(bench({ signals: [signal] })));
  assert.match(said, /ramp meant: power off/);
  assert.match(said, /0 \+2\.1 1/); // what came before it was computed is of an earlier change
});

test('what is spoken are states, no counters', () => {
  const truth = [{ mark: 'differs', word: 'ENDS DISAGREE', rest: '2 settings', to: 'typed' }];
  const said = (more) => state_words({ truth, bench: bench(more) }).join('. ');
  assert.match(
    said({}),
    /ENDS DISAGREE 2 settings\. yard controller: RUNNING\. roller drive: RUNNING/,
  );
  const one = said({});
  const later = bench();
  Object.assign(later.links[0].device, { accepted: 99999, silence_ms: 3 });
  assert.equal(state_words({ truth, bench: later }).join('. '), one);
});

test('what is coarse is never called usable', () => {
  const point = (watchdog_ms, usable) => ({
    watchdog_ms,
    stops_per_year: { value: 0.1, low: 0, high: 1, words: '1 in 10 years' },
    response_ms: 100,
    overall_ms: 200,
    needed_mm: 300,
    spare_mm: -20,
    usable,
    why: '',
    parts: [{ name: 'guard', ms: 10 }],
    measured: null,
  });
  const of = (state, usable) => ({
    link: '',
    now_ms: 80,
    state,
    why: '',
    points: [point(70, usable), point(80, usable)],
    limit_per_year: 0.2,
    required_ms: 175,
    there_mm: 280,
    window: null,
    sentence: '',
    path: 'link.watchdog',
  });
  assert.match(words_of(following(of('exact', true), 800)), /USABLE/);
  for (const unsure of [of('exact', null), of('reckoning', true), of('none', true)])
    assert.doesNotMatch(words_of(following(unsure, 800)), /USABLE/);
  assert.match(words_of(following(of('exact', false), 800)), /NOT USABLE/);
  assert.match(words_of(following(of('exact', false), 800)), /20 mm are missing/);
  assert.equal(nearest(of('exact', true).points, 77), 1);
  assert.equal(watchdog_looked_at({ watchdogs: [] }), undefined);
});

test('the page keeps hostile names', () => {
  for (const name of HOSTILE) {
    const hostile = link({
      name,
      controller: name,
      device: name,
      groups: [
        {
          id: 'link',
          title: name,
          rows: [row({ setting: name, note: name, same: false, mend: name })],
        },
      ],
    });
    const truth = [{ mark: 'differs', word: name, rest: name, to: 'typed' }];
    const links = [
      {
        name,
        cable_out: false,
        controller: end({ name }),
        device: end({ name, refusal: name }),
        faults: [{ n: 1, words: name }],
      },
    ];
    for (const drawn of [
      typed({ links: [hostile, hostile] }),
      truth_line({ truth }),
      ends(bench({ links })),
    ]) {
      const without = String(drawn).replace(/"[^"]*"/g, '""');
      assert.doesNotMatch(without, /<(script|img)\b/);
      assert.doesNotMatch(without, /<[^>]* on\w+/);
      assert.ok(unescaped(String(drawn)).includes(name));
    }
  }
});

test('the excerpt of a file that cannot be read marks its line by a sign', () => {
  const text = Array.from({ length: 20 }, (_, i) => `line ${i + 1}`).join('\n');
  const lines = excerpt(text, 14).map((drawn) => words_of(drawn).trim());
  assert.deepEqual(lines.slice(2, 5), ['13 line 13', '› 14 line 14', '15 line 15']);
  assert.equal(lines.length, 7);
  assert.equal(excerpt('one', 1).length, 1);
  assert.equal(excerpt('one', 9).length, 0);
});

test('the row of a guard says what it must bring about and what is commanded', () => {
  const guard = {
    name: 'flap',
    kind: null,
    at: '',
    held: true,
    free: false,
    latched: false,
    reset_needed: true,
    signals: ['closed'],
    meant: [{ machine: 'rollers', must: 'power off', now: 'ramp' }],
    follows: 'rollers: meant power off, now ramp',
  };
  const html = String(tray(bench({ guards: [guard] })));
  const said = words_of(html);
  assert.match(said, /flap: held, 0 Reset flap closed power off ramp rollers: meant power off/);
  assert.match(html, /<tr class="differs">/);
  const well = String(tray(bench({ guards: [{ ...guard, follows: null, meant: undefined }] })));
  assert.doesNotMatch(well, /differs/);
});

test('where the connection is lost nothing is said to be usable now', () => {
  const truth = [{ mark: 'ok', word: 'USABLE', rest: '70 to 85 ms', to: 'watchdog' }];
  assert.match(String(truth_line({ truth })), /class="truth ok"/);
  looking.old = true;
  const html = String(truth_line({ truth }));
  looking.old = false;
  assert.doesNotMatch(html, /green|<svg/);
  assert.match(words_of(html), /old: USABLE/);
});
