/* The views in rows, and the design, by keys alone (WCAG 2.2: 2.1.1 keyboard, 2.4.3 order of focus, 2.1.2 no trap): no pointer is used, the
   focus goes by Tab and Shift-Tab, and after every deed it is on something that is seen. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, browse, check, done, equal, open, serve, tabTo, until } from './kit.mjs';

const server = await serve(['quay_flat', join(ROOT, 'tests/browser/one_of_each.house.yaml')]);
const file = join(server.houses, 'quay_flat.house.yaml');
const began = readFileSync(file, 'utf8');
const partsFile = join(server.houses, '..', 'parts', 'demo_eur.parts.yaml');
/* another house to be compared with: the same under another name, with one device fewer */
const other = began.replace(/^name:.*/m, 'name: The Other Flat');
writeFileSync(join(server.houses, 'other_flat.house.yaml'), other);
const browser = await browse();
const page = await open(browser, server);
const streams = new Set(); /* of changes, which take one of the browser's few connections each */
page.on('request', (r) => r.url().endsWith('/changes/events') && streams.add(r));
for (const end of ['requestfinished', 'requestfailed']) page.on(end, (r) => streams.delete(r));

const go = async (hash) => {
  await page.goto(`${server.base}/#`);
  await page.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);
  await judged();
};
const judged = () => page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor({ state: 'attached' }); /* on a telephone it is on the other page */
const press = async (...keys) => {
  for (const k of keys) await page.keyboard.press(k);
};
const said = (text) => page.locator('.said', { hasText: text }).waitFor();
const focused = () =>
  page.evaluate(() => {
    const e = document.activeElement;
    if (!e || e === document.body || !e.checkVisibility({ visibilityProperty: true })) return '';
    return `${e.tagName.toLowerCase()} ${(e.getAttribute('aria-label') || e.textContent || e.id).replace(/\s+/g, ' ').trim().slice(0, 60)}`;
  });
/* after what was done is drawn */
async function held(what) {
  await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve))));
  const now = await focused();
  check(now !== '', `${what}: the focus is on ${now || 'nothing'}`);
  return now;
}
/* A view, chosen by its word in the sheet's head. */
async function choose(word) {
  await tabTo(page, '.sheet-head button.word', word);
  await press('Enter');
  await held(`after ${word} is chosen`);
}

/* ---- the week ---- */
await go({ side: 'promises', view: 'apart' });
await choose('week');
await page.locator('.week .chart').first().waitFor();
await tabTo(page, '.chart-place');
const place = page.locator('.chart-place').first();
equal(await place.evaluate((e) => e === document.activeElement), true, 'a picture of the week takes the focus, to be moved along by arrows');
await page.setViewportSize({ width: 360, height: 780 });
await go({ side: 'promises', view: 'week', page: 'sheet' });
await page.locator('.week .chart').first().waitFor();
await tabTo(page, '.chart-place');
const [seen, all] = await place.evaluate((e) => [e.clientWidth, e.scrollWidth]);
await press('ArrowRight', 'ArrowRight', 'ArrowRight');
await until(() => place.evaluate((e) => e.scrollLeft > 0), 'the picture moves by the arrow keys');
check(all > seen, `on a telephone the picture, ${all} px wide, is moved by arrow keys in its ${seen} px`);
await page.setViewportSize({ width: 1440, height: 900 });
await go({ side: 'promises', view: 'week' });
await page.locator('.week .chart').first().waitFor();
await tabTo(page, '.chart summary');
for (const [key, is] of [['Enter', true], ['Space', false], ['Space', true]]) {
  await press(key);
  equal(await page.locator('.chart details').first().evaluate((e) => e.open), is, `${key} ${is ? 'opens' : 'closes'} the figures of each hour`);
}
await press('Tab');
equal((await held('and Tab leads into them')).includes('figures of each hour'), true, 'the table of figures can be moved along');
await go({ house: 'one_of_each', side: 'promises', view: 'week' });
await page.locator('.hours-list button').first().waitFor();
await tabTo(page, '.hours-list button');
await press('Enter');
await page.locator('form.item-form').waitFor();
await held('after hours are chosen in the week');

