// What the desk tells its page, as JSON. All words are the program's; times of the bench are in ms
// since its start.

import type { Plant } from '../../pages/plant_parts.js';
export type { Plant };

export type Mark = 'differs' | 'ok' | 'warns' | 'none';
/** A button that mends: it posts, or does something of the page itself. */
export type Mend =
  | { words: string; path: string; fields: { [name: string]: string | number } }
  | { words: string; act: string; value: string };
export interface Refusal {
  error: string;
  mends: Mend[];
  /** Nothing was refused: something is to be known of what was done. */
  note?: boolean;
}

export interface Told {
  version: string;
  folder: string;
  now: string;
  /** Null: nothing is open. */
  file: OpenFile | null;
  beginnings: Beginnings;
  truth: Truth[];
  plant: Plant | null;
  links: Link[];
  functions: SafetyFunction[];
  problems: string[];
  cautions: string[];
  /** What two lists that were dropped came to. */
  lists?: { sentence: string; rows: Found[]; command?: string } | null;
  bench: Bench | null;
  watchdogs: Watchdog[];
  strength: Strength | null;
  jobs: Job[];
  rehearsal: Rehearsal | null;
}

// ---- the file ----
export interface OpenFile {
  /** Null: not saved yet; and with an empty title: nothing is open. */
  name: string | null;
  title: string;
  changed: boolean;
  saved_at: string | null;
  undo: number;
  redo: number;
  stamp: number;
  example: boolean;
  writable: boolean;
  broken: { line: number; key: string; message: string } | null;
  /** Its folder was removed; `draft`: where what is typed lies, null: in no file. */
  gone: { folder: string; draft: string | null } | null;
  /** `theirs` null: the file is gone. */
  foreign: { theirs: string | null; mine: string } | null;
  draft: { from: string; name: string; file_changed?: boolean } | null;
  /** What the next step of each would take back or do again. */
  undo_words?: string;
  redo_words?: string;
  /** Why unsaved changes cannot be kept. */
  draft_trouble?: string | null;
  repeat: string;
}
export interface Beginnings {
  templates: { name: string; shows: string; plant: Plant | null }[];
  files: { name: string; title: string; broken: boolean }[];
}
export interface Truth {
  mark: Mark;
  word: string;
  rest: string;
  /** The section that it leads to: "typed", "bits", "functions", "try", "watchdog" ... */
  to: string;
}

// ---- what is typed ----
export interface Cell {
  /** Null: it cannot be typed here. */
  path: string | null;
  /** Null: as meant. */
  typed: string | null;
  shown: string;
  other: string;
  line: number | null;
}
export interface Row {
  id: string;
  setting: string;
  meant: Cell;
  controller: Cell;
  device: Cell;
  same: boolean;
  seen_at_controller?: string;
  seen_at_device?: string;
  mend?: string;
  mend_fields?: { path: string; value: string; words: string } | null;
  note?: string;
}
export interface Group {
  id: string;
  title: string;
  rows: Row[];
}
export interface SignalRow {
  name: string;
  direction: string;
  meant: Cell;
  controller: Cell;
  device: Cell;
  same: boolean;
}
export interface BitCell {
  signal: string | null;
  differs: boolean;
}
export interface BitByte {
  byte: number;
  /** From bit 7 to bit 0. */
  controller: BitCell[];
  device: BitCell[];
}
export interface BitMap {
  direction: string;
  to: string;
  bytes: BitByte[];
  values?: SignalRow[];
  differs: string[];
}
export interface Link {
  name: string;
  controller: string;
  device: string;
  groups: Group[];
  bits: BitMap[];
  signals: SignalRow[];
}
export interface SafetyFunction {
  name: string;
  safeguard: string;
  machine: string;
  must: string;
  does: string;
  level: string;
  ok: boolean | null;
  why: string;
  warnings: string[];
  returns: string;
  bit: string;
}

