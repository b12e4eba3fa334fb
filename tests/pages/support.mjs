// What the tests of the pages share.
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { learn } from '../../tools/training/pages/words.js';

const tools = fileURLToPath(new URL('../../tools/', import.meta.url));

/** The vocabulary as the program sent it. */
export const told = JSON.parse(readFileSync(process.env.WORDS, 'utf8'));
learn(told);

/** The modules of that folder below tools/, by name. */
export const modules_of = (folder) =>
  new Map(
    readdirSync(tools + folder)
      .filter((name) => name.endsWith('.js'))
      .map((name) => [name, readFileSync(`${tools}${folder}/${name}`, 'utf8')]),
  );

/** Every match of the first group. */
export const all_of = (text, pattern) => [...text.matchAll(pattern)].map((found) => found[1]);

/** Names that people could give, and that must stay names. */
export const HOSTILE = [
  '"><img src=x onerror=alert(1)>',
  "' onfocus='alert(1)' autofocus='",
  '</button><script>alert(1)</script>',
  '<!--',
  '&lt;b&gt;',
  '&quot;',
  '${alert(1)}',
  'a\u0000b\u2028c`',
  '" data-act="free" data-value="all',
];

/** What a browser makes of escaped text. */
export const unescaped = (html) =>
  html.replace(/&#(\d+);/g, (_, code) => String.fromCharCode(Number(code)));

/** A state of a drill before anything was done. */
export const state_at = (step, more = {}) => ({
  drill: { number: 2, title: 'A title', plant: 'A plant', story: 'A story', people: 'nobody' },
  step,
  plant_time: 10,
  begins: '01:58:00',
  plant: { controller: 'A controller', stations: [], guards: [], machines: [] },
  machine: { name: 'A machine', moves: false, speed: 0, full: 1000, position: null, degrees: null },
  request: false,
  acknowledge_contact: false,
  controller: null,
  io: null,
  signals: [],
  guards: [],
  time_line: null,
  telegrams: null,
  settings: null,
  neighbour: null,
  used: [],
  conduct: [],
  kept: [],
  cards: [],
  work: null,
  done: [],
  here: 'outside',
  zone: { locked: false, stop_latched: false, tools_in: false },
  hints: [],
  log: [],
  warned: null,
  outcome: null,
  cause: null,
  score: null,
  ...more,
});
