/* Parts in the browser: their table, one in its form, prices, what a house needs, and that what is bought is judged anew.
   Expected: the demo's parts file as PyYAML reads it, and the command line's own bill. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve, told, until, yaml } from './kit.mjs';

const server = await serve(['quay_flat']);
const file = join(server.houses, '../parts/demo_eur.parts.yaml');
const house = join(server.houses, 'quay_flat.house.yaml');
const demo = readFileSync(file, 'utf8');
const browser = await browse();
const page = await open(browser, server);
const price = (id) => yaml(file).parts[id].price;
const cost = () => told('check', house, '--json').promises.find((p) => p.kind === 'cost');

await page.goto(`${server.base}/#house=quay_flat&side=change&section=parts&view=parts`);
await page.waitForSelector('.part-list table');
const rows = await page.locator('.part-list tbody tr').count();
equal(rows, Object.keys(yaml(file).parts).length, 'every part has its row');
await axe(page, 'parts');

/* prices, several in one step; what is wrong stands in its cell and nothing is written */
await page.getByText('change prices').click();
await page.getByLabel('price of Porter 4').fill('-3');
await page.getByText('keep the prices').first().click();
await page.waitForSelector('.part-list .field-wrong');
equal(readFileSync(file, 'utf8'), demo, 'a price below zero is not written');
await page.getByLabel('price of Porter 4').fill('213,5');
await page.getByLabel('price of Ledger 8', { exact: true }).fill('60');
await page.getByText('keep the prices').first().click();
await page.waitForSelector('text=change prices');
equal(price('gateway_1g'), 213.5, 'a price with a decimal comma');
equal(price('switch_8'), 60, 'and another in the same step');
const lines = (text) => text.split('\n');
const differ = lines(readFileSync(file, 'utf8')).filter((l, i) => l !== lines(demo)[i]);
equal(differ.length, 2, 'two lines of the file differ');
await page.getByRole('button', { name: 'promises', exact: true }).click();
await page.waitForSelector('.promise.is-broken:has-text("Not more than 220 in all")');
equal(cost().state, 'broken', 'the promise of what it costs is broken, as the command line says');

/* one step back in the parts, and the promise is kept */
await page.getByRole('button', { name: 'undo in the parts' }).click();
await page.waitForSelector('.promise.is-kept:has-text("Not more than 220 in all")');
equal(readFileSync(file, 'utf8'), demo, 'undone, byte for byte');

/* one in its form; a part that the house names cannot go */
await page.getByRole('button', { name: 'Porter 4' }).click();
await page.waitForSelector('text=named by Quay Flat (1)');
await axe(page, 'a part');
await page.getByRole('button', { name: 'remove', exact: true }).click();
await page.waitForSelector('.item-form .problems:has-text("Quay Flat could not be read any more")');
equal(readFileSync(file, 'utf8'), demo, 'and stays in the file');
await page.fill('#f-parts-price', 'dear');
await page.locator('#f-parts-price').blur();
await page.getByRole('button', { name: 'keep the change' }).click();
await page.waitForSelector('#f-parts-price[aria-invalid=true]');
check(true, 'what is wrong stands at its field');
await page.getByRole('button', { name: 'as it was' }).click();

/* a copy, changed and removed */
await page.getByRole('button', { name: 'copy', exact: true }).click();
await page.fill('#item-id', 'gateway_mine');
await page.fill('#f-parts-says', 'Porter of mine');
await page.locator('#f-parts-says').blur();
await page.getByRole('button', { name: 'add it' }).click();
await page.waitForSelector('.item-form h2:has-text("Porter of mine")');
const { says, ...rest } = yaml(file).parts.gateway_mine;
const { says: first, ...like } = yaml(file).parts.gateway_1g;
equal(says, 'Porter of mine', 'a copy with a name of its own');
check(first !== says && JSON.stringify(rest) === JSON.stringify(like), 'and all else of the first');

/* another program writes the file while a form is open: other members are put together, the same one is asked about */
await page.fill('#f-parts-maker', 'My shop');
await page.locator('#f-parts-maker').blur();
const outside = (text) => writeFileSync(file, text);
outside(readFileSync(file, 'utf8').replace(/says: Porter of mine/, 'says: Porter of ours'));
await page.evaluate(() => window.dispatchEvent(new Event('focus')));
await until(async () => (await page.inputValue('#f-parts-says')) === 'Porter of ours', 'their name');
equal(await page.inputValue('#f-parts-maker'), 'My shop', 'what was typed stays beside what another program wrote');
outside(readFileSync(file, 'utf8').replace(/(gateway_mine:\n\s+maker: ).*/, '$1Their shop'));
await page.evaluate(() => window.dispatchEvent(new Event('focus')));
await page.waitForSelector('.meanwhile');
await axe(page, 'both changed the same');
const row = await page.locator('.meanwhile tbody tr').allInnerTexts();
check(row.length === 1 && /My shop/.test(row[0]) && /Their shop/.test(row[0]), 'both stand side by side');
await page.getByRole('button', { name: 'write mine over it' }).click();
await page.getByRole('button', { name: 'keep the change' }).click();
await until(() => yaml(file).parts.gateway_mine.maker === 'My shop', 'mine goes over it, knowingly');
equal(yaml(file).parts.gateway_mine.says, 'Porter of ours', 'and theirs beside it stayed');

await page.getByRole('button', { name: 'remove', exact: true }).click();
await page.waitForSelector('.things-list');
equal(readFileSync(file, 'utf8'), demo, 'removed, the file is the demo byte for byte');

equal(page.wrong.length, 0, `the page complains of nothing${page.wrong.map((w) => `\n    ${w}`).join('')}`);
await browser.close();
equal(await server.stop(), 0, 'the program ends as it should');
done();
