// What the page carries besides its words: the figures of its charts, and the charts once they are
// drawn.

/** @type {import('./data_shape.js').Data} */
export const data = JSON.parse(document.getElementById('data')?.textContent ?? '{}');

/** By name; there is none of a part of the report that is not there. @type {Map<string, any>} */
export const charts = new Map();
