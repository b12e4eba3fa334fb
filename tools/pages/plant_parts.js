// Where the parts of a plant stand in its drawing: guards, controller, links, stations, machines.
// Everything in pixels of the drawing, which is not scaled, so that its texts can be read.

/**
 * @typedef {object} Plant `differs`, `warns`: how many settings differ there, how many warnings
 * @property {string} controller
 * @property {number} [controller_differs]
 * @property {{ name: string, link: string, ip: string, differs: number }[]} stations
 * @property {{ name: string, exchange: string, watchdog: string, differs: number }[]} links
 * @property {{ name: string, kind: string | null, at: string, warns: number }[]} safeguards
 * @property {{ name: string, at: string, speed: string, reactions: number }[]} machines
 */
/**
 * @typedef {object} Part
 * @property {'safeguard' | 'controller' | 'link' | 'station' | 'machine'} kind
 * @property {number} at which of its kind, in the order of the plant
 * @property {string} name
 * @property {string} icon of a safeguard: its kind
 * @property {string[]} lines what stands in it
 * @property {number} x
 * @property {number} y
 * @property {number} w
 * @property {number} h
 * @property {number} differs
 * @property {number} warns
 */
/** @typedef {{ d: string, kind: 'wire' | 'link' }} Line */
/** @typedef {{ width: number, height: number, parts: Part[], lines: Line[] }} Layout */

const MARK = 48; // room for a mark beside a box
const BOX = 44;
const ROW = 28; // of a guard
const APART = 12;

/** @param {string} text @param {number} width in px @param {number} letter px of one */
export const shortened = (text, width, letter = 7.4) => {
  const most = Math.max(3, Math.floor(width / letter));
  return text.length <= most ? text : text.slice(0, most - 1).trimEnd() + '\u2026';
};

/** Builds a layout from its top to its bottom. */
class Column {
  /**
   * @param {number} width
   * @param {number} row how tall the row of a guard is
   */
  constructor(width, row) {
    this.width = width;
    this.row = row;
    this.y = 4;
    /** @type {Part[]} */
    this.parts = [];
    /** @type {Line[]} */
    this.lines = [];
  }
  /** @param {Partial<Part> & { kind: Part['kind'], name: string }} part */
  add(part) {
    const whole = {
      at: 0,
      icon: '',
      lines: [],
      x: 4,
      y: this.y,
      w: 0,
      h: BOX,
      differs: 0,
      warns: 0,
      ...part,
    };
    this.parts.push(whole);
    return whole;
  }
  /**
   * Guards, one a row, along a wire at x that leads to the box below, or from the one above.
   * @param {(Plant['safeguards'][number] & { number: number })[]} guards
   * @param {number} x
   */
  guards(guards, x) {
    const top = this.y;
    for (const { name, kind, warns, number } of guards) {
      const width = this.width - x - 14 - MARK;
      this.add({
        kind: 'safeguard',
        at: number,
        name,
        icon: kind ?? '',
        lines: [name],
        x: x + 14,
        w: width,
        h: this.row,
        warns,
      });
      this.lines.push({ kind: 'wire', d: `M${x} ${this.y + this.row / 2}h12` });
      this.y += this.row;
    }
    return top;
  }
}

/**
 * Machines, one below the other, along a wire at x; how far down they are wired to it.
 * @param {Column} column
 * @param {(Plant['machines'][number] & { number: number })[]} machines
 * @param {number} x
 * @param {number} w
 */
function add_machines(column, machines, x, w) {
  let to = 0;
  for (const { name, speed, number } of machines) {
    column.y += APART / 2;
    const lines = [name, speed].filter(Boolean);
    column.add({ kind: 'machine', at: number, name, lines, x: x + 14, w });
    column.lines.push({ kind: 'wire', d: `M${x} ${column.y + BOX / 2}h14` });
    to = column.y + BOX / 2;
    column.y += BOX;
  }
  return to;
}

