// Section 6: what the commands say of strength, campaign and endurance; long work goes on when the
// page is closed.
import { draw } from '../../pages/draw.js';
import { choice } from '../../pages/parts.js';
import { command_line, mend_button, poster, refusal_at } from './controls.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Told} Told */
/** @typedef {import('./told.js').Job} Job */

/** @param {import('./told.js').Found[]} rows */
export const found = (rows) =>
  rows.length > 0 &&
  draw`<table class="figures">${rows.map(
    ({ what, value }) => draw`<tr><th
    scope="row">${what}</th><td>${value}</td></tr>`,
  )}</table>`;

/** @param {Told} told */
function strength_part({ strength }) {
  const again = poster(
    'residual',
    '/api/job',
    { do: 'start', what: 'residual' },
    t('reckon-strength'),
  );
  if (!strength)
    return draw`<h3>${t('h-strength')}</h3><p
      class="soft">${t('no-strength')}</p>${again}${refusal_at('residual')}`;
  const { sentence, rows, old, command } = strength;
  return draw`<h3>${t('h-strength')}</h3>${old && draw`<p class="old-words">${t('of-old')}</p>`}
    <p>${sentence}</p>${found(rows)}${command_line(command)}${
      old && again
    }${refusal_at('residual')}`;
}

/** @param {Job} job */
function job_drawn(job) {
  const { id, what, words, state, progress, line, command, result, old, again } = job;
  const place = `job-${id}`;
  const bar =
    state === 'runs' &&
    (progress === null
      ? draw`<progress aria-label="${words}"></progress>`
      : draw`<progress aria-label="${words}" ${{ max: 1, value: progress }}></progress>
        <span>${Math.floor(progress * 100)} %</span>`);
  return draw`<li class="job"><b>${words}</b> <span class="word ${
    state === 'failed' ? 'amber' : 'soft'
  }">${t(`job-${state}`)}</span>
    ${old && draw`<span class="old-words">${t('of-old')}</span>`}
    <p>${bar} ${line}</p>${result && draw`<p>${result.sentence}</p>${found(result.rows)}`}
    ${
      state === 'runs' &&
      poster(place, '/api/job', { do: 'stop', what, id }, t('job-stop'), {
        'aria-label': `${t('job-stop')}: ${words}`,
      })
    }${again.map((mend) => mend_button(place, mend))}${refusal_at(place)}
    ${command_line(command)}</li>`;
}

/**
 * @param {string} what
 * @param {string} id
 * @param {string} label
 * @param {string} value
 * @param {string} words
 */
const starter = (what, id, label, value, words) =>
  draw`<form class="tray" id="start-${what}" data-what="${what}"><label>${label}
    <input type="text" id="${id}" inputmode="numeric" value="${value}" autocomplete="off"></label>
    <button type="submit" id="b-start-${what}">${words}</button></form>`;

/** Of several links one alone, or all of them. @param {Told} told */
const of_link = ({ links }) =>
  links.length > 1 &&
  choice('job-link', t('job-link'), [
    ['', t('all-links')],
    ...links.map(({ name }) => /** @type {[string, string]} */ ([name, name])),
  ]);

/** @param {Told} told */
export function strength(told) {
  const jobs = told.jobs.filter(({ what }) => what !== 'residual' || told.strength === null);
  return draw`${strength_part(told)}
    <h3>${t('h-jobs')}</h3><p class="soft">${t('jobs-words')}</p>
    <div class="starters">${of_link(told)}${starter(
      'campaign',
      'trials',
      t('trials'),
      '100000',
      t('start-campaign'),
    )}
    ${starter(
      'endurance',
      'years',
      t('years'),
      '10',
      t('start-endurance'),
    )}</div>${refusal_at('jobs')}
    ${jobs.length > 0 && draw`<ul class="plain jobs">${jobs.map(job_drawn)}</ul>`}`;
}
