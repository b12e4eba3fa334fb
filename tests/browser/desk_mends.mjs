// Refusals at the desk and the buttons that mend them, the emergency stop, windows beside each other, and folds.
import { address, check, open, secret, watch } from './crew.mjs';

const field = (page, name) => page.getByLabel(name).first();
const button = (page, name) => page.getByRole('button', { name, exact: true }).first();
const says = (page, words) => page.waitForFunction((words) => new RegExp(words).test(document.body.innerText), words);
const value = (page, name) => field(page, name).inputValue();
const watchdog = /^watchdog.*[Mm]eant/;

async function type(page, name, value) {
  await field(page, name).fill(value);
  await field(page, name).press('Enter');
}

/** A typed value that is refused: what was there before, or what was meant, by one press. */
export async function values_put_right(page) {
  const before = await value(page, watchdog);
  await type(page, watchdog, '5 ms');
  await button(page, `Put back ${before}`).click();
  await page.waitForFunction(() => !document.querySelector('[aria-invalid=true], .refused'));
  check(await value(page, watchdog) === before, `put back: ${await value(page, watchdog)}`);
  check(await field(page, watchdog).evaluate((one) => one === document.activeElement), 'the field has the focus again');
  await type(page, watchdog, '80');
  await button(page, 'Type 80 ms instead').click();
  await page.waitForFunction(() => !document.querySelector('.refused'));
  check(await value(page, watchdog) === '80 ms', `typed instead: ${await value(page, watchdog)}`);
  // refused once more by the button's own value of before: the words stay at the field
  await type(page, watchdog, '0,06 s');
  await button(page, 'Type 0.06 s instead').press('Enter');
  await says(page, '(60 ms|0.06 s)');
  await page.keyboard.press('Control+s');
  await type(page, watchdog, before);
  await page.waitForFunction(() => !document.querySelector('.refused'));
}

/** The machine's own emergency stop: it latches, and a start says what is missing. */
export async function emergency_stop(page) {
  await button(page, 'Start anew').click();
  await page.waitForFunction(() => (document.getElementById('try-ends').innerText.match(/RUNNING/g) ?? []).length === 2);
  await button(page, 'Start press').click();
  await says(page, 'MOVES');
  await button(page, 'Emergency stop of press').click();
  await page.getByRole('button', { name: 'Emergency stop of press: pressed', pressed: true }).waitFor();
  await says(page, 'STANDS');
  check(/RUNNING/.test(await page.locator('#try-ends').innerText()), 'the link runs on');
  check(/says nothing of a demand/.test(await page.locator('#try-machines').innerText()), 'it is no doing of the link');
  await button(page, 'Start press').click();
  await says(page, 'press does not start: its emergency stop is pressed');
  await button(page, 'Release emergency stop of press').click();
  await page.getByRole('button', { name: 'Emergency stop of press', exact: true, pressed: false }).waitFor();
  check(/STANDS/.test(await page.locator('#try-machines').innerText()), 'released it starts nothing');
  await button(page, 'Start press').click();
  await says(page, 'MOVES');
  // what came after it cannot be kept, which is said, and what can
  await button(page, 'Keep what I did in the file').click();
  await says(page, 'no scenario can say it');
  await page.getByRole('button', { name: /^Keep what I did up to/ }).first().click();
  // what was kept before gives way unasked; what somebody wrote does not
  await page.waitForFunction(() => {
    const refused = document.getElementById('refused-keep')?.innerText ?? '';
    return !refused || /Replace them/.test(refused);
  });
  if (await button(page, 'Replace them').isVisible()) await button(page, 'Replace them').click();
  await page.waitForFunction(() => !document.getElementById('refused-keep') && /what was done/.test(
    [...document.querySelectorAll('button')].find((one) => one.innerText === 'Undo')?.title ?? ''));
  await page.getByRole('button', { name: /^Undo/ }).first().click();
}

