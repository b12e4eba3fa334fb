// Looks of the charts: colour, dash and marker of each of the four lines, axes, and what all charts
// share.

/** @typedef {1 | 2 | 3 | 4} LineNumber */

/** A colour of the style sheet. @param {string} name */
export const colour = (name) =>
  getComputedStyle(document.documentElement)
    .getPropertyValue('--' + name)
    .trim();

const dashes = { 1: [], 2: [10, 5], 3: [2, 3], 4: [9, 4, 2, 4] };
const markers = { 1: 'circle', 2: 'rect', 3: 'triangle', 4: 'rectRot' };

/** @param {LineNumber} n */
export const look = (n) => ({
  borderColor: colour('line' + n),
  backgroundColor: colour('line' + n),
  borderDash: dashes[n],
  borderWidth: 2,
  pointStyle: markers[n],
  pointRadius: 5,
  pointHoverRadius: 7,
  tension: 0,
  clip: 8,
});

/** A limit, or what is set. */
export const ink_line = () => ({
  borderColor: colour('ink'),
  backgroundColor: colour('ink'),
  borderWidth: 1.5,
  pointRadius: 0,
});

/** A hatching in that colour. @param {string} name */
export function hatching(name) {
  const tile = document.createElement('canvas');
  tile.width = tile.height = 10;
  const pen = tile.getContext('2d');
  if (!pen) return null;
  pen.strokeStyle = colour(name);
  pen.lineWidth = 1;
  for (const shift of [-10, 0, 10]) {
    pen.beginPath();
    pen.moveTo(shift, 10);
    pen.lineTo(shift + 10, 0);
    pen.stroke();
  }
  return pen.createPattern(tile, 'repeat');
}

/**
 * @param {string} title
 * @param {any} [more] in the words of the library
 */
export const axis = (title, more = {}) => ({
  ...more,
  title: { display: !!title, text: title, color: colour('soft') },
  ticks: { color: colour('soft'), ...more.ticks },
  grid: { color: colour('hair'), drawBorder: true, borderColor: colour('edge'), ...more.grid },
});

/** Options that all charts share. @returns {any} */
export const common = () => ({
  animation: false,
  responsive: true,
  maintainAspectRatio: false,
  interaction: { mode: 'nearest', intersect: true },
  color: colour('ink'),
  layout: { padding: { right: 8, top: 4 } },
  plugins: {
    legend: {
      position: 'bottom',
      align: 'start',
      labels: {
        color: colour('ink'),
        usePointStyle: true,
        boxWidth: 34,
        padding: 12,
        filter: (/** @type {any} */ item) => !!item.text,
      },
    },
    tooltip: {
      backgroundColor: colour('ink'),
      titleColor: colour('sheet'),
      bodyColor: colour('sheet'),
      cornerRadius: 2,
    },
  },
});
