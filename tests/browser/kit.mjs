/* What the browser's tests share: the program on a copy of a house in a folder of its own, a browser, and checks that say what they
   wanted.  From outside: Debian's Chromium (through playwright-core) and axe-core's rules, WCAG 2.2 A and AA. */
import { spawn } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const ROOT = process.env.RT_TEST_ROOT;
const require = createRequire(join(ROOT, 'ui/package.json'));
const { chromium } = require('playwright-core');
const AXE = require.resolve('axe-core/axe.min.js');

let failed = 0;

export function check(is, says) {
  console.log(`${is ? 'ok' : 'NOT OK'} - ${says}`);
  if (!is) failed++;
}

export function equal(is, wanted, says) {
  check(is === wanted, is === wanted ? says : `${says}: is ${JSON.stringify(is)}, wanted ${JSON.stringify(wanted)}`);
}

/* The program on a folder with these houses; `stop()` ends it. */
export async function serve(houses) {
  const folder = mkdtempSync(join(tmpdir(), 'rooftree-browser-'));
  mkdirSync(join(folder, 'houses'));
  for (const h of houses) cpSync(join(ROOT, 'houses', `${h}.house.yaml`), join(folder, 'houses', `${h}.house.yaml`));
  cpSync(join(ROOT, 'parts'), join(folder, 'parts'), { recursive: true });
  const args = ['serve', join(folder, 'houses'), '--page', process.env.RT_PAGE, '--no-open'];
  const program = spawn(process.env.RT_PROGRAM, args, {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = new Promise((resolve) => program.on('exit', resolve));
  const link = await new Promise((resolve, reject) => {
    let said = '';
    program.stdout.on('data', (d) => {
      said += d;
      const found = /http:\S+/.exec(said);
      if (found) resolve(found[0]);
    });
    program.on('exit', () => reject(new Error('the program ended before it printed its link')));
  });
  return {
    link,
    base: new URL(link).origin,
    houses: join(folder, 'houses'),
    async stop() {
      program.kill('SIGINT');
      const status = await ended;
      rmSync(folder, { recursive: true });
      return status;
    },
  };
}

/* A browser, with switches of its own. */
export async function browse(switches = []) {
  const browser = await chromium.launch({
    executablePath: process.env.RT_BROWSER,
    args: ['--no-sandbox', ...switches],
  });
  return browser;
}

/* A page that must ask nothing of any other host and must not complain. */
export async function open(browser, server, options = {}) {
  const context = await browser.newContext({
    viewport: { width: 1440, height: 900 },
    locale: 'en-GB',
    ...options,
  });
  const page = await context.newPage();
  page.setDefaultTimeout(Number(process.env.RT_PATIENCE_MS ?? 120000));
  page.wrong = [];
  page.on('pageerror', (e) => page.wrong.push(String(e)));
  page.on('console', (m) => {
    if (m.type() === 'error' && !/status of 4\d\d/.test(m.text())) page.wrong.push(m.text());
  });
  page.on('request', (r) => {
    if (!/^(data|blob):/.test(r.url()) && new URL(r.url()).origin !== server.base) page.wrong.push(`asked ${r.url()}`);
  });
  await page.goto(server.link);
  return page;
}

/* No violation of axe-core's rules for WCAG 2.2 A and AA. */
export async function axe(page, says) {
  if (!(await page.evaluate(() => 'axe' in window))) {
    /* the page's policy lets no foreign script in by a tag: it is evaluated through the browser's own protocol */
    const { readFileSync } = await import('node:fs');
    await page.evaluate(readFileSync(AXE, 'utf8'));
  }
  const found = await page.evaluate(async () => {
    const r = await window.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
    });
    return r.violations.map(
      (v) =>
        `${v.id}: ${v.nodes
          .slice(0, 3)
          .map((n) => `${n.target} (${n.any.map((a) => a.message).join(' ')})`)
          .join(' | ')}`,
    );
  });
  check(found.length === 0, `${says}: no violation${found.length ? `\n    ${found.join('\n    ')}` : ''}`);
}

export function done() {
  console.log(failed ? `${failed} checks failed` : 'all checks passed');
  process.exit(failed ? 1 : 0);
}
