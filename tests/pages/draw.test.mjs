// Nothing that people or files name becomes markup.
import assert from 'node:assert/strict';
import test from 'node:test';
import { draw } from '../../tools/pages/draw.js';
import { button, choice, table } from '../../tools/pages/parts.js';
import { log } from '../../tools/training/pages/log.js';
import { look, name_it, secure } from '../../tools/training/pages/steps.js';
import { HOSTILE, state_at, unescaped } from './support.mjs';

test('what stands between tags is text', () => {
  for (const name of HOSTILE) {
    const html = String(draw`<p>${name}</p>`);
    const inside = /^<p>(.*)<\/p>$/s.exec(html)[1];
    assert.doesNotMatch(inside, /[<>"']/);
    assert.equal(unescaped(inside), name);
  }
});

test('what stands in an attribute stays in it', () => {
  for (const name of HOSTILE)
    for (const html of [
      String(draw`<b title="${name}">x</b>`),
      String(draw`<b ${{ title: name }}>x</b>`),
    ]) {
      const inside = /^<b title="(.*)">x<\/b>$/s.exec(html)[1];
      assert.doesNotMatch(inside, /[<>"']/);
      assert.equal(unescaped(inside), name);
    }
});

test('buttons, tables and choices keep hostile names', () => {
  for (const name of HOSTILE) {
    const drawn = [
      button('free', name, name, { 'aria-label': `Free the place: ${name}` }),
      table([name], [[name], { cells: [name], css: name }], name, name),
      choice(name, name, [[name, name]]),
    ];
    for (const html of drawn.map(String)) {
      const without = html.replace(/"[^"]*"/g, '""');
      const tags = without.match(/<[^<>]*>/g).map((tag) => tag.match(/^<\/?(\w+)/)[1]);
      const known = 'button div table thead tbody tr th td label select option'.split(' ');
      assert.deepEqual(
        tags.filter((tag) => !known.includes(tag)),
        [],
      );
      assert.doesNotMatch(without, /<[^>]* on\w+/);
      assert.doesNotMatch(html, /data-value="all"/);
    }
  }
});

test('steps and log keep hostile names of a plant', () => {
  for (const name of HOSTILE) {
    const state = (step) =>
      state_at(step, {
        drill: { number: 1, title: name, plant: name, story: name, people: name },
        machine: { name, moves: true, speed: 1, full: 2, position: 3, degrees: null },
        guards: [{ name, kind: 'curtain', latched: true }],
        signals: [{ name, sent: true, used: false, substitute: false }],
        hints: [name],
        log: [{ at: 1, what: 'demand', about: name }],
        neighbour: [
          {
            name,
            end: name,
            state: 'running',
            refusal: 'cycle',
            address: { value: 1, typed: '0x0001' },
            number_sent: 2,
            received: 1,
            rejected: 0,
          },
        ],
      });
    const html = String(draw`${[secure(state(1)), look(state(2), null), name_it(state(3), null)]}`);
    assert.doesNotMatch(html, /<img|<script|<!--/);
    assert.doesNotMatch(html.replace(/"[^"]*"/g, '""'), /<[^>]* on\w+/);
    assert.doesNotMatch(String(log(state(1))), /<img|<script|<!--/);
  }
});

test('attributes: true has no value, what is false or not there is left out', () => {
  const attributes = { type: 'radio', checked: true, disabled: false, id: undefined, value: 0 };
  assert.equal(String(draw`<input ${attributes}>`), '<input type="radio" checked value="0">');
  assert.equal(String(draw`<tr ${{ class: undefined }}>`), '<tr >');
});

test('what is no name of an attribute is refused, and so are handlers', () => {
  for (const name of ['onclick', 'ONCLICK', 'a b', 'a=b', 'a>', '"', '', '1', 'a/'])
    assert.throws(() => draw`<b ${{ [name]: 'x' }}>`, /no name of an attribute/);
});

test('nothing but attributes stands in a tag, and no attributes elsewhere', () => {
  assert.throws(() => draw`<b ${'onclick="x"'}>`, /only an object/);
  assert.throws(() => draw`<b ${draw`<i>`}>`, /only an object/);
  assert.throws(() => draw`<b ${['x']}>`, /only an object/);
  assert.throws(() => draw`<b>${{ title: 'x' }}</b>`, /outside of a tag/);
  assert.throws(() => draw`<b title="${draw`<i>`}">`, /in quotes/);
  assert.throws(() => draw`<b title="${{}}">`, /in quotes/);
  assert.throws(() => draw`<b title=${'x'}>`, /write quotes/);
  assert.throws(() => draw`<${'b'}>`, /write quotes/);
});

test('only what draw() made is taken as drawn', () => {
  assert.equal(
    String(draw`<p>${draw`<b>x</b>`}${[draw`<i>y</i>`, '<']}</p>`),
    '<p><b>x</b><i>y</i>&#60;</p>',
  );
  assert.throws(() => draw`<p>${{ html: '<b>' }}</p>`);
  assert.equal(String(draw`${null}${undefined}${false}${0}`), '0');
});
