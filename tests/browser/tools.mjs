/* Every drawing tool that the flat of three rooms does without: by the pointer, then with a finger on a telephone of 360 px.  What each puts
   into the file is read by PyYAML; the wanted places are worked out by hand from where was pointed.  The outer walls are 0.268 m thick
   (brick_cavity: docs/house_file.md), the rooms 2.4 m high. */
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { browse, check, done, equal, open, serve, told, until, yaml } from './kit.mjs';

const source = join(tmpdir(), `tools_${process.pid}.house.yaml`);
writeFileSync(
  source,
  `rooftree: 1
name: Tools
country: DE
time_zone: Europe/Berlin
currency: EUR
parts_file: ../parts/demo_eur.parts.yaml
floors:
  ground: {level_m: 0, height_m: 2.4, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}
walls:
  south: {floor: ground, construct: brick_cavity, line: [[0, 0], [8, 0]]}
  east: {floor: ground, construct: brick_cavity, line: [[8, 0], [8, 6]]}
  north: {floor: ground, construct: brick_cavity, line: [[8, 6], [0, 6]]}
  west: {floor: ground, construct: brick_cavity, line: [[0, 6], [0, 0]]}
rooms:
  hall: {floor: ground, use: hall, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}
neighbours: # the first two were heard in one place
  left_2: {band: 2.4, channel: 1, level_dbm: -62, floor: ground, at_m: [6.00, 4, 1.2]}
  left_5: {band: 5, channel: 36, level_dbm: -70, floor: ground, at_m: [6, 4, 1.2]}
  cafe_2: {band: 2.4, channel: 6, level_dbm: -80}
`,
);
const server = await serve([source]);
rmSync(source);
const browser = await browse();
const page = await open(browser, server);
const name = `tools_${process.pid}`;
const file = join(server.houses, `${name}.house.yaml`);
const house = () => yaml(file);
const bytes = () => readFileSync(file, 'utf8');
const address = (hash) => `${server.base}/#${new URLSearchParams({ house: name, side: 'change', view: 'plan', ...hash })}`;
const is = (value, wanted, says) => equal(JSON.stringify(value), JSON.stringify(wanted), says);

async function spotOn(p, x, y) {
  const b = await p.evaluate(() => {
    const r = document.querySelector('svg.house .ground').getBoundingClientRect();
    return { x: r.left, y: r.bottom, s: r.width / 8 };
  });
  return [b.x + x * b.s, b.y - y * b.s];
}
async function click(x, y) {
  const [u, v] = await spotOn(page, x, y);
  await page.mouse.move(u, v, { steps: 2 });
  await page.mouse.down();
  await page.mouse.up();
}
/* the drawing may still move under a head that grew by a line: until two looks agree */
async function still(p) {
  let before = '';
  for (let i = 0; i < 100; i++) {
    const now = await p.evaluate(
      () => new Promise((resolve) => requestAnimationFrame(() => resolve(JSON.stringify(document.querySelector('svg.house .ground')?.getBoundingClientRect())))),
    );
    if (now === before) return;
    before = now;
  }
}
async function tool(word) {
  await page.getByRole('group', { name: 'Tool' }).getByRole('button', { name: word, exact: true }).click();
  await page.locator('[aria-label=Tool] [aria-pressed=true]', { hasText: word }).waitFor();
  await page.locator('.tool-head').waitFor();
  await still(page);
}
const head = page.locator('.tool-head');
/* Done once the file is another: what the page says may be what it said before. */
async function kept(deed, says) {
  const before = bytes();
  const revision = page.locator('.title-block div:last-child dd');
  const was = await revision.innerText();
  await deed();
  await revision.filter({ hasNotText: was }).waitFor();
  check(bytes() !== before, says);
  await still(page);
}

await page.goto(address({}));
await page.locator('svg.house .wall').nth(3).waitFor({ state: 'attached' });
await page.locator('.title-block .when').waitFor({ state: 'attached' });

/* ---- a passage ---- */
await tool('passage');
await kept(() => click(4, 0), 'a passage is put on the south wall');
const [gap] = house().walls.south.openings;
equal(gap.kind, 'gap', 'it is a gap');
check(Math.abs(gap.at_m + gap.width_m / 2 - 4) < 0.001, `in the middle of 8 m: from ${gap.at_m}, ${gap.width_m} wide`);

/* ---- solid things: an area, and a flat one ---- */
await tool('solid thing');
await head.getByLabel('of').selectOption('furniture_full');
await kept(async () => {
  await click(5, 1);
  await click(6, 2);
}, 'a full bookcase is drawn by two corners');
is(house().obstacles.furniture_full, { floor: 'ground', construct: 'furniture_full', outline: [[5, 1], [6, 1], [6, 2], [5, 2]], from_m: 0, to_m: 2 }, 'and stands where it was drawn');
await head.getByLabel('of').selectOption('mirror');
await head.getByRole('button', { name: 'point by point' }).click();
await still(page);
await kept(async () => {
  await click(2, 4);
  await click(3, 4);
  await click(3, 4);
}, 'a mirror is drawn by two points, the second twice');
is(house().obstacles.mirror.line, [[2, 4], [3, 4]], 'and is a line');

