// Draws the page: each part of it only when what it is made of has changed.
import { draw } from '../../pages/draw.js';
import { element, put } from '../../pages/lay_over.js';
import { button } from '../../pages/parts.js';
import { beginnings_page, broken_page } from './beginnings.js';
import { bits } from './bits.js';
import { told_again } from './edits.js';
import { explained } from './explain.js';
import { functions } from './functions.js';
import {
  at_beginnings,
  file_actions,
  file_line,
  is_open,
  lost_line,
  notices,
  truth_line,
} from './head.js';
import { looking } from './looking.js';
import { margin } from './margin.js';
import { rehearsal_part } from './rehearse.js';
import { BENCH_PARTS, lay_out, unfold } from './sections.js';
import { say } from './speak.js';
import { strength } from './strength.js';
import { desk } from './talk.js';
import { t } from './texts.js';
import { ends } from './try_ends.js';
import { machines, rows } from './try_rows.js';
import { done, no_bench, put_in, runs, time, tray } from './try.js';
import { typed } from './typed.js';
import { follow, watchdog } from './watchdog.js';
import { show_ways, still, ways_list } from './ways.js';

/** @typedef {import('./told.js').Shown} Told */
/** @typedef {import('./told.js').Bench} Bench */
/** @typedef {import('../../pages/draw.js').Drawing} Drawing */

export const narrow = matchMedia('(max-width: 700px)');
/** What each part was made of. @type {Map<string, unknown[]>} */
const made_of = new Map();

/**
 * Draws a part anew if anything that it is made of is another object, or the page's own state is.
 * @param {string} id
 * @param {unknown[]} of
 * @param {() => Drawing} drawn
 */
function part(id, of, drawn) {
  const before = made_of.get(id);
  const now = [looking.version, narrow.matches, ...of];
  if (before?.length === now.length && now.every((one, i) => one === before[i])) return false;
  made_of.set(id, now);
  try {
    put(id, drawn());
  } catch (error) {
    // one part that cannot be drawn leaves the others as true as they are
    console.error(error);
    put(
      id,
      draw`<div class="says"><p>${t('not-drawn')}</p>
        ${button('reload', id, t('load-again'))}</div>`,
    );
  }
  return true;
}

/** All is drawn anew the next time. */
export const forget_drawn = () => made_of.clear();

/** @param {Bench | null} bench */
function show_bench(bench) {
  if (!bench) {
    part('try-time', [null], no_bench);
    for (const id of BENCH_PARTS) part(id, [null], () => draw``);
    return;
  }
  const { at_ms, rate, links, signals, guards, mode, acts, log, offers, facts } = bench;
  part('try-time', [at_ms, rate, still.matches], () => time(bench, still.matches));
  part('try-runs', [bench.runs_typed_at, bench.old, bench.as_written, bench.refused], () =>
    runs(bench),
  );
  part('try-ends', [links], () => ends(bench, narrow.matches));
  part('try-list', [facts, rate], () => ways_list(bench));
  part('try-explained', [], explained);
  part('try-tray', [guards, mode, bench.modes], () => tray(bench));
  part('try-rows', [signals, guards, links.length], () => rows(bench, narrow.matches));
  part('try-machines', [bench.machines], () => machines(bench));
  part('try-put-in', [offers, links.length], () => put_in(bench));
  part('try-done', [acts, log], () => done(bench));
  show_ways(bench);
}

/** @param {Told} told */
function show_sections(told) {
  const { links, functions: all, problems, cautions } = told;
  part('typed', [links, told.lists], () => typed(told, narrow.matches));
  part('bits', [links], () => bits(told, narrow.matches));
  part('functions', [all, problems, cautions], () => functions(told));
  show_bench(told.bench);
  if (part('watchdog', [told.watchdogs], () => watchdog(told))) follow(told);
  part('strength', [told.strength, told.jobs], () => strength(told));
  unfold(
    'typed',
    links.some((link) => link.groups.some(({ rows }) => rows.some((row) => !row.same))),
  );
  unfold(
    'bits',
    links.some((link) => link.signals.some(({ same }) => !same)),
  );
  part('rehearse', [told.rehearsal, told.file.repeat], () => rehearsal_part(told));
}

let stamp = -1;
let asked_foreign = false;

/** A question that comes up while the page is scrolled is shown. @param {Told} told */
function show_question({ file }) {
  const asks = file.foreign !== null;
  if (asks && !asked_foreign) document.getElementById('notices')?.scrollIntoView();
  asked_foreign = asks;
}

/** @param {Told} told */
function show_told(told) {
  if (told.file.stamp !== stamp) told_again();
  stamp = told.file.stamp;
  const { file, plant, beginnings, truth } = told;
  const begins = at_beginnings(told);
  const broken = !begins && file.broken !== null;
  part('file', [file, told.folder, plant], () => file_line(told));
  part('actions', [file, plant], () => file_actions(told));
  part('truth', [truth, begins], () => (is_open(told) ? truth_line(told) : draw``));
  part('notices', [file], () => notices(told));
  show_question(told);
  part('margin', [plant], () => margin(begins ? null : plant, narrow.matches));
  part('beginnings', [beginnings, begins, told.folder], () =>
    begins ? beginnings_page(told) : draw``,
  );
  part('broken', [file, broken], () => (broken ? broken_page(told) : draw``));
  element('sections', HTMLElement).hidden = begins || broken;
  document.body.classList.toggle('no-margin', begins || broken || !plant);
  if (!begins && !broken) show_sections(told);
  document.title = `${file.changed ? '* ' : ''}${file.name ?? file.title} - linkdrill desk`.replace(
    /^ - /,
    '',
  );
}

/** @param {{ name: string, text: string }[]} files */
const dropped = (files) =>
  draw`${files.map(({ name }, i) => {
    const as = (/** @type {string} */ what, /** @type {string} */ words) =>
      draw`<button ${{
        type: 'button',
        id: `b-drop-${i}-${what}`,
        'data-act': 'dropped',
        'data-value': what,
        'data-file': i,
      }}>${words}</button>`;
    return draw`<div class="notice" role="alert"><h2>${t('h-dropped', name)}</h2>
      ${as('controller-list', t('dropped-controller-list'))}${as(
        'device-list',
        t('dropped-device-list'),
      )}
      ${as('measured', t('dropped-measured'))}${as('', t('dropped-nothing'))}</div>`;
  })}`;

/** The page cannot come in. */
const outside = () =>
  draw`<section class="part" tabindex="-1"><p class="no"></p><div class="body"><h1>${t('desk')}</h1>
    <p class="says">${t('outside', desk.outside)}</p><p>${t('outside-mend')}</p>
    ${button('try-now', 'outside', t('again'))}</div></section>`;

export function show() {
  put('lost', lost_line(desk.told));
  document.body.classList.toggle('old', looking.old);
  if (desk.outside) {
    made_of.clear();
    for (const id of ['file', 'actions', 'truth', 'notices', 'margin', 'dropped']) put(id, draw``);
    put('main', outside());
    return;
  }
  if (!desk.told) return;
  lay_out(narrow.matches);
  show_told(desk.told);
  part('dropped', [looking.dropped.length], () => dropped(looking.dropped));
  say(desk.told);
}
