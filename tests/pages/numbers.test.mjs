// Numbers and times as people read them.
import assert from 'node:assert/strict';
import test from 'node:test';
import { filled } from '../../tools/pages/filled.js';
import {
  hex,
  in_both_bases,
  hour_at,
  lasted,
  minutes_of,
  moment_at,
  rounded,
  span,
} from '../../tools/pages/numbers.js';
import { decade_above, decade_below, tick_of } from '../../tools/report/pages/decades.js';

test('milliseconds have a decimal only where it tells something', () => {
  assert.deepEqual([0.04, 9.96, 99.94, 100.4, 1234.5].map(rounded), [0, 10, 99.9, 100, 1235]);
  assert.equal(rounded(null), '');
});

test('what lasted less than ten seconds has a decimal', () => {
  assert.deepEqual([0, 940, 9999, 10000, 61500].map(lasted), [
    '0.0 s',
    '0.9 s',
    '10.0 s',
    '10 s',
    '62 s',
  ]);
});

test('a span of time is told as a person tells it', () => {
  const spans = [0, 22.71, 999, 1000, 30860, 59940, 59960, 200000, 7209000, 2 * 86400000].map(span);
  assert.deepEqual(spans, [
    '0 ms',
    '22.7 ms',
    '999 ms',
    '1.0 s',
    '30.9 s',
    '59.9 s',
    '1 min',
    '3 min 20 s',
    '2 h',
    '2 days',
  ]);
  assert.equal(span(12 * 86400000 + 9000), '12 days');
});

test('an hour goes on after midnight', () => {
  assert.equal(hour_at('01:58:00', 125.9), '02:00:05');
  assert.equal(hour_at('23:59:59', 1), '00:00:00');
  assert.equal(hour_at('00:10:00', -1200), '23:50:00');
  assert.equal(moment_at('01:58:00', 1.0625), '01:58:01.063');
});

test('minutes, and numbers in hexadecimal', () => {
  assert.deepEqual([0, 59, 61, 3600].map(minutes_of), ['0:00', '0:59', '1:01', '60:00']);
  assert.deepEqual([hex(0x1f), hex(0x12345), hex(1, 2)], ['0x001F', '0x12345', '0x01']);
  assert.equal(in_both_bases({ value: 23, typed: '0x0017' }), '0x0017 (23)');
  assert.equal(in_both_bases({ value: 23, typed: '23' }), '23 (0x17)');
});

test('texts are filled in, once', () => {
  assert.equal(filled('{0} of {1}, {0}', ['{1}', 2]), '{1} of 2, {1}');
  assert.equal(filled('{0}{1}', [0]), '0');
});

test('powers of ten of an axis', () => {
  const ticks = [1e-12, 0.001, 1, 1000, 20].map(tick_of);
  assert.deepEqual(ticks, ['10⁻¹²', '10⁻³', '1', '1000', '']);
  assert.ok(Math.abs(decade_below([0.02, 5]) / 1e-3 - 1) < 1e-12);
  assert.ok(Math.abs(decade_above([0.02, 5]) / 1e2 - 1) < 1e-12);
});