/* ---- the history ---- */
await go({ side: 'change', view: 'history', section: 'devices', item: 'printer' });
const keep = async (text) => {
  await tabTo(page, '#f-devices-says');
  await press('Control+a');
  await page.keyboard.type(text);
  await tabTo(page, '.form-foot button.main');
  await press('Enter');
  await said('Kept: printer changed');
  await judged();
};
await keep('first name');
await keep('second name');
await go({ side: 'promises', view: 'history' });
await page.locator('rt-history tbody tr').nth(2).waitFor();
await tabTo(page, 'rt-history button', '', 1);
await press('Enter');
await said('Back at revision');
await judged();
equal(readFileSync(file, 'utf8'), began, 'the first revision is had back by keys, to the byte');
check((await held('after a revision is had back')).endsWith('revision 1'), 'and still with that revision');

/* ---- failures ---- */
await choose('failures');
await page.locator('.failures-table tbody tr').first().waitFor();
await tabTo(page, '.failures-table summary');
await press('Enter');
equal(await page.locator('.failures-table details').first().evaluate((e) => e.open), true, 'what goes with a failure is opened by Enter');
await press('Space');
equal(await page.locator('.failures-table details').first().evaluate((e) => e.open), false, 'and closed by the space bar');
await tabTo(page, '.failures-table button');
await press('Enter');
await page.locator('.after-failure').waitFor();
check((await held('after a failure is shown on the drawing')).startsWith('h2 When'), 'on what it does');
await tabTo(page, '.after-failure button', 'all failures');
await press('Enter');
await page.locator('.failures-table').waitFor();
await held('after all failures are asked for again');
await tabTo(page, '.after-failure button', 'as if nothing');
await press('Space');
await page.locator('.after-failure').waitFor({ state: 'detached' });
await held('after the failure is taken back');

/* ---- parts: the table, its prices ---- */
await choose('parts');
await page.locator('.part-list table').first().waitFor();
const parts = readFileSync(partsFile, 'utf8');
await tabTo(page, '.ways button', 'change prices');
await press('Enter');
await page.locator('.part-list input').first().waitFor();
await held('after prices are begun to be changed');
await tabTo(page, '.part-list input');
await press('Control+a');
await page.keyboard.type('none at all');
await press('Enter');
await page.locator('.part-list [aria-invalid=true]').waitFor();
check((await held('after a price that is none')).startsWith('input'), 'it is in the field concerned');
await press('Control+a');
await page.keyboard.type('71.5');
await press('Enter');
await said('Kept: price of');
await judged();
check(/price: 71\.5/.test(readFileSync(partsFile, 'utf8')), 'the price is in the file');
await held('after prices are kept');
await tabTo(page, '.part-list .ways button', 'undo in the parts');
await press('Enter');
await said('The parts one step back');
await judged();
equal(readFileSync(partsFile, 'utf8'), parts, 'undo by keys gives the parts file back to the byte');
await held('after undo, when there is nothing to undo any more');
await tabTo(page, '.ways button', 'change prices');
await press('Enter');
await page.locator('.part-list input').first().waitFor();
await tabTo(page, '.part-list .ways button', 'as they were');
await press('Space');
await page.locator('.part-list input').first().waitFor({ state: 'detached' });
await held('after prices are left as they were');