/** More windows of one browser than it has connections: each lives, and takes what is typed. */
export async function many_windows() {
  const first = await open('window 1', { viewport: { width: 1280, height: 900 } });
  const all = [first];
  for (let i = 2; i <= 9; ++i) {
    const page = await first.context().newPage();
    page.setDefaultTimeout(45000);
    watch(page, `window ${i}`);
    all.push(page);
  }
  for (const page of all) await page.goto(`${address}/#${secret}`);
  for (const page of all) await says(page, 'guards_in_one_bit.toml');
  const time = (page) => page.locator('output.bench-time').innerText();
  for (const [i, page] of all.entries()) {
    const was = await time(page);
    await page.waitForFunction((was) => document.querySelector('output.bench-time').innerText !== was, was)
      .catch(() => check(false, `window ${i + 1} stands still at ${was}`));
  }
  // typed in the last, seen in all
  const before = await value(all[8], /^cycle.*[Mm]eant/);
  await type(all[8], /^cycle.*[Mm]eant/, '11 ms');
  for (const [i, page] of all.entries())
    await page.waitForFunction(() => [...document.querySelectorAll('input')].some((one) => one.value === '11 ms'))
      .catch(() => check(false, `window ${i + 1} does not see what is typed`));
  await type(all[8], /^cycle.*[Mm]eant/, before);
  // who listens goes: another one does
  await first.close();
  const was = await time(all[4]);
  await all[4].waitForFunction((was) => document.querySelector('output.bench-time').innerText !== was, was)
    .catch(() => check(false, 'no window listens in its place'));
  await same_field(all[1], all[2]);
  await all[1].context().close();
}

/** Two windows type in one field: the later one is asked. */
async function same_field(one, other) {
  const before = await value(one, watchdog);
  await field(one, watchdog).click();
  await one.keyboard.press('End');
  await one.keyboard.type('x');
  await type(other, watchdog, '61 ms');
  await one.waitForFunction(() => /61 ms/.test(document.getElementById('truth').innerText)
    || [...document.querySelectorAll('input')].some((field) => field.defaultValue === '61 ms'));
  await field(one, watchdog).fill('62 ms');
  await field(one, watchdog).press('Enter');
  await says(one, '61 ms was typed there meanwhile, in another window; here 62 ms was typed over');
  check(await value(other, watchdog) === '61 ms', 'the earlier one holds until it is chosen');
  await button(one, 'Type 62 ms all the same').click();
  await other.waitForFunction(() => [...document.querySelectorAll('input')].some((field) => field.value === '62 ms'));
  await type(one, watchdog, before);
}

/** On a phone the page is short; what is folded opens by keyboard, and where something leads to it. */
export async function folds(page, where) {
  const tall = () => page.evaluate(() => document.documentElement.scrollHeight);
  check(await tall() <= 5000, `${where}: the page is ${await tall()} px long`);
  const is_open = (id) => page.evaluate((id) => document.getElementById(`fold-${id}`).open, id);
  check(await is_open('try') && !await is_open('typed') && !await is_open('watchdog'), `${where}: what is open`);
  await page.locator('#fold-typed > summary').focus();
  await page.keyboard.press('Enter');
  check(await is_open('typed'), `${where}: Enter opens it`);
  await page.keyboard.press('Tab');
  check(await page.evaluate(() => document.getElementById('fold-typed').contains(document.activeElement)), `${where}: Tab goes into it`);
  await page.locator('#truth a', { hasText: /USABLE|usable/ }).first().click();
  check(await is_open('watchdog'), `${where}: what leads to it opens it`);
  check(await page.evaluate(() => document.querySelector('#fold-watchdog svg')?.getBoundingClientRect().width ?? 0) > 240, `${where}: it is drawn in its width`);
  await page.locator('#fold-typed > summary').click();
  check(!await is_open('typed'), `${where}: it closes again`);
  // what comes to differ shows itself
  await page.locator('#fold-typed > summary').click();
  await type(page, /^watchdog.*press drive/, '37 ms');
  await says(page, 'ENDS DISAGREE');
  await page.locator('#fold-typed > summary').click();
  await page.reload();
  await says(page, 'ENDS DISAGREE');
  check(await is_open('typed'), `${where}: what differs is open`);
  check(await page.getByText('Settings that agree').isVisible(), `${where}: the rest is one press away`);
  check(await tall() <= 5000, `${where}: with what differs the page is ${await tall()} px long`);
  await page.getByRole('button', { name: /^Undo/ }).first().click();
  await says(page, 'ENDS AGREE');
}
