/* What was changed is kept: undo, redo and history across a restart, an old revision had back, two tabs, an editor beside the page, the
   power going during saves, a step back while a design runs.  The file is compared by its bytes throughout. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, browse, check, done, equal, open, serve, told, until, withoutServer, yaml } from './kit.mjs';

const server = await serve([join(ROOT, 'tests/browser/one_of_each.house.yaml')]);
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'one_of_each.house.yaml');
const bytes = () => readFileSync(file, 'utf8');
const start = bytes();
const go = (p, hash) => p.goto(`${server.base}/#${new URLSearchParams({ house: 'one_of_each', view: 'history', ...hash })}`);
const judged = (p) => p.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
const said = (p, text) => p.locator('.said', { hasText: text }).waitFor();
const rows = (p) => p.locator('.wide-table tbody tr');

/* One member of one thing by its form. */
async function change(p, section, item, member, value, says = /^Kept: /) {
  await go(p, { side: 'change', section, item });
  await p.locator(`#f-${section}-${member}`).fill(value);
  await p.getByRole('button', { name: 'keep the change' }).click();
  if (says) await said(p, says);
}

/* ---- the history says what was changed and how the promises stood then ---- */
await go(page, { side: 'promises' });
await judged(page);
await change(page, 'devices', 'desk', 'says', "Ada's table");
await judged(page);
await go(page, { side: 'change', section: 'statements', item: '1' });
await page.getByRole('button', { name: 'remove' }).click();
await said(page, /^Kept: .* removed from/);
await judged(page);
const before = told('check', file, '--json').counts;
equal(before.broken, 1, 'without its statement the promise to print is broken, says the command line');
await page.locator('.wide-table tbody tr.is-now', { hasText: '1 broken' }).waitFor();
const first = await rows(page).first().innerText();
check(/removed from statements/.test(first) && /1 kept, 1 broken/.test(first), `the newest revision says so in the history: ${first}`);
const older = await rows(page).nth(1).innerText();
check(/desk changed/.test(older) && /2 kept, 0 broken/.test(older), `and the one before, that both were kept: ${older}`);

/* ---- a restart: steps back and forth are still there ---- */
const changed = bytes();
equal(await server.halt(), 0, 'the server ends well');
server.houses = file; /* alone, and its link opens it */
await server.again();
await page.goto(server.link);
await page.locator('svg.house').first().waitFor();
check(page.url().includes('house=one_of_each'), 'the link of a server for one house opens that house');
await go(page, { side: 'promises' });
await judged(page);
await rows(page).nth(2).waitFor();
equal(await rows(page).count(), 3, 'the history has its three revisions after a restart');
await page.getByRole('button', { name: 'undo' }).click();
await said(page, 'One step back');
await page.getByRole('button', { name: 'undo' }).click();
await page.locator('.steps button[disabled]:visible', { hasText: 'undo' }).waitFor();
equal(bytes(), start, 'two steps back after it give the file back to the byte');
for (let i = 0; i < 2; i++) await page.getByRole('button', { name: 'redo' }).click();
await page.locator('.steps button[disabled]:visible', { hasText: 'redo' }).waitFor();
equal(bytes(), changed, 'two steps forth, and it is as changed');

/* ---- an old revision had back is a revision of its own ---- */
await judged(page);
await rows(page).last().getByRole('button').click();
await said(page, /^Back at revision/);
equal(bytes(), start, 'the first revision had back, to the byte');
await judged(page);
await rows(page).nth(3).waitFor();
equal(await rows(page).count(), 4, 'which is a revision of its own');

/* ---- two tabs: different things are both kept; the same thing is told ---- */
const other = await page.context().newPage();
other.setDefaultTimeout(Number(process.env.RT_PATIENCE_MS ?? 120000));
await go(other, { side: 'change', section: 'people', item: 'bo' });
await go(page, { side: 'change', section: 'people', item: 'ada' });
await page.locator('#f-people-says').fill('Ada One');
await other.locator('#f-people-says').fill('Bo Two');
await page.getByRole('button', { name: 'keep the change' }).click();
await said(page, /^Kept: /);
await other.getByRole('button', { name: 'keep the change' }).click();
await said(other, /^Kept: /);
equal(bytes(), start.replace('says: Ada,', 'says: Ada One,').replace('says: Bo,', 'says: Bo Two,'), 'two tabs changed two people: both are kept');
await go(other, { side: 'change', section: 'segments', item: 'home' });
await go(page, { side: 'change', section: 'segments', item: 'home' });
await page.locator('#f-segments-says').fill('ours');
await other.locator('#f-segments-says').fill('theirs');
await page.getByRole('button', { name: 'keep the change' }).click();
await until(() => /says: ours/.test(bytes()), 'the first is written');
await other.getByRole('button', { name: 'keep the change' }).click();
await other.getByText('This was changed elsewhere meanwhile').waitFor();
check(/says: ours/.test(bytes()) && !/theirs/.test(bytes()), 'both changed one segment: the first is kept');
check((await other.locator('.meanwhile table').innerText()).includes('ours'), 'and the second is shown what it says now');
equal(await other.locator('#f-segments-says').inputValue(), 'theirs', 'and has not lost what was typed');
await other.close();

