// A drill by keyboard alone, single keys, and the clock that can be stopped.
import { address, check, open, step } from './crew.mjs';

export async function keyboard_alone() {
  const page = await open('keys', { viewport: { width: 1280, height: 900 } });
  await page.goto(address + '/');
  await page.getByLabel('Name or initials').focus();
  await page.keyboard.type('L. M.');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Pick a drill' }).waitFor();
  const tab_to = async name => {
    for (let i = 0; i < 120; ++i) {
      await page.keyboard.press('Tab');
      if (await page.evaluate(name => document.activeElement.textContent.includes(name), name)) return;
    }
    check(false, 'Tab does not reach ' + name);
  };
  await tab_to('20 After the shift change');
  await page.keyboard.press('Enter');
  await step(page, 'Secure');
  await page.keyboard.press('Tab');
  for (const name of ['Bar the way in', 'Leave it stopped', 'Tell the shift', 'Secured, go on']) {
    await tab_to(name);
    await page.keyboard.press('Space');
  }
  await step(page, 'Look');
  check(await page.evaluate(() => document.activeElement.id) === 'question', 'a step does not put the focus on its question');
  await page.keyboard.press('l');
  check(await page.evaluate(() => document.activeElement.id) === 'question', 'single keys act before they are switched on');
  await page.getByText('Single keys', { exact: true }).click();
  await page.getByLabel('Use single keys').check();
  await page.keyboard.press('l');
  check(await page.evaluate(() => document.activeElement.id) === 'log', 'the key L does not go to the log');
  await page.keyboard.press('Escape');
  check(await page.locator('details[open]').count() === 0, 'Escape does not close what was opened');
  await page.keyboard.press('p');
  await page.getByRole('button', { name: 'Let the clock run' }).waitFor();
  const margin = () => page.locator('#bench .time').innerText();
  const stood = await margin();
  await page.waitForTimeout(1500);
  check(await margin() === stood, 'the clock runs on while it is stopped');
  await page.keyboard.press('p');
  await page.getByRole('button', { name: 'Stop the clock' }).waitFor();
  await page.context().close();
}
