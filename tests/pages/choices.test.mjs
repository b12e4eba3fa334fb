// What is chosen on the page before it is handed in.
import assert from 'node:assert/strict';
import test from 'node:test';
import { choices, choose, choose_nothing, do_earlier } from '../../tools/training/pages/choices.js';

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
