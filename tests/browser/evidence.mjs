/* What is drawn on the house: fields as they are chosen, paths to a spot, a packet's way, what a failure takes; each against the command
   line's or the server's own figures. */
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve(['quay_flat']);
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'quay_flat.house.yaml');
const go = (hash) => page.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);
const cli = (...args) =>
  JSON.parse(execFileSync(process.env.RT_PROGRAM, [...args, '--json'], { stdio: ['ignore', 'pipe', 'ignore'] }));
const get = (path) => page.evaluate(async (p) => (await fetch(`/api/houses/quay_flat${p}`)).json(), path);

/* ---- the field: a quick one, then the whole one, and its choices ---- */
const asked = [];
page.on('request', (r) => asked.push(decodeURIComponent(new URL(r.url()).pathname + new URL(r.url()).search)));
const fields = () => asked.filter((u) => /\/field\?/.test(u));
await go({ view: 'plan', floor: 'third' });
await page.locator('svg.house image.field').waitFor();
await page.locator('.contour').first().waitFor(); /* lines are those of the whole field */
check(fields()[0].includes('quick=yes'), 'the quick field is asked for first');
check(
  fields().some((u) => !u.includes('quick')),
  'then the whole one',
);
check(
  asked.findIndex((u) => u.endsWith('/promises/events')) > asked.findIndex((u) => u.includes('quick=yes')),
  'the promises are asked for after what is seen',
);
equal(await page.locator('.legend-word').count(), 0, 'nothing is said of a quick field when the whole one is there');
await page.locator('.field-choices summary').click();
await page.getByRole('button', { name: '50 %' }).click();
await page.getByRole('button', { name: 'hopeful' }).click();
await page.getByRole('combobox', { name: 'heard by' }).selectOption('laptop');
await page
  .locator('.field-choices summary', { hasText: 'heard by a laptop in 50 % of places, hopeful estimate' })
  .waitFor();
await page.locator('.contour').first().waitFor();
check(
  fields().some((u) => /availability=0.5/.test(u) && /estimate=hopeful/.test(u) && /device=laptop/.test(u)),
  'the server is asked for that field',
);
check(page.url().includes('availability=0.5'), 'and the address says so');
await axe(page, 'the plan with its choices');

/* ---- paths to a spot ---- */
await go({ view: 'plan', floor: 'third', quantity: 'none' });
const house = page.locator('svg.house');
await house.focus();
for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowDown');
await page.keyboard.press('Enter');
await page.locator('.ray-list button').first().waitFor();
const at = /^([\d.]+) m by ([\d.]+) m/.exec(await page.locator('.spot-panel .quiet').first().innerText());
const signal = cli('signal', file, '--floor', 'third', '--at', `${at[1]},${at[2]}`, '--paths', '6');
const best = signal.access_points[0];
check(
  (await page.locator('.ray-list button').first().innerText()).trim().startsWith(best.paths[0].kind),
  `the strongest path is ${best.paths[0].kind}, as the command line has it`,
);
const losses = best.paths[0].crossings.filter((c) => Math.abs(c.loss_db) >= 0.05);
equal(await page.locator('.rays .loss').count(), losses.length, 'a loss stands at each of its crossings');
const kinds = await page
  .locator('.rays .ray')
  .evaluateAll((all) => all.map((r) => getComputedStyle(r).strokeDasharray));
check(new Set(kinds).size >= 2, 'kinds are told apart by their lines');
await page.locator('.ray-list button').first().focus();
await page.keyboard.press('ArrowDown');
equal(
  await page.locator('.ray-list button').nth(1).getAttribute('aria-pressed'),
  'true',
  'arrow keys choose the next path',
);
equal(await page.locator('.rays .ray.is-chosen').count(), 1, 'and the drawing marks it');
await axe(page, 'a spot and its paths');
await page.getByRole('button', { name: 'floors apart' }).click();
check((await page.locator('.rays .ray').count()) > 1, 'floors apart has them too');