/* ---- cable ways ---- */
await tool('cable way');
await head.getByLabel('kind').selectOption('skirting');
await kept(async () => {
  await click(1, 0);
  await click(7, 0);
  await click(7, 0);
}, 'a skirting is drawn along the wall');
is(house().runs.skirting_1, { kind: 'skirting', floors: ['ground'], line: [[1, 0.194, 0.06], [7, 0.194, 0.06]] }, 'it lies before the wall: half of 0.268, and 0.06');
await head.getByLabel('kind').selectOption('ceiling_void');
await still(page);
await kept(async () => {
  await click(1, 1);
  await click(4, 5);
}, 'a void above the ceiling is drawn by two corners');
is(house().runs.ceiling_void_1.outline, [[1, 1], [4, 1], [4, 5], [1, 5]], 'as an area');
await head.getByLabel('kind').selectOption('riser');
await still(page);
await click(7, 5);
await page.locator('.tool-wrong').waitFor();
check(/no(ne)? above/.test(await page.locator('.tool-wrong').innerText()), 'a riser from the only floor is refused in words');

/* ---- a mount, a device, the line ---- */
await tool('mount');
await kept(() => click(4, 3), 'a mount is put in the middle');
is(house().mounts.hall_ceiling, { room: 'hall', at_m: [4, 3, 2.38], surface: 'ceiling', use: ['access_point'] }, 'under the ceiling of the room it is in');
await tool('mount');
await head.getByLabel('for').selectOption('outlet');
await kept(() => click(0.2, 2), 'an outlet by the west wall');
is(house().mounts.hall_wall, { room: 'hall', at_m: [0.154, 2, 0.3], surface: 'wall', faces_deg: 90, use: ['outlet'] }, 'before the wall (half of 0.268, and 0.02), facing east');
await tool('device');
await head.getByLabel('kind').selectOption('television');
await head.getByLabel('by').selectOption('wired');
await head.getByLabel('name').fill('Front screen');
await kept(() => click(2, 2), 'a television is put down');
is(house().devices.front_screen, { says: 'Front screen', kind: 'television', room: 'hall', at_m: [2, 2, 0.75], link: 'wired' }, 'with its name, and how it is joined');
await tool('line');
await head.getByLabel('Mb/s down').fill('100');
await kept(() => click(0.5, 0.5), 'the line enters');
is(house().line, { kind: 'fibre', down_mbps: 100, up_mbps: 50, floor: 'ground', at_m: [0.5, 0.5, 0.3] }, 'where was pointed, as fast as was typed');

/* ---- a floor on top, with a hole and a roof; the riser now leads there ---- */
await tool('floor');
await kept(() => head.getByRole('button', { name: 'a floor on top' }).click(), 'a floor is put on top');
is(house().floors.upper.outline, [[0, 0], [8, 0], [8, 6], [0, 6]], 'with the outline of the one below');
equal(house().floors.upper.level_m, 2.7, '2.4 m and a slab of 0.3 m higher');
equal(Object.values(house().walls).filter((w) => w.floor === 'upper').length, 4, 'and its outer walls');
await page.getByRole('group', { name: 'Floor' }).locator('[aria-pressed=true]', { hasText: 'upper' }).waitFor();
await tool('hole');
await head.getByLabel('what it is').fill('stairs');
await kept(async () => {
  await click(1, 1);
  await click(3, 2);
}, 'a hole is drawn in it');
is(house().floors.upper.holes, [{ what: 'stairs', outline: [[1, 1], [3, 1], [3, 2], [1, 2]] }], 'for the stairs');
await page.goto(address({ floor: 'upper', section: 'floors', item: 'upper', tool: '' }));
await page.locator('.reshape .handle').nth(7).waitFor();
await still(page);
await kept(async () => {
  await page.mouse.move(...(await spotOn(page, 3, 2)));
  await page.mouse.down();
  for (const x of [3.3, 3.7, 4]) await page.mouse.move(...(await spotOn(page, x, 2)));
  await page.mouse.up();
}, 'a corner of the hole is dragged');
is(house().floors.upper.holes[0].outline, [[1, 1], [3, 1], [4, 2], [1, 2]], 'and only that moves');
await kept(() => page.getByRole('button', { name: 'undo' }).first().click(), 'and back again');
await tool('roof');
await head.getByLabel('lower edge').fill('1');
await head.getByLabel('upper edge').fill('2.2');
await head.getByLabel('upper edge').blur();
await kept(async () => {
  await click(0, 0);
  await click(8, 6);
}, 'a slope is drawn over it');
is(house().planes.slope_1.outline, [[0, 0, 1], [8, 0, 1], [8, 6, 2.2], [0, 6, 2.2]], 'rising from the first edge to the one across');
await page.getByRole('group', { name: 'Floor' }).getByRole('button', { name: 'ground', exact: true }).click();
await tool('cable way');
await head.getByLabel('kind').selectOption('riser');
await still(page);
await kept(() => click(7, 5), 'now a riser is drawn');
is(house().runs.riser_1.floors, ['ground', 'upper'], 'from floor to floor');

