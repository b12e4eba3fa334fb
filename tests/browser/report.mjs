// Opens a dossier in Chromium as a reader would:  node report.mjs MODULES FOLDER PICTURES
// Prints what is not as it should be; status 1 then.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [, , modules, folder, pictures] = process.argv;
const require = createRequire(path.join(path.resolve(modules), 'node_modules', 'x.js'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const read = name => JSON.parse(readFileSync(path.join(folder, name), 'utf8'));
const address = name => 'file://' + path.join(path.resolve(folder), name);
const pages = ['report.html', 'link_sheet.html', 'acceptance_sheet.html'];
// pictures of whole pages are for people: nothing is checked on them, and they cost as much as all that is
const keep_pictures = Boolean(process.env.PICTURES);

let failures = 0, checks = 0;
function check(holds, words) {
  ++checks;
  if (holds) return;
  ++failures;
  console.log('FAILED: ' + words);
}

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-dev-shm-usage'] });

/** A page that fails the test for every message, error and request that it makes. */
async function open(name, options) {
  const context = await browser.newContext({ offline: true, ...options });
  const page = await context.newPage();
  const where = name + ' ' + JSON.stringify(options);
  page.on('console', message => check(false, where + ': console: ' + message.text()));
  page.on('pageerror', error => check(false, where + ': ' + error.message));
  page.on('request', request => check(request.url() === address(name), where + ': asks for ' + request.url().slice(0, 100)));
  await page.goto(address(name));
  return page;
}

const sideways = page => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

// ---- every page at both widths, light and dark: whole, quiet, within the window, contrast of WCAG AA ----
for (const name of pages)
  for (const width of [390, 1280])
    for (const colorScheme of ['light', 'dark']) {
      const page = await open(name, { viewport: { width, height: 900 }, colorScheme });
      const where = `${name} at ${width} px, ${colorScheme}`;
      check(await sideways(page) <= 0, where + ': scrolls sideways');
      if (width === 1280 || colorScheme === 'light') {
        await page.evaluate(axe);
        // in the other scheme the same elements have other colours, and nothing else
        const rules = colorScheme === 'light' ? ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] : ['color-contrast'];
        const found = await page.evaluate(runOnly => axe.run(document, { runOnly, resultTypes: ['violations', 'passes'] }), rules);
        for (const violation of found.violations)
          check(false, `${where}: ${violation.id}: ${violation.nodes.length} times, first ${violation.nodes[0].html.slice(0, 120)}: ${violation.nodes[0].failureSummary}`);
        check(found.passes.some(pass => pass.id === 'color-contrast'), where + ': contrast was not measured');
      }
      if (width === 390) await look_for_cut_off(page, where);
      if (keep_pictures)
        await page.screenshot({ path: path.join(pictures, `${name.replace('.html', '')}-${width}-${colorScheme}.png`), fullPage: true });
      if (name === 'report.html') await look_at_charts(page, where, colorScheme);
      await page.context().close();
    }

/** On a phone no field or text of a card lies outside the window, and each field is large enough for a finger. */
async function look_for_cut_off(page, where) {
  const found = await page.evaluate(() => {
    const wrong = [];
    for (const element of document.querySelectorAll('table.cards th, table.cards td, table.cards textarea, table.cards label')) {
      const box = element.getBoundingClientRect();
      if (box.width === 0) continue;
      const words = element.getAttribute('aria-label') || element.textContent.slice(0, 40);
      if (box.left < 0 || box.right > innerWidth + 0.5) wrong.push('outside the window: ' + words);
      if (element.matches('textarea, label') && (box.height < 43.5 || box.width < 43.5)) wrong.push('too small for a finger: ' + words);
    }
    return { wrong, cards: document.querySelectorAll('table.cards tr').length };
  });
  check(found.cards > 2, where + ': no cards');
  check(found.wrong.length === 0, `${where}: ${found.wrong.length} times ${found.wrong[0]}`);
}

/** The right number of points, and lines that can be told from the paper they are on. */
async function look_at_charts(page, where, scheme) {
  const result = read('result.json'), watchdog = read('watchdog.json'), residual = read('residual.json'), line = read('timeline.json');
  const drawn = await page.evaluate(() => Object.fromEntries([...window.linkdrillCharts].map(([name, chart]) => [name, {
    sets: chart.data.datasets.map(set => ({ label: set.label, points: set.data.filter(p => p !== null).length })),
    colours: (() => {
      const { canvas } = chart, pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data, found = {};
      for (let i = 0; i < pixels.length; i += 4)
        if (pixels[i + 3] > 200) {
          const colour = '#' + [0, 1, 2].map(k => pixels[i + k].toString(16).padStart(2, '0')).join('');
          found[colour] = (found[colour] || 0) + 1;
        }
      return found;
    })(),
  }])));
  const points = (chart, label) => (drawn[chart].sets.find(set => set.label === label) || { points: -1 }).points;
  const count = (list, holds) => list.filter(holds).length;
  check(Object.keys(drawn).sort().join() === 'methods,reaction,residual,timeline', where + ': charts ' + Object.keys(drawn));
  const fired = count(result.injections, i => i.at_ms !== null);
  check(fired > 5 && points('timeline', 'injected') === fired, `${where}: ${points('timeline', 'injected')} injections drawn of ${fired}`);
  check(points('timeline', 'caught') === count(result.injections, i => i.detect_ms !== null), where + ': detections drawn');
  for (const end of ['controller', 'device'])  // a point at the start and one at the end besides
    check(points('timeline', read('plant.json').ends[end]) === line.states[end].length + 2, where + ': states of ' + end);
  for (const signal of line.signals) {
    const name = end => read('plant.json').ends[end];
    check(points('timeline', `${signal.name} used at ${name(signal.used_at)}`) === signal.changes.length + 2, where + ': what is used of ' + signal.name);
    check(points('timeline', `${signal.name} computed at ${name(signal.computed_at)}`) === signal.computed.length + 2, where + ': what is computed of ' + signal.name);
  }
  for (const contact of line.contacts)
    check(points('timeline', contact.name + ', contact') === contact.changes.length + 2, where + ': contact of ' + contact.name);
  check(points('timeline', 'demand') === new Set(result.demands.map(d => d.id)).size, where + ': demands drawn');
  check(points('timeline', line.machine + ', speed') === line.speed.length, where + ': corners of the speed');
  check(points('reaction', 'machine stands') === count(result.injections, i => i.standstill_ms !== null), where + ': standstills drawn');
  check(points('reaction', 'allowed until the machine stands') === count(result.injections, i => i.allowed_ms !== null), where + ': limits drawn');
  const of_watchdog = shape => page.locator(`#chart-watchdog svg.charts ${shape}`).count();
  check(await of_watchdog('circle.point') === count(watchdog.points, p => (p.trips_per_year ?? p.high) !== null), where + ': watchdogs drawn');
  check(await of_watchdog('rect.point') === count(watchdog.points, p => p.needed_mm !== null), where + ': distances drawn');
  check(await of_watchdog('path.interval') === count(watchdog.points, p => p.trips_per_year !== null && p.high > p.trips_per_year), where + ': intervals drawn');
  check(await of_watchdog('path.set') === 1 && await of_watchdog('rect.window') === 1, where + ': what is set, and what is usable');
  check(points('residual', 'exact') === count(residual.residual, r => r.value > 0), where + ': residual errors drawn');
  check(points('methods', 'rate an hour') === count(residual.methods, m => m.rate_per_hour > 0), where + ': methods drawn');
  const line1 = scheme === 'dark' ? '#cdebee' : '#294d5e', other = scheme === 'dark' ? '#294d5e' : '#cdebee';
  for (const name of Object.keys(drawn)) {
    check((drawn[name].colours[line1] || 0) > 150, `${where}: ${name} shows no line in the colour of its scheme`);
    check((drawn[name].colours[other] || 0) < 20, `${where}: ${name} shows the colours of the other scheme`);
  }
}

// ---- by keyboard alone ----
{
  const page = await open('report.html', { viewport: { width: 1280, height: 900 } });
  const here = () => page.evaluate(() => {
    const e = document.activeElement;
    return e === document.body ? '' : (e.dataset.act || e.dataset.chart || e.getAttribute('href') || e.className || e.tagName) + '';
  });
  const path_taken = [];
  for (let i = 0; i < 80; ++i) {
    await page.keyboard.press('Tab');
    const at = await here();
    if (at === '' || (i > 3 && at === path_taken[0])) break;
    path_taken.push(at);
    const ring = await page.evaluate(() => {
      // of a part of a drawing its own line is the ring
      const part = document.activeElement.closest('svg') && document.activeElement.querySelector('.box, .reach');
      return parseFloat(part ? getComputedStyle(part).strokeWidth : getComputedStyle(document.activeElement).outlineWidth);
    });
    check(ring >= 2, 'no focus ring on ' + at);
  }
  check(path_taken[0] === '#main', 'the first Tab does not skip to the report: ' + path_taken[0]);
  for (const stop of ['acceptance_sheet.html', 'link_sheet.html', 'in', 'out', 'left', 'right', 'previous', 'next', 'previous-demand', 'next-demand', 'all', 'timeline', 'scroll'])
    check(path_taken.includes(stop), 'not to be reached by Tab: ' + stop);
  check(path_taken.length < 80, 'Tab does not come to an end');

  const view = () => page.evaluate(() => { const x = window.linkdrillCharts.get('timeline').scales.x; return [x.min, x.max]; });
  const said = () => page.evaluate(() => document.getElementById('says-timeline').textContent);
  await page.focus('canvas[data-chart="timeline"]');
  const [from, to] = await view();
  await page.keyboard.press('+');
  const closer = await view();
  check(closer[1] - closer[0] < (to - from) * 0.6, '+ does not bring the time line closer');
  await page.keyboard.press('ArrowRight');
  check((await view())[0] > closer[0], 'arrow right does not move along');
  await page.keyboard.press('Home');
  check((await view())[0] === from, 'Home does not go to the begin');
  await page.focus('button[data-act="next"]');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Enter');
  check(/Injection 2: repetition/.test(await said()), 'Next injection says: ' + await said());
  await page.keyboard.press('Shift+Tab');
  await page.keyboard.press('Space');
  check(/Injection 1: corruption/.test(await said()), 'Injection before says: ' + await said());
  await page.focus('button[data-act="next-demand"]');
  await page.keyboard.press('Enter');
  check(/Demand 1: \S+ opens, /.test(await said()), 'Next demand says: ' + await said());
  for (let i = 0; i < 5; ++i) await page.locator('button[data-act="in"]').press('Enter');
  check(/Demand 1: /.test(await said()), 'what was stepped to is out of sight when closer: ' + await said());
  await page.focus('button[data-act="all"]');
  await page.keyboard.press('Enter');
  check((await view()).join() === [from, to].join(), 'Whole run does not show all');
  for (let i = 0; i < 40; ++i) await page.keyboard.press('Shift+Tab');  // out again
  await page.context().close();
}

// ---- what the README shows ----
if (keep_pictures) {
  const page = await open('report.html', { viewport: { width: 1000, height: 640 } });
  await page.screenshot({ path: path.join(pictures, 'readme-report.png') });
  await page.focus('button[data-act="next"]');
  for (let i = 0; i < 5; ++i) await page.keyboard.press('Enter');
  await page.locator('#chart-timeline').screenshot({ path: path.join(pictures, 'readme-time-line.png') });
  await page.locator('#chart-watchdog').screenshot({ path: path.join(pictures, 'readme-watchdog.png') });
  await page.context().close();
}

// ---- a narrower window yet, and larger text ----
{
  const page = await open('report.html', { viewport: { width: 320, height: 700 } });
  check(await sideways(page) <= 0, 'report.html at 320 px scrolls sideways');
  await page.context().close();
}

// ---- nothing gets out, and nothing else runs: the policy holds against what is put into the page ----
{
  const context = await browser.newContext();
  const page = await context.newPage();
  const asked = [];
  const left = request => asked.push(request.url());
  page.on('requestfinished', left);
  page.on('requestfailed', request => { if (request.failure().errorText !== 'csp') left(request); });
  await page.goto(address('report.html'));
  const told = await page.evaluate(async () => {
    const blocked = [];
    document.addEventListener('securitypolicyviolation', event => blocked.push(event.effectiveDirective));
    const script = document.createElement('script');
    script.textContent = 'window.ran = true';
    document.body.append(script);
    const image = document.createElement('img');
    image.src = 'http://127.0.0.1:9/a.png';
    document.body.append(image);
    await fetch('http://127.0.0.1:9/b').catch(() => {});
    const form = document.createElement('form');
    form.action = 'http://127.0.0.1:9/c';
    document.body.append(form);
    form.submit();
    await new Promise(resolve => setTimeout(resolve, 200));
    return { blocked, ran: window.ran === true };
  });
  check(!told.ran, 'a script that was put into the page ran');
  for (const directive of ['script-src-elem', 'img-src', 'connect-src', 'form-action'])
    check(told.blocked.includes(directive), 'not blocked: ' + directive + ' (blocked: ' + told.blocked + ')');
  check(asked.length === 1, 'requests left the page: ' + asked.slice(1));
  await context.close();
}

// ---- a sheet filled in, saved and opened again: all that was typed is in the file, and only there ----
for (const name of ['acceptance_sheet.html', 'link_sheet.html']) {
  const context = await browser.newContext({ acceptDownloads: true });
  const page = await context.newPage();
  const quiet = seen => {
    seen.on('console', message => check(false, `${name}, filled in: console: ${message.text()}`));
    seen.on('pageerror', error => check(false, `${name}, filled in: ${error.message}`));
  };
  quiet(page);
  await page.goto(address(name));
  const typed = '<b>12.5</b> & "more"\nsecond line';
  await page.locator('textarea').first().fill(typed);
  await page.locator('textarea').nth(5).fill('7');
  check(await page.locator('textarea').first().evaluate(field => field.scrollHeight <= field.clientHeight), name + ': a field cuts off what is typed');
  const letters = name === 'acceptance_sheet.html';
  if (letters) {
    await page.getByRole('radio', { name: 'P', exact: true }).first().check();
    await page.getByRole('radio', { name: 'F', exact: true }).first().check();
  }
  const unnamed = await page.locator('textarea:not([aria-label]), textarea[aria-label=""]').count();
  check(unnamed === 0, name + ': fields without a name');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#save')]);
  const file = path.join(path.resolve(pictures), 'filled-' + name);
  await download.saveAs(file);
  check(/^[a-z0-9_]+\.html$/.test(download.suggestedFilename()), name + ' is saved as ' + download.suggestedFilename());
  const again = await context.newPage();
  quiet(again);
  await again.goto('file://' + file);
  check(await again.locator('textarea').first().inputValue() === typed, name + ': a text is lost in the saved file');
  check(await again.locator('textarea').nth(5).inputValue() === '7', name + ': a figure is lost in the saved file');
  check(await again.locator('b').count() === 0, name + ': what is typed became markup');
  if (letters) {
    check(await again.getByRole('radio', { name: 'F', exact: true }).first().isChecked(), 'a choice is lost in the saved file');
    check(await again.locator('input:checked').count() === 1, 'a choice that was taken back is in the saved file');
  }
  check(await again.locator('#save').count() === 1, name + ': what was saved cannot be saved again');
  const kept = await again.evaluate(() => { try { return localStorage.length + sessionStorage.length + document.cookie.length; } catch { return 0; } });
  check(kept === 0, name + ' keeps something outside of the file');
  await again.emulateMedia({ media: 'print' });
  check(await again.locator('.typed').first().innerText() === typed, name + ': what is typed is not on paper');
  await context.close();
}

// ---- on paper ----
for (const name of pages) {
  const page = await open(name, { viewport: { width: 1280, height: 900 }, colorScheme: name === 'report.html' ? 'dark' : 'light' });
  await page.pdf({ path: path.join(pictures, name.replace('.html', '.pdf')), preferCSSPageSize: true, printBackground: true });
  const cells = await page.evaluate(() => [...document.querySelectorAll('th, td, li, p, h1, h2, h3, caption')]
    .filter(e => !e.closest('.tools') && e.getAttribute('role') !== 'status' && !e.closest('footer')).map(e => e.textContent.replace(/\s+/g, '')).filter(text => text));
  console.log('CELLS ' + name + ' ' + JSON.stringify(cells));
  await page.context().close();
}

await browser.close();
console.log(checks + ' checks in the browser');
process.exit(failures > 0 ? 1 : 0);
