// The training in Chromium as a crew uses it:  node train.mjs MODULES ADDRESS SECRET PICTURES
// Prints what is not as it should be; status 1 then.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [, , modules, address, secret, pictures] = process.argv;
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

async function open(where, options) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.setDefaultTimeout(45000);
  watch(page, where);
  return page;
}
function watch(page, where) {
  page.on('console', message => { if (message.type() === 'error' && !/409|400|403/.test(message.text())) check(false, where + ': console: ' + message.text()); });
  page.on('pageerror', error => check(false, where + ': ' + error.message));
  page.on('request', request => check(request.url().startsWith(address), where + ': asks for ' + request.url().slice(0, 100)));
}

const press = (page, name) => page.getByRole('button', { name, exact: false }).first().click();
const pick = (page, question, answer) => page.getByRole('group', { name: question }).getByLabel(answer, { exact: false }).first().check();
const text = page => page.locator('main').innerText();

async function join(page, name) {
  await page.goto(address + '/');
  await page.getByLabel('Name or initials').fill(name);
  await page.getByRole('button', { name: 'Join' }).click();
  await page.getByRole('heading', { name: 'Pick a drill' }).waitFor();
}
async function step(page, name) { await page.getByRole('heading', { name: new RegExp('of 5: ' + name) }).waitFor(); }

async function look_at(page, name, where) {
  check(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth) <= 0, `${where}: ${name} scrolls sideways`);
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }));
  for (const violation of found.violations.filter(one => ['serious', 'critical'].includes(one.impact)))
    check(false, `${where}: ${name}: ${violation.id}: ${violation.nodes.length} times, first ${violation.nodes[0].html.slice(0, 140)}: ${violation.nodes[0].failureSummary}`);
  await page.screenshot({ path: path.join(pictures, `train-${name}-${where.replace(' ', '-')}.png`), fullPage: name !== 'look' });
}

/** Drill 2 to its end; `acts` in order. */
async function play(page, acts, where) {
  await press(page, '2 Who is deaf?');
  await step(page, 'Secure');
  for (const choice of ['Keep everyone out', 'Leave it stopped', 'Tell the shift']) await press(page, choice);
  if (where) await look_at(page, 'secure', where);
  await press(page, 'Secured, go on');
  await step(page, 'Look');
  await press(page, 'Read controller');
  await press(page, 'Walk to the I/O');
  await press(page, 'Telegrams');
  await press(page, 'received counters of both ends');
  await page.locator('[data-act=keep][aria-pressed=true]').first().waitFor();
  if (where) await look_at(page, 'look', where);
  const shown = await text(page);
  check(/STOPPED/.test(shown) && /no good telegram in time/.test(shown), 'the panels do not say that the ends stopped');
  await press(page, 'Go on: Name');
  await step(page, 'Name');
  await pick(page, 'Where is it?', 'way back');
  await pick(page, 'What is it?', 'loss');
  await pick(page, 'Because?', 'received counters');
  if (where) await look_at(page, 'name', where);
  await press(page, 'This is my diagnosis');
  await step(page, 'Act');
  for (const one of acts) await press(page, one);
  if (where) await look_at(page, 'act', where);
  await press(page, 'Do these, in this order');
}

const views = [[1280, 'light'], [390, 'light'], [1280, 'dark'], [390, 'dark']];
for (const [width, colorScheme] of views) {
  const where = `${width} ${colorScheme}`;
  const page = await open(where, { viewport: { width, height: 900 }, colorScheme });
  await join(page, 'A. B. ' + where);
  await look_at(page, 'drills', where);
  await play(page, ['Lock out, then try', 'Test the fibre'], where);
  await step(page, 'Debrief');
  await look_at(page, 'debrief', where);
  const shown = await text(page);
  check(/Safe and found/.test(shown) && /100 of 100/.test(shown), where + ': a right answer is not safe and found: ' + shown.slice(0, 300));
  await page.context().close();
}

