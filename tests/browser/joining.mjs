/* What others write while a page is open: heard of without a touch, shown where nobody types, joined line by line with what somebody
   types, and chosen where both changed the same.  The files are compared by their bytes; merge-file of git says what the joined text is. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve, until } from './kit.mjs';

const server = await serve(['quay_flat']);
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'quay_flat.house.yaml');
const bytes = () => readFileSync(file, 'utf8');
const area = page.locator('#file-text');
const write = page.getByRole('button', { name: 'write the file' });
const go = (hash) => page.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);
const holds = (text, says) => until(async () => (await area.inputValue()).includes(text), says);

/* ---- heard of without a touch ---- */
await go({ side: 'promises' });
await page.getByRole('heading', { name: 'Quay Flat' }).waitFor();
writeFileSync(file, bytes().replace('name: Quay Flat', 'name: Quay Two'));
await page.getByRole('heading', { name: 'Quay Two' }).waitFor();
check(true, 'an editor changed the name: the page shows it, and nobody touched it');
const other = await page.context().newPage();
await other.goto(`${server.base}/#house=quay_flat`);
await other.getByRole('heading', { name: 'Quay Two' }).waitFor();
await other.evaluate(() =>
  fetch('/api/houses/quay_flat/edits', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ what: 'named', edits: [{ op: 'set', path: '/name', value: 'Quay Three' }] }),
  }),
);
await page.getByRole('heading', { name: 'Quay Three' }).waitFor();
check(true, 'and so it does when another tab did');
await other.close();

/* ---- the text, where nobody types ---- */
await go({ view: 'text' });
await holds('name: Quay Three', 'the text is there');
writeFileSync(file, bytes().replace('name: Quay Three', 'name: Quay Four'));
await holds('name: Quay Four', 'changed outside, shown as it is now');

/* ---- changes of other lines ---- */
const base = bytes();
const mine = base.replace('north_deg: 315', 'north_deg: 300');
const theirs = base.replace('energy_per_kwh: 0.36', 'energy_per_kwh: 0.40').replace(/^  fridge: .*\n/m, '');
await area.fill(mine);
writeFileSync(file, theirs);
await page.locator('.took').waitFor();
const folder = mkdtempSync(join(tmpdir(), 'rooftree-joining-'));
for (const [name, text] of Object.entries({ mine, base, theirs })) writeFileSync(join(folder, name), text);
const git = execFileSync('git', ['merge-file', '-p', ...['mine', 'base', 'theirs'].map((n) => join(folder, n))], {
  encoding: 'utf8',
});
rmSync(folder, { recursive: true });
equal(await area.inputValue(), git, 'typed here and changed there: joined, as git merge-file joins them');
equal(bytes(), theirs, 'and nothing is written yet');
const took = page.locator('.took button');
const n = git.split('\n').findIndex((l) => l.includes('energy_per_kwh: 0.40')) + 1;
equal(
  (await took.allInnerTexts()).join('|'),
  `gone before line ${git.split('\n').findIndex((l) => l.includes('wardrobe_mirror')) + 1}|line ${n}`,
  'what was joined is told by its lines',
);
await took.last().click();
const chosen = await area.evaluate((e) => e.value.slice(e.selectionStart, e.selectionEnd));
equal(chosen, '  energy_per_kwh: 0.40', 'and is found by them');
await axe(page, 'joined');
await write.click();
await page.locator('.said', { hasText: /^Written/ }).waitFor();
equal(bytes(), git, 'written: both are in the file');
check(!(await page.locator('.took').isVisible()), 'and nothing is left to look at');

/* ---- changes of the same lines ---- */
await area.fill(
  git
    .replace('north_deg: 300', 'north_deg: 10')
    .replace('energy_per_kwh: 0.40', 'energy_per_kwh: 0.11')
    .replace('yearly: 480', 'yearly: 500'),
);
const those = git
  .replace('north_deg: 300', 'north_deg: 20')
  .replace('energy_per_kwh: 0.40', 'energy_per_kwh: 0.22')
  .replace('purchase: 220', 'purchase: 230');
