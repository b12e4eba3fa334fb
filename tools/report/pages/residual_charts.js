// The charts of residual errors: against the bit error rate, and an hour by each method.
import { decade_above, decade_below, tick_of } from './decades.js';
import { axis, colour, common, hatching, look } from './looks.js';
import { ink_across, words } from './on_lines.js';

/** @typedef {import('./data_shape.js').ResidualRow} ResidualRow */
/** @typedef {import('./data_shape.js').MethodRow} MethodRow */

const TICKS_MOST = 8;

/**
 * A logarithmic axis with a tick at every so-manyth power: each would be too many.
 * @param {string} title
 */
const log_axis = (title) =>
  axis(title, {
    type: 'logarithmic',
    ticks: { callback: tick_of, autoSkip: false, maxRotation: 0 },
    grid: {
      color: (/** @type {any} */ c) => (tick_of(c.tick.value) ? colour('hair') : 'transparent'),
    },
    afterBuildTicks: (/** @type {any} */ a) => {
      const powers = a.ticks.filter((/** @type {any} */ t) => tick_of(t.value));
      const step = Math.ceil(powers.length / TICKS_MOST);
      a.ticks = powers.filter((/** @type {any} */ _, /** @type {number} */ i) => i % step === 0);
    },
  });

/** @param {ResidualRow[]} rows */
export function residual_chart(rows) {
  const options = common();
  options.parsing = false;
  options.scales = { x: log_axis('bit error rate p'), y: log_axis('residual error R') };
  /** @param {1 | 2 | 4} n @param {string} label @param {1 | 2 | 3 | 4} column */
  const of = (n, label, column) => ({
    ...look(n),
    label,
    data: rows.filter((r) => (r[column] ?? 0) > 0).map((r) => ({ x: r[0], y: r[column] })),
  });
  const exact = rows.some((r) => r[1] !== null);
  const sets = exact ? [of(1, 'exact', 1)] : [of(1, 'at most', 4), of(4, 'at least', 3)];
  sets.push(of(2, 'customary estimate by 2^-r', 2));
  return { type: 'line', data: { datasets: sets }, options };
}

/** What may be used up of the rate that is allowed. @param {number | undefined} share */
const share_line = (share) => ({
  id: 'shareLine',
  /** @param {any} chart */
  afterDatasetsDraw(chart) {
    if (!share) return;
    const x = chart.scales.x.getPixelForValue(share);
    ink_across(chart, x, chart.chartArea.top, chart.chartArea.bottom);
    words(chart, 'share ' + share, x + 6, chart.chartArea.top + 14, 'left');
  },
});

/** @param {MethodRow[]} rows */
export function methods_chart(rows) {
  const known = rows.filter((r) => r[1] > 0);
  const share = rows.find((r) => r[2] > 0)?.[2];
  const options = common();
  options.indexAxis = 'y';
  const all = known.map((r) => r[1]).concat(share || []);
  options.scales = {
    x: axis('undetected errors an hour', {
      type: 'logarithmic',
      min: decade_below(all),
      max: decade_above(all),
      ticks: { callback: tick_of, maxRotation: 0 },
    }),
    y: axis(''),
  };
  options.plugins.legend.display = false;
  const met = (/** @type {boolean | null} */ is) => (is === null ? '' : is ? ': met' : ': NOT MET');
  return {
    type: 'bar',
    options,
    plugins: [share_line(share)],
    data: {
      labels: known.map((r) => r[0] + met(r[3])),
      datasets: [
        {
          label: 'rate an hour',
          data: known.map((r) => r[1]),
          maxBarThickness: 34,
          borderWidth: 2,
          borderColor: known.map((r) => colour(r[3] === false ? 'line4' : 'line1')),
          backgroundColor: known.map((r) => (r[3] === false ? hatching('line4') : colour('line1'))),
        },
      ],
    },
  };
}