// ---- a wrong but safe answer, and a dangerous one ----
{
  const page = await open('wrong', { viewport: { width: 1280, height: 900 } });
  await join(page, 'C. D.');
  await press(page, '20 The strap');
  await step(page, 'Secure');
  for (const choice of ['Keep everyone out', 'Leave it stopped', 'Tell the shift', 'Secured, go on']) await press(page, choice);
  await step(page, 'Look');
  await press(page, 'Go on: Name');
  await press(page, 'I cannot tell');
  await step(page, 'Act');
  for (const one of ['Lock out, then try', 'call the engineer', 'Do these']) await press(page, one);
  await step(page, 'Debrief');
  check(/Safe, not found/.test(await text(page)), 'cannot tell and called is not a pass');
  await page.goto(address + '/drills');
  await play(page, ['Raise the watchdog']);
  await page.getByText('Understood, go on').waitFor();
  check(/Each millisecond costs two/.test(await text(page)), 'the danger is not explained at once');
  await press(page, 'Understood');
  await press(page, 'Raise the watchdog time: take away');
  for (const one of ['Lock out, then try', 'Test the fibre', 'Do these']) await press(page, one);
  await step(page, 'Debrief');
  check(/Not passed: dangerous action/.test(await text(page)), 'a dangerous action is passed');
  check(!/of 100/.test(await text(page)), 'points are shown after a dangerous action');
  await page.goto(address + '/mine');
  await page.getByText('Who is deaf?').waitFor();
  await page.context().close();
}

// ---- reload, second tab, the instructor's hand ----
{
  const page = await open('hand', { viewport: { width: 1280, height: 900 } });
  await join(page, 'E. F.');
  await press(page, '21 The rope');
  await press(page, 'Keep everyone out');
  await page.locator('[data-value=keep-out][aria-pressed=true]').waitFor();
  await page.reload();
  await page.locator('[data-value=keep-out][aria-pressed=true]').waitFor();
  const second = await page.context().newPage();
  watch(second, 'second tab');
  await second.goto(address + '/drill/21');
  await second.locator('[data-value=keep-out][aria-pressed=true]').waitFor();
  await press(second, 'Secured, go on');
  await step(page, 'Look');
  await press(page, 'Read controller');
  await page.getByText('RUNNING').first().waitFor();

  const instructor = await open('instructor', { viewport: { width: 1280, height: 900 } });
  await instructor.goto(`${address}/instructor#${secret}`);
  await instructor.getByText('E. F.').first().waitFor();
  await instructor.locator('#who').selectOption({ label: 'E. F.' });
  await instructor.locator('#way').selectOption('drop');
  await instructor.locator('#at').selectOption('both-ways');
  const at = Date.now();
  await instructor.getByRole('button', { name: 'Put it in' }).click();
  await page.getByText('STOPPED').first().waitFor();
  const seen = Date.now() - at;
  check(seen < 1500, `the fault was seen after ${seen} ms`);  // a second, and what the browser's driver takes
  console.log(`a fault by hand is on the trainee's page after ${seen} ms`);
  await look_at(instructor, 'instructor', '1280 light');
  const download = instructor.waitForEvent('download');
  await instructor.getByRole('button', { name: 'Save as CSV' }).click();
  const csv = readFileSync(await (await download).path(), 'utf8');
  check(/Who is deaf\?/.test(csv) && /C\. D\./.test(csv), 'the export lacks a result');
  instructor.on('dialog', dialog => dialog.accept());
  const before = await instructor.locator('#results tbody tr').count();
  await instructor.getByRole('button', { name: 'Delete' }).first().click();
  await instructor.waitForFunction(count => document.querySelectorAll('#results tbody tr').length === count - 1, before);
}

await browser.close();
console.log(`${checks} checks in the browser, ${failures} failed`);
process.exit(failures ? 1 : 0);
