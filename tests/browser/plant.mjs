// The plant as it is drawn in Chromium: what it shows before anybody read anything, and what moves in it.
import { check, press } from './crew.mjs';

/** Before an instrument was used the plant is drawn, and neither the picture nor the server says how an end stands. */
export async function nothing_read_yet(page, where) {
  const seen = await page.locator('svg.scene').evaluate(svg => svg.textContent);
  check((seen.match(/NOT KNOWN/g) ?? []).length === 2 && !/STOPPED|RUNNING|WAITS|STARTING|received/.test(seen), `${where}: the plant shows what nobody read: ${seen}`);
  check(/NOT KNOWN/.test(await page.locator('svg.scene').getAttribute('aria-label')), where + ': the picture of the plant has no text for who does not see it');
  const { state } = await page.evaluate(async () => (await fetch('/api/state')).json());
  check(state.controller === null && state.io === null && state.signals.length === 0, where + ': the server tells what nobody read');
  check(state.plant.guards.length > 0 && state.plant.guards.every(guard => guard.seen === null) && state.guards.every(guard => !guard.latched), where + ': the server tells of guards what nobody saw');
  const smallest = await page.evaluate(() => Math.min(...[...document.querySelectorAll('svg text')].map(text => parseFloat(getComputedStyle(text).fontSize) * text.getCTM().a)));
  check(smallest >= 13, `${where}: a text of the picture is ${smallest} px high`);
}

/** The telegrams around the first stop: shown in motion, and step by step. */
export async function telegrams_in_slow_motion(page, where) {
  const moment = () => page.locator('#slow-at').getAttribute('aria-valuetext');
  const before = await moment();
  check(/ms before the first stop/.test(before), `${where}: slow motion begins at "${before}"`);
  await press(page, 'To the next thing seen');
  const stepped = await moment();
  check(stepped !== before, where + ': a step to the next telegram changes nothing');
  await press(page, 'Play, 40 times slower');
  await page.waitForFunction(was => document.getElementById('slow-at').getAttribute('aria-valuetext') !== was, stepped);
  await page.locator('svg.ways .lost').first().waitFor();
  await press(page, 'Hold it here');
  check(await page.locator('svg.ways [tabindex], svg.ways [data-act]').count() === 0, where + ': a telegram of the debrief can be pressed');
}

/** Places of the machine in so many pictures, and tellings of the server meanwhile. */
const watched = page => page.evaluate(async () => {
  const places = new Set(), told = new Set();
  for (let i = 0; i < 90; ++i) {
    await new Promise(requestAnimationFrame);
    places.add(document.getElementById('moves-0').getAttribute('transform'));
    told.add(document.documentElement.dataset.told);
  }
  return { places: places.size, told: told.size };
});

/** A machine that moves glides between two tellings; for who wants no motion it stands where it was told to be. */
export async function moves_between_tellings(page) {
  const moving = await watched(page);
  check(moving.places > moving.told + 3, `a machine that moves stood at ${moving.places} places in ${moving.told} tellings`);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await page.waitForTimeout(500);
  const still = await watched(page);
  check(still.places <= still.told + 1, `who wants no motion sees a machine at ${still.places} places in ${still.told} tellings`);
  await page.emulateMedia({ reducedMotion: 'no-preference' });
}
