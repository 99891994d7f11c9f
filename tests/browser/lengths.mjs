/* Lengths as people type them.  Expected: by hand, from the international foot of exactly 0.3048 m (NIST Handbook 44, appendix C) and
   its twelfth, rounded to the millimetre. */
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT, browse, done, equal, open, serve } from './kit.mjs';

globalThis.navigator ??= { languages: ['en-GB'] }; /* the reader whose figures are checked */

const { transformSync } = createRequire(join(ROOT, 'ui/package.json'))('esbuild');
const { code } = transformSync(readFileSync(join(ROOT, 'ui/src/units.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
const { area, length, readLength, readLengths, typedLength, withUnit } = await import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);

const CASES = [
  ["6'2\"", 'ft', 1.88],
  ['6′ 2″', 'ft', 1.88],
  ['6 ft 2 in', 'ft', 1.88],
  ['6ft2', 'ft', 1.88],
  ['74 in', 'ft', 1.88],
  ['74"', 'm', 1.88],
  ['6 ft 2 1/2 in', 'ft', 1.892],
  ['6.5', 'ft', 1.981],
  ['6,5', 'ft', 1.981],
  ['6.5 ft', 'm', 1.981],
  ['8′ 2½″', 'ft', 2.502],
  ['½″', 'm', 0.013],
  ['1/2 in', 'ft', 0.013],
  ['6\' 1/4"', 'ft', 1.835],
  ["-3'", 'ft', -0.914],
  ['-3\'6"', 'ft', -1.067],
  ['2.4', 'm', 2.4],
  ['2,4', 'm', 2.4],
  ['−2,4', 'm', -2.4],
  ['0.0125', 'm', 0.0125],
  ['188 cm', 'ft', 1.88],
  ['1880mm', 'm', 1.88],
  ['1,88 m', 'ft', 1.88],
  ['', 'm', null],
  ['six', 'ft', null],
  ["'", 'ft', null],
  ['6 2', 'ft', null],
  ['6 m 2', 'm', null],
  ['1.2.3', 'm', null],
];
for (const [text, unit, wanted] of CASES) equal(readLength(text, unit), wanted, `${JSON.stringify(text)} where lengths are in ${unit}`);
equal(JSON.stringify(readLengths('6\' 2" 3\'', 'ft')), '[1.88,0.914]', 'two of them');
equal(JSON.stringify(readLengths("6' 3'", 'ft')), '[1.829,0.914]', 'two of whole feet');
equal(JSON.stringify(readLengths('6\' 2 1/2" 3\'', 'ft')), '[1.892,0.914]', 'one with a fraction');
equal(JSON.stringify(readLengths('3 -4,5', 'm')), '[3,-4.5]', 'and two in metres');
/* converted back, what was stored is what was typed, to half a millimetre */
for (let inches = 1; inches < 400; inches += 7) {
  const [stored, wanted] = [readLength(`${Math.floor(inches / 12)}'${inches % 12}"`, 'ft'), inches * 0.0254];
  if (Math.abs(stored - wanted) > 0.000501) equal(stored, wanted, `${inches} inches`);
}

/* ---- shown: feet and inches, to the quarter of an inch; in a row of text to the inch ---- */
const SHOWN = [
  [0, '0′'],
  [1.8288, '6′'],
  [1.8796, '6′ 2″'],
  [2.502, '8′ 2½″'],
  [2.5, '8′ 2½″'] /* 98.425 in: 2.425 beyond 8 feet, nearer to a half than to a quarter */,
  [0.0127 * 5, '2½″'],
  [0.3047, '1′'],
  [3.6512, '11′ 11¾″'],
  [-0.4572, '−1′ 6″'],
  [0.0125, '0.49″'],
];
for (const [metres, wanted] of SHOWN) equal(length(metres, 'ft').replace('\u00a0', ' '), wanted, `${metres} m`);
equal(length(12.3, 'ft', 1).replace('\u00a0', ' '), '40′ 4″', 'a cable of 12.3 m, 484.25 in');
equal(area(9.290304, 'ft'), '100 ft²', 'ten feet by ten');
equal(`${withUnit('6.5', 'ft')}, ${withUnit('6\'2"', 'ft')}`, '6.5 ft, 6\'2"', 'the unit that is meant, unless it is named');

/* ---- typed back as shown, not a digit of it changes: any millimetre, and what is finer ---- */
for (const unit of ['m', 'ft'])
  for (let k = -300; k < 12000; k++) {
    const metres = k / 1000 + (k % 3) * 0.00007;
    const back = readLength(typedLength(metres, unit), unit, [metres + 2, metres]);
    if (back !== metres) equal(back, metres, `${metres} m typed back as ${typedLength(metres, unit)}`);
  }
equal(readLength('8\' 2 1/2"', 'ft', [2.5]), 2.5, 'also in other marks');
equal(readLength('8′ 3″', 'ft', [2.5]), 2.515, 'another length is another');

/* ---- on the page: a form in feet, typed back and changed in one place ---- */
const source = join(tmpdir(), `lengths_${process.pid}.house.yaml`);
writeFileSync(
  source,
  `rooftree: 1
name: Lengths
country: US
time_zone: America/Denver
currency: USD
floors:
  ground: {level_m: 0, height_m: 2.4384, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}
rooms:
  hall: {floor: ground, use: hall, outline: [[0, 0], [8.000, 0], [8, 6], [0, 6]]}
mounts:
  spot: {room: hall, at_m: [2.500, 3.1234, 2.38], surface: ceiling, use: [access_point]}
`,
);
const server = await serve([source]);
rmSync(source);
const browser = await browse();
const page = await open(browser, server);
const house = `lengths_${process.pid}`;
const file = join(server.houses, `${house}.house.yaml`);
const bytes = () => readFileSync(file, 'utf8');
const before = bytes();
const at = (section, item) => page.goto(`${server.base}/#${new URLSearchParams({ house, side: 'change', section, item })}`);
const plain = (text) => text.replace(/\u00a0/g, ' ');
const keep = page.locator('.form-foot button.main');
const revision = page.locator('.title-block div:last-child dd');

await at('mounts', 'spot');
const place = page.getByLabel(/^at/);
await place.waitFor();
await page.getByRole('button', { name: 'feet' }).click();
await page.locator('label', { hasText: 'at, ft' }).waitFor();
equal(plain(await place.inputValue()), '8′ 2½″, 10′ 3″, 7′ 9¾″', 'a place is shown in feet and inches');
await place.fill("1', 2', 3'");
await place.blur();
await place.fill('8\' 2 1/2", 10\' 3", 7\' 9 3/4"');
await place.blur();
await keep.click();
await page.locator('.said', { hasText: 'Nothing was changed' }).waitFor();
equal(bytes(), before, 'typed back as it was shown it is no change');
await place.fill('8\' 2 1/2", 11\', 7\' 9 3/4"');
await place.blur();
const was = await revision.innerText();
await keep.click();
await revision.filter({ hasNotText: was }).waitFor();
equal(bytes(), before.replace('3.1234', '3.353'), 'one figure of the place is another, and no other byte');

await at('floors', 'ground');
await page.getByLabel(/^height/).first().waitFor();
equal(await page.getByLabel(/^height/).first().inputValue(), '8′', 'a height of eight feet');
equal(plain(await page.getByLabel(/^outline/).first().inputValue()), '0′, 0′; 26′ 3″, 0′; 26′ 3″, 19′ 8¼″; 0′, 19′ 8¼″', 'an outline');
equal(page.wrong.join('; '), '', 'no error of the page');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