/* ---- a wall split, a thing removed by Delete ---- */
await page.goto(address({ section: 'walls', item: 'north', tool: '' }));
await page.getByRole('button', { name: 'split it' }).click();
await still(page);
await kept(() => click(3, 6), 'the north wall is split');
is([house().walls.north.line, house().walls.north_1?.line], [[[8, 6], [3, 6]], [[3, 6], [0, 6]]], 'where was pointed');
await page.goto(address({ section: 'obstacles', item: 'mirror', tool: '' }));
await page.locator('.reshape .handle').first().waitFor();
await page.locator('svg.house').focus();
await kept(() => page.keyboard.press('Delete'), 'Delete removes what is chosen');
is(Object.keys(house().obstacles), ['furniture_full'], 'the mirror, and nothing else');
equal(await page.evaluate(() => document.activeElement.classList.contains('house')), true, 'and the drawing keeps the focus');
told('check', file, '--json'); /* throws if the command line cannot read what was drawn */

/* ---- whatever has a place is moved: by the pointer, by arrow keys, each in one step that can be undone ---- */
async function drag(from, to) {
  await page.mouse.move(...(await spotOn(page, ...from)));
  await page.mouse.down();
  for (const k of [0.3, 0.7, 1]) await page.mouse.move(...(await spotOn(page, from[0] + k * (to[0] - from[0]), from[1] + k * (to[1] - from[1]))));
  await page.mouse.up();
}
async function undone(deed, says) {
  const before = bytes();
  await kept(deed, says);
  const after = bytes();
  await kept(() => page.getByRole('button', { name: 'undo' }).first().click(), 'and undone');
  equal(bytes(), before, 'in one step, to the byte');
  await kept(() => page.getByRole('button', { name: 'redo' }).first().click(), 'and done again');
  equal(bytes(), after, 'in one step too');
}
async function chosen(section, item) {
  await page.goto(address({ floor: 'ground', section, item, tool: '' }));
  await page.locator(section === 'neighbours' ? `.neighbour.is-chosen[data-path="/neighbours/${item}"]` : '.reshape .handle').first().waitFor();
  await still(page);
}
await chosen('neighbours', 'left_2');
equal(await page.locator('.house .neighbour').count(), 2, 'a neighbour without a place is heard all over the house, and is not drawn');
await undone(() => drag([6, 4], [3, 5]), 'of two neighbours in one place the chosen one is dragged');
is([house().neighbours.left_2.at_m, house().neighbours.left_5.at_m], [[3, 5, 1.2], [6, 4, 1.2]], 'and the other stays, as does the height');
await page.locator('.neighbour[data-path="/neighbours/left_5"]').focus();
await undone(async () => {
  for (const key of ['ArrowLeft', 'ArrowLeft', 'ArrowUp', 'Shift+ArrowUp', 'Enter']) await page.keyboard.press(key);
}, 'a neighbour is moved by arrow keys');
is(house().neighbours.left_5.at_m, [5.8, 4.6, 1.2], 'by 0.1, with Shift by 0.5');
await page.locator('.entry').focus();
await undone(async () => {
  for (const key of ['Shift+ArrowRight', 'ArrowDown', 'Enter']) await page.keyboard.press(key);
}, 'so is the line’s entry');
is(house().line.at_m, [1, 0.4, 0.3], 'which has a place like any other');
await undone(() => drag([1, 0.4], [0.5, 0.5]), 'and dragged back');
is(house().line.at_m, [0.5, 0.5, 0.3], 'to where it was');
await chosen('walls', 'south');
await page.getByRole('button', { name: /^passage, opening 1/ }).focus();
await undone(async () => {
  for (const key of ['ArrowRight', 'ArrowRight', 'Shift+ArrowRight', 'Enter']) await page.keyboard.press(key);
}, 'a passage goes along its wall by arrow keys');
check(Math.abs(house().walls.south.openings[0].at_m - gap.at_m - 0.6) < 1e-9, 'by 0.05, with Shift by 0.5');
await chosen('obstacles', 'furniture_full');
await page.getByRole('button', { name: /^all of furniture full/ }).focus();
await undone(async () => {
  for (const key of ['Shift+ArrowLeft', 'ArrowUp', 'Enter']) await page.keyboard.press(key);
}, 'a solid thing is moved as a whole by arrow keys');
is(house().obstacles.furniture_full.outline, [[4.5, 1.05], [5.5, 1.05], [5.5, 2.05], [4.5, 2.05]], 'all its corners alike');
await chosen('runs', 'skirting_1');
await undone(() => drag([2, 0.194], [2, 1.194]), 'a cable way is dragged as a whole');
is(house().runs.skirting_1.line, [[1, 1.194, 0.06], [7, 1.194, 0.06]], 'and keeps its height');
await page.goto(address({ floor: 'upper', section: 'floors', item: 'upper', tool: '' }));
await page.locator('.reshape .handle').nth(7).waitFor();
await still(page);
await undone(() => drag([2, 1.5], [3, 2.5]), 'a hole is dragged as a whole');
is(house().floors.upper.holes[0].outline, [[2, 2], [4, 2], [4, 3], [2, 3]], 'and nothing else of its floor');

