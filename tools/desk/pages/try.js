// Section 4: the bench. Time, guards and people, what can be put in, and what was done.
import { draw } from '../../pages/draw.js';
import { mark_alone } from '../../pages/marks.js';
import { choice } from '../../pages/parts.js';
import { bench_act, poster, refusal_at, slug } from './controls.js';
import { looking } from './looking.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').Bench} Bench */
/** @typedef {import('./told.js').Guard} Guard */
/** @typedef {import('./told.js').Rate} Rate */

/** @type {Rate[]} */
const RATES = ['paused', '1/200', '1/20', '1/1'];

/** @param {number} ms of the bench, as people read it: 152.830 s */
export const bench_time = (ms) => `${(ms / 1000).toFixed(3)}\u00a0s`;

/** @param {boolean} steps_only no motion is wanted @param {Rate} rate */
const rate_words = (rate, steps_only) =>
  rate === 'paused' ? t('paused') : steps_only && rate !== '1/1' ? t('rate-still', rate) : rate;

/** @param {Bench} bench @param {boolean} steps_only */
export function time(bench, steps_only) {
  const rates = RATES.map(
    (rate) =>
      draw`<label><input ${{
        type: 'radio',
        name: 'rate',
        value: rate,
        id: `rate-${slug(rate)}`,
        checked: (looking.rate ?? bench.rate) === rate,
      }}> ${rate_words(rate, steps_only)}</label>`,
  );
  return draw`<div class="tray"><fieldset
    class="rates"><legend>${t('time-runs')}</legend>${rates}</fieldset>
    ${bench_act('time', { do: 'step' }, t('step'))}${bench_act('time', { do: 'until' }, t('until'))}
    <output class="bench-time"
      aria-live="off">${bench_time(bench.at_ms)}</output></div>${refusal_at('time')}`;
}

/** Which settings run there. @param {Bench} bench */
export function runs({ runs_typed_at, old, as_written, refused }) {
  const anew = bench_act('anew', { do: 'begin' }, t('start-anew'));
  return draw`${refused && draw`<p class="says">${refused}</p>`}<p
    ${{ class: old ? 'old-words' : 'soft' }}>${t(
      old ? 'runs-old' : 'runs',
      runs_typed_at,
    )} ${as_written && t('as-written')} ${anew}</p>${refusal_at('anew')}`;
}

/** The word that a switch shows. @param {Guard} guard */
const guard_words = ({ name, held, latched, free }) =>
  latched ? t('latched', name) : held ? t('held', name) : free ? name : t('open', name);

/** @param {Guard} guard */
function guard_switch(guard) {
  const { name, held, latched, reset_needed } = guard;
  const place = `guard-${name}`;
  const turn = { do: 'guard', guard: name, on: held ? '0' : '1' };
  const pressed = { 'aria-pressed': String(held || latched), id: `b-guard-${slug(name)}` };
  const reset = { id: `b-reset-${slug(name)}` };
  return draw`<span class="guard">${bench_act(place, turn, guard_words(guard), pressed)}${
    reset_needed && bench_act(place, { do: 'reset', guard: name }, t('reset', name), reset)
  }${refusal_at(place)}</span>`;
}

/**
 * Where a guard does not bring about what it must, its row says so.
 * @param {Guard} guard
 * @param {boolean} many
 */
function guard_row(guard, many) {
  const { signals, meant = [], follows } = guard;
  const by_machine = (/** @type {'must' | 'now'} */ what) =>
    meant.map((one) => draw`<div>${many && `${one.machine}: `}${one[what]}</div>`);
  const wrong =
    follows && draw`<p class="amber unequal">${mark_alone('differs')}<span>${follows}</span></p>`;
  return draw`<tr ${{ class: follows ? 'differs' : null }}><th
    scope="row">${guard_switch(guard)}</th>
    <td data-label="${t('its-bits')}">${signals.join(', ')}</td>
    <td data-label="${t('reaction-meant')}">${by_machine('must')}</td>
    <td data-label="${t('command-now')}">${by_machine('now')}${wrong}</td></tr>`;
}

