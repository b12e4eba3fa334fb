// The part of the time line that is shown: it moves in and along, by buttons, keys, wheel and
// pointer.
import { charts, data } from './data.js';

/** @typedef {import('./data_shape.js').TimeLine} TimeLine */

/** By the names of their charts: of a cell one for each link, all showing the same part. */
const lines = new Map(
  Object.entries({ timeline: data.timeline, ...data.also }).flatMap(([name, line]) =>
    line && name.startsWith('timeline') ? [[name, /** @type {TimeLine} */ (line)]] : [],
  ),
);
const whole = data.timeline ? data.timeline.duration / 1000 : 1; // s
const shortest = 0.002;
export const view = { from: 0, to: whole };

/** @param {TimeLine} line */
function says(line) {
  const seen = line.injections.filter(
    (i) => i.at !== null && i.at / 1000 >= view.from && i.at / 1000 <= view.to,
  );
  const span =
    'Shown: ' + view.from.toFixed(3) + ' s to ' + view.to.toFixed(3) + ' s of ' + whole + ' s. ';
  const demands = line.demands.filter((d) => d.at / 1000 >= view.from && d.at / 1000 <= view.to);
  const count = (/** @type {number} */ n, /** @type {string} */ what) =>
    n + ' ' + what + (n === 1 ? '' : 's');
  const faults =
    seen.length === 1
      ? 'Injection ' + seen[0].id + ': ' + seen[0].words + ', ' + seen[0].outcome + '.'
      : count(seen.length, 'injection') + '.';
  const guards =
    demands.length === 1
      ? ' Demand ' + demands[0].id + ': ' + demands[0].words + '.'
      : demands.length > 1
        ? ' ' + count(demands.length, 'demand') + '.'
        : '';
  return span + faults + guards;
}

/**
 * Shows that part, in s, or the nearest that there is.
 * @param {number} from
 * @param {number} to
 */
export function show(from, to) {
  const wide = Math.min(whole, Math.max(shortest, to - from));
  view.from = Math.min(Math.max(0, from), whole - wide);
  view.to = view.from + wide;
  for (const [name, line] of lines) {
    const chart = charts.get(name);
    if (!chart) continue;
    chart.options.scales.x.min = view.from;
    chart.options.scales.x.max = view.to;
    chart.update('none');
    const place = document.getElementById('says-' + name);
    if (place) place.textContent = says(line);
  }
}

/** Stepped to last, in s: it stays in sight when the scale changes. @type {number | null} */
let mark = null;

/**
 * @param {number} factor
 * @param {number} [at] what stays in its place; else the mark, if it is in sight, or the middle
 */
function scale(factor, at) {
  const marked = mark !== null && mark >= view.from && mark <= view.to ? mark : null;
  const middle = at ?? marked ?? (view.from + view.to) / 2;
  show(middle - (middle - view.from) * factor, middle + (view.to - middle) * factor);
}
/** @param {number} share of what is shown */
const move = (share) =>
  show(view.from + share * (view.to - view.from), view.to + share * (view.to - view.from));

/** Steps from one to the next of those times, in ms. @param {number[]} times in order */
function stepper(times) {
  let current = -1;
  return {
    /** @param {number} step */
    to(step) {
      if (!times.length) return;
      current = Math.min(times.length - 1, Math.max(0, current + step));
      mark = times[current] / 1000;
      show(mark - 0.1, mark + 0.9);
    },
    begin() {
      current = -1;
    },
  };
}
/** In order and each once: a fault of the controller strikes every link. @param {number[]} times */
const in_order = (times) => [...new Set(times)].sort((a, b) => a - b);
const all_lines = [...lines.values()];
const injections = stepper(
  in_order(
    all_lines.flatMap((line) => line.injections.flatMap((i) => (i.at === null ? [] : [i.at]))),
  ),
);
const demands = stepper(in_order(all_lines.flatMap((line) => line.demands.map((d) => d.at))));

/** @type {{ [act: string]: () => void }} */
const acts = {
  in: () => scale(0.5),
  out: () => scale(2),
  left: () => move(-0.25),
  right: () => move(0.25),
  previous: () => injections.to(-1),
  next: () => injections.to(1),
  'previous-demand': () => demands.to(-1),
  'next-demand': () => demands.to(1),
  all: () => {
    injections.begin();
    demands.begin();
    mark = null;
    show(0, whole);
  },
};
/** @type {{ [key: string]: () => void }} */
const keys = {
  '+': acts.in,
  '=': acts.in,
  '-': acts.out,
  ArrowLeft: acts.left,
  ArrowRight: acts.right,
  PageUp: () => move(-1),
  PageDown: () => move(1),
  Home: () => show(0, view.to - view.from),
  End: acts.all,
};

/** @param {KeyboardEvent} event */
function press(event) {
  const act = keys[event.key];
  if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  act();
}

/** Where the chart of that canvas is drawn. @param {EventTarget | null} canvas */
const area_of = (canvas) =>
  charts.get(canvas instanceof HTMLCanvasElement ? (canvas.dataset.chart ?? '') : '').chartArea;

/** The wheel belongs to the page unless Ctrl is held. @param {WheelEvent} event */
function turn(event) {
  if (!event.ctrlKey) return;
  event.preventDefault();
  const { left, right } = area_of(event.currentTarget);
  const at = view.from + ((event.offsetX - left) / (right - left)) * (view.to - view.from);
  scale(event.deltaY > 0 ? 1.25 : 0.8, at);
}

/** @type {{ x: number, from: number, to: number } | null} */
let held = null;
/** @param {PointerEvent} event */
function drag(event) {
  if (!held) return;
  const { left, right } = area_of(event.currentTarget);
  const by = ((held.x - event.clientX) / (right - left)) * (held.to - held.from);
  show(held.from + by, held.to + by);
}
const let_go = () => {
  held = null;
};

export function listen_to_people() {
  for (const button of document.querySelectorAll('button[data-for^="timeline"]'))
    if (button instanceof HTMLElement)
      button.addEventListener('click', () => acts[button.dataset.act ?? '']?.());
  for (const canvas of document.querySelectorAll('canvas[data-chart^="timeline"]')) {
    if (!(canvas instanceof HTMLCanvasElement) || !lines.has(canvas.dataset.chart ?? '')) continue;
    canvas.addEventListener('keydown', press);
    canvas.addEventListener('wheel', turn, { passive: false });
    canvas.addEventListener('pointerdown', (event) => {
      held = { x: event.clientX, from: view.from, to: view.to };
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener('pointermove', drag);
    canvas.addEventListener('pointerup', let_go);
    canvas.addEventListener('pointercancel', let_go);
  }
}
