// Texts with places to be filled in.

/**
 * The text with {0}, {1} ... filled in; a place without a value is left empty.
 * @param {string} text
 * @param {unknown[]} values
 */
export const filled = (text, values) =>
  text.replace(/\{(\d)\}/g, (_, place) => String(values[+place] ?? ''));
