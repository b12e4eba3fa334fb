// Where the parts of a plant stand in its scene, as somebody beside it sees it: the controller, the
// links, each station with its guards, and the machine. All in pixels of the drawing.

/**
 * @typedef {object} SceneEnd how an end stands, as far as somebody has read it
 * @property {string} mark of marks.js
 * @property {string} word
 * @property {string[]} facts
 */
/**
 * @typedef {object} SceneMachine
 * @property {string} id of the part that moves
 * @property {string} name
 * @property {string} at the station that moves it
 * @property {string} says whether it moves, and how fast
 * @property {number} along mm
 * @property {number} travel mm; 0: not said, it goes round
 * @property {number} degrees that it turns on its whole way; 0: it does not turn
 * @property {[mark: string, words: string][]} holds what was done to it
 */
/** @typedef {{ name: string, kind: string, at: string, says: string }} SceneGuard */
/**
 * @typedef {object} Scene
 * @property {string} title
 * @property {string} controller
 * @property {{ name: string, link: string, end: SceneEnd, at_controller: SceneEnd }[]} stations
 * @property {SceneGuard[]} guards
 * @property {SceneMachine[]} machines
 * @property {[to_station: string, to_controller: string]} ways
 * @property {You | null} [you] where somebody stands in it
 */
/** @typedef {{ place: string, short: string, long: string }} You */
/** @typedef {{ x: number, y: number, w: number, h: number }} Box */
/** @typedef {Box & { name: string, ends: { at: number, link: string, end: SceneEnd }[] }} EndBox */
/**
 * @typedef {object} SceneLayout
 * @property {boolean} wide
 * @property {number} width
 * @property {number} height
 * @property {EndBox[]} ends
 * @property {(Box & { guard: SceneGuard })[]} guards
 * @property {(Box & { machine: SceneMachine })[]} machines
 * @property {{ d: string, kind: 'wire' | 'link' }[]} lines
 * @property {{ x: number, y: number, anchor: string, words: string }[]} notes
 * @property {{ x: number, y: number }} lane left free for whoever stands at no place of its own
 */

export const WIDE = 560;
const APART = 14;
const GUARD = 30;
const LANE = 44; // in which somebody stands
const LOW_LANE = 26; // the same where room is scarce

/** @param {number} width @returns {SceneLayout} */
const empty = (width) => ({
  wide: width >= WIDE,
  width,
  height: 4,
  ends: [],
  guards: [],
  machines: [],
  lines: [],
  notes: [],
  lane: { x: 4, y: 4 },
});

/** @param {Scene} scene @param {string} at */
const beside = ({ guards, machines }, at) => ({
  guards: guards.filter((one) => one.at === at),
  machines: machines.filter((one) => one.at === at),
});

/**
 * Arrows of both ways from the one x to the other.
 * @param {SceneLayout} layout
 * @param {Scene} scene
 * @param {{ from: number, to: number, y: number, named: boolean }} where
 */
function ways_across(layout, { ways }, { from, to, y, named }) {
  const back = y + 32;
  layout.lines.push(
    { kind: 'link', d: `M${from} ${y}H${to - 3}m-7-5l8 5-8 5` },
    { kind: 'link', d: `M${to} ${back}H${from + 3}m7-5l-8 5 8 5` },
  );
  if (!named) return;
  const x = (from + to) / 2;
  layout.notes.push(
    { x, y: y - 7, anchor: 'middle', words: ways[0] },
    { x, y: back + 18, anchor: 'middle', words: ways[1] },
  );
}

/**
 * Controller at the left, stations in rows beside it, what they read and move at the right.
 * @param {Scene} scene
 * @param {number} width
 */