/** @param {Bench} bench */
function guards({ guards, machines }) {
  const heads = [t('guard'), t('its-bits'), t('reaction-meant'), t('command-now')];
  return draw`<table class="rows guards"><caption class="spoken">${t('guards-table')}</caption>
    <thead><tr>${heads.map((head) => draw`<th scope="col">${head}</th>`)}</tr></thead>
    <tbody>${guards.map((guard) => guard_row(guard, machines.length > 1))}</tbody></table>`;
}

/** @param {Bench} bench */
function mode_choice({ modes, mode }) {
  if (modes.length < 2) return null;
  const options = modes.map(
    (name) => draw`<option ${{ value: name, selected: name === mode }}>${name}</option>`,
  );
  return draw`<label>${t('mode')} <select id="mode" data-told>${options}</select></label>`;
}

/** @param {Bench} bench */
export function tray(bench) {
  return draw`<h3>${t('h-guards')} <small>${t('guards-words')}</small></h3>
    ${guards(bench)}
    <div class="tray"><span class="soft">${t('people')}</span>${bench_act(
      'people',
      { do: 'acknowledge' },
      t('acknowledge'),
    )}${mode_choice(bench)}</div>${refusal_at('people')}`;
}

/** @param {Bench} bench */
export function put_in(bench) {
  const offers = bench.offers ?? [];
  if (!offers.length) return draw``;
  const groups = [...new Set(offers.map(({ group }) => group))];
  const kinds = groups.map(
    (group) =>
      draw`<optgroup label="${group}">${offers
        .filter((one) => one.group === group)
        .map(({ way, words }) => draw`<option value="${way}">${words}</option>`)}</optgroup>`,
  );
  const links = bench.links.map(({ name }) => /** @type {[string, string]} */ ([name, name]));
  const { controller, device } = bench.links[0];
  return draw`<details class="put-in"><summary>${t('put-in')}</summary><form id="fault"
    class="tray">
    <label>${t('fault-kind')} <select id="fault-way">${kinds}</select></label>
    ${links.length > 1 && choice('fault-link', t('fault-link'), links)}
    ${choice('fault-where', t('fault-where'), [
      ['device', t('fault-at', links.length > 1 ? t('the-device') : device.name)],
      ['controller', t('fault-at', controller.name)],
    ])}
    ${choice('fault-when', t('fault-when'), [
      ['now', t('when-now')],
      ['demand', t('when-demand')],
      ['1', t('when-in', 1)],
      ['5', t('when-in', 5)],
      ['30', t('when-in', 30)],
    ])}
    <button type="submit"
      id="b-fault">${t('put-it-in')}</button></form>${refusal_at('fault')}</details>`;
}

/** @param {Bench} bench */
export function done({ acts, log }) {
  const line = (/** @type {{ at_ms: number, words: string, refused?: string | null }} */ one) =>
    draw`<li><span class="soft">${bench_time(one.at_ms)}</span> ${one.words}${
      one.refused && draw` <span class="amber">${one.refused}</span>`
    }</li>`;
  return draw`<div class="two"><div><h3>${t('h-acts')}</h3>
    ${
      acts.length
        ? draw`<ol class="plain log" tabindex="0"
      aria-label="${t('h-acts')}">${acts.map(line)}</ol>`
        : draw`<p
        class="soft">${t('no-acts')}</p>`
    }
    ${acts.length > 0 && poster('keep', '/api/keep', {}, t('keep'))}${refusal_at('keep')}</div>
    <div><h3>${t('h-log')}</h3>
    ${
      log.length
        ? draw`<div class="log" role="log" aria-live="off" tabindex="0"
          aria-label="${t('h-log')}"><ol
        class="plain">${[...log].reverse().map(line)}</ol></div>`
        : draw`<p
        class="soft">${t('no-log')}</p>`
    }</div></div>`;
}

export const no_bench = () =>
  draw`<p>${t('no-bench')}</p><p>${bench_act(
    'anew',
    { do: 'begin' },
    t('begin-bench'),
  )}</p>${refusal_at('anew')}`;
