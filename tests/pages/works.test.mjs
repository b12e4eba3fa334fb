// Step 4: what can be done and where, what is under way, what came of it.
import assert from 'node:assert/strict';
import test from 'node:test';
import { act } from '../../tools/training/pages/act_step.js';
import { done_so_far, last_done, what_was_done } from '../../tools/training/pages/done.js';
import { share_of } from '../../tools/training/pages/lapse.js';
import { looking } from '../../tools/training/pages/looking.js';
import { look, name_it } from '../../tools/training/pages/steps.js';
import { word } from '../../tools/training/pages/words.js';
import { works_offered } from '../../tools/training/pages/works.js';
import { HOSTILE, all_of, state_at, unescaped } from './support.mjs';

globalThis.innerWidth = 1280;

const card = (id, more = {}) => ({
  id,
  words: `Words of ${id}`,
  place: 'io',
  takes_s: 600,
  links: false,
  ...more,
});
const CARDS = [
  card('lock-out', { place: 'machine', takes_s: 180 }),
  card('replace-io'),
  card('acknowledge', { place: 'controller', takes_s: 5, links: true }),
  card('restart-machine', { place: 'machine', takes_s: 0, links: true }),
  card('call-engineer', { place: 'office', takes_s: 300 }),
];
const work = (more = {}) => ({
  card: 'replace-io',
  words: 'Words of replace-io',
  place: 'io',
  begun: 60,
  until: 660,
  ...more,
});
const done = (more = {}) => ({ ...work(), link: null, found: null, ...more });
const state = (more = {}) =>
  state_at(4, { cards: CARDS, where: 'way-back', what: 'loss', plant_time: 210, ...more });
const html = (parts) =>
  unescaped(
    [parts]
      .flat(9)
      .map((part) => part?.html ?? '')
      .join(' '),
  );
const said = (parts) =>
  html(parts)
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ');
/** With that group open. */
function offered(group, more = {}) {
  looking.group = group;
  const drawn = works_offered(state(more));
  looking.group = '';
  return drawn;
}

test('each group tells how many acts it holds, and one lies open', () => {
  const text = said(works_offered(state()));
  for (const [group, count] of [
    ['make-safe', 1],
    ['mend', 1],
    ['return', 2],
    ['ask', 1],
  ])
    assert.match(text, new RegExp(`${word('groups', group)} ${count}`), group);
  assert.equal(html(works_offered(state())).match(/aria-expanded="true"/g).length, 1);
  assert.match(text, /Words of lock-out/);
  assert.doesNotMatch(text, /Words of replace-io/);
  assert.match(said(offered('mend')), /Words of replace-io/);
  assert.doesNotMatch(said(offered('none')), /Words of/);
  globalThis.innerWidth = 390;
  assert.doesNotMatch(said(works_offered(state())), /Words of/);
  globalThis.innerWidth = 1280;
});

test('an act says where it is done and how long that takes', () => {
  assert.match(said(offered('mend')), new RegExp(`${word('places', 'io')} 10 min`));
  const back = said(offered('return'));
  assert.match(back, new RegExp(`${word('places', 'controller')} 5 s`));
  assert.match(back, new RegExp(`${word('places', 'machine')} at once`));
  assert.match(html(offered('mend')), /data-act="work" data-value="replace-io"/);
  assert.match(said(offered('mend', { done: [done(), done()] })), /done 2 times/);
});

test('a card of no group is offered as well', () => {
  const cards = [...CARDS, card('own')];
  assert.match(said(works_offered(state({ cards }))), /More 1/);
});

test('of several links it is asked at which, and a machine is started by itself', () => {
  const link = (name, machine) => ({ name, station: `${name} I/O`, machine });
  const links = [link('infeed', null), link('turner', { name: 'turner table' })];
  const drawn = html(offered('return', { links }));
  const asked = (id) => all_of(drawn, new RegExp(`data-value="${id}"[^>]*data-link="(\\d*)"`, 'g'));
  assert.deepEqual(asked('acknowledge'), ['0', '1', '']);
  assert.deepEqual(asked('restart-machine'), ['1']);
  assert.match(drawn, /aria-label="Words of acknowledge: infeed"/);
  assert.match(drawn, />turner table</);
  assert.doesNotMatch(html(offered('return')), /data-link/);
});

test('while one is under way nothing else can be pressed, and the page says until when', () => {
  const busy = { work: work() };
  for (const group of ['make-safe', 'mend', 'return', 'ask']) {
    const drawn = html(offered(group, busy));
    const acts = drawn.match(/data-act="work"/g).length;
    assert.equal(drawn.match(/aria-disabled="true"/g).length, acts, group);
    assert.doesNotMatch(drawn, / disabled/); // which would take the focus away
    assert.match(drawn, /id="busy-why">Nothing else can be done until 02:09:00/);
  }
  assert.doesNotMatch(html(offered('mend')), /aria-disabled|busy-why/);
  const hand_over = /<button[^>]*data-act="hand-over"[^>]*>/.exec(html(act(state(busy))))[0];
  assert.match(hand_over, /aria-disabled="true"/);
  // the acts of step 2 are no way round
  const drawn = html(look({ ...state(busy), step: 2, guards: [{ name: 'mat', kind: 'mat' }] }));
  for (const name of ['acknowledge', 'reset', 'restart', 'demand'])
    assert.match(drawn, new RegExp(`data-act="${name}"[^>]*aria-disabled="true"`), name);
  assert.match(drawn, /id="busy-why"/);
});

