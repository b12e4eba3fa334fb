// An exam in Chromium: no titles, no hints, no results before its end.
import { address, check, join, look_at, open, press, step, text } from './crew.mjs';
import { do_all } from './works.mjs';

export async function take_an_exam() {
  const page = await open('exam', { viewport: { width: 390, height: 844 } });
  await join(page, 'J. K.');
  await press(page, 'Begin an exam');
  for (let at = 1; at <= 6; ++at) {
    await step(page, 'Secure');
    const where = await page.locator('#where').innerText();
    check(where.endsWith(`Exam, drill ${at} of 6`), 'an exam tells the drill: ' + where);
    for (const choice of ['Bar the way in', 'Leave it stopped', 'Tell the shift', 'Secured, go on']) await press(page, choice);
    await step(page, 'Look');
    check(await page.getByRole('button', { name: 'A hint' }).count() === 0, 'an exam gives hints');
    await press(page, 'Go on: Name');
    await press(page, 'I cannot tell');
    await do_all(page, 'Isolate and lock out', ...(at === 1 ? ['Raise the watchdog'] : []), 'It stays locked out');
    if (at === 6) break;
    await page.getByRole('heading', { name: `Handed in. ${at} of 6 done.` }).waitFor();
    if (at === 2) {
      await page.goto(address + '/mine');
      await page.getByText('No drill finished yet').waitFor();
      await page.goto(address + '/drills');
      await press(page, 'Go on with the exam');
      await page.getByRole('heading', { name: 'Handed in' }).waitFor();
    }
    await press(page, 'Next drill of the exam');
  }
  await page.getByRole('heading', { name: 'Exam not passed' }).waitFor();
  await look_at(page, 'exam', '390 light');
  const table = await text(page);
  // the same clicks in every drill, and nothing read: none is passed, whatever came
  check(/Exam not passed: a dangerous action/.test(table) && !/Safe/.test(table.replace('is safe', '')) &&
    (table.match(/Not passed: /g) ?? []).length === 6, 'the results of the exam: ' + table);
  await press(page, 'Explain drill');
  await step(page, 'Debrief');
  await press(page, 'Back to the exam');
  await page.getByRole('heading', { name: 'Exam not passed' }).waitFor();
  check(/Exam \d+\. 6 of 6 drills were judged/.test(table), 'the exam does not say how many drills were judged: ' + table);
  await page.goto(address + '/mine');
  await page.getByRole('button', { name: 'Open: drill' }).first().waitFor();
  check(await page.getByRole('button', { name: 'Withdraw' }).count() === 0, 'a drill of an exam can be withdrawn');
  await page.context().close();
}
