// What the trainer's computer tells the pages, as JSON. Plant times are in s, since its time began.

export interface Vocabulary {
  /** By list, by identifier: what it is called. */
  words: Record<List, { [id: string]: string }>;
  /** What each fault is that an instructor can put in, by its way. */
  faults: { [way: string]: string };
  fault_places: string[];
  /** In which of the groups each choice and each action card lies. */
  conduct_groups: { [id: string]: string };
  card_groups: { [id: string]: string };
  limits: Limits;
}
export type List =
  | 'where'
  | 'what'
  | 'meanings'
  | 'conduct'
  | 'groups'
  | 'instruments'
  | 'readings'
  | 'acts'
  | 'log'
  | 'dangers'
  | 'states'
  | 'causes'
  | 'events'
  | 'demands'
  | 'demanded'
  | 'strip_of'
  | 'start_refusals'
  | 'not_started'
  | 'exam'
  | 'verdicts'
  | 'settings'
  | 'covered'
  | 'results'
  | 'parts'
  | 'remarks'
  | 'whole_remarks'
  | 'refusals'
  | 'exam_states'
  | 'places'
  | 'outcome_steps';
export interface Limits {
  kept: number;
  exam_drills: number;
  hints: number;
  name_bytes: number;
  fault_lasting_ms: number;
  fault_after_s: number;
}

// ---- who is here, and what there is to do ----
export interface Me {
  joined: boolean;
  /** Joined: own name and token. Not joined: whether a code is asked for. */
  name?: string;
  token?: string;
  code?: boolean;
}
export interface DrillOffered {
  number: number;
  title: string;
  plant: string;
  minutes: number;
  /** What looks the same at first has the same letter; and how many it is to be told apart from. */
  family: string;
  alike: number;
  /** By this trainee: how often handed in, and how often found. */
  tried: number;
  found: number;
  /** It does not show what it promises, so it is not scored. */
  broken: boolean;
}
export interface Result {
  id: number;
  when: string;
  /** Null: not known, of an older file. */
  person: string | null;
  name: string;
  /** Number of the exam that it belongs to. */
  exam: number | null;
  drill: number;
  title: string;
  mode: string;
  result: string;
  points: number | null;
  seconds: number;
  hints: number;
  where: string;
  what: string;
  actions: string;
  dangerous: string;
  result_said: string;
  where_said: string;
  what_said: string;
  actions_said: string;
  dangerous_said: string;
  judged: boolean;
  /** What the trainer's hand did, in words; empty if nothing. */
  trainer: string;
  withdrawn: string | null;
  deleted: string | null;
  version: string | null;
  /** Of its latest entry of the chain of records, and of the entry before that one: 64 digits. */
  hash: string | null;
  before: string | null;
}
/** How the chain of records stands. */
export interface Chain {
  entries: number;
  last: string | null;
  /** When an older file got its chain; null: it had one from its first record on. */
  since: string | null;
  /** Whether all held when the file was opened. */
  holds: boolean;
  /** Whether it is kept in a file. */
  kept: boolean;
}
/** An exam as a whole, as it is kept. */
export interface ExamRecord {
  id: number;
  when: string;
  ended: string | null;
  person: string | null;
  name: string;
  exam_state: string;
  exam_end: string | null;
  exam_drills: number;
  exam_done: number;
  exam_judged: number;
  verdict: string | null;
  verdict_said: string | null;
  /** What the trainer's hand did in its drills, in words; empty if nothing. */
  trainer: string;
  hash: string | null;
  before: string | null;
}
export interface ExamDrill {
  number: number;
  title: string;
  result: string;
  judged: boolean;
  points: number | null;
}
export interface Exam {
  number: number;
  at: number;
  of: number;
  over: boolean;
  /** Once it is over. */
  judged: number | null;
  verdict: string | null;
  drills: ExamDrill[];
}
export interface News {
  run: string;
  told_ms: number;
  windows: number;
  paused: boolean;
  held: boolean;
  /** What would be shown is not told yet. */
  held_back: boolean;
  exam: Exam | null;
  draft: { [choice: string]: string };
  state: State | null;
}