test('what is under way tells what, where and until when, and how far it has come', () => {
  const drawn = done_so_far(state({ work: work() }));
  assert.match(said(drawn), /Under way: Words of replace-io/);
  assert.match(said(drawn), new RegExp(`${word('places', 'io')}, 10 min, until 02:09:00`));
  assert.match(html(drawn), /<progress [^>]*value="0\.250"/);
  assert.match(html(drawn), /id="plant-hour"[^>]*>02:01:30</);
  assert.equal(share_of({ begun: 5, until: 5 }, 5), 1);
  assert.equal(share_of(work(), 0), 0);
  assert.equal(share_of(work(), 1e6), 1);
});

test('what was done stands with its hours, what it did and what was found, the last first', () => {
  const all = [
    done({ card: 'lock-out', words: 'Locked', begun: 10, until: 70 }),
    done({ words: 'Mended', found: 'A fibre was dirty.' }),
    done({ words: 'Pressed', begun: 700, until: 700.2, link: 'infeed' }),
  ];
  const text = said(done_so_far(state({ done: all })));
  assert.match(text, /02:09:40 infeed: Pressed .*01:59:00 to 02:09:00 Mended .* 01:58:10 to/);
  assert.match(text, /Mended A fibre was dirty\./);
  assert.equal(last_done(all), 'Done: infeed: Pressed');
  assert.equal(last_done(all.slice(0, 2)), 'Done: Mended: A fibre was dirty');
  assert.equal(last_done([]), '');
  const many = Array.from({ length: 9 }, (_, i) => done({ words: `Act ${i}` }));
  assert.match(said(done_so_far(state({ done: many }))), /Act 8 .* Earlier: 6 .* Act 0/);
  const told = said(what_was_done(state({ done: all })));
  assert.match(told, /Locked .* Mended .* infeed: Pressed/);
  assert.match(said(what_was_done(state())), /Nothing was done/);
});

test('from the first act on what was named stands, and is no longer asked', () => {
  const named = `${word('where', 'way-back')}; ${word('what', 'loss')}`;
  const before = said(act(state()));
  assert.ok(before.includes(`You named: ${named}. It stands from your first act on.`));
  const begun = { done: [done()] };
  assert.ok(said(act(state(begun))).includes(`What you named stands: ${named}.`));
  assert.match(html(name_it({ ...state(), step: 3 }, null)), /type="radio"/);
  for (const more of [begun, { work: work() }]) {
    const closed = name_it({ ...state(more), step: 3 }, null);
    assert.doesNotMatch(html(closed), /type="radio"|data-act="(name|cannot-tell)"/);
    assert.ok(said(closed).includes(`What you named stands: ${named}.`));
    assert.match(html(closed), /data-act="step" data-value="4"/);
    assert.match(html(look({ ...state(more), step: 2 }, null)), /data-act="step" data-value="4"/);
  }
  assert.match(html(look({ ...state(), step: 2 }, null)), /data-act="step" data-value="3"/);
  const untold = { where: '', what: '', cannot_tell: true };
  assert.ok(said(act(state(untold))).includes(word('acts', 'cannot-tell')));
  assert.match(said(act(state({ where: '', what: '' }))), /You named: nothing\./);
});

test('a drill is handed over once something is done, and nothing waits to be understood', () => {
  const button_of = (more) =>
    /<button[^>]*data-act="hand-over"[^>]*>/.exec(html(act(state(more))))[0];
  assert.match(button_of({}), /aria-disabled="true"/);
  assert.match(button_of({ done: [done()] }), /class="main"/);
  assert.doesNotMatch(button_of({ done: [done()] }), /aria-disabled/);
  const warned = { id: 'restart-early', why: 'A reason.' };
  assert.match(button_of({ done: [done()], warned }), /aria-disabled="true"/);
});

test('step 4 keeps hostile names', () => {
  for (const name of HOSTILE) {
    const hostile = state({
      cards: [card('lock-out', { words: name })],
      work: work({ words: name }),
      done: [done({ words: name, found: name, link: name })],
    });
    const bare = act(hostile)
      .flat(9)
      .map((part) => part?.html ?? '')
      .join(' ')
      .replace(/"[^"]*"/g, '""');
    assert.doesNotMatch(bare, /<(script|img|b)\b/);
    assert.doesNotMatch(bare, /<[^>]* on\w+/);
  }
});
