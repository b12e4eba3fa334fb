// The plant as the trainee sees it: what somebody at that place sees, and of the ends what was read
// there, no more. The machine is drawn where it was told to be, and glides between two tellings.
import { draw } from '../../pages/draw.js';
import { Glide } from '../../pages/glide.js';
import { moved, scene_drawing } from '../../pages/scene_drawing.js';
import { looking, page_width } from './looking.js';
import { machine_line } from './panels.js';
import { t } from './texts.js';
import { views_of } from './links.js';
import { word } from './words.js';

/** @typedef {import('./told.js').State} State */
/** @typedef {import('./told.js').End} End */
/** @typedef {import('../../pages/scene_parts.js').Scene} Scene */

const MOST = 700; // px wide
const BESIDE = 12; // it lies on no sheet, and needs less room beside it
const still = globalThis.matchMedia?.('(prefers-reduced-motion: reduce)');

/** @type {Map<string, Glide>} by the id of what moves */
const glides = new Map();
let frame = 0;

/** @param {End | null | undefined} end */
function as_read(end) {
  if (!end || looking.old) return { mark: 'unknown', word: t('s-unknown'), facts: [] };
  if (end.dark) return { mark: 'dark', word: t('s-dark'), facts: [] };
  const rejected = Object.values(end.rejected_by).reduce((sum, one) => sum + one, 0);
  const received = t(end.per_second ? 'scene-rises' : 'scene-still', end.received);
  const facts = [received, t('scene-rejected', rejected)];
  return { mark: end.state, word: word('states', end.state), facts };
}

/**
 * What was done to it, and what lies in it; of several machines nobody says in which.
 * @param {State} state
 * @param {import('./told.js').Machine} machine
 * @returns {[string, string][]}
 */
const holds_of = ({ zone, plant }, { isolated, emergency_stop }) => [
  ...(isolated ? [/** @type {[string, string]} */ (['locked', t('scene-locked')])] : []),
  ...(emergency_stop ? [/** @type {[string, string]} */ (['latched', t('scene-stop')])] : []),
  ...(zone.tools_in && plant.machines.length === 1
    ? [/** @type {[string, string]} */ (['tools', t('scene-tools')])]
    : []),
];

/**
 * In few words, where the picture has no such place.
 * @type {{ [place: string]: import('./texts.js').Key }}
 */
export const STANDS = {
  outside: 'you-outside',
  controller: 'you-controller',
  io: 'you-io',
  way: 'you-way',
  guard: 'you-guard',
  machine: 'you-machine',
  office: 'you-office',
};

/** Where the trainee is, once acts have places. @param {State} state */
function you_of({ here, step }) {
  if (step < 4) return null;
  return { place: here, short: t('scene-you'), long: t(STANDS[here]) };
}

/**
 * Where it is along its way; of a way that is not said how far it has come by its speed.
 * @param {string} id
 * @param {State} state
 * @param {import('./told.js').Machine} machine
 */
function along_of(id, state, { position, speed }) {
  const glide = glides.get(id) ?? new Glide();
  glides.set(id, glide);
  const at_ms = state.plant_time * 1000;
  const rate = looking.held ? 'paused' : 'runs';
  const now = performance.now();
  glide.told(at_ms, position ?? (speed * at_ms) / 1000, rate, now);
  return still?.matches ? (position ?? 0) : glide.at(now);
}

/** @param {State} state */
const machines_of = (state) =>
  state.plant.machines.map((one, i) => {
    const view = views_of(state).find(({ link_name }) => link_name === one.link);
    const machine = view?.machine ?? state.machine;
    const id = `moves-${i}`;
    return {
      id,
      name: one.name,
      at: one.at,
      says: machine.moves ? t('scene-moves', machine.speed) : t('stands'),
      along: along_of(id, state, machine),
      travel: one.travel_mm,
      degrees: one.travel_degrees,
      holds: holds_of(state, machine),
    };
  });

/** @type {{ [seen: string]: import('./texts.js').Key }} */
const SEEN = { demanded: 'seen-demanded', latched: 'seen-latched', free: 'seen-free' };

/** @param {import('./told.js').PlantGuard} guard */
const guard_says = ({ seen }) => (seen === null ? '' : t(SEEN[seen]));

/** What the picture shows, for those who do not see it. @param {Omit<Scene, 'title'>} scene */
function title_of({ controller, stations, guards, machines, you }) {
  const ends = stations.flatMap(({ name, link, end, at_controller }) => [
    { name: link ? `${controller}, ${link}` : controller, end: at_controller },
    { name, end },
  ]);
  const words = [
    ...ends.map(({ name, end }) => [`${name}: ${end.word}`, ...end.facts].join(', ')),
    ...guards.map(({ name, says, at }) =>
      t('scene-guard', [name, says].filter(Boolean).join(': '), at),
    ),
    ...machines.map(({ name, says, holds }) =>
      [`${name}: ${says}`, ...holds.map((one) => one[1])].join(', '),
    ),
    ...(you ? [t('scene-you-at', word('places', you.place))] : []),
  ];
  return t('scene', words.join('. '));
}

/** @param {State} state @returns {Scene} */
export function scene_of(state) {
  const { controller, stations, guards } = state.plant;
  const views = views_of(state);
  const scene = {
    controller,
    stations: stations.map(({ name, link }, at) => ({
      name,
      link,
      end: as_read(views[at]?.io),
      at_controller: as_read(views[at]?.controller),
    })),
    guards: guards.map((guard) => ({ ...guard, says: guard_says(guard) })),
    machines: machines_of(state),
    ways: /** @type {[string, string]} */ ([t('scene-out'), t('scene-back')]),
    you: you_of(state),
  };
  return { ...scene, title: title_of(scene) };
}

function move_on() {
  frame = 0;
  if (still?.matches) return;
  const now = performance.now();
  let more = false;
  for (const [id, glide] of glides) {
    const part = document.getElementById(id);
    if (!part) continue;
    const { travel, degrees, span } = part.dataset;
    const way = { travel: Number(travel), degrees: Number(degrees), span: Number(span) };
    part.setAttribute('transform', moved(way, glide.at(now)));
    more ||= glide.glides(now);
  }
  if (more) frame = requestAnimationFrame(move_on);
}

/** To be called once the picture is on the page: what was told moves on until the next telling. */
export function keep_moving() {
  if (frame || still?.matches || !glides.size) return;
  frame = requestAnimationFrame(move_on);
}

/** Another drill: what moved before is gone. */
export const forget_motion = () => glides.clear();

/** @param {State} state */
export function scene(state) {
  const machines = state.links
    ? state.links.flatMap(({ machine }) => (machine ? [machine_line({ ...state, machine })] : []))
    : [machine_line(state)];
  if (state.zone.tools_in && state.plant.machines.length > 1) machines.push([t('scene-tools')]);
  return draw`<figure class="scene" id="scene">${scene_drawing(
    scene_of(state),
    Math.min(MOST, page_width() + BESIDE),
  )}<figcaption>${machines.map((line) => draw`<p>${line}</p>`)}</figcaption></figure>`;
}
