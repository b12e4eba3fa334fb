// Section 5: the watchdog. A handle over the points that were reckoned; figures, charts, the
// response and the distance follow it without asking anybody.
import { draw } from '../../pages/draw.js';
import { put } from '../../pages/lay_over.js';
import { rounded, rounded_down, rounded_up } from '../../pages/numbers.js';
import { distance_bar, response_bar } from '../../pages/scale_bars.js';
import { watchdog_charts } from '../../pages/watchdog_charts.js';
import { poster, refusal_at, slug } from './controls.js';
import { looking } from './looking.js';
import { t } from './texts.js';
import { file_choice } from './typed.js';

/** @typedef {import('./told.js').Watchdog} Watchdog */
/** @typedef {import('./told.js').WatchdogPoint} WatchdogPoint */
/** @typedef {import('./told.js').Told} Told */

/** @param {WatchdogPoint[]} points @param {number} ms */
export function nearest(points, ms) {
  let best = 0;
  points.forEach(({ watchdog_ms }, i) => {
    if (Math.abs(watchdog_ms - ms) < Math.abs(points[best].watchdog_ms - ms)) best = i;
  });
  return best;
}

/**
 * Which point the handle stands on. It stands on a time: which of the points that is changes as
 * more are reckoned.
 * @param {Watchdog} of
 */
export const handle_of = ({ link, points, now_ms }) =>
  nearest(points, looking.handles.get(link) ?? now_ms);

/** @param {boolean | undefined} agree @param {number | null} to */
const window_words = (agree, to) =>
  agree === false ? 'window-once' : to === null ? 'window-on' : 'window';

/** @param {Watchdog} of */
const chart_words = ({ agree }) => ({
  title: t('charts-title'),
  stops: t('stops-a-year'),
  distance: t('distance-mm'),
  coarse: t('coarse-band'),
  axis: t('watchdog-axis'),
  ms: (/** @type {number} */ ms) => `${rounded(ms)} ms`,
  limit: (/** @type {number} */ value) => t('limit-stops', value),
  there: (/** @type {number} */ mm) => t('there-mm', rounded_down(mm)),
  window: (/** @type {number} */ from, /** @type {number | null} */ to) =>
    t(window_words(agree, to), rounded_up(from), rounded_down(to)),
});

/**
 * Whether nothing may be promised of that point.
 * @param {Watchdog} of
 * @param {WatchdogPoint} point
 */
const is_coarse = ({ state }, { usable }) => state !== 'exact' || usable === null;

/** @param {Watchdog} of @param {WatchdogPoint} point */
function verdict(of, point) {
  if (of.agree === false) return draw`<b class="word soft">${t('not-before')}</b>`;
  if (is_coarse(of, point)) {
    // why a coarse figure would hold is no reason to believe it
    const why = point.usable === null ? point.why : '';
    return draw`<b class="word soft">${t('not-known')}</b> ${why || of.why}`;
  }
  return point.usable
    ? draw`<b class="word green">${t('usable')}</b> ${point.why}`
    : draw`<b class="word amber">${t('not-usable')}</b> ${point.why}`;
}

/** @param {Watchdog} of @param {WatchdogPoint} point */
function figures(of, point) {
  const { required_ms, there_mm } = of;
  const { stops_per_year, response_ms, overall_ms, needed_mm, spare_mm, measured } = point;
  const coarse = is_coarse(of, point) ? 'coarse' : null;
  const row = (
    /** @type {string} */ name,
    /** @type {unknown} */ value,
    /** @type {string | null} */ css = null,
  ) => draw`<tr><th scope="row">${name}</th><td><span ${{ class: css }}>${value}</span></td></tr>`;
  return draw`<p class="verdict">${verdict(of, point)}</p><table class="figures">
    ${row(t('stops-for-nothing'), stops_per_year.words, coarse)}
    ${row(t('response'), response_ms === null ? t('not-known') : t('ms', rounded_up(response_ms)))}
    ${row(
      t('until-stands'),
      overall_ms === null
        ? t('not-known')
        : required_ms === null
          ? t('ms', rounded_up(overall_ms))
          : t('ms-of', rounded_up(overall_ms), rounded_down(required_ms)),
    )}
    ${
      needed_mm !== null &&
      row(
        t('distance'),
        there_mm === null
          ? t('mm', rounded_up(needed_mm))
          : t('mm-of', rounded_up(needed_mm), rounded_down(there_mm)),
      )
    }
    ${
      spare_mm !== null &&
      row(
        t('spare'),
        spare_mm < 0 ? t('missing', rounded_up(-spare_mm)) : t('mm', rounded_down(spare_mm)),
      )
    }
    ${measured !== null && row(t('measured'), measured)}</table>`;
}

