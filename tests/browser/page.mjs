/* The page on a copy of the small demo: look, choose, change, undo, two tabs, text; then every view by axe-core, light and dark. */
import { readFileSync, writeFileSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve(['quay_flat']);
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'quay_flat.house.yaml');
const start = readFileSync(file, 'utf8');
const go = (p, hash) => p.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);
/* the promises that the page shows are those of the file as it is */
const judged = (p) => p.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();

/* ---- look ---- */
await page.getByRole('link', { name: 'Quay Flat' }).click();
await judged(page);
let told = '{}';
try {
  told = execFileSync(process.env.RT_PROGRAM, ['check', file, '--json'], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
} catch (e) {
  told = e.stdout; /* status 1: something is broken */
}
const cli = JSON.parse(told);
const tally = await page.locator('.tally').innerText();
check(
  tally.startsWith(`${cli.counts.kept} kept, ${cli.counts.broken} broken, ${cli.counts.unknown} unknown`),
  `the tally is that of the command line: ${tally}`,
);
equal(await page.locator('.promise').count(), cli.promises.length, 'every promise is there');
for (const p of cli.promises)
  check((await page.locator('.promise .says').allInnerTexts()).includes(p.says), `promise: ${p.says}`);
const first = cli.promises.find((p) => p.kind === 'signal');
await page.getByRole('button', { name: first.says }).click();
equal(
  await page.locator('.evidence .reason').innerText(),
  first.reason,
  'the chosen promise says why, as the command line does',
);
await page.locator('svg.house .note').waitFor();
equal(await page.locator('svg.house .upright').count(), 8, 'its eight walls are drawn');

/* ---- change a device by its form, take it back, and again ---- */
await go(page, {
  side: 'change',
  view: 'plan',
  section: 'devices',
  item: 'printer',
});
const says = page.getByLabel('says', { exact: false }).first();
await says.fill('The old printer');
await page.getByRole('button', { name: 'keep the change' }).click();
await page.getByText('Kept: printer changed').waitFor();
check(readFileSync(file, 'utf8').includes('says: The old printer'), 'the file has the change');
await page.getByRole('button', { name: 'undo' }).click();
await page.getByText('One step back').waitFor();
equal(readFileSync(file, 'utf8'), start, 'undo gives the file back to the byte');
await page.locator('svg.house').focus();
await page.keyboard.press('Control+Shift+Z');
await page.getByText('One step forth').waitFor();
check(readFileSync(file, 'utf8').includes('says: The old printer'), 'redo by the keyboard');
await page.keyboard.press('Control+Z');
await page.getByText('One step back').waitFor();

/* ---- a change that the engine does not take: its words beside the field, the file as before ---- */
await go(page, {
  side: 'change',
  view: 'plan',
  section: 'devices',
  item: 'printer',
});
await page.getByLabel('room', { exact: false }).first().fill('hal');
await page.getByRole('button', { name: 'keep the change' }).click();
await page.locator('.field.is-wrong .field-wrong').waitFor();
check(
  /hall/.test(await page.locator('.field.is-wrong').innerText()),
  'the nearest right name is said beside the field',
);
equal(readFileSync(file, 'utf8'), start, 'what cannot be is not kept');
await page.getByRole('button', { name: 'as it was' }).click();

/* ---- an access point moved by the arrow keys ---- */
await go(page, {
  side: 'promises',
  view: 'plan',
  floor: 'third',
  section: '',
  item: '',
});
const ap = page.getByRole('button', { name: /access point a1/ });
await ap.focus();
await page.keyboard.press('ArrowUp');
await page.keyboard.press('ArrowUp');
await page.keyboard.press('Enter');
await page.getByText('Kept: mount top_of_bookcase moved').waitFor();
check(
  /top_of_bookcase: \{room: living_room, at_m: \[4\.150?, 5\.60?, 2\.14\]/.test(readFileSync(file, 'utf8')),
  `the mount stands 0.2 m farther: ${/top_of_bookcase: .*/.exec(readFileSync(file, 'utf8'))}`,
);

/* ---- what one spot hears, by the keyboard ---- */
await page.locator('svg.house').focus();
await page.keyboard.press('ArrowRight');
await page.keyboard.press('Enter');
await page.locator('.spot-panel .heard li').first().waitFor();
check(/dBm/.test(await page.locator('.spot-panel').innerText()), 'the spot says what it hears');
await page.keyboard.press('Escape');

/* ---- two tabs: neither loses the other's ---- */
const other = await page.context().newPage();
other.setDefaultTimeout(120000);
await go(other, {
  side: 'change',
  view: 'plan',
  section: 'devices',
  item: 'speaker',
});
await go(page, {
  side: 'change',
  view: 'plan',
  section: 'devices',
  item: 'speaker',
});
await other.getByLabel('says', { exact: false }).first().fill('The one in the kitchen');
await page.getByLabel('says', { exact: false }).first().fill('The small one');
await other.getByRole('button', { name: 'keep the change' }).click();
await other.getByText('Kept: speaker changed').waitFor();
await page.bringToFront(); /* a tab behind another is not drawn, and nothing appears in it */
await page.getByRole('button', { name: 'keep the change' }).click();
await page.getByText('This was changed elsewhere meanwhile').waitFor();
check(
  (await page.locator('.meanwhile table').innerText()).includes('The one in the kitchen'),
  'the second tab is shown what the first wrote',
);
await page.getByRole('button', { name: 'write mine over it' }).click();
await page.getByRole('button', { name: 'keep the change' }).click();
await page.getByText('Kept: speaker changed').waitFor();
check(readFileSync(file, 'utf8').includes('says: The small one'), 'and may then write over it');
await other.close();

/* ---- the file as text ---- */
await go(page, { side: 'promises', view: 'text' });
const area = page.locator('#file-text');
await area.waitFor();
await area.fill((await area.inputValue()).replace('construct: block_insulated', 'construct: blok_insulated'));
await page.getByRole('button', { name: 'write the file' }).click();
await page.locator('.diagnostics .is-wrong').waitFor();
check(
  /block_insulated/.test(await page.locator('.diagnostics').innerText()),
  'the engine says what is wrong, and the nearest right name',
);
check(await page.getByText('The house file cannot be read as it is').isVisible(), 'the left side says so too');
await page.getByRole('button', { name: 'undo' }).click();
await page.getByText('One step back').waitFor();
check(readFileSync(file, 'utf8').includes('construct: block_insulated'), 'and it is taken back');

/* ---- changed outside, noticed when the page is looked at again ---- */
writeFileSync(file, readFileSync(file, 'utf8').replace('name: Quay Flat', 'name: Quay Flat Two'));
await page.evaluate(() => window.dispatchEvent(new Event('focus')));
await page.getByRole('heading', { name: 'Quay Flat Two' }).waitFor();
check(true, 'a change made outside is shown');

/* ---- every view, light and dark, wide and on a telephone ---- */
const views = [
  [
    'promises, floors apart',
    {
      side: 'promises',
      view: 'apart',
      promise: first.id,
      section: '',
      item: '',
    },
  ],
  ['plan', { side: 'promises', view: 'plan', floor: 'third' }],
  ['everything', { side: 'change', view: 'plan', section: '', item: '' }],
  ['list', { side: 'change', view: 'plan', section: 'devices', item: '' }],
  ['form', { side: 'change', view: 'plan', section: 'walls', item: 'water_side' }],
  ['statement', { side: 'change', view: 'plan', section: 'statements', item: '0' }],
  ['ask', { side: 'ask', view: 'plan' }],
  ['install', { side: 'install', view: 'apart' }],
  ['text', { side: 'promises', view: 'text' }],
  ['week', { side: 'promises', view: 'week' }],
  ['history', { side: 'promises', view: 'history' }],
];
await page.emulateMedia({ reducedMotion: 'reduce' });
for (const [name, hash] of views) {
  await go(page, hash);
  await judged(page);
  await axe(page, name);
}
await page.goto(`${server.base}/#`);
await page.getByRole('heading', { name: 'A copy of a house' }).waitFor();
await axe(page, 'start');
await page.setViewportSize({ width: 360, height: 780 });
for (const [name, hash] of views) {
  await go(page, hash);
  await judged(page);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth);
  check(wide <= 360, `${name} fits a telephone: ${wide} px wide`);
}

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
