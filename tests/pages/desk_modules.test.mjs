// The modules of the desk's page: their sentences, and how the page asks for them.
import assert from 'node:assert/strict';
import test from 'node:test';
import { BOOK } from '../../tools/desk/pages/texts_book.js';
import { RESULTS } from '../../tools/desk/pages/texts_results.js';
import { TRY } from '../../tools/desk/pages/texts_try.js';
import { all_of, modules_of } from './support.mjs';

test('each sentence is used, and each that is used is there once', () => {
  const modules = modules_of('desk/pages');
  const code = [...modules]
    .filter(([name]) => !name.startsWith('texts'))
    .map(([, text]) => text)
    .join('\n');
  const parts = [BOOK, RESULTS, TRY].map(Object.keys);
  const all = parts.flat();
  assert.equal(new Set(all).size, all.length);
  // made of a word and a state: `s-${end.state}`
  const made = all_of(code, /t\(\s*`([a-z]+-)\$/g);
  assert.ok(made.length > 3);
  for (const key of all)
    assert.ok(
      code.includes(`'${key}'`) || made.some((begin) => key.startsWith(begin)),
      `not used: ${key}`,
    );
});