// ---- the bench ----
export type Rate = 'paused' | '1/200' | '1/20' | '1/1';
export interface Bench {
  runs_typed_at: string;
  old: boolean;
  as_written: boolean;
  rate: Rate;
  at_ms: number;
  links: BenchLink[];
  guards: Guard[];
  signals: BenchSignal[];
  machines: BenchMachine[];
  acts: { n: number; at_ms: number; words: string; refused?: string | null }[];
  log: { at_ms: number; words: string; mark: string }[];
  facts: Fact[];
  rates: { at_ms: number; wall_ms: number; rate: string }[];
  modes: string[];
  mode: string;
  refused: string | null;
  /** What can be put in. */
  offers?: FaultOffer[];
}
export interface FaultOffer {
  way: string;
  words: string;
  group: string;
  /** Where it is put in: on a way of the link, or at an end. */
  at: 'direction' | 'end';
}
export interface BenchLink {
  name: string;
  cable_out: boolean;
  controller: End;
  device: End;
  faults: { n: number; words: string }[];
}
export type EndState = 'starting' | 'running' | 'stopped' | 'waits';
export interface End {
  name: string;
  state: EndState;
  cause: string;
  refusal: string | null;
  since_ms: number;
  silence_ms: number | null;
  watchdog_ms: number;
  sent: number;
  received: number;
  accepted: number;
  rejected: number;
  rejected_by: { [measure: string]: number };
  dark: boolean;
  asks: boolean;
}
export interface Guard {
  name: string;
  kind: string | null;
  at: string;
  held: boolean;
  /** Its contact is 1. */
  free: boolean;
  latched: boolean;
  reset_needed: boolean;
  signals: string[];
  /** By machine: what it must do when this guard asks, and what it is told to do. */
  meant?: { machine: string; must: string; now: string }[];
  /** Where what it must bring about does not follow: that in words. */
  follows: string | null;
}
export type Stage = 'computed' | 'sent' | 'received' | 'used';
export interface BenchSignal {
  name: string;
  link: string;
  direction: string;
  computed: number;
  sent: number;
  received: number;
  used: number;
  substitute: boolean;
  at_ms: { [stage in Stage]: number | null } | null;
  machine: string;
  reaction_meant: string;
  command_now: string;
  differs: boolean;
}
export interface BenchMachine {
  name: string;
  link: string;
  speed_mm_s: number;
  full_mm_s: number;
  position_mm: number | null;
  travel_mm: number | null;
  moves: boolean;
  started: boolean;
  command: string;
  reduced_ms: number | null;
  stands_ms: number | null;
  last_demand: string | null;
  /** Its own, past the link, is pressed. */
  emergency_stop: boolean;
  /** That was pressed, and the machine not started since. */
  stopped_by_hand: boolean;
  refused: string | null;
}
export type Fate = 'accepted' | 'repeated' | 'ignored' | 'rejected' | 'lost' | 'waits';
/** A telegram: way 0 leads to the device, 1 to the controller. */
export type Fact = [
  id: number,
  link: string,
  way: number,
  number: number | null,
  made_ms: number,
  due_ms: number | null,
  fate: Fate | null,
  fate_ms: number | null,
  reason: string,
];
export interface Explained {
  words: string;
  fields: {
    name: string;
    bytes: string;
    meaning: string;
    covered: string;
    expected: string | null;
    found: string | null;
  }[];
}

// ---- watchdog, work, rehearsal ----
export interface WatchdogPoint {
  watchdog_ms: number;
  stops_per_year: { value: number | null; low: number; high: number | null; words: string };
  response_ms: number | null;
  overall_ms: number | null;
  needed_mm: number | null;
  spare_mm: number | null;
  /** Null: not known yet, or only coarsely. */
  usable: boolean | null;
  why: string;
  parts: { name: string; ms: number }[];
  measured: string | null;
}
export interface Watchdog {
  link: string;
  now_ms: number;
  /** False: the ends differ, and nothing may be called usable. */
  agree?: boolean;
  state: 'exact' | 'reckoning' | 'none';
  why: string;
  points: WatchdogPoint[];
  limit_per_year: number | null;
  required_ms: number | null;
  there_mm: number | null;
  window: null | { from_ms: number; to_ms: number | null; suggested_ms: number | null };
  cautions?: string[] | null;
  /** Which function asks for the most. */
  decides?: string;
  sentence: string;
  path: string;
}
export interface Found {
  what: string;
  value: string;
}
/** What a command found, in its words. */
export interface Strength {
  sentence: string;
  rows: Found[];
  old: boolean;
  command: string;
}
export interface Job {
  id: number;
  what: string;
  words: string;
  state: 'runs' | 'done' | 'stopped' | 'failed';
  progress: number | null;
  line: string;
  command: string;
  result: { sentence: string; rows: Found[] } | null;
  old: boolean;
  /** Of what failed or was stopped. */
  again: Mend[];
}
export interface RehearsedRow {
  n: number;
  at_ms: number;
  what: string;
  way: string;
  outcome: string;
  caught_by: string;
  detect_ms: number | null;
  still_ms: number | null;
  allowed_ms: number | null;
  as_expected: boolean | null;
  why?: string | null;
  injection: number | null;
  /** Of its block in the file, by which it can be taken out. */
  path?: string | null;
}
export interface RehearsedDemand {
  guard: string;
  at_ms: number;
  must: string;
  shown: string;
  reduced_ms: number | null;
  stands_ms: number | null;
  allowed_ms: number | null;
  ok: boolean | null;
  why: string;
}
export interface Rehearsal {
  state: 'none' | 'runs' | 'current' | 'old';
  verdict: string;
  sentence: string;
  rows: RehearsedRow[];
  demands: RehearsedDemand[];
  files: { name: string; words: string }[];
  folder: string;
  command: string;
}

/** What the page works with: there is always a file, if only an empty one. */
export type Shown = Told & { file: OpenFile };
