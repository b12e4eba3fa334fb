// Of the instructor's page: who is in the room, as a list to print and to sign.
import { draw } from '../../pages/draw.js';
import { table } from '../../pages/parts.js';
import { printed_now } from './hashes.js';
import { people_here } from './room.js';
import { t } from './texts.js';

/** @param {string} version */
export function printed_room(version) {
  const people = people_here();
  const rows = people.map((one) => [
    `${one.name} (${one.id})`,
    one.drill ?? '',
    one.exam_of ? t('i-exam', one.exam_at, one.exam_of) : '',
    one.away ? t('i-away') : t('i-is-here'),
    '',
  ]);
  const heads = [t('name'), t('drills-head'), t('exam-head'), t('i-state'), t('r-signature')];
  return draw`<h1>${t('i-room-list')}</h1>
    <p>${t('i-printed', printed_now())}. ${t('i-program', version)}. ${t('r-note')}</p>
    ${table(heads, rows, t('room'))}`;
}
