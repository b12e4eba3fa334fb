// What the pages use of the vocabulary is what the program sends; no text is missing or left over.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { OF_THE_PAGE } from '../../tools/training/pages/acts.js';
import { done_words, event_words } from '../../tools/training/pages/log.js';
import { MARKS } from '../../tools/pages/marks.js';
import { ACT } from '../../tools/training/pages/texts_act.js';
import { BENCH } from '../../tools/training/pages/texts_bench.js';
import { BOOK } from '../../tools/training/pages/texts_book.js';
import { DEBRIEF } from '../../tools/training/pages/texts_debrief.js';
import { INSTRUCTOR } from '../../tools/training/pages/texts_instructor.js';
import { all_of, modules_of, told } from './support.mjs';

const modules = modules_of('training/pages');
const code = [...modules]
  .filter(([name]) => !name.startsWith('texts'))
  .map(([, text]) => text)
  .join('\n');
const parts = [BOOK, BENCH, ACT, DEBRIEF, INSTRUCTOR];
const { words } = told;

/** What is told to the console while that is done. */
function complaints_of(does) {
  const complain = console.error;
  const complaints = [];
  console.error = (text) => complaints.push(text);
  try {
    does();
  } finally {
    console.error = complain;
  }
  return complaints;
}

test('the lists that the pages know are those that are sent', () => {
  const source = readFileSync(
    new URL('../../tools/training/pages/told.d.ts', import.meta.url),
    'utf8',
  );
  const known = all_of(/export type List =([^;]*);/.exec(source)[1], /'(\w+)'/g);
  assert.deepEqual(known.sort(), Object.keys(words).sort());
});

test('each word that is named in a page is sent', () => {
  const named = [...code.matchAll(/\bword\(\s*'(\w+)',\s*'([^']*)'/g)];
  assert.ok(named.length > 15, 'the pages name words');
  for (const [, list, id] of named) assert.ok(words[list]?.[id] !== undefined, `${list}: ${id}`);
});

test('each list is used', () => {
  for (const list of Object.keys(words))
    assert.match(code, new RegExp(`'${list}'`), `no page uses "${list}"`);
});

test('each button asks for an act that somebody knows', () => {
  const asked = all_of(code, /\b(?:act_)?button\(\s*'([a-z-]+)'/g);
  assert.ok(asked.length > 30);
  const of_instructor = all_of(modules.get('instructor.js'), /^ {2}'?([a-z-]+)'?(?::|,$)/gm);
  assert.ok(of_instructor.includes('put-in') && of_instructor.includes('save'));
  const known = [...Object.keys(OF_THE_PAGE), ...of_instructor, ...Object.keys(words.acts)];
  assert.deepEqual(
    asked.filter((act) => !known.includes(act)),
    [],
  );
});

test('each act at a drill has its button', () => {
  for (const act of Object.keys(words.acts))
    assert.match(code, new RegExp(`button\\(\\s*'${act}'`), `nothing asks for "${act}"`);
});

test('each state has its mark', () => {
  for (const state of Object.keys(words.states)) assert.ok(MARKS[state], state);
});

test('no text is missing, twice, or left over', () => {
  const texts = parts.flatMap((part) => Object.keys(part));
  assert.equal(new Set(texts).size, texts.length, 'a text stands twice');
  for (const key of all_of(code, /\bt\('([^']+)'/g)) assert.ok(texts.includes(key), key);
  for (const key of texts) assert.match(code, new RegExp(`['"]${key}['"]`), `unused: ${key}`);
});

test('no text of the pages is a word of the program as well', () => {
  const ids = new Set(Object.values(words).flatMap((list) => Object.values(list)));
  const own = parts.flatMap((part) => Object.entries(part));
  const both = own.filter(([, text]) => text.length > 20 && ids.has(text));
  assert.deepEqual(both, []);
});

test('each instrument is a reading, and each kind of guard is demanded in its words', () => {
  assert.deepEqual(Object.keys(words.demands), Object.keys(words.demanded));
  assert.equal(told.minutes, undefined);
  for (const id of Object.keys(words.instruments)) assert.ok(words.readings[id], id);
});

test('faults and places of the hand are words of a finding', () => {
  assert.ok(Object.keys(told.faults).length > 10);
  for (const what of Object.values(told.faults)) assert.ok(words.what[what], what);
  for (const place of told.fault_places) assert.ok(words.where[place], place);
  assert.deepEqual(Object.keys(words.meanings), Object.keys(words.what));
});

test('what was done is told in words, whatever it was', () => {
  const about = {
    step: '2',
    conduct: 'keep-out',
    'conduct-not': 'keep-out',
    instrument: 'time-line',
    demand: 'a door',
    keep: 'ages',
    drop: 'test-demand',
    named: 'loss',
    danger: 'restart-early',
    'taken-back': 'Raise the watchdog time',
    'not-started': 'isolated',
    'put-in': 'swap',
  };
  const complaints = complaints_of(() => {
    for (const what of Object.keys(words.log)) {
      const said = done_words(what, about[what] ?? '');
      assert.doesNotMatch(said, /\{|undefined/, what);
    }
    for (const what of Object.keys(words.events)) {
      const about = what === 'machine-not-started' ? 'isolated' : 'loss';
      const more = what === 'changed' ? 'sequence' : 'two-hand';
      const event = { at: 1, what, about, more, state: 'running' };
      assert.doesNotMatch(event_words(event), /\{|undefined/, what);
    }
  });
  assert.deepEqual(complaints, []);
  assert.equal(
    done_words('put-in', 'swap'),
    'The trainer put a fault in: addressing: links exchanged.',
  );
  assert.equal(
    done_words('danger', 'Raise the watchdog time'),
    'Dangerous: Raise the watchdog time.',
  );
});

test('a word that is not sent is shown as it is, and complained of', () => {
  const complaints = complaints_of(() =>
    assert.equal(done_words('no-such-act', ''), 'no-such-act'),
  );
  assert.equal(complaints.length, 1);
});

test('the limits are those that the texts speak of', () => {
  assert.equal(told.limits.kept, 3);
  assert.match(BENCH['look-question'], /up to three/);
  assert.match(words.refusals['enough-kept'], /^Three /);
  assert.equal(told.limits.hints, 3);
});
