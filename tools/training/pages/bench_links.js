// The bench of several links: the controller with a panel for each, every station, and the signals
// of each link.
import { draw } from '../../pages/draw.js';
import { entry } from './entries.js';
import { views_of } from './links.js';
import { keep_buttons } from './kept.js';
import { bench, end_panel, has_used, now_margin, read_button, signals } from './panels.js';
import { t } from './texts.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./links.js').View} View */

/** @param {View} view @param {number} at */
const at_controller = (view, at) =>
  end_panel(view, view.controller, {
    title: t('link', view.link_name),
    heading: t('link', view.link_name),
    id: `panel-controller-${at}`,
    readings: null,
  });

/** @param {View} view @param {number} at */
const at_station = (view, at) =>
  end_panel(view, view.io, {
    title: view.station ?? '',
    heading: t('station-of', view.station, view.link_name),
    id: `panel-io-${at}`,
    readings: null,
  });

/** @param {View} view */
const signals_of = (view) => draw`<div>${signals(view, t('link', view.link_name))}</div>`;

/** @param {State} state */
function bench_of_links(state) {
  const views = views_of(state);
  const controller = has_used(state, 'controller-panel');
  const io = has_used(state, 'io-panel');
  const trips = views.every((view) => view.controller?.trip_ms !== undefined);
  return entry(
    now_margin(state),
    draw`<div id="panel-controller" tabindex="-1"><h2>${t('controller-links')}</h2>
    ${read_button(state, 'controller-panel')}
    <div class="ends">${views.map(at_controller)}</div></div>
    <div id="panel-io" tabindex="-1"><h2>${t('stations')}</h2>
    ${read_button(state, 'io-panel', t('walk-stations'))}
    <div class="ends">${views.map(at_station)}</div></div>
    <h2>${t('signals')}</h2>
    <div class="ends few">${views.map(signals_of)}</div>
    ${keep_buttons(state, [
      controller && 'controller-panel',
      io && 'io-panel',
      controller && io && 'received-counters',
      'signals',
      io && 'on-since',
      controller && 'longest-cycle',
      controller && trips && 'round-trips',
    ])}`,
    'bench',
  );
}

/** @param {State} state */
export const whole_bench = (state) => (state.links ? bench_of_links(state) : bench(state));