// ---- a drill under way ----
export interface State {
  drill: {
    number: number | null;
    title: string | null;
    plant: string;
    story: string;
    people: string;
  };
  step: number;
  plant_time: number;
  begins: string;
  plant: Plant;
  machine: Machine;
  request: boolean;
  acknowledge_contact: boolean;
  controller: End | null;
  io: End | null;
  signals: Signal[];
  guards: Guard[];
  time_line: { events: BenchEvent[]; strip: Sample[] } | null;
  telegrams: { around_stop: Telegram[]; latest: Telegram[] } | null;
  settings: SettingRow[] | null;
  neighbour: NeighbourEnd[] | null;
  used: string[];
  conduct: string[];
  kept: string[];
  cards: Card[];
  /** The act that is under way, until it is done. */
  work: Work | null;
  /** What was done, in order. */
  done: DoneWork[];
  /** Where the trainee is, by the list "places". */
  here: string;
  /** By what the trainee did. */
  zone: { locked: boolean; stop_latched: boolean; tools_in: boolean };
  hints: string[];
  cannot_tell: boolean;
  where: string;
  what: string;
  log: LogLine[];
  warned: { id: string; why: string } | null;
  /** What the dangerous act would have led to that is explained just now. */
  outcome: Outcome | null;
  cause: string | null;
  score: Score | null;
  /** Of several links: each, in place of what stands above under the same names. */
  links?: LinkShown[];
  /** The name of the link that was named. */
  link?: string;
  /** Of one link of several, looked at as if it stood alone. */
  station?: string;
  /** Its samples hold no speed: the machine is at another link. */
  no_machine?: boolean;
}
/** What stands at the plant, and what is seen of it without an instrument. */
export interface Plant {
  controller: string;
  stations: { name: string; link: string }[];
  guards: PlantGuard[];
  machines: {
    name: string;
    at: string;
    link: string;
    travel_mm: number;
    travel_degrees: number;
  }[];
}
export interface PlantGuard {
  name: string;
  kind: string;
  at: string;
  /** Null: nobody has seen. */
  seen: 'demanded' | 'latched' | 'free' | null;
}
export interface LinkShown {
  name: string;
  station: string;
  machine: Machine | null;
  request: boolean;
  acknowledge_contact: boolean;
  controller: End | null;
  io: End | null;
  signals: Signal[];
  time_line: State['time_line'];
  telegrams: State['telegrams'];
  settings: State['settings'];
}
export interface Machine {
  name: string;
  moves: boolean;
  speed: number;
  full: number;
  isolated: boolean;
  emergency_stop: boolean;
  position: number | null;
  /** Of a machine that turns. */
  degrees: number | null;
}
export interface Stopped {
  cause: string | null;
  measure: string | null;
  refusal: string | null;
}
export interface End extends Stopped {
  name: string;
  /** It has no supply: then nothing else is told of it. */
  dark?: boolean;
  state: string;
  received: number;
  per_second: number;
  accepted: number;
  number_sent: number | null;
  number_received: number | null;
  rejected_by: { [measure: string]: number };
  last_good_ms: number | null;
  watchdog_ms: number;
  longest_cycle_ms: number;
  cycle_ms: number;
  /** Since when counters count. */
  counted_since: number;
  on_for_s: number;
  /** Of today. */
  starts: number;
  /** Only where telegrams carry the sender's clock; as of when, if longer ago than the watchdog. */
  age_ms?: number | null;
  age_as_of?: number | null;
  shortest_age_ms?: number | null;
  longest_age_ms?: number | null;
  /** Of the controller of a polled link only. */
  trip_ms?: number | null;
  trip_as_of?: number | null;
  longest_trip_ms?: number | null;
  longest_trip_at?: number | null;
}
export interface Signal {
  name: string;
  sent: boolean;
  used: boolean;
  substitute: boolean;
}
export interface Guard {
  name: string;
  kind: string;
  latched: boolean;
}
export interface BenchEvent {
  at: number;
  what: string;
  about: string | null;
  more: string | null;
  /** Of "changed" only. */
  state?: string;
  /** The name of the link, where there are several. */
  link?: string;
}
/**
 * At, speed, silence of controller and device in ms, then by a bit each the signals as sent, the
 * signals as used and the guards that are demanded; the states of both ends, 4 times the
 * controller's place in the list of states and the device's.
 */
export type Sample = [number, number, number | null, number | null, number, number, number, number];
/** As it was typed, by 10 or with 0x in front. */
export interface Address {
  value: number;
  typed: string;
}
export interface Telegram {
  at: number;
  kind: string;
  end: string;
  number: number | null;
  verdict: string;
  measure: string | null;
  bits_changed: number;
  fits: Address | null;
  bytes: string;
}
export interface SettingRow {
  what: string;
  about: string;
  sheet: string | Address | null;
  controller: string | Address | null;
  device: string | Address | null;
}
export interface NeighbourEnd {
  name: string;
  end: string;
  state: string;
  refusal: string | null;
  address: Address;
  number_sent: number;
  received: number;
  rejected: number;
}
/** An act that is done at once, at its place, and takes the time that people take. */
export interface Card {
  id: string;
  words: string;
  place: string;
  /** 0: something is pressed, or said. */
  takes_s: number;
  /** Of several links it is asked at which. */
  links: boolean;
}
export interface Work {
  card: string;
  words: string;
  place: string;
  begun: number;
  until: number;
}
export interface DoneWork extends Work {
  /** The name of the link that it was done at, where there are several. */
  link: string | null;
  /** In a sentence: what came of it at the plant, or was found there. */
  found: string | null;
}
/** What a dangerous act leads to, as it was played on a plant of its own. */
export interface Outcome {
  card: string;
  words: string;
  kind: string;
  /** One sentence, with figures. */
  says: string;
  /** Through which somebody reaches. */
  guard: string | null;
  distance_mm: number | null;
  /** From the guard to the dangerous place, by ISO 13855. */
  hand_ms: number | null;
  /** From the guard to standstill; null: it did not stop within what was watched. */
  stood_ms: number | null;
  /** The same in the worst case that is reckoned. */
  reckoned_ms: number | null;
  /** How far the machine moved after the guard was interrupted. */
  went_on_mm: number | null;
  /** Moments of the cycle at which somebody reached in: the worst is told. */
  tries: number;
  /** In order, since the act was done. */
  steps: { at_ms: number; what: string; about: string }[];
}
export interface LogLine {
  at: number;
  what: string;
  about: string;
}

