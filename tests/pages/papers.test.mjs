// What papers say of hashes, of a chain that does not hold, and of a free drill; and that names
// stay names in them.
import assert from 'node:assert/strict';
import test from 'node:test';
import { certificate } from '../../tools/training/pages/certificate.js';
import { chain_lines, chain_told, short_hash } from '../../tools/training/pages/hashes.js';
import { free_words } from '../../tools/training/pages/trainers_hand.js';
import { HOSTILE, unescaped } from './support.mjs';

const HASH = '3f2a91bc07de55aa' + '0'.repeat(48);
const CHAIN = { entries: 7, last: HASH, since: null, holds: true, kept: true };
const result = (more) => ({
  id: 1,
  when: '2026-12-01 10:00',
  person: 'P1',
  name: 'Anna',
  exam: null,
  drill: 4,
  title: 'The gate',
  mode: 'practice',
  result: 'safe-and-found',
  points: 88,
  seconds: 61,
  trainer: '',
  withdrawn: null,
  deleted: null,
  hash: HASH,
  before: HASH,
  ...more,
});
const paper = (results, chain = CHAIN) =>
  unescaped(
    String(certificate({ version: '1.2.3', results, exams: [], chain, wrong: [] }, results[0])),
  );

test('a hash on paper is four groups of its first digits, and none is said to be none', () => {
  assert.equal(short_hash(HASH), '3f2a 91bc 07de 55aa');
  assert.doesNotMatch(short_hash(null), /[0-9a-f]{4} /);
});

test('a chain that does not hold, that is younger than its records, or in no file says so', () => {
  const plain = String(chain_lines(CHAIN));
  assert.match(plain, /3f2a 91bc 07de 55aa/);
  assert.doesNotMatch(plain, /<strong>/);
  assert.match(String(chain_lines({ ...CHAIN, holds: false })), /<strong>.*not as they were kept/);
  assert.match(String(chain_lines({ ...CHAIN, kept: false })), /<strong>.*in no file/);
  assert.match(String(chain_lines({ ...CHAIN, since: '2026-11-30 08:00' })), /2026-11-30 08:00/);
  assert.match(String(chain_told(CHAIN, ['result 4 was changed'])), /result 4 was changed/);
});

test('a certificate leaves out nothing of the person, takes in nobody else, claims nothing', () => {
  const said = paper([
    result({}),
    result({ id: 2, title: 'Badly', result: 'dangerous-action', points: null }),
    result({ id: 3, title: 'Taken back', withdrawn: '2026-12-01 11:00' }),
    result({ id: 4, title: 'Away', result: '', deleted: '2026-12-01 12:00' }),
    result({ id: 5, title: 'Of Ben', person: 'P2', name: 'Ben' }),
  ]);
  for (const words of [/Badly/, /Taken back/, /withdrawn/, /Away/, /deleted/, /all 4 results/])
    assert.match(said, words);
  assert.doesNotMatch(said, /Of Ben|Ben/);
  assert.match(said, /no proof of competence and no permission/);
  assert.match(paper([result({})], { ...CHAIN, holds: false }), /not as they were kept/);
});

test('a name stays a name on a certificate', () => {
  for (const name of HOSTILE) {
    const drawn = certificate(
      { version: '1', results: [result({ name })], exams: [], chain: CHAIN, wrong: [] },
      result({ name }),
    );
    assert.doesNotMatch(String(drawn), /<img|<script|onfocus='/);
  }
});

test('a free drill says what it was judged by, or that nothing had acted', () => {
  const faults = [{ link: 'infeed', where: 'way-out', what: 'loss' }];
  const said = free_words({ faults, secured: false });
  assert.match(said, /infeed; .*; loss/);
  assert.match(said, /Not all/);
  assert.match(free_words({ faults: [], secured: true }), /not judged/);
});