/** @param {string} exchange @param {string} watchdog @param {string} name */
const link_lines = (exchange, watchdog, name) =>
  name ? [name, `${exchange}, ${watchdog}`] : [exchange, watchdog];

/**
 * With their numbers, which stay theirs when only some of them are looked at.
 * @template T
 * @param {T[]} all
 */
const numbered = (all) => all.map((one, number) => ({ ...one, number }));

/**
 * A station with its link above it, what is wired to it and the machines that it moves.
 * @param {Column} column
 * @param {Plant} plant
 * @param {number} at which station
 * @param {boolean} alone
 */
function station(column, plant, at, alone) {
  const { name, ip, differs, link } = plant.stations[at];
  const { width } = column;
  const x = alone ? 4 : 40;
  const w = width - x - MARK;
  const leads = numbered(plant.links).find((one) => one.name === link) ?? numbered(plant.links)[at];
  const top = column.y;
  const tall = alone ? 60 : BOX;
  if (leads) {
    const lines = link_lines(leads.exchange, leads.watchdog, leads.name);
    const at_x = alone ? 60 : x;
    column.add({
      kind: 'link',
      at: leads.number,
      name: leads.name,
      lines,
      x: at_x,
      y: top,
      w: width - at_x - MARK,
      h: tall,
      differs: leads.differs,
    });
  }
  column.y += tall;
  const box = column.add({
    kind: 'station',
    at,
    name,
    lines: [name, ip].filter(Boolean),
    x,
    w,
    differs,
  });
  if (alone) {
    const arrows = `M24 ${top}V${box.y}M20 ${box.y - 8}l4 8 4-8M44 ${box.y}V${top}M40
      ${top + 8}l4-8 4 8`;
    column.lines.push({ kind: 'link', d: arrows });
  } else column.lines.push({ kind: 'link', d: `M18 ${box.y + BOX / 2}H${x}` });
  column.y += BOX;
  const wire = x + 14;
  const from = column.y;
  let to = from;
  const here = (/** @type {{ at: string }} */ one) =>
    one.at === name && one.at !== plant.controller;
  const guards = numbered(plant.safeguards).filter(here);
  if (guards.length) {
    column.guards(guards, wire);
    to = column.y - column.row / 2;
  }
  const machines = numbered(plant.machines).filter(here);
  to = Math.max(to, add_machines(column, machines, wire, w - 28));
  if (to > from) column.lines.push({ kind: 'wire', d: `M${wire} ${from}V${to}` });
  column.y += APART;
  return box;
}

/**
 * @param {Plant} plant
 * @param {number} width
 * @param {number} [row] how tall the row of a guard is, for fingers more
 * @returns {Layout}
 */
export function plant_parts(plant, width, row = ROW) {
  const column = new Column(width, row);
  const alone = plant.stations.length < 2;
  const at_controller = (/** @type {{ at: string }} */ { at }) =>
    at === plant.controller || !plant.stations.some(({ name }) => name === at);
  const own = numbered(plant.safeguards).filter(at_controller);
  const top = column.guards(own, 18);
  const moved = numbered(plant.machines).filter(at_controller);
  add_machines(column, moved, 18, width - 32 - MARK);
  if (own.length + moved.length > 0) {
    column.y += APART;
    const first = own.length > 0 ? column.row / 2 : APART / 2 + BOX / 2;
    column.lines.push({ kind: 'wire', d: `M18 ${top + first}V${column.y}` });
  }
  column.add({
    kind: 'controller',
    name: plant.controller,
    lines: [plant.controller, 'controller'],
    w: width - 4 - MARK,
    differs: plant.controller_differs ?? 0,
  });
  column.y += BOX;
  const trunk = column.y;
  let last = trunk;
  plant.stations.forEach((_, at) => {
    last = station(column, plant, at, alone).y + BOX / 2;
  });
  if (!alone) column.lines.push({ kind: 'link', d: `M18 ${trunk}V${last}` });
  return { width, height: column.y + 4, parts: column.parts, lines: column.lines };
}
