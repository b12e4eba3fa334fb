// The charts of measured round trips: how their times spread, and their course.
import { axis, colour, common, look } from './looks.js';

/** @typedef {import('./data_shape.js').SpreadCell} SpreadCell */
/** @typedef {import('./data_shape.js').CoursePart} CoursePart */

/** Under a count of one: where a cell is empty. */
const NONE = 0.5;

/** 1, 2 and 5 of each power of ten. @param {number} value */
const is_round = (value) => {
  const first = value / 10 ** Math.floor(Math.log10(value) + 1e-9);
  return [1, 2, 5].some((one) => Math.abs(first - one) < 1e-6);
};

/**
 * A logarithmic axis in plain numbers.
 * @param {string} title
 * @param {any} [more]
 */
const plain_log_axis = (title, more = {}) =>
  axis(title, {
    ...more,
    type: 'logarithmic',
    ticks: {
      maxRotation: 0,
      autoSkipPadding: 12,
      callback: (/** @type {number} */ v) => (is_round(v) ? String(+v.toPrecision(3)) : ''),
    },
    grid: {
      color: (/** @type {any} */ c) =>
        c.tick && is_round(c.tick.value) ? colour('hair') : 'transparent',
    },
  });

/** @param {SpreadCell[]} cells */
export function spread_chart(cells) {
  const least = cells[0][0] || cells[0][1] / 2; // the first cell may begin at 0
  const last = cells[cells.length - 1][1];
  const at = cells.map((c, i) => ({ x: i === 0 ? least : c[0], y: Math.max(c[2], NONE) }));
  const options = common();
  options.parsing = false;
  options.plugins.legend.display = false;
  options.plugins.tooltip.callbacks = {
    title: () => '',
    label: (/** @type {any} */ item) => {
      const cell = cells[Math.min(item.dataIndex, cells.length - 1)];
      return `${cell[2]} from ${cell[0]} to under ${cell[1]} ms`;
    },
  };
  options.interaction = { mode: 'index', intersect: false };
  options.scales = {
    x: plain_log_axis('round trip on the line, ms', { min: least, max: last }),
    y: plain_log_axis('how many', { min: NONE }),
  };
  return {
    type: 'line',
    options,
    data: {
      datasets: [
        {
          ...look(1),
          label: 'round trips',
          data: [...at, { x: last, y: NONE }],
          stepped: true, // each value holds up to the next
          pointRadius: 0,
          pointHoverRadius: 0,
          fill: { target: { value: NONE } },
        },
      ],
    },
  };
}

/** @param {CoursePart[]} parts */
export function course_chart(parts) {
  const options = common();
  options.parsing = false;
  const floor = Math.min(...parts.flatMap((p) => (p[1] ? [p[1]] : []))) / 2;
  options.scales = {
    x: axis('s since the begin', { type: 'linear', min: 0 }),
    y: plain_log_axis('ms', {}),
  };
  /** @param {1 | 2} n @param {string} label @param {1 | 2} column */
  const line = (n, label, column) => ({
    ...look(n),
    label,
    pointRadius: 3,
    spanGaps: false,
    data: parts.map((p) => ({ x: p[0], y: p[column] ?? NaN })),
  });
  const losses = parts.filter((p) => p[3] > 0);
  const lost = {
    ...look(4),
    label: 'something was lost',
    showLine: false,
    data: losses.map((p) => ({ x: p[0], y: floor })),
  };
  return {
    type: 'line',
    options,
    data: {
      datasets: [
        line(1, 'longest', 2),
        line(2, 'half within', 1),
        ...(losses.length > 0 ? [lost] : []),
      ],
    },
  };
}
