// Section 2: the payload as a grid, a row a byte and an end, and as a list that can be typed.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { field, refusal_of_cell, slug } from './controls.js';
import { t } from './texts.js';
import { link_choice, link_looked_at } from './typed.js';

/** @typedef {import('./told.js').Link} Link */
/** @typedef {import('./told.js').BitMap} BitMap */
/** @typedef {import('./told.js').BitCell} BitCell */
/** @typedef {import('./told.js').SignalRow} SignalRow */
/** @typedef {import('./told.js').Told} Told */

/** Which cell of each grid the Tab key leads to. @type {Map<string, string>} */
export const entered = new Map();

/** @param {BitMap} map bytes in which an end has something */
const used_bytes = ({ bytes }) =>
  bytes.filter(({ controller, device }) =>
    [...controller, ...device].some(({ signal, differs }) => signal || differs),
  );

/**
 * @param {BitCell} cell
 * @param {string} grid
 * @param {number} row
 * @param {number} column
 * @param {string} where
 */
function cell_drawn({ signal, differs }, grid, row, column, where) {
  const at = `${row}-${column}`;
  const words = `${where}: ${signal ?? t('bit-free')}${differs ? `, ${t('bit-differs')}` : ''}`;
  return draw`<td ${{
    role: 'gridcell',
    id: `${grid}-${at}`,
    class: differs ? 'bit differing' : 'bit',
    tabindex: (entered.get(grid) ?? '0-0') === at ? 0 : -1,
    'data-grid': grid,
    'data-row': row,
    'data-column': column,
    'data-signal': signal,
    'aria-label': words,
  }}>${differs && mark_alone('differs')}${signal}</td>`;
}

/** @param {BitMap} map @param {Link} link */
function grid(map, link) {
  const id = `bits-${slug(link.name)}-${map.direction}`;
  const bytes = used_bytes(map);
  if (!bytes.length) return draw`<p class="soft">${t('no-bits')}</p>`;
  const free = map.bytes.length - bytes.length;
  const rows = bytes.flatMap(({ byte, controller, device }, i) =>
    [
      { name: link.controller, cells: controller },
      { name: link.device, cells: device },
    ].map(
      ({ name, cells }, end) => draw`<tr role="row" ${{ class: end === 0 ? 'first' : null }}>
        <th role="rowheader" scope="row"><span class="byte">${t('byte', byte)}</span> ${name}</th>
        ${cells.map((cell, column) =>
          cell_drawn(cell, id, 2 * i + end, column, t('bit-at', name, byte, 7 - column)),
        )}</tr>`,
    ),
  );
  const heads = [7, 6, 5, 4, 3, 2, 1, 0].map(
    (bit) => draw`<th role="columnheader" scope="col">${bit}</th>`,
  );
  return draw`<div class="wide" tabindex="-1"><table class="bits" role="grid"
    aria-label="${t('grid-to', map.to)}">
    <thead><tr role="row"><th role="columnheader"
      scope="col">${t('bit')}</th>${heads}</tr></thead><tbody>${rows}</tbody></table></div>
    ${free > 0 && draw`<p class="soft small">${t('free-bytes', free)}</p>`}`;
}

/** @param {SignalRow} row @param {Link} link */
function signal_row(row, link) {
  const cells = [row.meant, row.controller, row.device];
  const names = [t('meant'), link.controller, link.device];
  const refused = cells.map(refusal_of_cell).filter(Boolean);
  return draw`<tr ${{ class: row.same ? null : 'differs' }}><th scope="row">${row.name}${
    !row.same &&
    draw` <span class="amber unequal">${mark_alone('differs')}<span>${t('differs')}</span></span>`
  }</th>${cells.map(
    (cell, i) =>
      draw`<td data-label="${names[i]}">${field(
        cell,
        t('place-at', row.name, names[i]),
        !row.same && i > 0,
      )}</td>`,
  )}</tr>${refused.length > 0 && draw`<tr class="below"><td colspan="4">${refused}</td></tr>`}`;
}

/** @param {SignalRow[]} rows @param {Link} link @param {string} words */
function list(rows, link, words) {
  if (!rows.length) return null;
  return draw`<table class="settings list"><caption class="spoken">${words}</caption>
    <thead><tr><th scope="col">${t('signal')}</th><th scope="col">${t('meant')}</th>
    <th scope="col">${link.controller}</th><th scope="col">${link.device}</th></tr></thead>
    <tbody>${rows.map((row) => signal_row(row, link))}</tbody></table>`;
}

/** @param {BitMap} map @param {Link} link @param {boolean} narrow where the list comes first */
function direction(map, link, narrow) {
  const rows = link.signals.filter(({ direction }) => direction === map.direction);
  const more = (map.values ?? []).filter(({ name }) => !rows.some((row) => row.name === name));
  const folded = draw`<details><summary>${t('as-grid')}</summary>${grid(map, link)}</details>`;
  return draw`<h3>${t('to', map.to)}</h3>${narrow ? folded : grid(map, link)}
    ${map.differs.map((words) => draw`<p class="says">${words}</p>`)}
    ${list([...rows, ...more], link, t('list-to', map.to))}`;
}

/** @param {Told} told @param {boolean} narrow */
export function bits(told, narrow) {
  const link = link_looked_at(told);
  if (!link) return draw`<p class="soft">${t('no-links')}</p>`;
  return draw`${link_choice(told, 'bits')}${link.bits.map((map) => direction(map, link, narrow))}
    <p class="soft small">${t('bits-words')}</p>`;
}
