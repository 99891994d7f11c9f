/* What the browser's tests share: the program on a copy of a house in a folder of its own, a browser, and checks that say what they
   wanted.  From outside: Debian's Chromium (through playwright-core) and axe-core's rules, WCAG 2.2 A and AA. */
import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';

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

/* The program on a folder with these houses (of the demos by name, others by their file's path).  `stop()` ends it and takes the folder
   away; `kill()` ends it as a power cut would; `again()` starts it anew on the same folder and port, with a new link. */
export async function serve(houses) {
  const folder = mkdtempSync(join(tmpdir(), 'rooftree-browser-'));
  mkdirSync(join(folder, 'houses'));
  for (const h of houses) {
    const file = h.endsWith('.yaml') ? h : join(ROOT, 'houses', `${h}.house.yaml`);
    cpSync(file, join(folder, 'houses', basename(file)));
  }
  cpSync(join(ROOT, 'parts'), join(folder, 'parts'), { recursive: true });
  const server = { houses: join(folder, 'houses'), link: '', base: '', port: 0 };
  let program = null;
  let ended = null;
  const end = (signal) => {
    program.kill(signal);
    return ended;
  };
  server.again = async () => {
    const args = ['serve', server.houses, '--page', process.env.RT_PAGE, '--no-open'];
    if (server.port) args.push('--port', String(server.port));
    program = spawn(process.env.RT_PROGRAM, args, { stdio: ['ignore', 'pipe', 'inherit'] });
    const started = program;
    ended = new Promise((resolve) => started.on('exit', resolve));
    server.link = await new Promise((resolve, reject) => {
      let said = '';
      started.stdout.on('data', (d) => {
        said += d;
        const found = /http:\S+/.exec(said);
        if (found) resolve(found[0]);
      });
      started.on('exit', () => reject(new Error('the program ended before it printed its link')));
    });
    server.base = new URL(server.link).origin;
    server.port = new URL(server.link).port;
  };
  process.on('exit', () => program.kill('SIGKILL')); /* a check that broke off leaves nothing running */
  server.kill = () => end('SIGKILL');
  server.halt = () => end('SIGINT');
  server.stop = async () => {
    const status = await end('SIGINT');
    rmSync(folder, { recursive: true });
    return status;
  };
  await server.again();
  return server;
}

/* What the command line says of a house, as JSON; a status of 1 (something is broken) is an answer too. */
export function told(...args) {
  const r = spawnSync(process.env.RT_PROGRAM, args, { encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 });
  if (r.status !== 0 && r.status !== 1) throw new Error(`rooftree ${args.join(' ')}: ${r.stderr}`);
  return JSON.parse(r.stdout);
}

/* A YAML file as PyYAML reads it. */
export function yaml(file) {
  const say = 'import json, sys, yaml; print(json.dumps(yaml.safe_load(open(sys.argv[1], encoding="utf-8")), default=str))';
  return JSON.parse(execFileSync('/usr/bin/python3', ['-c', say, file], { encoding: 'utf8' }));
}

/* How many steps of Tab lie between what has the focus and the nth element that fits, and whether Shift-Tab is the shorter way. */
function stepsTo([selector, text, nth]) {
  const all = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex]')].filter(
    (e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({ visibilityProperty: true }),
  );
  const says = (e) => e.textContent.replace(/\s+/g, ' ').trim();
  const target = all.filter((e) => e.matches(selector) && (!text || says(e).startsWith(text)))[nth];
  if (!target) return null;
  window.tabTarget = target;
  const here = document.activeElement;
  const from = all.indexOf(here);
  if (from >= 0) return all.indexOf(target) - from;
  /* the focus is on something that Tab does not reach, as a head: on from there */
  const behind = all.filter((e) => here !== document.body && here.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_PRECEDING).length;
  const at = all.indexOf(target);
  return at < behind ? at - behind : at - behind + 1;
}

/* Tab, or Shift-Tab where that is nearer, until the nth element that fits has the focus; says whether it came to it.  Focus must be
   there after as many steps as the page's order has, or a few more where an element has inner stops. */
export async function tabTo(page, selector, text = '', nth = 0) {
  const steps = await page.evaluate(stepsTo, [selector, text, nth]);
  if (steps === null) {
    check(false, `there is ${selector} ${text} to be reached by Tab`);
    return false;
  }
  const key = steps < 0 ? 'Shift+Tab' : 'Tab';
  const there = () => page.evaluate(() => document.activeElement === window.tabTarget);
  for (let i = 0; i < Math.abs(steps); i++) await page.keyboard.press(key);
  for (let more = 0; more < 40; more++) {
    if (await there()) return true;
    await page.keyboard.press(key);
  }
  check(false, `Tab leads to ${selector} ${text}`);
  return false;
}

/* A browser, with switches of its own. */
export async function browse(switches = []) {
  const browser = await chromium.launch({
    executablePath: process.env.RT_BROWSER,
    args: ['--no-sandbox', ...switches],
  });
  return browser;
}

/* What a page complained of, but for what Chromium says of a server that was killed under it: any error of the network, whose name
   depends on how far the request had come. */
export function withoutServer(wrong) {
  return wrong.filter((w) => !/net::ERR_/.test(w));
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

/* Waits until something is so: a function of this test's own, asked again and again. */
export async function until(isSo, says) {
  const end = Date.now() + Number(process.env.RT_PATIENCE_MS ?? 120000);
  while (!(await isSo())) {
    if (Date.now() > end) throw new Error(`it did not come about: ${says}`);
    await new Promise((go) => setTimeout(go, 100));
  }
}

/* No violation of axe-core's rules for WCAG 2.2 A and AA, neither light nor dark; what is shown afterwards is light. */
export async function axe(page, says) {
  if (!(await page.evaluate(() => 'axe' in window))) {
    /* the page's policy lets no foreign script in by a tag: it is evaluated through the browser's own protocol */
    const { readFileSync } = await import('node:fs');
    await page.evaluate(readFileSync(AXE, 'utf8'));
  }
  for (const scheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme: scheme });
    await page.waitForTimeout(300); /* what changes colour slowly has changed it, and 3-D is painted anew */
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
    check(found.length === 0, `${says}, ${scheme}: no violation${found.length ? `\n    ${found.join('\n    ')}` : ''}`);
  }
}

export function done() {
  console.log(failed ? `${failed} checks failed` : 'all checks passed');
  process.exit(failed ? 1 : 0);
}