/* ---- a telephone: drawn with a finger ---- */
const phone = await browser.newContext({ viewport: { width: 360, height: 780 }, hasTouch: true, isMobile: true, locale: 'en-GB', storageState: await page.context().storageState() });
const hand = await phone.newPage();
hand.setDefaultTimeout(Number(process.env.RT_PATIENCE_MS ?? 120000));
await hand.goto(address({ floor: 'ground', page: 'sheet' }));
await hand.locator('svg.house .wall').nth(4).waitFor({ state: 'attached' });
const tap = async (x, y) => hand.touchscreen.tap(...(await spotOn(hand, x, y)));
async function pickUp(word) {
  await hand.locator('.head-now button', { hasText: 'choose' }).tap();
  await hand.getByRole('group', { name: 'Tool' }).getByRole('button', { name: word, exact: true }).tap();
  if (await hand.locator('#head-choices.is-open').count()) await hand.locator('.head-now button', { hasText: 'close' }).tap();
  await hand.locator('.tool-head').waitFor();
  await still(hand);
}
const wide = await hand.evaluate(() => document.documentElement.scrollWidth);
check(wide <= 360, `the sheet fits: ${wide} px`);
await pickUp('wall');
await tap(0, 4);
await tap(4, 4);
await tap(8, 4);
await hand.locator('.said', { hasText: 'Kept' }).waitFor();
is([house().walls.wall_1?.line, house().walls.wall_2?.line], [[[0, 4], [4, 4]], [[4, 4], [8, 4]]], 'two stretches of wall by three taps, ended by the wall that is met');
await pickUp('door');
await hand.locator('.house .wall').nth(6).waitFor({ state: 'attached' });
await tap(2, 4);
await hand.locator('.house .wall .opening').nth(1).waitFor({ state: 'attached' });
equal(house().walls.wall_1.openings?.[0].kind, 'door', 'a door by one tap');
const before = await hand.evaluate(() => document.querySelector('svg.house .ground').getBoundingClientRect().width);
const cdp = await phone.newCDPSession(hand);
const [u, v] = await spotOn(hand, 4, 2);
const touch = (type, apart) =>
  cdp.send('Input.dispatchTouchEvent', { type, touchPoints: type === 'touchEnd' ? [] : [{ x: u - apart, y: v, id: 0 }, { x: u + apart, y: v, id: 1 }] });
await touch('touchStart', 30);
for (const apart of [40, 50, 60]) await touch('touchMove', apart);
await touch('touchEnd', 0);
const after = await hand.evaluate(() => document.querySelector('svg.house .ground').getBoundingClientRect().width);
check(after > before * 1.5 && after < before * 2.5, `two fingers twice as far apart show it twice as large: ${(after / before).toFixed(2)}`);
equal(Object.keys(house().walls).length, 11, 'and draw nothing');

/* one finger drags a neighbour */
await hand.goto(address({ floor: 'ground', page: 'sheet', section: 'neighbours', item: 'left_5', tool: '' }));
await hand.locator('.neighbour.is-chosen').waitFor();
await still(hand);
const finger = async (type, at) => {
  const [x, y] = at ? await spotOn(hand, ...at) : [];
  await cdp.send('Input.dispatchTouchEvent', { type, touchPoints: at ? [{ x, y, id: 0 }] : [] });
};
const heard = house().neighbours.left_5.at_m;
await finger('touchStart', heard);
for (const x of [5, 4, 3]) await finger('touchMove', [x, 3]);
await finger('touchEnd');
await until(() => house().neighbours.left_5.at_m[0] !== heard[0], 'the neighbour stands elsewhere');
check(Math.hypot(house().neighbours.left_5.at_m[0] - 3, house().neighbours.left_5.at_m[1] - 3) < 0.06, `a finger drags a neighbour: to ${house().neighbours.left_5.at_m}`);

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
