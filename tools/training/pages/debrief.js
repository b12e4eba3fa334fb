// The debrief: what it was, what happened, one telegram byte by byte, what each end knew, and the reasons for the points.
import { t, word, TEXTS } from '/texts.js';
import { draw, entry, button, foot, question, table, rounded, hour_at, moment_at, danger_mark } from '/drawing.js';
import { bench, instruments_read, log, strip, event_words } from '/bench.js';
import { WHAT } from '/steps.js';

const LETTERS = 'abcdefghijklmnopqrstuvwxyz';

function verdict(state, score) {
  const words = id => state.cards.find(card => card.id === id)?.words ?? t(id);
  const heading = score.points === null ? danger_mark(t(score.result)) : draw`<span class="${score.result.startsWith('safe') ? 'good' : 'amber'} state">${t(score.result)}</span>`;
  return draw`${question(heading)}
    ${score.points === null ? '' : draw`<p>${t('points', score.points, score.secure, score.evidence, score.diagnosis, score.action)}</p>`}
    ${score.dangerous.map(one => draw`<p class="danger"><strong>${t('danger-head')}:</strong> ${t('danger-text', words(one.id), one.why)}</p>`)}
    <p><strong>${state.drill.title}:</strong> ${score.debrief}</p>
    <h3>${t('the-cause')}</h3><p>${score.cause}</p>
    <p>${t('right-answer', score.right_where.map(where => t('w-' + where)).join(' / '), score.right_what.map(what => t('e-' + what)).join(' / '))}</p>`;
}

function what_happened(state, score) {
  const begin = score.story.find(event => event.what === 'fault')?.at ?? score.story[0]?.at ?? 0;
  const marks = score.story.slice(0, LETTERS.length).map((event, i) => ({ ...event, letter: LETTERS[i] }));
  const shown = score.strip.length > 1 ? marks.filter(one => one.at >= score.strip[0][0] && one.at <= score.strip.at(-1)[0]) : [];
  const since = at => (at < begin ? '-' : '+') + ' ' + rounded(Math.abs(at - begin) * 1000) + ' ms';
  const rows = marks.map(one => {
    const row = [one.letter, moment_at(state.begins, one.at), since(one.at), event_words(one)];
    if (one.what === 'fault') row.css = 'cause';
    return row;
  });
  const ran_on = score.ran_on_ms === null ? '' : score.stopping_ms === null ? t('ran-on', rounded(score.ran_on_ms)) : t('ran-on-model', rounded(score.ran_on_ms), rounded(score.stopping_ms));
  return entry(hour_at(state.begins, begin), draw`<h2>${t('what-happened')}</h2>${strip(state, score.strip, shown)}
    <h3>${t('same-as-table')}</h3>${table([t('mark'), t('time'), t('since-cause'), t('what')], rows, t('what-happened'), 'story')}
    ${ran_on ? draw`<p>${ran_on}</p>` : ''}`);
}

function one_telegram(state, score) {
  const found = score.telegram;
  if (!found) return entry('', draw`<h2>${t('one-telegram')}</h2><p>${t('no-telegram')}</p>`);
  const altered = found.fields.some(field => field.sent !== null);
  const heads = [t('field'), t('bytes'), t('meaning'), t('under-crc'), t('expected'), t('found')];
  if (altered) heads.splice(2, 0, t('as-sent'));
  const rows = found.fields.map(field => {
    const row = [word('f-', field.field), field.bytes ? draw`<span class="bytes">${field.bytes}</span>` : t('not-in-bytes'), field.meaning,
      t('u-' + field.covered), field.expected ?? '', field.differs ? draw`<strong>${field.found ?? ''}</strong>` : field.found ?? ''];
    if (altered) row.splice(2, 0, draw`<span class="bytes">${field.sent ?? ''}</span>`);
    if (field.differs || field.sent !== null) row.css = 'rejected';
    return row;
  });
  const came = found.telegram;
  const notes = [...found.failed.map(measure => t('c-' + measure)), came.bits_changed ? t('bits-changed', came.bits_changed) : '',
    came.fits !== null ? t('fits', '0x' + came.fits.toString(16).toUpperCase().padStart(4, '0')) : ''].filter(Boolean).join('; ');
  return entry(hour_at(state.begins, came.at), draw`<h2>${t('one-telegram')}</h2>
    <p>${t('telegram-came', moment_at(state.begins, came.at), came.end, notes)} ${found.accepted_before === null ? '' : t('number-before', found.accepted_before)}</p>
    <p class="bytes all">${came.bytes}</p>${table(heads, rows, t('one-telegram'), 'telegram')}`);
}

