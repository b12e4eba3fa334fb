// The desk in Chromium as an engineer uses it:  node desk.mjs MODULES ADDRESS SECRET PICTURES LINKDRILL
// Prints what is not as it should be; status 1 then.
import { execFileSync, spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { address, check, finish, open, pictures, press, secret } from './crew.mjs';
import { look_at_desk } from './desk_looks.mjs';
import { emergency_stop, folds, many_windows, values_put_right } from './desk_mends.mjs';

const linkdrill = process.argv[6];
const truth = (page) => page.locator('#truth').innerText();
const says = (page, words) => page.waitForFunction((words) => new RegExp(words).test(document.body.innerText), words);
const field = (page, name) => page.getByLabel(name).first();

async function type(page, name, value) {
  const there = field(page, name);
  await there.fill(value);
  await there.press('Enter');
}
/** The state of an end in the section of the running link: RUNNING, STOPPED ... */
const end_says = (page, words) => page.waitForFunction(
  (words) => new RegExp(words).test(document.getElementById('sec-try').innerText), words);
const section = (page, name) => page.locator(`#sec-${name}`);

/** What a window of that size shows from there on; nothing has the focus. */
async function picture(page, name, from) {
  await page.setViewportSize({ width: 1280, height: 820 });
  await page.evaluate((from) => { document.activeElement?.blur(); scrollTo(0, from); }, from);
  await page.waitForTimeout(400);
  await page.screenshot({ path: path.join(pictures, name) });
  await page.setViewportSize({ width: 1280, height: 900 });
}

/** Nobody has read anything yet: two presses to the first guard that goes from 1 to 0. */
async function first_minute(page) {
  const begun = Date.now();
  await page.goto(`${address}/#${secret}`);
  await page.getByRole('link', { name: /interrupt a guard/ }).click();
  await page.getByRole('button', { name: /^front_curtain/ }).click();
  await page.getByRole('button', { name: /front_curtain: held, 0/, pressed: true }).waitFor();
  const row = () => section(page, 'try').locator('tr', { hasText: 'may_run' }).last().innerText();
  await page.waitForFunction(() => {
    const rows = [...document.querySelectorAll('#sec-try tr')].filter((one) => /^may_run/.test(one.innerText));
    return rows.some((one) => (one.innerText.match(/\b0\b/g) ?? []).length >= 4);
  });
  check(Date.now() - begun < 30000, `the first guard took ${Date.now() - begun} ms`);
  check(/power off/.test(await row()), `the row of the signal: ${await row()}`);
}

async function day(page) {
  await press(page, 'Begin with your own');
  await press(page, 'Begin with guards in one bit');
  await says(page, 'guards_in_one_bit.toml');
  // two mistakes, and what both ends would show
  await type(page, /address of press drive.*press drive/, '32');
  await type(page, /^watchdog.*press drive/, '60 ms');
  await says(page, 'ENDS DISAGREE');
  await says(page, 'Start refused: address of press drive differs, here 32 \\(0x20\\), sent 0x0032 \\(50\\)');
  await says(page, 'Start refused: watchdog differs, here 60 ms, sent 45 ms');
  check(/ENDS DISAGREE 2 settings/.test((await truth(page)).replace(/\s+/g, ' ')), `the truth: ${await truth(page)}`);
  check(!/USABLE/.test(await truth(page)), 'a watchdog is called usable while the ends differ');
  await press(page, 'Start anew');
  await end_says(page, 'STARTING');
  check(!/RUNNING/.test(await section(page, 'try').innerText()), 'a link runs whose ends differ');
  await look_at_desk(page, 'differing', '1280 light');
  await picture(page, 'readme-desk.png', 0);
  // mended: one by its button, one by hand
  await press(page, 'As meant at press drive');
  const wrong = field(page, /address of press drive.*press drive/);
  await wrong.fill('');
  await wrong.press('Enter');
  await says(page, 'ENDS AGREE');
  // a value that cannot be is refused at its field, with the reason
  await type(page, /^watchdog.*[Mm]eant/, '5 ms');
  await says(page, 'watchdog');
  await page.locator('[aria-invalid=true]').first().waitFor();
  await page.locator('[aria-invalid=true]').first().press('Escape');
  await press(page, 'Start anew');
  await end_says(page, 'RUNNING');
  await press(page, 'Start press');
  await says(page, 'MOVES');
  for (const guard of ['front_curtain', 'side_door']) {
    await page.getByRole('button', { name: new RegExp(`^${guard}`) }).click();
    await page.getByRole('button', { name: new RegExp(`${guard}: held, 0`) }).waitFor();
    await says(page, 'STANDS');
    await page.getByRole('button', { name: new RegExp(`${guard}: held, 0`) }).click();
    await page.getByRole('button', { name: guard, exact: true }).waitFor();
    await page.waitForFunction(() => [...document.querySelectorAll('#sec-try tr')]
      .some((one) => /^may_run/.test(one.innerText) && (one.innerText.match(/\b1\b/g) ?? []).length >= 5));
    await press(page, 'Start press');
    await says(page, 'MOVES');
  }
  // the cable
  await press(page, 'Cable out');
  await end_says(page, 'STOPPED');
  await press(page, 'Cable is out');
  await end_says(page, 'WAITS FOR YOU');
  await look_at_desk(page, 'waits', '1280 dark');
  await press(page, 'Acknowledge');
  await end_says(page, 'RUNNING');
  await press(page, 'Keep what I did');
  await press(page, 'Replace them');
  await says(page, 'changed');
  // the watchdog, by keys
  await page.waitForFunction(() => /, usable/i.test(document.querySelector('input[type=range]')?.getAttribute('aria-valuetext') ?? ''));
  const handle = page.getByRole('slider').first();
  await handle.focus();
  const before = await handle.getAttribute('aria-valuetext');
  await page.keyboard.press('ArrowRight');
  await page.waitForFunction((was) => {
    const now = document.querySelector('input[type=range]').getAttribute('aria-valuetext');
    return now !== was && /ms, (usable|not usable)/i.test(now);
  }, before);
  // rehearsed, saved, and rehearsed by the command
  await press(page, 'Rehearse');
  await says(page, 'as rehearsed at');
  await look_at_desk(page, 'rehearsed', '1280 light');
  await press(page, 'Save');
  await says(page, 'saved');
  const text = readFileSync('guards_in_one_bit.toml', 'utf8');
  check(/\[\[fault\]\]/.test(text) && /YOURS/.test(text), 'acts are kept, and comments too');
  // the status tells the verdict: it may be 1
  const run = spawnSync(linkdrill, ['run', 'guards_in_one_bit.toml', '--json', '--out', 'by_command'], { encoding: 'utf8' });
  const { verdict, digest } = JSON.parse(run.stdout);
  const on_page = JSON.parse(readFileSync('linkdrill-out/guards_in_one_bit/result.json', 'utf8'));
  check(on_page.verdict === verdict && on_page.digest === digest, `${on_page.verdict} ${on_page.digest} on the page, ${verdict} ${digest} by the command`);
}

/** Slow motion: telegrams on their way, and one of them byte by byte. */
async function slowly(page) {
  await page.getByRole('button', { name: 'See it slowly' }).first().click();
  await page.getByRole('radio', { name: '1/200', checked: true }).waitFor();
  await page.waitForFunction(() => document.querySelectorAll('#sec-try svg .telegram, #sec-try svg [data-telegram]').length > 0);
  await look_at_desk(page, 'slow', '1280 light');
  await picture(page, 'readme-slow.png', await page.evaluate(() => document.getElementById('sec-try').getBoundingClientRect().top + scrollY - 116));
  await press(page, 'Step');
  await page.getByRole('radio', { name: 'paused', checked: true }).waitFor();
}

/** Two pages on one file see each other's changes. */
async function two_pages(page) {
  const other = await open('second page', { viewport: { width: 1280, height: 900 } });
  await other.goto(`${address}/#${secret}`);
  await says(other, 'guards_in_one_bit.toml');
  await type(page, /^cycle.*[Mm]eant/, '12 ms');
  await other.waitForFunction(() => [...document.querySelectorAll('input')].some((one) => one.value === '12 ms'));
  await press(other, 'Undo');
  await page.waitForFunction(() => ![...document.querySelectorAll('input')].some((one) => one.value === '12 ms'));
  await other.context().close();
}

async function on_a_phone(scheme) {
  const page = await open(`390 ${scheme}`, { viewport: { width: 390, height: 844 }, colorScheme: scheme, reducedMotion: 'reduce' });
  await page.goto(`${address}/#${secret}`);
  await says(page, 'guards_in_one_bit.toml');
  await look_at_desk(page, 'phone', `390 ${scheme}`);
  const order = await page.evaluate(() => [...document.querySelectorAll('section[id^=sec-]')]
    .map((one) => [one.id, one.getBoundingClientRect().top]).sort((a, b) => a[1] - b[1]).map(([id]) => id));
  check(order.indexOf('sec-try') < order.indexOf('sec-typed'), `on a phone the order is ${order}`);
  await folds(page, `390 ${scheme}`);
  await look_at_desk(page, 'unfolded', `390 ${scheme}`);
  await page.context().close();
}

const page = await open('1280 light', { viewport: { width: 1280, height: 900 } });
await first_minute(page);
await look_at_desk(page, 'example', '1280 light');
await day(page);
await slowly(page);
await two_pages(page);
await values_put_right(page);
await emergency_stop(page);
await many_windows();
await on_a_phone('light');
await on_a_phone('dark');
check(execFileSync('ls', ['-A'], { encoding: 'utf8' }).split('\n').filter((name) => /draft/.test(name)).length <= 1, 'no more than one draft');
await finish();
