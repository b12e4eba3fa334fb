// Where the arrow keys lead to in a grid of bits.

/**
 * @param {string} key
 * @param {{ row: number, column: number }} from
 * @param {number} rows
 * @param {number} columns
 * @returns {{ row: number, column: number } | null} null: the key means nothing there
 */
export function moved(key, { row, column }, rows, columns) {
  const within = (/** @type {number} */ value, /** @type {number} */ count) =>
    Math.max(0, Math.min(count - 1, value));
  const to = (/** @type {number} */ r, /** @type {number} */ c) => ({
    row: within(r, rows),
    column: within(c, columns),
  });
  switch (key) {
    case 'ArrowUp':
      return to(row - 1, column);
    case 'ArrowDown':
      return to(row + 1, column);
    case 'ArrowLeft':
      return to(row, column - 1);
    case 'ArrowRight':
      return to(row, column + 1);
    case 'Home':
      return to(row, 0);
    case 'End':
      return to(row, columns - 1);
    case 'PageUp':
      return to(0, column);
    case 'PageDown':
      return to(rows - 1, column);
    default:
      return null;
  }
}