/** One paragraph for each end: when and why it stopped, and what it had to go by. */
function what_ends_knew(state, score) {
  const cause = end => end.cause === 'power-up' ? t('k-lost-power') : t('c-' + (end.cause === 'rejected-telegram' && end.measure ? end.measure : end.cause));
  return entry('', draw`<h2>${t('what-ends-knew')}</h2>${score.ends.map(end => {
    const never_ran = end.stopped === null && end.state !== 'running';
    const said = [end.stopped !== null ? t('k-stopped', end.name, moment_at(state.begins, end.stopped), cause(end)) :
      never_ran ? t('k-never', end.name, end.accepted) : t('k-runs', end.name)];
    if (end.refusal) said.push(t('refusal', end.refusal) + '.');
    const came = end.fresh + end.repeats + end.rejected + end.ignored;
    said.push(came === 0 ? t('k-silent') : t(end.stopped !== null ? 'k-window' : 'k-window-now', end.window_ms, end.fresh, end.repeats, end.rejected) + (end.ignored ? ' ' + t('k-start', end.ignored) : ''));
    if (came > 1 && end.last_number !== null)
      said.push(end.first_number === end.last_number ? t('k-one-number', end.last_number) : t('k-numbers', end.first_number, end.last_number));
    said.push(end.last_good_ms === null ? t('k-no-good') : t('k-last-good', rounded(end.last_good_ms)));
    return draw`<p class="knew">${said.join(' ')}</p>`;
  })}`);
}

function reasons(state, score, drills) {
  const name = remark => state.cards.find(card => card.id === remark.about)?.words ??
    t(remark.part === 'evidence' ? 'r-' + remark.about : remark.part === 'diagnosis' ? (WHAT.includes(remark.about) ? 'e-' : 'w-') + remark.about : remark.about);
  const own_words = remark => remark.about === '' ? TEXTS[`m-${remark.part}-${remark.says}`] : undefined;
  return entry('', draw`<h2>${t('reasons')}</h2>
    <ul>${score.remarks.map(remark => own_words(remark) ? draw`<li>${own_words(remark)}</li>` : draw`<li>${t('p-' + remark.part)}: ${t('says-' + remark.says)}${remark.about ? ': ' + name(remark) : ''}${remark.why ? '. ' + remark.why : ''}</li>`)}</ul>
    <h3>${t('right-acts')}</h3><ol>${score.needed.map(one => draw`<li>${state.cards.find(card => card.id === one.id)?.words}: ${one.why}</li>`)}</ol>
    <ul>${score.look_alikes.map(number => drills.find(drill => drill.number === number)).filter(Boolean).map(drill => draw`<li>${t('look-alikes', drill.number + ' ' + drill.title)}</li>`)}</ul>`);
}

export function debrief(state, exam, drills) {
  const { score } = state;
  return [entry('', verdict(state, score)), what_happened(state, score), one_telegram(state, score), what_ends_knew(state, score),
    reasons(state, score, drills), log(state),
    draw`<details><summary>${t('instruments-now')}</summary>${bench(state)}${instruments_read({ ...state, time_line: null })}</details>`,
    foot([exam ? button('explain', '', t('back-to-exam'), 'class="main"') : [button('again', '', t('again')), button('next', '', t('next'), 'class="main"')], button('print', '', t('print'))])];
}
