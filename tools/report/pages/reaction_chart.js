// The chart of reactions: when each injection was caught, when both ends were safe, when the
// machine stood, or only came down to its reduced speed.
import { axis, common, ink_line, look } from './looks.js';
import { end_words } from './on_lines.js';

/** @typedef {import('./data_shape.js').Reaction} Reaction */

/** @param {Reaction[]} rows */
export function reaction_chart(rows) {
  const options = common();
  options.scales = {
    x: axis('injection', { offset: true }),
    y: axis('ms after the injection', { min: 0, suggestedMax: 10 }),
  };
  /**
   * @param {1 | 2 | 3 | 4} n
   * @param {string} label
   * @param {'stands' | 'slowed' | 'safe' | 'caught'} key
   */
  const set = (n, label, key) => ({
    ...look(n),
    showLine: false,
    label,
    data: rows.map((r) => r[key]),
  });
  const allowed = {
    ...ink_line(),
    label: 'allowed until the machine stands',
    stepped: 'middle',
    data: rows.map((r) => r.allowed),
    spanGaps: true,
    pointStyle: 'line',
    pointRadius: rows.length === 1 ? 14 : 0, // one point alone makes no line
    endWords: rows.some((r) => r.allowed !== null) ? 'allowed' : '',
  };
  return {
    type: 'line',
    plugins: [end_words],
    options,
    data: {
      labels: rows.map((r) => r.id + ' ' + r.error),
      datasets: [
        allowed,
        set(1, 'machine stands', 'stands'),
        set(2, 'both ends safe', 'safe'),
        set(3, 'caught', 'caught'),
        ...(rows.some((r) => r.slowed !== null)
          ? [set(4, 'at reduced speed, ran on', 'slowed')]
          : []),
      ],
    },
  };
}