// ---- a drill that is over ----
export interface TrainersTouch {
  at: number;
  what: string;
  words: string;
}
export interface Reason {
  id: string;
  words: string;
  why: string;
}
export interface Remark {
  part: string;
  about: string;
  says: string;
  why: string;
}
export interface Score {
  result: string;
  points: number | null;
  judged: boolean;
  /** Of a free drill only. */
  free?: FreeJudged;
  trainer: TrainersTouch[];
  secure: number;
  evidence: number;
  diagnosis: number;
  action: number;
  dangerous: Reason[];
  corrected: Reason[];
  /** One for each dangerous act that can be played, done or taken back. */
  outcomes: Outcome[];
  remarks: Remark[];
  cause: string;
  debrief: string;
  right_where: string[];
  right_what: string[];
  /** Of several links. */
  right_link?: string[];
  needed: Reason[];
  look_alikes: number[];
  ran_on: { to_command_ms: number; to_standstill_ms: number; at_most_ms: number | null } | null;
  story: BenchEvent[];
  strip: { of: string; samples: Sample[]; link?: string };
  ways: Ways | null;
  ages: Ages | null;
  telegram: Examined | null;
  ends: EndKnew[];
}
/** The telegrams around the first stop; times in ms of plant time. */
export interface Ways {
  controller: string;
  device: string;
  watchdog_ms: number;
  stop_ms: number;
  from_ms: number;
  to_ms: number;
  /** Of several links. */
  link?: string;
  /** Number here, way, number in it, made, due, what became of it, when, by which measure. */
  facts: [
    number,
    number,
    number | null,
    number,
    number | null,
    string | null,
    number | null,
    string | null,
  ][];
}
/** How old what came was: at, age in ms. */
export type AgePoint = [number, number];
export interface Ages {
  /** By the ends themselves; else only the observer knows. */
  measured: boolean;
  controller: AgePoint[];
  io: AgePoint[];
}
export interface Examined {
  telegram: Telegram;
  accepted_before: number | null;
  failed: string[];
  fields: Field[];
}
export interface Field {
  field: string;
  bytes: string;
  sent: string | null;
  meaning: string;
  covered: string;
  expected: string | null;
  found: string | null;
  differs: boolean;
}
export interface EndKnew extends Stopped {
  name: string;
  stopped: number | null;
  state: string;
  accepted: number;
  window_ms: number;
  fresh: number;
  repeats: number;
  rejected: number;
  ignored: number;
  first_number: number | null;
  last_number: number | null;
  last_good_ms: number | null;
}
/** A drill that is over, as it is shown. */
export type Finished = State & { score: Score };

// ---- the instructor ----
export interface Trainee {
  id: string;
  name: string;
  away: boolean;
  exam_at?: number;
  exam_of?: number;
  exam_over?: boolean;
  /** All the rest: once a drill was begun. */
  drill?: string;
  over?: boolean;
  step?: number;
  seconds?: number;
  last?: string | null;
  about?: string | null;
  dangerous?: boolean;
  waits?: boolean;
  pace?: string;
  cause_shown?: boolean;
  cause?: string;
  broken?: string[];
  trainer?: string;
}
export interface Room {
  here: number;
  taken: number;
  broken_drills: { drill: number; why: string[] }[];
  places: number;
  code: string | null;
  wrong_codes: number;
  wrong_code_from: string | null;
  wrong_code_when: string | null;
  address: string;
  problem: string | null;
  trainees: Trainee[];
}
/** What a free drill was judged by: the trainer's faults that had acted when it was answered. */
export interface FreeJudged {
  faults: { link: string | null; where: string; what: string }[];
  secured: boolean;
}
/** All that is kept, as the instructor gets it. */
export interface KeptAll {
  version: string;
  results: Result[];
  exams: ExamRecord[];
  chain: Chain;
  /** What did not hold of the chain when the file was opened. */
  wrong: string[];
}
export interface DrillRecord {
  begins: string;
  /** Named of several links. */
  link?: string;
  conduct: string[];
  kept: string[];
  cannot_tell: boolean;
  where: string;
  what: string;
  actions: string[];
  cause: string;
  dangerous: Reason[];
  /** Not in records of older files. */
  corrected?: Reason[];
  trainer?: TrainersTouch[];
  /** Of a free drill only. */
  free?: FreeJudged;
  log: LogLine[];
}
export interface Recorded {
  result: Result;
  exam: ExamRecord | null;
  record: DrillRecord | null;
  chain: Chain;
}
