// The figures of the charts, as the program writes them into the page; times in ms.

import type { Marked } from '../../pages/plant_drawing.js';
import type { Plant } from '../../pages/plant_parts.js';

export interface Data {
  timeline: TimeLine | null;
  reaction: Reaction[] | null;
  watchdog: Watchdog | null;
  residual: ResidualRow[] | null;
  methods: MethodRow[] | null;
  plant?: PlantData | null;
  spread?: SpreadCell[];
  course?: CoursePart[];
  /** Of a cell: those of its second link and of all after it, as "timeline-2". */
  also?: { [name: string]: TimeLine | Watchdog | null };
}
/** What is told of a part of the plant: its mark, and where it leads to. */
export interface PartTold {
  mark: Marked['mark'] | null;
  count: number;
  to: string;
  words: string;
}
/** By the lists of the drawing. */
export interface PlantData {
  drawing: Plant;
  controller: PartTold;
  links: PartTold[];
  stations: PartTold[];
  safeguards: PartTold[];
  machines: PartTold[];
}
/** At, value. */
type Change<T> = [number, T];
interface LineEnd {
  name: string;
  short: string;
  states: Change<string>[];
}
export interface TimeLine {
  duration: number;
  machine: string | null;
  speed: Change<number>[];
  /** Of each signal what its sender computed and what its user reads. */
  signals: {
    name: string;
    computed_at: string;
    used_at: string;
    computed: Change<number>[];
    changes: Change<number>[];
  }[];
  /** Of each guard: 1 closed, before the first change too. */
  contacts: { name: string; changes: Change<number>[] }[];
  demands: { id: number; guard: string; at: number; words: string }[];
  device: LineEnd;
  controller: LineEnd;
  injections: Injection[];
}
export interface Injection {
  id: number;
  at: number | null;
  detect: number | null;
  words: string;
  outcome: string;
  by: string;
}
export interface Reaction {
  id: number;
  error: string;
  allowed: number | null;
  stands: number | null;
  /** Of a machine that only came down to its reduced speed. */
  slowed: number | null;
  safe: number | null;
  caught: number | null;
}
/** Watchdog, stops a year, their interval, distance needed in mm, whether it is usable. */
export type WatchdogRow = [
  number,
  number | null,
  number | null,
  number | null,
  number | null,
  boolean | null,
];
export interface Watchdog {
  points: WatchdogRow[];
  limit: number;
  now: number | null;
  there: number | null;
  window: { from_ms: number; to_ms: number | null } | null;
}
/** Bit error rate, exact, customary estimate, at least, at most. */
export type ResidualRow = [number, number | null, number, number, number];
/** Method, rate an hour, share, whether it is met. */
export type MethodRow = [string, number, number, boolean | null];

/** Round trips from, to under, how many. */
export type SpreadCell = [number, number, number];
/** Begin of a part of the time in s, the time in the middle, the longest, how many were lost. */
export type CoursePart = [number, number | null, number | null, number];

/** The library that draws; it comes before this script in the page. */
declare global {
  const Chart: any;
  interface Window {
    linkdrillCharts: Map<string, any>;
  }
}
