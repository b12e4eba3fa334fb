// The plant in reports, as a reader would have it:  node report_plant.mjs MODULES PICTURES FOLDER...
// What must be marked is reckoned here from the documents of the run. Prints what is not as it should be; status 1 then.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [, , modules, pictures, ...folders] = process.argv;
const require = createRequire(path.join(path.resolve(modules), 'node_modules', 'x.js'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

let failures = 0, checks = 0;
function check(holds, words) {
  ++checks;
  if (holds) return;
  ++failures;
  console.log('FAILED: ' + words);
}

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-dev-shm-usage'] });
async function open(folder, options) {
  const page = await (await browser.newContext({ offline: true, ...options })).newPage();
  page.on('console', message => check(false, `${folder}: console: ${message.text()}`));
  page.on('pageerror', error => check(false, `${folder}: ${error.message}`));
  await page.goto('file://' + path.resolve(folder, 'report.html'));
  return page;
}

/** By part of the drawing in the order of its lists: which mark must be there; null: none. */
function expected(folder) {
  const read = name => JSON.parse(readFileSync(path.join(folder, name), 'utf8'));
  const { drawing } = read('plant.json'), result = read('result.json');
  const bad = row => row.met === false || (row.met === null && !row.reaches_output);
  const of_link = name => ({
    result: result.links ? result.links.find(link => link.name === name) : result,
    injections: result.injections.filter(one => !result.links || one.link === name),
  });
  const link = ({ name, differs }) => {
    const own = of_link(name);
    if (own.result.dangerous.length || own.injections.some(one => one.outcome === 'dangerous')) return 'danger';
    const fails = !own.result.link_started || own.result.spurious_trips || own.result.twin.spurious_trips || !own.result.twin.recovered ||
      own.injections.some(one => !one.as_expected);
    return fails ? 'fails' : differs ? 'differs' : null;
  };
  const guard = ({ name, warns }) => {
    const rows = result.demands.filter(row => row.safeguard === name);
    if (rows.some(bad)) return 'danger';
    if (warns) return 'warns';
    return !rows.length || rows.some(row => row.met === null || row.met === 'not-shown') ? 'unknown' : null;
  };
  const machine = ({ name }) => {
    const struck = result.injections.flatMap(one => [
      ...(one.machines ?? []).filter(at => at.machine === name),
      ...(of_link(one.link ?? '').result.machine?.name === name ? [one] : []),
    ]).filter(one => !one.within_limit);
    const ran_on = one => one.standstill_ms === null && one.reduced_ms !== null;
    if (struck.some(one => !ran_on(one)) || result.demands.some(row => row.machine === name && row.met === false)) return 'danger';
    const own = (result.links ?? [result]).find(one => one.machine?.name === name);
    return struck.length ? 'fails' : own.machine_started ? null : 'unknown';
  };
  return {
    drawing,
    marks: [
      ['controller', [{ name: drawing.controller }], () => (drawing.controller_differs ? 'differs' : undefined)],
      ['link', drawing.links, link],
      ['station', drawing.stations, ({ differs }) => (differs ? 'differs' : null)],
      ['guard', drawing.safeguards, guard],
      ['machine', drawing.machines, machine],
    ].flatMap(([kind, all, mark]) => all.map(one => ({ kind, name: one.name, mark: mark(one) }))),
  };
}

/** What is drawn: of each part its words, its mark, where it leads to. */
const drawn_in = page => page.evaluate(() => [...document.querySelectorAll('svg.plant a')].map(link => ({
  words: link.getAttribute('aria-label'),
  mark: link.querySelector('.found')?.classList[1] ?? null,
  shape: link.querySelector('.found .sign')?.innerHTML ?? null,
  to: link.getAttribute('href'),
  leads: document.getElementById(link.getAttribute('href').slice(1)) !== null,
})));

/** Of a part the words begin with its name, and then with what it is. */
function part_in(drawn, { kind, name }) {
  const begins = kind === 'link' ? (name ? `Link ${name}: ` : 'Link: ') : name + ': ' + (kind === 'controller' || kind === 'guard' || kind === 'machine' ? kind : 'station');
  return drawn.filter(one => one.words.startsWith(begins));
}

async function look_at(folder) {
  const { marks } = expected(folder);
  // what is beside these two differs in what is told, not in how it looks in the dark
  const schemes = folders.indexOf(folder) < 2 ? ['light', 'dark'] : ['light'];
  for (const width of [390, 1280])
    for (const colorScheme of schemes) {
      const page = await open(folder, { viewport: { width, height: 900 }, colorScheme });
      const where = `${folder} at ${width} px, ${colorScheme}`;
      const drawn = await drawn_in(page);
      check(drawn.length === marks.length, `${where}: ${drawn.length} parts drawn of ${marks.length}`);
      for (const part of marks) {
        const [found, more] = part_in(drawn, part);
        check(found && !more, `${where}: ${part.kind} ${part.name} is not drawn once`);
        if (found && part.mark !== undefined)
          check(found.mark === part.mark, `${where}: ${part.kind} ${part.name} has the mark ${found.mark}, not ${part.mark}`);
      }
      for (const { words, mark, shape, to, leads } of drawn) {
        check(leads, `${where}: ${words} leads to ${to}, which is not there`);
        check((mark === null) === (shape === null) && (shape === null || /<(path|circle|rect)/.test(shape)), `${where}: ${words}: a mark without a shape`);
      }
      const look = await page.evaluate(() => {
        const texts = [...document.querySelectorAll('svg.plant text, svg.charts text')];
        const places = ['.verdict', 'svg.plant', '#cautions'].map(what => document.querySelector(what).getBoundingClientRect().top);
        const cut = texts.filter(text => {
          const box = text.getBoundingClientRect(), all = text.ownerSVGElement.getBoundingClientRect();
          return box.left < all.left - 1 || box.right > all.right + 1;
        });
        return {
          smallest: Math.min(...texts.map(text => parseFloat(getComputedStyle(text).fontSize) * text.getCTM().a)),
          sideways: document.documentElement.scrollWidth - innerWidth,
          in_order: places.every((top, i) => i === 0 || top > places[i - 1]),
          cut: cut.map(text => text.textContent),
          dead: [...document.querySelectorAll('.parts a')].filter(link => !document.getElementById(link.getAttribute('href').slice(1))).map(link => link.outerHTML),
          states: document.querySelector('figure.picture').textContent.match(/RUNNING|STOPPED|\brunning\b/g),
        };
      });
      check(look.smallest >= 13, `${where}: a text of a drawing is ${look.smallest} px high`);
      check(look.sideways <= 0, where + ': scrolls sideways');
      check(look.in_order, where + ': the plant is not between verdict and cautions');
      check(look.cut.length === 0, `${where}: cut off: ${look.cut}`);
      check(look.dead.length === 0, `${where}: leads nowhere: ${look.dead[0]}`);
      check(look.states === null, `${where}: a paper tells how an end stands: ${look.states}`);
      await page.evaluate(axe);
      const found = await page.evaluate(() => axe.run(document, {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'], resultTypes: ['violations'] }));
      for (const violation of found.violations)
        check(false, `${where}: ${violation.id}: ${violation.nodes.length} times, first ${violation.nodes[0].html.slice(0, 160)}: ${violation.nodes[0].failureSummary}`);
      if (process.env.PICTURES)
        await page.screenshot({ path: path.join(pictures, `plant-${folder}-${width}-${colorScheme}.png`), fullPage: true });
      await page.context().close();
    }
}

/** Without a script the list says all of it, and nothing stands where the drawing would be. */
async function without_script(folder) {
  const { marks } = expected(folder);
  const page = await open(folder, { viewport: { width: 1280, height: 900 }, javaScriptEnabled: false });
  const list = await page.locator('ul.parts').innerText();
  for (const { name } of marks) check(list.includes(name), `${folder} without a script: ${name} is not in the list`);
  check(await page.locator('.drawn').first().isHidden(), folder + ' without a script: an empty place for the drawing');
  const wanted = marks.filter(({ mark }) => mark).length;
  check(await page.locator('ul.parts > li:has(li svg.mark)').count() >= wanted, `${folder} without a script: fewer than ${wanted} parts with a mark`);
  await page.context().close();
}

/** The focus is seen, stays when the window gets another width, and Enter leads there. */
async function by_keyboard(folder) {
  const page = await open(folder, { viewport: { width: 1280, height: 900 } });
  await page.locator('svg.plant a').first().focus();
  await page.keyboard.press('Tab');
  await page.keyboard.press('Shift+Tab');
  const ring = () => page.evaluate(() => getComputedStyle(document.activeElement.querySelector('.box, .reach')).stroke);
  const [other] = await page.locator('svg.plant a').nth(1).locator('.box, .reach').evaluateAll(all => all.map(one => getComputedStyle(one).stroke));
  check((await ring()) !== other, folder + ': the focus is not seen on a part');
  await page.setViewportSize({ width: 1280, height: 700 });
  check(await page.evaluate(() => document.activeElement.closest('svg.plant') !== null), folder + ': the focus is lost though the width is the same');
  const to = await page.evaluate(() => document.activeElement.getAttribute('href'));
  await page.keyboard.press('Enter');
  check(page.url().endsWith(to), `${folder}: Enter leads to ${page.url()}, not ${to}`);
  await page.setViewportSize({ width: 700, height: 900 });
  await page.waitForFunction(() => {
    const place = document.querySelector('.drawn');
    return place.clientWidth < 680 && Number(place.querySelector('svg').getAttribute('width')) === place.clientWidth;
  });
  await page.context().close();
}

for (const folder of folders) {
  await look_at(folder);
  await without_script(folder);
  const page = await open(folder, { viewport: { width: 1280, height: 900 }, colorScheme: 'dark' });
  await page.pdf({ path: path.join(pictures, `plant-${folder}.pdf`), preferCSSPageSize: true, printBackground: true });
  await page.context().close();
}
await by_keyboard(folders[0]);
if (process.env.PICTURES) {
  const page = await open('exchanged_reactions', { viewport: { width: 1000, height: 700 } });
  await page.locator('figure.picture').screenshot({ path: path.join(pictures, 'readme-plant.png') });
}

await browser.close();
console.log(checks + ' checks in the browser');
process.exit(failures > 0 ? 1 : 0);
