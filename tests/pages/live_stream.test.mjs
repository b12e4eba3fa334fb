// An event stream that is lost is taken up again, and not too often.
import assert from 'node:assert/strict';
import test from 'node:test';
import { LiveStream } from '../../tools/pages/live_stream.js';

const opened = [];
globalThis.EventSource = class {
  closed = false;
  constructor(path) {
    this.path = path;
    this.hears = {};
    opened.push(this);
  }
  addEventListener(name, does) {
    this.hears[name] = does;
  }
  close() {
    this.closed = true;
  }
};

function at(ms, does) {
  const now = Date.now;
  Date.now = () => ms;
  try {
    return does();
  } finally {
    Date.now = now;
  }
}

test('messages are read and told, and the one before is closed', () => {
  const heard = [];
  const stream = new LiveStream('/events', (told) => heard.push(told));
  assert.equal(stream.open, false);
  stream.listen();
  stream.listen();
  assert.deepEqual(
    opened.splice(0).map((one) => [one.path, one.closed]),
    [
      ['/events', true],
      ['/events', false],
    ],
  );
  stream.listen();
  const source = opened.pop();
  source.onmessage({ data: '{"a":1,"b":[1]}' });
  source.hears.changes({ data: '[1,{"b":[2,0,5]}]' });
  assert.deepEqual(heard, [
    { a: 1, b: [1] },
    { a: 1, b: [1, 5] },
  ]);
  assert.equal(stream.open, true);
});

test('a loss is followed by one try at a time', () => {
  const stream = new LiveStream('/events', () => {});
  stream.listen();
  const source = opened.pop();
  at(1000, () => source.onerror());
  assert.deepEqual([stream.open, source.closed, stream.try_at], [false, true, 4000]);
  at(2000, () => stream.lose());
  assert.equal(stream.try_at, 4000, 'a second loss does not put the try off');
  assert.equal(
    at(3999, () => stream.take_try()),
    false,
  );
  assert.equal(
    at(4000, () => stream.take_try()),
    true,
  );
  assert.equal(
    at(4001, () => stream.take_try()),
    false,
    'one is under way',
  );
  at(5000, () => stream.tried(false));
  assert.equal(stream.try_at, 8000);
  stream.tried(true);
  assert.equal(stream.try_at, null);
  assert.equal(
    at(9999, () => stream.take_try()),
    false,
  );
});