/* ---- one part in its form ---- */
await tabTo(page, '.part-list th button.word');
await press('Enter');
await page.locator('rt-part form.item-form').waitFor();
await held('after a part is chosen');
await tabTo(page, '#f-parts-says');
await press('Control+a');
await page.keyboard.type('By keys alone');
await press('Tab'); /* which hands over what was typed */
await tabTo(page, 'rt-part .form-foot button', 'as it was');
await press('Enter');
await held('after "as it was", which then has nothing to do');
await tabTo(page, '#f-parts-says');
await press('Control+a');
await page.keyboard.type('By keys alone');
await press('Enter');
await said('Kept: part');
await judged();
check(readFileSync(partsFile, 'utf8').includes('By keys alone'), 'the part is changed');
await held('after a part is changed');
await tabTo(page, 'rt-part .form-foot button', 'copy');
await press('Enter');
await page.locator('rt-part h2', { hasText: 'new: a copy' }).waitFor();
await held('after a copy is begun');
await tabTo(page, 'rt-part #item-id');
await page.keyboard.type('of_keys');
await press('Enter');
await said('Kept: part of_keys added');
await judged();
await held('after a part is added');
await tabTo(page, 'rt-part .form-foot button', 'remove');
await press('Enter');
await said('Kept: part of_keys removed');
await judged();
await held('after a part is removed');
await tabTo(page, 'rt-part input[type=search]');
await page.keyboard.type('battery');
await page.locator('rt-part .things-list li').first().waitFor();
await tabTo(page, 'rt-part .things-list li button');
await press('Space');
await page.locator('rt-part form.item-form').waitFor();
await held('after a part is found and opened');
await tabTo(page, 'rt-part .crumbs button', 'parts');
await press('Enter');
await page.locator('rt-part .things-list').waitFor();
await held('after its form is left');

/* ---- compare ---- */
await go({ side: 'promises', view: 'compare' });
await page.locator('rt-compare select').first().waitFor();
await tabTo(page, 'rt-compare select');
await page.keyboard.type('The Other');
await page.locator('rt-compare table').first().waitFor();
await held('after another house is put beside this one');

/* ---- the design ---- */
await go({ side: 'design', view: 'history' });
await page.locator('.design').waitFor();
await tabTo(page, '.design select[aria-label="from what"]');
await press('ArrowDown');
equal(await page.locator('.design select').first().inputValue(), 'anew', 'from what is chosen by the arrow keys');
await press('ArrowUp');
await tabTo(page, '.design select[aria-label="how long"]');
await press('Home');
equal(await page.locator('.design select').nth(1).inputValue(), '10', 'and how long');
await tabTo(page, '.design button.main', 'begin');
await press('Enter');
await page.locator('.progress').waitFor();
check((await held('after a design is begun, when it cannot be begun again')).includes('stop'), 'on what stops it');
await page.locator('.design h3').waitFor();
await judged();
check((await held('after it is ready, when it cannot be stopped any more')).includes('What came of it'), 'on what came of it');
await tabTo(page, '.design input[type=checkbox]');
await press('Space');
equal(await page.locator('.design input[type=checkbox]').first().isChecked(), false, 'a part of it is left out by the space bar');
await press('Space');
await tabTo(page, '.design details summary');
await press('Enter');
equal(await page.locator('.design details').evaluate((e) => e.open), true, 'the bill is opened by Enter');
await tabTo(page, '.design .form-foot button.main');
await press('Enter');
await said('The design was taken');
await judged();
await held('after a design is taken');
await press('Control+z');
await said('One step back');
equal(readFileSync(file, 'utf8'), began, 'and taken back by Control-Z, to the byte');
/* a longer search, stopped */
await tabTo(page, '.design select[aria-label="how long"]');
await press('End');
await tabTo(page, '.design button.main', 'begin');
await press('Space');
await page.locator('.progress').waitFor();
check((await held('after a longer one is begun')).includes('stop'), 'on what stops that');
await press('Enter');
await page.locator('.design h3, .design .stopped').first().waitFor();
await page.locator('.progress').waitFor({ state: 'detached' });
await held('after a design is stopped');

equal(streams.size, 1, 'of all houses that were opened one after the other, only the last is followed');
equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