/* ---- a packet's way ---- */
const devices = (await get('/drawing')).devices.filter((d) => d.link === 'wifi' && d.segment);
const from = devices[0].id;
await go({ view: 'plan', floor: 'third', side: 'ask', quantity: 'none' });
await page.getByLabel('who', { exact: true }).selectOption(from);
await page.getByLabel('with whom').selectOption('internet');
await page.locator('rt-ask button.main').click();
await page.locator('ol.way li').first().waitFor();
const answer = await get(`/ask?from=${from}&to=internet`);
equal(await page.locator('ol.way li').count(), answer.steps.length, 'every step is told');
check((await page.locator('.way-line.is-air').count()) >= 1, 'through the air it is dashed');
check((await page.locator('.way-stop').count()) >= 2, 'things on the way are marked');
const stop = answer.steps.findIndex((s) => s.kind === 'access_point');
await page.locator('ol.way li button').nth(stop).focus();
await page.locator(`.way-stop.is-marked[data-step="${stop}"]`).waitFor();
check(true, 'the step that has the focus is marked on the drawing');
await axe(page, "a packet's way");
const refused = await page.evaluate(async (of) => {
  const model = await (await fetch('/api/houses/quay_flat/model')).json();
  for (const to of [...Object.keys(model.house.segments ?? {}).map((s) => `segment:${s}`), 'gateway'])
    for (const service of ['', 'ssh']) {
      const r = await fetch(`/api/houses/quay_flat/ask?from=internet&to=${to}&service=${service}`);
      if (r.ok && (await r.json()).verdict === 'refused') return { to, service };
    }
  return of;
}, null);
check(refused !== null, 'something is refused');
await page.getByLabel('who', { exact: true }).selectOption('internet');
await page.getByLabel('with whom').selectOption(refused.to);
await page.getByLabel('for what').selectOption(refused.service);
await page.locator('rt-ask button.main').click();
await page.locator('.way-cross').waitFor();
check(true, 'what is refused ends with a cross');

/* ---- a failure ---- */
await go({ view: 'failures', quantity: 'level' });
await page.locator('rt-failures tbody tr').first().waitFor();
const { failures } = await get('/failures');
const ap = failures.find((f) => f.kind === 'access_point');
await page.getByRole('button', { name: `show on the drawing what goes when ${ap.says} fails` }).click();
await page.locator('.failure .dead').first().waitFor();
check(page.url().includes(encodeURIComponent(`access_point:${ap.id}`)), 'the address says what has failed');
const hit = ap.promises.filter((p) => p.by_this).length;
equal(await page.locator('.after-failure li').count(), hit, 'the promises that break stand beside it');
await page.locator('.field-choices summary', { hasText: 'failed' }).waitFor();
check(
  fields().some((u) => u.includes(`failed=access_point:${ap.id}`)),
  'the field is that of the house without it',
);
await axe(page, 'a failure on the drawing');
await page.getByRole('button', { name: 'as if nothing had failed' }).click();
equal(await page.locator('.failure .dead').count(), 0, 'and it is whole again');

/* ---- suggestions are the engine's; a change that would leave no house is not made ---- */
await go({ side: 'change', view: 'plan', section: 'walls', item: '+' });
const words = await page.evaluate(async () => (await fetch('/api/words')).json());
check(words.constructs.length > 20, 'constructs are suggested');
const before = (await get('/model')).revision;
await go({ side: 'change', view: 'plan', section: 'devices', item: 'printer' });
const room = page.getByLabel('room', { exact: false }).first();
await room.fill('no_such_room');
await page.getByRole('button', { name: 'keep the change' }).click();
await page.getByText(/^Not kept/).waitFor();
equal((await get('/model')).revision, before, 'a refused change leaves no revision behind');

check(page.wrong.length === 0, `nothing went wrong in the page ${page.wrong.join('; ')}`);
await browser.close();
await server.stop();
done();
