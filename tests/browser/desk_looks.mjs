// Looks at a page of the desk: nothing sideways, no serious finding of axe, and a picture of it.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { check, pictures } from './crew.mjs';

const require = createRequire(path.join(path.resolve(process.argv[2]), 'node_modules', 'x.js'));
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

export async function look_at_desk(page, name, where) {
  const [width, scheme] = where.split(' ');
  await page.setViewportSize({ width: Number(width), height: 900 });
  await page.emulateMedia({ colorScheme: scheme });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  check(over <= 0, `${where}: ${name} scrolls sideways by ${over} px`);
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }));
  for (const violation of found.violations.filter((one) => ['serious', 'critical'].includes(one.impact)))
    check(false, `${where}: ${name}: ${violation.id}: ${violation.nodes.length} times, first ${violation.nodes[0].html.slice(0, 140)}: ${violation.nodes[0].failureSummary}`);
  await page.screenshot({ path: path.join(pictures, `desk-${name}-${where.replace(' ', '-')}.png`), fullPage: true });
}
