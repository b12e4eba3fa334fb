// Section 3: guard, bit, reaction, machine, level, with what the check warns of at its row.
import { draw } from '../../pages/draw.js';
import { marked } from '../../pages/marks.js';
import { table } from '../../pages/parts.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').SafetyFunction} SafetyFunction */
/** @typedef {import('./told.js').Told} Told */

/** @param {SafetyFunction} one */
function verdict({ ok, why, warnings }) {
  const word =
    ok === null
      ? marked('unknown', t('not-shown'))
      : ok
        ? marked('ok', t('holds'))
        : marked('warns', t('does-not-hold'));
  return [
    word,
    why && draw`<p>${why}</p>`,
    warnings.map((words) => draw`<p class="says">${words}</p>`),
  ];
}

/** @param {SafetyFunction} one */
const row = (one) => ({
  cells: [
    [draw`<b>${one.safeguard}</b>`, draw`<br><span class="soft">${one.name}</span>`],
    one.bit,
    one.machine,
    [one.must, draw`<br><span class="soft">${t('does', one.does)}</span>`],
    one.returns,
    one.level,
    verdict(one),
  ],
  css: one.warnings.length > 0 || one.ok === false ? 'warned' : undefined,
});

/** @param {Told} told */
export function functions({ functions, problems, cautions }) {
  const heads = ['guard', 'its-bit', 'machine', 'must', 'returns', 'level', 'holds-q'];
  const names = heads.map((key) => t(/** @type {import('./texts.js').Key} */ (key)));
  return draw`${problems.map((words) => draw`<p class="says">${words}</p>`)}
    ${
      functions.length
        ? table(names, functions.map(row), t('h-functions'), 'function-table')
        : draw`<p class="soft">${t('no-functions')}</p>`
    }
    ${
      cautions.length > 0 &&
      draw`<h3>${t('cautions')}</h3><ul>${cautions.map((words) => draw`<li>${words}</li>`)}</ul>`
    }`;
}