function wide_scene(scene, width) {
  const layout = empty(width);
  const alone = scene.stations.length < 2;
  const box = Math.min(190, Math.max(164, Math.floor(width * 0.27)));
  const gap = Math.max(70, Math.floor(width * 0.12));
  const station_x = 4 + box + gap;
  const bus = station_x + box + 12;
  const right = bus + 12;
  const tall = alone ? 96 : 60;
  const controller = { name: scene.controller, x: 4, y: 4, w: box, h: tall };
  const own = beside(scene, scene.controller).guards;
  /** @type {EndBox['ends']} */
  const seen = [];
  let y = 4;
  if (!alone) y += LOW_LANE;
  for (const { name, link, end, at_controller } of scene.stations) {
    const { guards, machines } = beside(scene, name);
    const top = y;
    layout.ends.push({ name, x: station_x, y, w: box, h: tall, ends: [{ at: 26, link: '', end }] });
    seen.push({ at: alone ? 26 : y - 4, link: alone ? '' : link, end: at_controller });
    const way = y + (alone ? 32 : 14);
    ways_across(layout, scene, { from: 4 + box, to: station_x, y: way, named: alone });
    let last = 0;
    for (const guard of guards) {
      layout.guards.push({ guard, x: right, y, w: width - right - 4, h: GUARD });
      layout.lines.push({ kind: 'wire', d: `M${bus} ${y + GUARD / 2}H${right}` });
      last = y + GUARD / 2;
      y += GUARD;
    }
    if (alone) y = Math.max(y, top + tall) + LANE + own.length * GUARD;
    for (const machine of machines) {
      const h = (machine.degrees ? 132 : 112) + (machine.holds.length > 2 ? 20 : 0);
      if (alone) {
        const under = station_x + 24;
        layout.machines.push({ machine, x: 4, y, w: width - 8, h });
        layout.lines.push({ kind: 'wire', d: `M${under} ${top + tall}V${y}` });
        y += h + 4;
        continue;
      }
      layout.machines.push({ machine, x: right, y: y + 4, w: width - right - 4, h });
      last = y + 20;
      layout.lines.push({ kind: 'wire', d: `M${bus} ${last}H${right}` });
      y += h + 4;
    }
    if (last) {
      const out = top + 15;
      const far = Math.max(last, out);
      layout.lines.push({ kind: 'wire', d: `M${bus - 12} ${out}H${bus}V${far}` });
    }
    y = Math.max(y, top + tall) + APART;
  }
  controller.h = alone ? tall : y - APART - 4;
  layout.ends.unshift({ ...controller, ends: seen });
  layout.lane = alone ? { x: 24, y: 4 + tall + 4 } : { x: station_x, y: 4 };
  let below = 4 + controller.h + (alone ? LANE : 8);
  for (const guard of own) {
    layout.guards.push({ guard, x: 24, y: below, w: box - 20, h: GUARD });
    layout.lines.push({ kind: 'wire', d: `M14 ${4 + controller.h}V${below + GUARD / 2}H24` });
    below += GUARD;
  }
  layout.height = Math.max(y - APART, below) + 4;
  return layout;
}

/**
 * Guards side by side, as many as have room.
 * @param {SceneLayout} layout
 * @param {SceneGuard[]} guards
 * @param {number} y
 */
function guards_in_rows(layout, guards, y) {
  const each = Math.floor((layout.width - 24) / 2);
  guards.forEach((guard, i) => {
    const alone = i % 2 === 0 && i + 1 === guards.length;
    const w = guard.says || alone ? layout.width - 24 - (i % 2) * each : each;
    layout.guards.push({ guard, x: 20 + (i % 2) * each, y: y + Math.floor(i / 2) * 26, w, h: 26 });
  });
  return y + Math.ceil(guards.length / 2) * 26;
}

/**
 * One below the other, each in a line, for a narrow page.
 * @param {Scene} scene
 * @param {number} width
 */
function narrow_scene(scene, width) {
  const layout = empty(width);
  const alone = scene.stations.length < 2;
  const w = width - 8;
  const first = alone ? [{ at: 4, link: '', end: scene.stations[0].at_controller }] : [];
  const from = alone ? 4 : 4 + LOW_LANE;
  layout.ends.push({ name: scene.controller, x: 4, y: from, w, h: 30, ends: first });
  let y = guards_in_rows(layout, beside(scene, scene.controller).guards, from + 30);
  if (alone) layout.lane = { x: 64, y: y + 2 };
  for (const { name, link, end, at_controller } of scene.stations) {
    const { guards, machines } = beside(scene, name);
    const to = y + (alone ? LOW_LANE : 30);
    layout.lines.push(
      { kind: 'link', d: `M20 ${y}V${to - 3}m-5-7l5 8 5-8` },
      { kind: 'link', d: `M44 ${to}V${y + 3}m-5 7l5-8 5 8` },
    );
    if (!alone)
      layout.ends.push({
        name: '',
        x: 64,
        y,
        w: w - 60,
        h: 30,
        ends: [{ at: 4, link, end: at_controller }],
      });
    layout.ends.push({ name, x: 4, y: to, w, h: 30, ends: [{ at: 4, link: '', end }] });
    y = guards_in_rows(layout, guards, to + 32);
    for (const machine of machines) {
      const beside_it = scene.you?.place === 'machine' && alone ? 1 : 0;
      const rows = Math.max(machine.holds.length, beside_it);
      const h = (machine.degrees ? 110 : 76) + rows * 20;
      layout.machines.push({ machine, x: 4, y: y + 2, w, h });
      y += h + 4;
    }
    y += 2;
  }
  layout.height = y + 2;
  return layout;
}

/** @param {Scene} scene @param {number} width */
export const scene_parts = (scene, width) =>
  width >= WIDE ? wide_scene(scene, width) : narrow_scene(scene, width);
