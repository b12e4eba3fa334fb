// Step 4 in Chromium: acts that are done at once, at their place, and what came of them.
import path from 'node:path';
import { check, join, look_at, open, pictures, press, step, text } from './crew.mjs';

/** Where each act lies that the checks use, by the first words on its button. */
const GROUPS = {
  'Isolate and lock out': 'make-safe',
  'Bridge or defeat': 'make-safe',
  'Examine cable': 'look',
  'Test the fibres': 'look',
  'Raise the watchdog': 'mend',
  'Tools and people out': 'return',
  'Look into the whole zone': 'return',
  'Have every lock taken off': 'return',
  'Reset what is latched': 'return',
  'Acknowledge, with': 'return',
  'Demand every guard': 'return',
  'Restart the machine': 'return',
  'Watch the first cycles': 'return',
  'Once it moves': 'return',
  'It stays locked out': 'ask',
};

/** Presses that act; of several links at the one of that name. It is under way, refused or explained then. */
export async function begin_work(page, name, link = '') {
  const group = page.locator(`[data-act=group][data-value=${GROUPS[name]}]`);
  if (await group.getAttribute('aria-expanded') !== 'true') await group.click();
  const act = link ? `${name}.*: ${link}$` : `^${name}`;
  await page.getByRole('button', { name: new RegExp(act) }).first().click();
}

/** The same, until it is done. */
export async function do_work(page, name, link = '') {
  await begin_work(page, name, link);
  await page.locator('.done-list li').filter({ hasText: name }).first().waitFor();
  await page.locator('.under-way').waitFor({ state: 'detached' });
}

/** All of these, and hands over. */
export async function do_all(page, ...names) {
  await step(page, 'Act');
  for (const name of names) await do_work(page, ...[name].flat());
  await page.locator('[data-act=hand-over].main').click();
}

/** Locked out and called: what is always safe. */
export const call_and_hand_over = page => do_all(page, 'Isolate and lock out', 'It stays locked out');

const hours = page => page.evaluate(async () => {
  const seen = [];
  for (let i = 0; i < 40; ++i) {
    await new Promise(requestAnimationFrame);
    const hour = document.getElementById('plant-hour')?.textContent;
    if (hour !== seen.at(-1)) seen.push(hour);
  }
  return { seen, told: document.documentElement.dataset.told };
});

/** While an act is under way: the plant's hour runs, the trainee stands at its place, nothing else can be pressed. */
export async function under_way(page, name, where, place) {
  await begin_work(page, name);
  await page.locator('.under-way').waitFor();
  if (where === '1280 light') {
    await page.setViewportSize({ width: 1100, height: 860 });
    await page.evaluate(() => scrollTo(0, 0));
    await page.screenshot({ path: path.join(pictures, 'readme-act.png') });
    await page.setViewportSize({ width: 1280, height: 900 });
  }
  const { seen } = await hours(page);
  check(seen.length > 3, `${where}: in time-lapse the hour stood at ${seen}`);
  const others = await page.locator('[data-act=work]:not([aria-disabled=true])').count();
  check(others === 0, `${where}: ${others} acts can be pressed while one is under way`);
  check(/Nothing else can be done until/.test(await text(page)), where + ': nothing says why no act can be pressed');
  check((await page.locator('svg.scene').getAttribute('aria-label')).includes(place), `${where}: the picture does not say "${place}"`);
  check(await page.locator('progress').evaluate(one => one.value > 0 && one.value < 1), where + ': nothing shows how far the act has come');
  await look_at(page, 'under-way', where);
  await page.locator('.under-way').waitFor({ state: 'detached' });
  await page.locator('[data-act=work]:not([aria-disabled=true])').first().waitFor();
}

/** A dangerous act in practice: explained with what it would have led to, and taken back. */
export async function explained_and_taken_back(page, name, where) {
  const before = await page.locator('.done-list li').count();
  await begin_work(page, name);
  await page.locator('#warning').waitFor();
  await page.waitForFunction(() => document.activeElement?.id === 'warning');
  await page.locator('.outcome-of').waitFor();
  const told = await page.locator('.outcome-of').innerText();
  check(/What it would have led to/.test(told), `${where}: the outcome is not told: ${told}`);
  await look_at(page, 'outcome', where);
  await press(page, 'Understood');
  await page.locator('#warning').waitFor({ state: 'detached' });
  check(await page.locator('.outcome-of').count() === 0, where + ': an outcome stays that was understood');
  check(await page.locator('.done-list li').count() === before, where + ': a dangerous act was not taken back');
  return told;
}

/** Which is first, the hand or the standstill: drawn, said, and to be read at any size. */
export async function who_is_first() {
  const page = await open('outcome', { viewport: { width: 390, height: 844 }, colorScheme: 'dark' });
  await join(page, 'R. S.');
  await press(page, '5 When the pump');
  for (const one of ['Isolate it, lock it', 'Secured, go on', 'Go on: Name', 'I cannot tell']) await press(page, one);
  await step(page, 'Act');
  const told = await explained_and_taken_back(page, 'Bridge or defeat', '390 dark');
  check(/The hand is there first/.test(told) && /not seen to stop/.test(told) && /\d+\.\d{3} s/.test(told), 'who is first is not told: ' + told);
  await begin_work(page, 'Bridge or defeat');
  const picture = page.locator('svg.outcome');
  await picture.waitFor();
  check(/^Bars over one axis, ms since .*hand at the dangerous place: \d+ ms/.test(await picture.getAttribute('aria-label')), 'the bars have no text for who does not see them');
  const smallest = await picture.evaluate(svg => Math.min(...[...svg.querySelectorAll('text')].map(text => parseFloat(getComputedStyle(text).fontSize) * text.getCTM().a)));
  check(smallest >= 13, `a text of the bars is ${smallest} px high`);
  await page.context().close();
}

/** How high step 4 is with a group open: at most four screens of a phone. */
export async function fits_four_screens(page, where) {
  const high = await page.evaluate(() => document.documentElement.scrollHeight);
  check(high <= 4 * 844, `${where}: step 4 is ${high} px high`);
}

/** What was named stands from the first act on, and step 3 asks no more. */
export async function named_stands(page, where) {
  check(/What you named stands/.test(await text(page)), where + ': what was named is not told to stand');
  await press(page, 'Back to Look');
  await step(page, 'Look');
  check(await page.getByRole('button', { name: 'Go on: Name' }).count() === 0, where + ': what stands can be named anew');
  await press(page, 'Go on: Act');
  await step(page, 'Act');
}

/** Who wants no motion sees the hours that were told, and no others. */
export async function lapse_without_motion() {
  const page = await open('no motion', { viewport: { width: 390, height: 844 }, reducedMotion: 'reduce' });
  await join(page, 'P. Q.');
  await press(page, '2 A fibre pair');
  for (const one of ['Secured, go on', 'Go on: Name', 'I cannot tell']) await press(page, one);
  await step(page, 'Act');
  await begin_work(page, 'Isolate and lock out');
  await page.locator('.under-way').waitFor();
  const between = await page.evaluate(async () => {
    let moved = 0, told = document.documentElement.dataset.told, hour = document.getElementById('plant-hour').textContent;
    for (let i = 0; i < 60; ++i) {
      await new Promise(requestAnimationFrame);
      const now = document.documentElement.dataset.told, says = document.getElementById('plant-hour')?.textContent;
      if (now === told && says !== hour) ++moved;
      told = now;
      hour = says;
    }
    return moved;
  });
  check(between === 0, `who wants no motion saw the hour move ${between} times between two tellings`);
  await page.context().close();
}
