// Papers that the instructor's page prints, besides records and the list of results.
import { address, check, look_at, press, printed, secret } from './crew.mjs';

/** From the open record of that person, while only records print. */
export async function print_certificate(instructor, name) {
  await press(instructor, 'Certificate of ' + name);
  await instructor.getByRole('heading', { name: 'Certificate of training done' }).waitFor();
  await instructor.getByLabel('Trained by').fill('M. Sommer');
  await look_at(instructor, 'certificate', '1280 light');
  const paper = await printed(instructor, 'train-certificate');
  check(paper.every((one, i) => one.includes(`Page ${i + 1} of ${paper.length}`)), 'the pages of the certificate have no numbers');
  check(paper[0].includes(name) && /M\. Sommer/.test(paper[0]) && /no proof of competence/.test(paper[0].replace(/\s+/g, ' ')) && /Printed \d{4}-\d\d-\d\d/.test(paper[0]), 'the certificate lacks something: ' + paper[0]);
  const whole = await instructor.evaluate(() => document.getElementById('record').textContent.replace(/\s+/g, ' '));
  const kept = await (await fetch(address + '/api/instructor/results.json', { headers: { 'X-Token': secret } })).json();
  const own = kept.results.filter(one => one.name === name);
  check(own.length > 1 && own.every(one => whole.includes(one.hash.slice(0, 16).match(/.{4}/g).join(' '))), 'the certificate lacks the hash of a result');
  check(!/Code for joining|Put in a fault|Save as CSV/.test(paper.join()), 'the certificate prints other things');
}

export async function print_room(instructor) {
  await press(instructor, 'Print the room list');
  await instructor.evaluate(() => document.body.classList.add('list-only'));
  const people = await printed(instructor, 'train-room');
  await instructor.evaluate(() => document.body.classList.remove('list-only'));
  check(people.every((one, i) => one.includes(`Page ${i + 1} of ${people.length}`) && /Signature|signature/.test(one)), 'the pages of the room list have no numbers or heads');
  check(/Room list/.test(people[0]) && /Printed \d{4}/.test(people[0]) && /Crowd \(12\)/.test(people.join()), 'the room list lacks something: ' + people[0]);
  check(!/Code for joining|Show cause|cause/i.test(people.join()), 'the room list tells what it must not');
}
