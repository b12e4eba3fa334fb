// The chart of the time line: lanes of faults, both ends, signals and speed above each other.
import { axis, common, look } from './looks.js';
import { cut, ink_across, text_width, words } from './on_lines.js';

/** @typedef {import('./data_shape.js').TimeLine} TimeLine */
/** @typedef {import('./data_shape.js').Injection} Injection */
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
 */

const state_words = ['stopped', 'waits', 'starting', 'running'];
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

/**
 * @param {Lanes} lanes
 * @param {string} id
 * @param {{ weight: number, title: string, min: number, max: number }} lane
 * @param {number[]} values that are marked
 * @param {(value: number) => string} text of each
 */
function add_lane(lanes, id, { weight, title, min, max }, values, text) {
  lanes.scales[id] = axis(title, {
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
function add_speed(lanes) {
  const { machine, speed } = lanes.line;
  if (machine === null) return;
  const top = Math.max(1, ...speed.map((p) => p[1]));
  const lane = { weight: 2, title: cut(machine, 10) + ', mm/s', min: 0, max: top * 1.1 };
  add_lane(lanes, 'speed', lane, [0, top], String);
  lanes.sets.push({
    ...plain(2),
    fill: false,
    label: machine + ', speed',
    yAxisID: 'speed',
    data: speed.map(([at, v]) => ({ x: at / 1000, y: v })),
  });
}

/** @param {Lanes} lanes */
function add_signals(lanes) {
  const { signals } = lanes.line;
  const count = signals.length;
  if (count === 0) return;
  const base = (/** @type {number} */ i) => (count - 1 - i) * signal_apart;
  const lane = {
    weight: Math.max(1.2, count * 0.8),
    title: '',
    min: -0.3,
    max: (count - 1) * signal_apart + 1.3,
  };
  const text = (/** @type {number} */ v) => {
    const i = signals.findIndex((_, k) => Math.abs(base(k) - v) < 1e-6);
    return i < 0 ? '' : cut(signals[i].name, lanes.letters);
  };
  add_lane(
    lanes,
    'signals',
    lane,
    signals.map((_, i) => base(i)),
    text,
  );
  signals.forEach((signal, i) =>
    lanes.sets.push({
      ...plain(1),
      stepped: 'before',
      yAxisID: 'signals',
      label: signal.name + ' at ' + signal.used_at,
      data: steps_of(signal.changes, base(i), (v) => base(i) + v, lanes.end),
    }),
  );
}

/** @param {Lanes} lanes @param {'device' | 'controller'} which */
function add_end(lanes, which) {
  const end = lanes.line[which];
  const title = cut(lanes.narrow ? end.short : end.name, 16);
  const lane = { weight: 2.4, title, min: -0.4, max: 3.4 };
  add_lane(lanes, which, lane, [0, 1, 2, 3], (v) => state_words[v]);
  lanes.sets.push({
    ...plain(1),
    stepped: 'before',
    yAxisID: which,
    label: end.name,
    data: steps_of(end.states, 2, (s) => state_height[s], lanes.end),
  });
}

/** Those that came to act. @param {TimeLine} line */
const fired_of = (line) =>
  line.injections.flatMap((i) => (i.at === null ? [] : [{ ...i, at: i.at }]));

/** @param {Lanes} lanes */
function add_faults(lanes) {
  const fired = fired_of(lanes.line);
  const lane = { weight: 1.2, title: 'faults', min: -0.5, max: 1.5 };
  add_lane(lanes, 'faults', lane, [0, 1], (v) => ['caught', 'injected'][v]);
  lanes.sets.push({
    ...look(4),
    showLine: false,
    pointRotation: 180,
    pointStyle: 'triangle',
    pointRadius: 7,
    yAxisID: 'faults',
    label: 'injected',
    data: fired.map((i) => ({
      x: i.at / 1000,
      y: 1,
      note: i.id + ': ' + i.words + ', ' + i.outcome,
    })),
  });
  lanes.sets.push({
    ...look(3),
    showLine: false,
    pointStyle: 'rect',
    pointRadius: 6,
    yAxisID: 'faults',
    label: 'caught',
    data: fired.flatMap((i) =>
      i.detect === null
        ? []
        : [{ x: (i.at + i.detect) / 1000, y: 0, note: i.id + ' caught by: ' + i.by }],
    ),
  });
}

/** Each injection as a line through all lanes. @param {TimeLine} line */
const through_lanes = (line) => ({
  id: 'throughLanes',
  /** @param {any} chart */
  beforeDatasetsDraw(chart) {
    const { left, right, top, bottom } = chart.chartArea;
    for (const i of fired_of(line)) {
      const x = chart.scales.x.getPixelForValue(i.at / 1000);
      if (x < left || x > right) continue;
      ink_across(chart, x, top, bottom, [1, 4]);
      words(chart, String(i.id), x, top + 12, 'center');
    }
  },
});

/**
 * @param {TimeLine} line
 * @param {boolean} narrow
 */
export function time_line_chart(line, narrow) {
  const letters = narrow ? 14 : 24;
  const labels = [...state_words, 'injected', ...line.signals.map((s) => cut(s.name, letters))];
  const wide = Math.max(...labels.map(text_width)) + 44;
  /** @type {Lanes} */
  const lanes = { line, narrow, letters, wide, end: line.duration / 1000, sets: [], scales: {} };
  // the last lane that is made stands on top
  add_speed(lanes);
  add_signals(lanes);
  add_end(lanes, 'device');
  add_end(lanes, 'controller');
  add_faults(lanes);
  const options = common();
  options.parsing = false;
  const ticks = { maxRotation: 0, callback: (/** @type {number} */ v) => +v.toFixed(3) };
  options.scales = {
    ...lanes.scales,
    x: axis('s', { type: 'linear', min: 0, max: lanes.end, ticks }),
  };
  options.plugins.legend.display = false;
  options.plugins.tooltip.callbacks = {
    title: (/** @type {any[]} */ items) =>
      items.length ? items[0].parsed.x.toFixed(4) + ' s' : '',
    label: (/** @type {any} */ item) => item.raw.note || item.dataset.label,
  };
  return {
    type: 'line',
    data: { datasets: lanes.sets },
    options,
    plugins: [through_lanes(line)],
  };
}
