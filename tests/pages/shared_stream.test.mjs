// Windows of one browser share one stream: one listens, all hear the same, and its turn goes on.
import assert from 'node:assert/strict';
import test from 'node:test';
import { SharedStream } from '../../tools/pages/shared_stream.js';

const sources = [];
globalThis.EventSource = class {
  hears = {};
  closed = false;
  constructor(path) {
    this.path = path;
    sources.push(this);
  }
  addEventListener(name, does) {
    this.hears[name] = does;
  }
  close() {
    this.closed = true;
  }
};

/** As in a browser: what one posts all others of that name hear, each in its order. */
const channels = new Set();
globalThis.BroadcastChannel = class {
  onmessage = null;
  constructor(name) {
    this.name = name;
    channels.add(this);
  }
  postMessage(data) {
    for (const one of channels)
      if (one !== this && one.name === this.name)
        setImmediate(() => channels.has(one) && one.onmessage?.({ data: structuredClone(data) }));
  }
  close() {
    channels.delete(this);
  }
};

/** One turn, and those who wait for it. */
let held = null;
const waiting = [];
function next() {
  const turn = waiting.shift();
  if (!turn) return;
  held = turn;
  Promise.resolve(turn.does()).then(() => {
    turn.done();
    if (held === turn) {
      held = null;
      next();
    }
  });
}
const locks = {
  request: (_, { steal, signal }, does) =>
    new Promise((done, fails) => {
      const turn = { does, done, fails };
      signal?.addEventListener('abort', () => {
        const at = waiting.indexOf(turn);
        if (at >= 0) waiting.splice(at, 1);
        fails(new Error('abort'));
      });
      if (steal && held) {
        held.fails(new Error('stolen'));
        held = null;
        waiting.unshift(turn);
      } else waiting.push(turn);
      if (held === null) next();
    }),
};
Object.defineProperty(globalThis, 'navigator', { value: { locks }, configurable: true });

const settle = async () => {
  for (let i = 0; i < 6; ++i) await new Promise((done) => setImmediate(done));
};
const open = () => sources.filter((one) => !one.closed);

/** So many windows that listen. @param {number} count */
async function windows(count) {
  const all = Array.from({ length: count }, () => {
    const heard = [];
    const stream = new SharedStream('/events', (told) => heard.push(told));
    stream.listen();
    return { stream, heard };
  });
  await settle();
  return all;
}
const last = ({ heard }) => heard.at(-1);

test('a dozen windows listen by one stream, and hear the same', async () => {
  const all = await windows(12);
  assert.equal(open().length, 1);
  open()[0].onmessage({ data: '{"a":1,"b":[1]}' });
  open()[0].hears.changes({ data: '[1,{"b":[2,0,5]}]' });
  await settle();
  for (const one of all) assert.deepEqual(last(one), { a: 1, b: [1, 5] });
  // who comes later is told all of it first
  const [late] = await windows(1);
  assert.deepEqual(late.heard, [{ a: 1, b: [1, 5] }]);
  open()[0].hears.changes({ data: '[1,{"a":[0,2]}]' });
  await settle();
  assert.deepEqual(last(late), { a: 2, b: [1, 5] });
  // what did not change is the same object, so that it is not drawn again
  assert.equal(late.heard[0].b, late.heard[1].b);
  assert.equal(open().length, 1);
  for (const { stream } of [...all, late]) stream.close();
  await settle();
  assert.equal(open().length, 0);
});

test('when the window that listens is hidden or closed another one does', async () => {
  const [first, second, third] = await windows(3);
  open()[0].onmessage({ data: '{"a":1}' });
  first.stream.close();
  await settle();
  assert.equal(open().length, 1);
  open()[0].onmessage({ data: '{"a":2}' });
  await settle();
  assert.deepEqual([last(first), last(second), last(third)], [{ a: 1 }, { a: 2 }, { a: 2 }]);
  for (const { stream } of [second, third]) stream.close();
  await settle();
});

test('a loss is told by each window itself, and tried again', async () => {
  const [first, second] = await windows(2);
  open()[0].onerror();
  await settle();
  // its turn came, and it does not reach anybody either
  open()[0].onerror();
  await settle();
  assert.equal(open().length, 0);
  for (const { stream } of [first, second]) {
    assert.ok(stream.try_at > Date.now());
    stream.tried(true);
    stream.listen();
  }
  await settle();
  open()[0].onmessage({ data: '{"a":3}' });
  await settle();
  assert.deepEqual([last(first), last(second)], [{ a: 3 }, { a: 3 }]);
  for (const { stream } of [first, second]) stream.close();
  await settle();
});

test('where the window that listens says nothing, its turn is taken', async () => {
  const [silent, other] = await windows(2);
  const before = open()[0];
  other.stream.lose();
  other.stream.tried(true);
  other.stream.listen();
  await settle();
  assert.equal(before.closed, true, 'there is one stream still');
  assert.equal(open().length, 1);
  open()[0].onmessage({ data: '{"a":4}' });
  await settle();
  assert.deepEqual([last(silent), last(other)], [{ a: 4 }, { a: 4 }]);
  for (const { stream } of [silent, other]) stream.close();
  await settle();
});
