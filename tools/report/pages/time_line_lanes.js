// The lanes of the time line, each with its lines: states of an end, contacts, signals, speed.
import { axis, look } from './looks.js';
import { cut } from './on_lines.js';

/** @typedef {import('./data_shape.js').TimeLine} TimeLine */
/**
 * What is drawn, while it is gathered.
 * @typedef {object} Lanes
 * @property {TimeLine} line
 * @property {boolean} narrow
 * @property {number} letters of a name, at most
 * @property {number} wide px of what stands beside the lanes
 * @property {number} end s
 * @property {any[]} sets
 * @property {any} scales
 * @property {{ id: string, title: string }[]} names of lanes, written into them
 */

export const state_words = ['stopped', 'waits', 'starting', 'running'];
/** @type {{ [state: string]: number }} */
const state_height = {
  'safe state': 0,
  'awaiting acknowledgement': 1,
  'start-up': 2,
  running: 3,
};
const signal_apart = 1.6;

/**
 * Changes as points of a stepped line, s against height.
 * @template T
 * @param {[number, T][]} changes
 * @param {number} first
 * @param {(value: T) => number} height
 * @param {number} end
 */
function steps_of(changes, first, height, end) {
  const points = [{ x: 0, y: first }];
  for (const [at, value] of changes) points.push({ x: at / 1000, y: height(value) });
  points.push({ x: end, y: points[points.length - 1].y });
  return points;
}

/** A line without dash and markers. @param {1 | 2} n */
const plain = (n) => ({ ...look(n), borderDash: [], pointRadius: 0, clip: 0 });

/** How high a lane is, in the unit of the style sheet. @param {number} rows */
export const weight_of = (rows) => Math.max(1.6, rows * 0.8 + 0.5);

/**
 * @param {Lanes} lanes
 * @param {string} id
 * @param {{ weight: number, title: string, min: number, max: number }} lane
 * @param {number[]} values that are marked
 * @param {(value: number) => string} text of each
 */
export function add_lane(lanes, id, { weight, title, min, max }, values, text) {
  lanes.names.push({ id, title });
  lanes.scales[id] = axis('', {
    type: 'linear',
    position: 'left',
    stack: 'lanes',
    stackWeight: weight,
    min,
    max,
    offset: true,
    ticks: { autoSkip: false, callback: text },
    grid: { drawTicks: false },
    // one width for all lanes: the library would fit each to itself and cut the longest
    afterFit: (/** @type {any} */ a) => {
      a.width = lanes.wide;
    },
    afterBuildTicks: (/** @type {any} */ a) => {
      a.ticks = values.map((value) => ({ value }));
    },
  });
}

/** @param {Lanes} lanes */
export function add_speed(lanes) {
  const { machine, speed } = lanes.line;
  if (machine === null) return;
  const top = Math.max(1, ...speed.map((p) => p[1]));
  const lane = { weight: 2.4, title: machine + ', mm/s', min: 0, max: top * 1.4 };
  add_lane(lanes, 'speed', lane, [0, top], String);
  lanes.sets.push({
    ...plain(2),
    fill: false,
    label: machine + ', speed',
    yAxisID: 'speed',
    data: speed.map(([at, v]) => ({ x: at / 1000, y: v })),
  });
}

/**
 * A lane of lines that are 0 or 1, one above the other, each with its name at its 0.
 * @param {Lanes} lanes
 * @param {string} id
 * @param {string} title
 * @param {string[]} names
 * @returns {(i: number) => number} where the 0 of each line lies
 */
function add_levels(lanes, id, title, names) {
  const base = (/** @type {number} */ i) => (names.length - 1 - i) * signal_apart;
  const lane = { weight: weight_of(names.length), title, min: -0.3, max: base(0) + 2 };
  const text = (/** @type {number} */ v) => {
    const i = names.findIndex((_, k) => Math.abs(base(k) - v) < 1e-6);
    return i < 0 ? '' : cut(names[i], lanes.letters);
  };
  const values = names.map((_, i) => base(i));
  add_lane(lanes, id, lane, values, text);
  return base;
}

/** @param {Lanes} lanes */
export function add_signals(lanes) {
  const { signals } = lanes.line;
  if (signals.length === 0) return;
  const title = lanes.narrow ? 'signals' : 'signals, dotted as computed by the sender';
  const base = add_levels(
    lanes,
    'signals',
    title,
    signals.map((s) => s.name),
  );
  signals.forEach((signal, i) => {
    const height = (/** @type {number} */ v) => base(i) + v;
    const line = { stepped: 'before', yAxisID: 'signals', pointRadius: 0, clip: 0 };
    // the first that is made lies on top
    lanes.sets.push({
      ...plain(1),
      ...line,
      label: signal.name + ' used at ' + signal.used_at,
      data: steps_of(signal.changes, base(i), height, lanes.end),
    });
    lanes.sets.push({
      ...look(3),
      ...line,
      label: signal.name + ' computed at ' + signal.computed_at,
      data: steps_of(signal.computed, base(i), height, lanes.end),
    });
  });
}

/** Contacts, each demand marked where its contact opens. @param {Lanes} lanes */
export function add_guards(lanes) {
  const { contacts, demands } = lanes.line;
  if (contacts.length === 0) return;
  const names = contacts.map((c) => c.name);
  const base = add_levels(lanes, 'guards', 'guards, contact closed or open', names);
  lanes.sets.push({
    ...look(4),
    showLine: false,
    yAxisID: 'guards',
    label: 'demand',
    data: demands.map(({ at, guard, words }) => ({
      x: at / 1000,
      y: base(Math.max(0, names.indexOf(guard))),
      note: words,
    })),
  });
  contacts.forEach((contact, i) =>
    lanes.sets.push({
      ...plain(1),
      stepped: 'before',
      yAxisID: 'guards',
      label: contact.name + ', contact',
      data: steps_of(contact.changes, base(i) + 1, (v) => base(i) + v, lanes.end),
    }),
  );
}

/** @param {Lanes} lanes @param {'device' | 'controller'} which */
export function add_end(lanes, which) {
  const end = lanes.line[which];
  const title = lanes.narrow ? end.short : end.name;
  const lane = { weight: 2.8, title, min: -0.4, max: 4.3 };
  add_lane(lanes, which, lane, [0, 1, 2, 3], (v) => state_words[v]);
  lanes.sets.push({
    ...plain(1),
    stepped: 'before',
    yAxisID: which,
    label: end.name,
    data: steps_of(end.states, 2, (s) => state_height[s], lanes.end),
  });
}
