// Opens the page of measured round trips in Chromium:  node roundtrips.mjs MODULES FOLDER PICTURES
// Prints what is not as it should be; status 1 then.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [, , modules, folder, pictures] = process.argv;
const require = createRequire(path.join(path.resolve(modules), 'node_modules', 'x.js'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const found = JSON.parse(readFileSync(path.join(folder, 'roundtrips.json'), 'utf8'));
const address = 'file://' + path.join(path.resolve(folder), 'roundtrips.html');

let failures = 0, checks = 0;
function check(holds, words) {
  ++checks;
  if (holds) return;
  ++failures;
  console.log('FAILED: ' + words);
}

/** Points of each line, and how many pixels have the colour of the first line. */
const drawn = () => Object.fromEntries([...window.linkdrillCharts].map(([name, chart]) => {
  const { canvas } = chart, pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  const colour = chart.data.datasets[0].borderColor, tinted = [1, 3, 5].map(at => parseInt(colour.slice(at, at + 2), 16));
  let coloured = 0;
  for (let i = 0; i < pixels.length; i += 4) coloured += tinted.every((one, k) => pixels[i + k] === one) ? 1 : 0;
  const points = Object.fromEntries(chart.data.datasets.map(set => [set.label, set.data.filter(p => Number.isFinite(p.y)).length]));
  return [name, { points, coloured, colour }];
}));

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-dev-shm-usage'] });
for (const width of [390, 1280])
  for (const colorScheme of ['light', 'dark']) {
    const where = `at ${width} px, ${colorScheme}`;
    const context = await browser.newContext({ offline: true, viewport: { width, height: 900 }, colorScheme });
    const page = await context.newPage();
    page.on('console', message => check(false, where + ': console: ' + message.text()));
    page.on('pageerror', error => check(false, where + ': ' + error.message));
    page.on('request', request => check(request.url() === address, where + ': asks for ' + request.url().slice(0, 100)));
    await page.goto(address);
    check(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth) <= 0, where + ': scrolls sideways');
    await page.evaluate(axe);
    const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
    for (const violation of (await page.evaluate(runOnly => axe.run(document, { runOnly }), rules)).violations)
      check(false, `${where}: ${violation.id}: ${violation.nodes[0].html.slice(0, 120)}: ${violation.nodes[0].failureSummary}`);
    const charts = await page.evaluate(drawn);
    check(Object.keys(charts).sort().join() === 'course,spread', where + ': charts ' + Object.keys(charts));
    for (const [name, chart] of Object.entries(charts)) {
      check(chart.colour === (colorScheme === 'dark' ? '#cdebee' : '#294d5e'), `${where}: ${name} has the colour ${chart.colour}`);
      check(chart.coloured > 150, `${where}: ${name} shows ${chart.coloured} pixels of its line`);
    }
    const { course, spread } = charts;
    check(course.points.longest > 5 && course.points.longest === course.points['half within'], where + ': the course');
    check(course.points['something was lost'] > 5, where + ': losses in the course');
    check(spread.points['round trips'] > 2, where + ': the spread');
    const text = await page.evaluate(() => document.body.innerText);
    check(text.includes(found.verdict === 'measured' ? 'MEASURED' : 'NOT BELIEVED'), where + ': the verdict');
    check(text.includes('no_answer = "losses"'), where + ': how it is put to use');
    if (process.env.PICTURES)
      await page.screenshot({ path: path.join(pictures, `roundtrips-${width}-${colorScheme}.png`), fullPage: true });
    await context.close();
  }
await browser.close();
check(found.lost > 20 && found.sent > found.lost, 'nothing was lost, or everything: ' + JSON.stringify(found).slice(0, 300));
console.log(checks + ' checks in the browser');
process.exit(failures > 0 ? 1 : 0);
