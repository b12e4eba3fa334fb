// What is chosen on the page before it is handed in.
import assert from 'node:assert/strict';
import test from 'node:test';
import {
  answer,
  choices,
  choose_nothing,
  take_draft,
  when_chosen,
} from '../../tools/training/pages/choices.js';

test('what is chosen is brought to the computer, and what it has is shown', () => {
  choose_nothing();
  take_draft({ where: 'io', what: 'delay' });
  assert.equal(choices.named.where, 'io');
  /** @type {object[]} */
  const kept = [];
  when_chosen((fields) => kept.push(fields));
  answer('what', 'loss');
  assert.deepEqual(kept, [{ where: 'io', what: 'loss', because: '' }]);
  // news from before do not undo it
  take_draft({ where: 'io', what: 'delay' });
  assert.equal(choices.named.what, 'loss');
  choose_nothing();
  assert.equal(choices.named.what, '');
  take_draft({ what: 'delay' });
  assert.equal(choices.named.what, 'delay');
  choose_nothing();
  when_chosen(() => {});
});
