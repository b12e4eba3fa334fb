// What the checks of the training in Chromium share: the browser, joining, pressing, looking, printing. Arguments as of
// train.mjs.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import path from 'node:path';

const [, , modules] = process.argv;
export const [, , , address, secret, pictures] = process.argv;
const require = createRequire(path.join(path.resolve(modules), 'node_modules', 'x.js'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

let failures = 0, checks = 0;
export function check(holds, words) {
  ++checks;
  if (holds) return;
  ++failures;
  console.log('FAILED: ' + words);
}

export const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-dev-shm-usage'] });

export async function open(where, options) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.setDefaultTimeout(45000);
  watch(page, where);
  return page;
}
export function watch(page, where) {
  page.on('console', message => { if (message.type() === 'error' && !/409|400|403/.test(message.text())) check(false, where + ': console: ' + message.text()); });
  page.on('pageerror', error => check(false, where + ': ' + error.message));
  page.on('request', request => check(request.url().startsWith(address), where + ': asks for ' + request.url().slice(0, 100)));
}

export const press = (page, name) => page.getByRole('button', { name, exact: false }).first().click();
export const pick = (page, question, answer) => page.getByRole('group', { name: question }).getByLabel(answer, { exact: false }).first().check();
export const text = page => page.locator('main').innerText();

export async function join(page, name) {
  await page.goto(address + '/');
  await page.getByLabel('Name or initials').fill(name);
  await page.getByRole('button', { name: 'Join' }).click();
  await page.getByRole('heading', { name: 'Pick a drill' }).waitFor();
}
/** A skip link that leads nowhere is hidden. */
export async function skips_lead_somewhere(page, where) {
  const dead = await page.evaluate(() => [...document.querySelectorAll('.skip')].filter(one => !one.hidden && !document.getElementById(one.hash.slice(1))).length);
  check(dead === 0, `${where}: ${dead} skip links lead nowhere`);
}
/** What a PDF of the page holds, page by page. */
export async function printed(page, name) {
  const file = path.join(pictures, name + '.pdf');
  await page.emulateMedia({ media: 'print', colorScheme: 'light' });
  await page.pdf({ path: file, preferCSSPageSize: true });
  await page.emulateMedia({ media: 'screen' });
  const pages = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }).split('\f');
  return pages.filter((one) => one.trim() !== '');
}
export async function step(page, name) { await page.getByRole('heading', { name: new RegExp('of 5: ' + name) }).waitFor(); }

export async function look_at(page, name, where) {
  check(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth) <= 0, `${where}: ${name} scrolls sideways`);
  await page.evaluate(axe);
  // what sticks to the edges of the window hides something at any height: for the rules it stands in its place
  await page.evaluate(() => {
    const still = new CSSStyleSheet();
    still.replaceSync('.foot, #status { position: static !important; }');
    document.adoptedStyleSheets = [still];
  });
  const found = await page.evaluate(() => axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }));
  for (const violation of found.violations.filter(one => ['serious', 'critical'].includes(one.impact)))
    check(false, `${where}: ${name}: ${violation.id}: ${violation.nodes.length} times, first ${violation.nodes[0].html.slice(0, 140)}: ${violation.nodes[0].failureSummary}`);
  if (['look', 'time-line', 'line-look', 'line-turner'].includes(name)) await page.evaluate(() => { document.adoptedStyleSheets = []; });
  await page.screenshot({ path: path.join(pictures, `train-${name}-${where.replace(' ', '-')}.png`), fullPage: !['look', 'time-line', 'line-look', 'line-turner'].includes(name) });
  await page.evaluate(() => { document.adoptedStyleSheets = []; });
}

/** From the entry of the first to that of the last of these elements. */
export async function picture_of(page, ids, name) {
  const clip = await page.evaluate(ids => {
    const still = new CSSStyleSheet();
    still.replaceSync('.foot, #status { position: static !important; }');
    document.adoptedStyleSheets = [still];
    const boxes = ids.map(id => document.getElementById(id).closest('.entry').getBoundingClientRect());
    const y = Math.min(...boxes.map(box => box.top + scrollY));
    return { x: 0, y, width: innerWidth, height: Math.max(...boxes.map(box => box.bottom + scrollY)) - y };
  }, ids);
  await page.screenshot({ path: path.join(pictures, name), fullPage: true, clip });
  await page.evaluate(() => { document.adoptedStyleSheets = []; });
}

/** Ends the browser and the program: status 1 if something was not as it should be. */
export async function finish() {
  await browser.close();
  console.log(`${checks} checks in the browser, ${failures} failed`);
  process.exit(failures ? 1 : 0);
}
