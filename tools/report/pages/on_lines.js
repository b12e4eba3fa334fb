// What is written and drawn over the lines of a chart.
import { colour } from './looks.js';

const font = () => '13px system-ui, sans-serif';

/**
 * Words on a ground of their own, so that no line runs through them.
 * @param {any} chart
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {'left' | 'center' | 'right'} [align]
 */
export function words(chart, text, x, y, align = 'left') {
  const pen = chart.ctx;
  pen.save();
  pen.font = font();
  pen.textAlign = align;
  const wide = pen.measureText(text).width;
  const left = align === 'center' ? x - wide / 2 : align === 'right' ? x - wide : x;
  pen.fillStyle = colour('sheet');
  pen.globalAlpha = 0.85;
  pen.fillRect(left - 2, y - 13, wide + 4, 17);
  pen.globalAlpha = 1;
  pen.fillStyle = colour('ink');
  pen.fillText(text, x, y);
  pen.restore();
}

/**
 * A line up and down.
 * @param {any} chart
 * @param {number} x
 * @param {number} from
 * @param {number} to
 * @param {number[]} [dash]
 */
export function ink_across(chart, x, from, to, dash = []) {
  const pen = chart.ctx;
  pen.save();
  pen.strokeStyle = colour('ink');
  pen.setLineDash(dash);
  pen.beginPath();
  pen.moveTo(x, from);
  pen.lineTo(x, to);
  pen.stroke();
  pen.restore();
}

/** The label of each line at its last point, inside the area: the `endWords` of its set. */
export const end_words = {
  id: 'endWords',
  /** @param {any} chart */
  afterDatasetsDraw(chart) {
    if (chart.width < 500) return; // the legend has them
    chart.data.datasets.forEach((/** @type {any} */ set, /** @type {number} */ index) => {
      if (!set.endWords || !chart.isDatasetVisible(index)) return;
      const points = chart
        .getDatasetMeta(index)
        .data.filter((/** @type {any} */ p) => !p.skip && Number.isFinite(p.y));
      if (points.length)
        words(
          chart,
          set.endWords,
          chart.chartArea.right - 4,
          points[points.length - 1].y - 8,
          'right',
        );
    });
  },
};

/** @param {string} text */
export function text_width(text) {
  const pen = document.createElement('canvas').getContext('2d');
  if (!pen) return 0;
  pen.font = font();
  return pen.measureText(text).width;
}

/**
 * @param {string} text
 * @param {number} letters at most
 */
export const cut = (text, letters) =>
  text.length > letters ? text.slice(0, letters - 1) + '…' : text;
