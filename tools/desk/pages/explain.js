// A telegram byte by byte.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { table } from '../../pages/parts.js';
import { grouped } from '../../pages/ways_drawing.js';
import { refusal_at } from './controls.js';
import { looking } from './looking.js';
import { read } from './talk.js';
import { t } from './texts.js';

export function explained() {
  const refused = refusal_at('explain');
  if (!looking.explained) return draw`${refused}`;
  const { number, told } = looking.explained;
  const heads = [t('field'), t('bytes'), t('meaning'), t('covered'), t('expected'), t('found')];
  const rows = told.fields.map(({ name, bytes, meaning, covered, expected, found }) => {
    const differs = expected !== null && found !== null && expected !== found;
    return {
      cells: [
        name,
        draw`<span class="bytes">${bytes}</span>`,
        meaning,
        covered,
        expected ?? '',
        [differs && mark_alone('differs'), ' ', found ?? ''],
      ],
      css: differs ? 'differs' : undefined,
    };
  });
  return draw`<div class="explained"><h3 id="h-explained" tabindex="-1">${t(
    'explained',
    number,
  )}</h3><p>${told.words}</p>
    ${table(heads, rows, t('explained', number))}
    <button type="button" id="b-close-explained"
      data-act="close-explained">${t('close')}</button></div>${refused}`;
}

/**
 * @param {string} link
 * @param {string} id
 * @param {number | undefined} number
 * @param {() => void} show
 */
export async function explain(link, id, number, show) {
  const told = await read(`/api/explain?${new URLSearchParams({ link, telegram: id })}`, 'explain');
  looking.explained = told && { link, number: number === undefined ? id : grouped(number), told };
  show();
  document.getElementById('h-explained')?.focus();
}
