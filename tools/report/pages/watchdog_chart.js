// The chart of the watchdog: stops for nothing and distance needed against its time, with the
// usable window.
import { axis, colour, common, hatching, ink_line, look } from './looks.js';
import { end_words, ink_across, words } from './on_lines.js';
import { decade_above, decade_below, power_of_ten } from './powers.js';

/** @typedef {import('./data_shape.js').Watchdog} Watchdog */
/** @typedef {{ first: number, last: number, floor: number, top: number }} Range of the axes */

/**
 * @param {Watchdog} found
 * @returns {Range}
 */
function range_of(found) {
  const above = found.points
    .flatMap((p) => [p[1], p[2], p[3]])
    .flatMap((v) => (v !== null && v > 0 ? [v] : []))
    .concat(found.limit);
  const xs = found.points.map((p) => p[0]);
  return {
    first: Math.min(...xs),
    last: Math.max(...xs),
    floor: decade_below(above),
    top: decade_above(above),
  };
}

/** @param {Watchdog} found @param {Range} range */
function stops_sets(found, { first, last, floor }) {
  const on_axis = (/** @type {number | null} */ v) => (v === null ? null : Math.max(v, floor));
  const sets = [
    {
      ...look(1),
      label: 'stops for nothing a year',
      yAxisID: 'y',
      data: found.points.map((p) => ({ x: p[0], y: on_axis(p[1]), none: p[1] === 0 })),
      pointBackgroundColor: found.points.map((p) => colour(p[1] > 0 ? 'line1' : 'sheet')),
    },
    {
      ...ink_line(),
      label: 'limit, ' + found.limit + ' a year',
      endWords: 'limit ' + found.limit + ' a year',
      yAxisID: 'y',
      pointStyle: 'line',
      data: [
        { x: first, y: found.limit },
        { x: last, y: found.limit },
      ],
    },
  ];
  const interval = found.points.filter((p) => p[3] !== null && p[3] > 0 && p[3] > (p[2] ?? 0));
  if (!interval.length) return sets;
  const at_most = {
    ...look(1),
    type: 'line',
    label: 'at most',
    borderDash: [2, 3],
    pointRadius: 3,
    pointStyle: 'line',
    yAxisID: 'y',
    borderWidth: 1,
    data: interval.map((p) => ({ x: p[0], y: on_axis(p[3]) })),
  };
  return [...sets, at_most];
}

/** Empty where no distance is known. @param {Watchdog} found @param {Range} range */
function distance_sets(found, { first, last }) {
  const needed = found.points.filter((p) => p[4] !== null);
  if (!needed.length) return [];
  const sets = [
    {
      ...look(2),
      label: 'distance needed, mm',
      yAxisID: 'mm',
      data: needed.map((p) => ({ x: p[0], y: p[4] })),
    },
  ];
  if (found.there === null) return sets;
  const there = {
    ...ink_line(),
    borderDash: [6, 4],
    label: 'distance there, ' + found.there + ' mm',
    endWords: 'there ' + found.there + ' mm',
    yAxisID: 'mm',
    pointStyle: 'line',
    data: [
      { x: first, y: found.there },
      { x: last, y: found.there },
    ],
  };
  return [...sets, there];
}

/** The time that is set now. @param {Watchdog} found @param {Range} range */
const now_line = (found, { first, last }) => ({
  id: 'now',
  /** @param {any} chart */
  afterDatasetsDraw(chart) {
    if (found.now === null || found.now < first || found.now > last) return;
    const x = chart.scales.x.getPixelForValue(found.now);
    const { top, bottom } = chart.chartArea;
    ink_across(chart, x, top, bottom, [2, 3]);
    words(chart, 'set to ' + found.now + ' ms', x - 4, top + 14, 'right');
  },
});

/** @param {NonNullable<Watchdog['window']>} window @param {Range} range */
function usable(window, { first, last }) {
  const from = Math.max(first, window.from_ms);
  const to = Math.min(last, window.to_ms === null ? last : window.to_ms);
  const x = (/** @type {any} */ chart, /** @type {number} */ v) =>
    chart.scales.x.getPixelForValue(v);
  return {
    id: 'usable',
    /** @param {any} chart */
    beforeDatasetsDraw(chart) {
      const { top, bottom } = chart.chartArea;
      chart.ctx.save();
      chart.ctx.fillStyle = hatching('edge');
      chart.ctx.globalAlpha = 0.55;
      chart.ctx.fillRect(x(chart, from), top, x(chart, to) - x(chart, from), bottom - top);
      chart.ctx.restore();
      ink_across(chart, x(chart, from), top, bottom);
      ink_across(chart, x(chart, to), top, bottom);
    },
    /** @param {any} chart */
    afterDatasetsDraw(chart) {
      const low = chart.chartArea.bottom - 8;
      words(chart, 'usable from ' + window.from_ms + ' ms', x(chart, from) + 4, low, 'left');
      if (window.to_ms !== null)
        words(chart, 'to ' + window.to_ms + ' ms', x(chart, to) - 4, low - 20, 'right');
    },
  };
}

/** @param {Watchdog} found */
export function watchdog_chart(found) {
  const range = range_of(found);
  const { first, last, floor, top } = range;
  const distances = distance_sets(found, range);
  const options = common();
  options.parsing = false;
  const callback = (/** @type {number} */ v) => (v <= floor * 1.0001 ? 'none' : power_of_ten(v));
  options.scales = {
    x: axis('watchdog, ms', { type: 'linear', min: first, max: last }),
    y: axis('stops a year', { type: 'logarithmic', min: floor, max: top, ticks: { callback } }),
  };
  if (distances.length)
    options.scales.mm = axis('mm', {
      type: 'linear',
      position: 'right',
      min: 0,
      grid: { drawOnChartArea: false },
    });
  const window = found.window ? [usable(found.window, range)] : [];
  return {
    type: 'line',
    data: { datasets: [...stops_sets(found, range), ...distances] },
    options,
    plugins: [end_words, now_line(found, range), ...window],
  };
}