/** @param {Watchdog} of @param {WatchdogPoint} point */
const point_words = (of, point) =>
  [
    t('ms', rounded(point.watchdog_ms)),
    is_coarse(of, point) ? t('not-known') : t(point.usable ? 'usable' : 'not-usable'),
    point.stops_per_year.words,
    point.needed_mm === null ? '' : t('mm', rounded_up(point.needed_mm)),
  ]
    .filter(Boolean)
    .join(', ');

/** What follows the handle. @param {Watchdog} of @param {number} width */
export function following(of, width) {
  const at = handle_of(of);
  const point = of.points[at];
  const place = `watchdog-${of.link}`;
  const ms = rounded(point.watchdog_ms);
  const chart = {
    points: of.points,
    at,
    coarse: of.state !== 'exact',
    limit_per_year: of.limit_per_year,
    there_mm: of.there_mm,
    window: of.state === 'exact' && of.agree !== false ? of.window : null,
  };
  const wide = width > 760 ? Math.floor(width * 0.58) : width;
  const beside = width > 760 ? width - wide - 32 : width;
  const typed_ms = point.watchdog_ms === of.now_ms;
  const type_it = typed_ms
    ? draw`<p class="soft">${t('is-typed', ms)}</p>`
    : draw`<p>${poster(place, '/api/set', { path: of.path, value: `${ms} ms` }, t('type-it', ms), {
        id: `b-type-${slug(of.link)}`,
      })} <span class="soft">${t('now-typed', rounded(of.now_ms))}</span></p>`;
  return draw`<div class="two watchdog"><div>${watchdog_charts(chart, wide, chart_words(of))}</div>
    <div>${figures(of, point)}${type_it}${refusal_at(place)}</div></div>
    <div class="two watchdog"><div><h3>${t('response-parts')}</h3>
    ${
      point.parts.length > 0 &&
      response_bar(point.parts, of.required_ms, wide, {
        title: t('response-title', rounded_up(point.response_ms)),
        required: (required) => t('required', rounded_down(required)),
      })
    }</div>
    ${
      point.needed_mm !== null &&
      draw`<div><h3>${t('to-scale')}</h3>${distance_bar(point.needed_mm, of.there_mm, beside, {
        title: t('distance-title', rounded_up(point.needed_mm)),
        needed: t('needed', rounded_up(point.needed_mm)),
        there: of.there_mm === null ? '' : t('there-mm', rounded_down(of.there_mm)),
        danger: t('hazard'),
      })}</div>`
    }</div>`;
}

/** @param {Watchdog} of */
function one(of) {
  const { points, link, sentence, state, why, cautions } = of;
  const title = link && draw`<h3>${t('link', link)}</h3>`;
  const head = draw`${title}<p class="sentence">${sentence}</p>${
    state === 'reckoning' && draw`<p class="old-words">${t('reckoning')} ${why}</p>`
  }`;
  const minds = cautions?.map((words) => draw`<p class="says">${words}</p>`);
  if (!points.length) return draw`${head}<p class="soft">${why || t('no-points')}</p>`;
  const at = handle_of(of);
  return draw`${head}<label class="handle">${t('handle')}
    <input ${{
      type: 'range',
      id: `handle-${slug(link)}`,
      min: 0,
      max: points.length - 1,
      step: 1,
      value: at,
      'data-handle': link,
      'aria-valuetext': point_words(of, points[at]),
    }}></label><output class="handle-words">${t('ms', rounded(points[at].watchdog_ms))}</output>
    <div id="follows-${slug(link)}" data-own></div>${minds}`;
}

/** Of several links the one that is looked at. @param {Told} told */
export const watchdog_looked_at = ({ watchdogs }) =>
  watchdogs[Math.min(looking.link, watchdogs.length - 1)];

/** @param {Told} told */
function link_rows(told) {
  if (told.watchdogs.length < 2) return null;
  return draw`<ul class="plain choose">${told.watchdogs.map(
    ({ link, sentence }, i) =>
      draw`<li><button ${{
        type: 'button',
        id: `b-watchdog-${i}`,
        'data-act': 'link',
        'data-value': i,
        'aria-pressed': String(i === Math.min(looking.link, told.watchdogs.length - 1)),
      }}>${link}</button> ${sentence}</li>`,
  )}</ul>`;
}

/** @param {Told} told */
export function watchdog(told) {
  const of = watchdog_looked_at(told);
  if (!of) return draw`<p class="soft">${t('no-watchdog')}</p>`;
  return draw`${link_rows(told)}${one(of)}${file_choice(
    'measured',
    t('measured-file'),
  )}${refusal_at('measured')}`;
}

/** Draws what follows the handle. @param {Told} told */
export function follow(told) {
  const of = watchdog_looked_at(told);
  const id = `follows-${slug(of?.link ?? '')}`;
  const box = document.getElementById(id);
  if (!of || !of.points.length || !box) return;
  put(id, following(of, Math.max(280, box.clientWidth)));
}
