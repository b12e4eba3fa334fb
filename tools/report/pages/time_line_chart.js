// The chart of the time line: lanes of faults, both ends, guards, signals and speed above each
// other.
import { axis, common, look } from './looks.js';
import { cut, ink_across, text_width, words } from './on_lines.js';
import {
  add_end,
  add_guards,
  add_lane,
  add_signals,
  add_speed,
  state_words,
  weight_of,
} from './time_line_lanes.js';

/** @typedef {import('./data_shape.js').TimeLine} TimeLine */
/** @typedef {import('./time_line_lanes.js').Lanes} Lanes */

/** Those that came to act. @param {TimeLine} line */
const fired_of = (line) =>
  line.injections.flatMap((i) => (i.at === null ? [] : [{ ...i, at: i.at }]));

/** @param {Lanes} lanes */
function add_faults(lanes) {
  const fired = fired_of(lanes.line);
  const lane = { weight: 2.4, title: 'faults', min: -0.5, max: 2.3 };
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
 * The name of each lane in its upper left corner: beside it, on end, long names ran together.
 * @param {Lanes} lanes
 */
const lane_names = (lanes) => ({
  id: 'laneNames',
  /** @param {any} chart */
  afterDatasetsDraw(chart) {
    for (const { id, title } of lanes.names) {
      const scale = chart.scales[id];
      words(chart, cut(title, lanes.narrow ? 30 : 60), scale.right + 6, scale.top + 14);
    }
  },
});

/** How high all lanes are together, in the unit of the style sheet. @param {TimeLine} line */
export function height_of(line) {
  const levels = (/** @type {unknown[]} */ rows) => (rows.length > 0 ? weight_of(rows.length) : 0);
  return (
    2.4 + 2 * 2.8 + levels(line.contacts) + levels(line.signals) + (line.machine === null ? 0 : 2.4)
  );
}

/**
 * @param {TimeLine} line
 * @param {boolean} narrow
 */
export function time_line_chart(line, narrow) {
  const letters = narrow ? 14 : 24;
  const names = [...line.signals, ...line.contacts].map((s) => cut(s.name, letters));
  const labels = [...state_words, 'injected', ...names];
  const wide = Math.max(...labels.map(text_width)) + 20;
  /** @type {Lanes} */
  const lanes = {
    line,
    narrow,
    letters,
    wide,
    end: line.duration / 1000,
    sets: [],
    scales: {},
    names: [],
  };
  // the last lane that is made stands on top
  add_speed(lanes);
  add_signals(lanes);
  add_guards(lanes);
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
    plugins: [through_lanes(line), lane_names(lanes)],
  };
}
