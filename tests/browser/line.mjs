// A drill with several links in Chromium, from the first step to the debrief.
import { check, join, look_at, open, pick, press, step, text } from './crew.mjs';
import { do_all } from './works.mjs';

/** Looks at every place of the line, and says what it shows. */
async function look(page, where) {
  for (const instrument of ['Read controller', 'Walk to each station', 'Telegrams', 'Compare settings', 'Time line'])
    await press(page, instrument);
  await page.getByText('outfeed I/O (link outfeed)').waitFor();
  await page.locator('#moment').waitFor();
  const shown = await text(page);
  check((shown.match(/link (infeed|turner|outfeed)/g) ?? []).length >= 6, where + ': not every link has its panels');
  check((shown.match(/no good telegram in time/g) ?? []).length >= 2, where + ': the silent link is not seen at both its ends');
  check((shown.match(/RUNNING/g) ?? []).length >= 4, where + ': the other links do not run');
  await page.locator('#status').getByText('line controller, infeed: STOPPED').waitFor();
  await look_at(page, 'line-look', where);
  await page.getByRole('button', { name: 'turner', exact: true }).first().click();
  await page.getByText('turning allowed: sent').first().waitFor();
  await look_at(page, 'line-turner', where);
  await press(page, 'Restart turner');
  await page.getByText('It did not start: it is isolated and locked').first().waitFor();
  await press(page, 'Acknowledge infeed');
  await page.getByText('Acknowledged: infeed.').first().waitFor();
  await press(page, 'received counters of both ends');
  await page.locator('[data-act=keep][aria-pressed=true]').first().waitFor();
}

/** Which of three is silent: found, mended, and where there is time given back in the right order. */
export async function find_the_silent_station(where, options, whole) {
  const page = await open('line ' + where, options);
  await join(page, 'Line ' + where);
  await press(page, '24 Three stations');
  await step(page, 'Secure');
  for (const choice of ['Have the people there', 'Tell the shift', 'Leave it stopped', 'Isolate it, lock it'])
    await press(page, choice);
  await look_at(page, 'line-secure', where);
  await press(page, 'Secured, go on');
  await step(page, 'Look');
  await look(page, where);
  await press(page, 'Go on: Name');
  await step(page, 'Name');
  await pick(page, 'Which link is it?', 'infeed I/O');
  await pick(page, 'Where is it?', 'both ways');
  await pick(page, 'What is it?', 'loss');
  await pick(page, 'Because?', 'received counters');
  await look_at(page, 'line-name', where);
  await press(page, 'This is my diagnosis');
  const back = ['Tools and people out', 'Look into the whole zone', 'Have every lock taken off', ['Acknowledge, with', 'infeed'],
    'Demand every guard', 'Reset what is latched', ['Restart the machine', 'turner'], 'Watch the first cycles', 'Once it moves'];
  await do_all(page, 'Isolate and lock out', 'Examine cable', ...(whole ? back : []));
  await step(page, 'Debrief');
  const told = await text(page);
  if (whole) check(/Safe and found/.test(told), where + ': a right answer is not safe and found: ' + told.slice(0, 400));
  else check(/Not finished/.test(told), where + ': a line that stands is finished: ' + told.slice(0, 400));
  check(/Link: infeed\./.test(told), where + ': the debrief does not name the link');
  check(/infeed: THE CAUSE ACTS: loss/.test(told), where + ': the story does not tell the cause');
  check(/line controller, turner never stopped/.test(told) && /infeed I\/O stopped at .*Nothing came/.test(told), where + ': what the ends knew is missing');
  await look_at(page, 'line-debrief', where);
  await page.context().close();
}
