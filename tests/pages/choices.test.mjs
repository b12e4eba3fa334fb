// What is chosen on the page before it is handed in.
import assert from 'node:assert/strict';
import test from 'node:test';
import {
  answer,
  choices,
  choose,
  choose_nothing,
  do_earlier,
  take_draft,
  when_chosen,
} from '../../tools/training/pages/choices.js';

test('actions are chosen up to a number, taken away, and moved', () => {
  choose_nothing();
  for (const id of ['a', 'b', 'c']) choose(id, 2);
  assert.deepEqual(choices.actions, ['a', 'b']);
  do_earlier('b');
  assert.deepEqual(choices.actions, ['b', 'a']);
  do_earlier('b');
  do_earlier('nothing');
  assert.deepEqual(choices.actions, ['b', 'a']);
  choose('b', 2);
  assert.deepEqual(choices.actions, ['a']);
  choose_nothing();
  assert.deepEqual(choices.actions, []);
});

test('what is chosen is brought to the computer, and what it has is shown', () => {
  choose_nothing();
  take_draft({ where: 'io', actions: 'a,b' });
  assert.equal(choices.named.where, 'io');
  assert.deepEqual(choices.actions, ['a', 'b']);
  /** @type {object[]} */
  const kept = [];
  when_chosen((fields) => kept.push(fields));
  answer('what', 'loss');
  choose('a', 4);
  assert.deepEqual(kept.at(-1), { where: 'io', what: 'loss', because: '', actions: 'b' });
  // news from before do not undo it
  take_draft({ where: 'io', actions: 'a,b' });
  assert.deepEqual(choices.actions, ['b']);
  when_chosen(() => {});
});