/* ---- changed by an editor while a form is open ---- */
await go(page, { side: 'change', section: 'groups', item: 'paper' });
await page.locator('#f-groups-says').fill('typed in the page');
writeFileSync(file, bytes().replace('name: One of Each', 'name: One of Many'));
await page.evaluate(() => window.dispatchEvent(new Event('focus')));
await page.getByRole('heading', { name: 'One of Many' }).waitFor();
equal(await page.locator('#f-groups-says').inputValue(), 'typed in the page', 'what was typed outlives a change from outside');
await page.getByRole('button', { name: 'keep the change' }).click();
await said(page, /^Kept: /);
await page.locator('.form-foot button[disabled]', { hasText: 'as it was' }).waitFor();
check(/name: One of Many/.test(bytes()) && /says: typed in the page/.test(bytes()), 'and both are in the file');
writeFileSync(file, bytes().replace('says: typed in the page', 'says: typed in an editor'));
await page.locator('#f-groups-says').fill('typed again');
await page.getByRole('button', { name: 'keep the change' }).click();
await page.getByText('This was changed elsewhere meanwhile').waitFor();
check(/typed in an editor/.test(bytes()), 'the same thing changed outside: it is told, and not written over');
await page.getByRole('button', { name: 'take theirs' }).click();

/* ---- Ctrl-S in the text ---- */
await go(page, { side: 'promises', view: 'text' });
const area = page.locator('#file-text');
await area.waitFor();
const text = (await area.inputValue()).replace('says: the only floor', 'says: one floor');
await area.fill(text);
await page.keyboard.press('Control+s');
await said(page, /^Written/);
equal(bytes(), text, 'Ctrl-S writes the text as it stands there');

/* ---- the power goes, several times, while the page saves ---- */
await go(page, { side: 'change', section: 'devices', item: 'porch' });
const whole = new Set([bytes()]);
let known = bytes();
for (let i = 0; i < 6; i++) {
  const value = `porch ${i}`;
  await page.locator('#f-devices-says').fill(value);
  const next = known.replace(/porch: \{says: [^,]*,/, `porch: {says: ${value},`);
  whole.add(next);
  const pressed = page.getByRole('button', { name: 'keep the change' }).click();
  await new Promise((resolve) => setTimeout(resolve, i * i * 8));
  await Promise.all([pressed, server.kill()]);
  const is = bytes();
  check(is === known || is === next, `killed during save ${i + 1}: the file is whole, ${is === next ? 'with' : 'without'} the change`);
  yaml(file);
  if (i === 0) {
    await page.getByText('the program does not answer').first().waitFor();
    check(true, 'the page says that the program does not answer');
    equal(await page.locator('#f-devices-says').inputValue(), value, 'and keeps what was typed');
  }
  await server.again();
  await page.goto(server.link);
  await go(page, { side: 'change', section: 'devices', item: 'porch' });
  await page.locator('#f-devices-says').waitFor();
  known = bytes();
  equal(await page.locator('#f-devices-says').inputValue(), yaml(file).devices.porch.says, 'started again, the page shows what the file has');
}
await change(page, 'devices', 'porch', 'says', 'after all that');
check(/says: after all that/.test(bytes()), 'and saves as before');

/* ---- a step back while a design runs ---- */
await go(page, { side: 'design', view: 'history' });
await page.getByLabel('from what').selectOption('anew');
await page.getByRole('button', { name: 'begin', exact: true }).click();
await page.getByRole('button', { name: 'undo' }).click();
await page.locator('.wide-table tbody tr:first-child:not(.is-now)').waitFor();
check(!/says: after all that/.test(bytes()), 'taken back while a design is under way');
await page.getByText('the house has changed since').waitFor();
check(true, 'its result says that the house has changed since');

equal(withoutServer(page.wrong).join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
