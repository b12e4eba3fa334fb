// A state put together again from what changed.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { changed } from '../../tools/pages/changes.js';

const before = { a: 1, list: [1, 2, 3], same: { deep: 'x' }, none: null };

test('members, lists that go on and places of a list', () => {
  const now = changed(before, [1, { a: [0, 2], list: [2, 1, 4, 5], more: [0, null] }]);
  assert.deepEqual(now, { a: 2, list: [2, 3, 4, 5], same: { deep: 'x' }, none: null, more: null });
  assert.equal(now.same, before.same);
  assert.deepEqual(changed([{ b: 1 }, { b: 2 }], [3, [1, [1, { b: [0, 7] }]]]), [
    { b: 1 },
    { b: 7 },
  ]);
  assert.deepEqual(changed(before, [0, null]), null);
});

test('what is not known is an error, not a guess', () => {
  assert.throws(() => changed(before, [9]));
});