writeFileSync(file, those);
await page.locator('.joining').waitFor();
equal(await page.locator('.joining fieldset').count(), 2, 'two places were changed by both');
check(await write.isDisabled(), 'nothing can be written until it is chosen');
equal(bytes(), those, 'nor was it');
const place = (i) => page.locator('.joining fieldset').nth(i);
check(/north_deg: 10[\s\S]*north_deg: 20/.test(await place(0).innerText()), 'yours and theirs stand side by side');
await place(0).locator('summary').click();
check((await place(0).innerText()).includes('north_deg: 300'), 'with what it was');
await axe(page, 'changed by both');
const put = page.getByRole('button', { name: 'put together' });
await place(0).getByRole('radio', { name: 'theirs', exact: true }).check();
check(await put.isDisabled(), 'one is left to choose');
await place(1).getByRole('radio', { name: 'yours', exact: true }).check();
await put.click();
const joint = await area.inputValue();
check(joint.includes('north_deg: 20') && joint.includes('energy_per_kwh: 0.11'), 'each as it was chosen');
check(joint.includes('yearly: 500') && joint.includes('purchase: 230'), 'and what only one changed besides');
await page.keyboard.press('Control+s');
await area.focus();
await page.keyboard.press('Control+s');
await page.locator('.said', { hasText: /^Written/ }).waitFor();
equal(bytes(), joint, 'and written');

/* ---- both lines, and taking what is there ---- */
await area.fill(joint.replace('name: Quay Four', 'name: Mine'));
writeFileSync(file, joint.replace('name: Quay Four', 'name: Theirs'));
await page.locator('.joining').waitFor();
await place(0).getByRole('radio', { name: 'both, yours first' }).check();
await put.click();
await holds('name: Mine\nname: Theirs\n', 'both lines, yours first');
await page.getByRole('button', { name: 'as it is in the folder' }).click();
await until(async () => !(await area.inputValue()).includes('name: Mine'), 'as it is in the folder');
check((await area.inputValue()).includes('name: Theirs'), 'as it is in the folder, without yours');

/* ---- written before the page could hear of it ---- */
await area.fill((await area.inputValue()).replace('north_deg: 20', 'north_deg: 21'));
writeFileSync(file, bytes().replace('yearly: 500', 'yearly: 501'));
await write.click();
await page.locator('.took').waitFor();
check(bytes().includes('north_deg: 20') && bytes().includes('yearly: 501'), 'it is not written over');
await write.click();
await until(() => bytes().includes('north_deg: 21') && bytes().includes('yearly: 501'), 'and then both are written');

/* ---- line ends stay ---- */
writeFileSync(file, bytes().replaceAll('\n', '\r\n'));
await until(
  async () =>
    await page.evaluate(async () => (await (await fetch('/api/houses/quay_flat/file')).text()).includes('\r\n')),
  'a file with the other line ends',
);
await page.reload();
await holds('north_deg: 21', 'is shown');
await area.fill((await area.inputValue()).replace('north_deg: 21', 'north_deg: 22'));
const ends = bytes();
await write.click();
await page.locator('.said', { hasText: /^Written/ }).waitFor();
equal(bytes(), ends.replace('north_deg: 21', 'north_deg: 22'), 'and keeps them: one figure is another');

/* ---- a parts file that cannot be read ---- */
const parts = join(server.houses, '../parts/demo_eur.parts.yaml');
const whole = readFileSync(parts, 'utf8');
await go({ view: 'parts' });
await page.getByText('What can be bought:').waitFor();
writeFileSync(parts, whole.replace('parts:\n', 'parts: [\n'));
await page.getByText('The parts file cannot be read as it is. Mend it as text').waitFor();
const left = page.locator('.side');
await left.getByText('The parts file cannot be read as it is').waitFor();
await go({ view: 'apart' });
await left.getByRole('button', { name: 'see the parts' }).click();
await page.getByRole('button', { name: 'the file as text' }).click();
await holds('parts: [', 'a parts file that cannot be read opens as text');
await page.locator('.diagnostics .is-wrong').first().waitFor();
await axe(page, 'a parts file as text');
await area.fill(whole.replace('currency: EUR', 'currency: EUR # mended'));
await write.click();
await page.locator('.said', { hasText: 'read without a mistake' }).waitFor();
equal(
  readFileSync(parts, 'utf8'),
  whole.replace('currency: EUR', 'currency: EUR # mended'),
  'mended there, byte for byte',
);
await page.getByRole('button', { name: 'as tables' }).click();
await page.getByText('What can be bought:').waitFor();
check(true, 'and there are its tables again');

equal(page.wrong.length, 0, `the page complains of nothing${page.wrong.map((x) => `\n    ${x}`).join('')}`);
await browser.close();
equal(await server.stop(), 0, 'the program ends as it should, whoever listens');
done();
