/* A flat of three rooms is drawn from a blank house with pointer and keys, and the file is read by the command line.  Expected lengths
   and areas are worked out by hand from what was drawn. */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve(['quay_flat']); /* for its parts file */
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'three_rooms.house.yaml');
const text = () => readFileSync(file, 'utf8');
const line = (id) => JSON.parse(new RegExp(`  ${id}:[\\s\\S]*?line: (\\[\\[.*?\\]\\])`).exec(text())?.[1] ?? 'null');
const outline = (id) =>
  JSON.parse(new RegExp(`  ${id}:[\\s\\S]*?outline: (\\[\\[.*?\\]\\])`).exec(text())?.[1] ?? 'null');
const area = (p) =>
  Math.abs(p.reduce((s, [x, y], i) => s + x * p[(i + 1) % p.length][1] - p[(i + 1) % p.length][0] * y, 0) / 2);
const kept = (what) =>
  page
    .getByRole('status')
    .filter({ hasText: `Kept: ${what}` })
    .waitFor();

/* metres of the plan to pixels, through the floor's outline of 8 m as it is drawn */
let map = null;
async function look() {
  map = await page.evaluate(() => {
    const b = document.querySelector('svg.house .ground').getBoundingClientRect();
    return { x: b.left, y: b.bottom, scale: b.width / 8 };
  });
}
const at = (x, y) => [map.x + x * map.scale, map.y - y * map.scale];
const move = (x, y) => page.mouse.move(...at(x, y), { steps: 3 });
async function click(x, y) {
  await move(x, y);
  await page.mouse.down();
  await page.mouse.up();
}
async function tool(name) {
  await page.getByRole('group', { name: 'Tool' }).getByRole('button', { name, exact: true }).click();
  await page.locator('[aria-label=Tool] [aria-pressed=true]', { hasText: name }).waitFor();
  await page.waitForTimeout(150); /* the head may have grown by a line */
  await look();
}
const drawn = (selector, many) =>
  page
    .locator(selector)
    .nth(many - 1)
    .waitFor({ state: 'attached' });

/* ---- blank ---- */
await page.getByLabel('What people call it').fill('Three Rooms');
await page.locator('[name=country]').fill('DE');
await page.locator('[name=currency]').fill('EUR');
await page.locator('[name=width]').fill('8');
await page.locator('[name=depth]').fill('7');
await page.locator('[name=parts_file]').selectOption({ label: '../parts/demo_eur.parts.yaml, in EUR' });
/* the drawing comes later than the page: what is typed must reach it all the same */
const late = async (route) => {
  await new Promise((resolve) => setTimeout(resolve, 500));
  await route.continue();
};
await page.route('**/drawing', late, { times: 1 });
await page.getByRole('button', { name: 'Begin with a blank sheet' }).click();
await page.locator('svg.house.is-drawing').waitFor();
await page.locator('svg.house:focus').waitFor();
await page.keyboard.type('0 0');
await page.keyboard.press('Enter');
equal(await page.locator('.draft .drawn-point').count(), 1, 'two numbers typed at once are a place: the drawing has the focus');
await page.keyboard.press('Escape');
equal(await page.locator('.draft .drawn-point').count(), 0, 'and Escape gives it up');
check(await page.getByText('draw the outer walls').isVisible(), 'what is missing first is told: the outer walls');
equal(
  (await page.locator('.lacking button').allInnerTexts()).join('; '),
  'draw the outer walls; name the rooms; put an access point on the plan; choose the usual promises, or write one; put the devices on the plan; say where the line enters',
  'and all that is missing, in the order of the work',
);
await look();

/* ---- four outer walls: snapped to the outline, one length typed ---- */
await click(0.06, 0.07);
await move(5, 0.05);
check(/straight|outline/.test(await page.locator('.draft .caught').innerHTML()), 'what the pointer falls on is said');
await page.keyboard.type('8');
await page.keyboard.press('Enter');
await click(7.94, 6.95);
await click(3, 7.05); /* one too many, and taken back */
await page.keyboard.press('Backspace');
await click(0.05, 6.96);
await click(0.04, 0.05);
await kept('4 walls drawn');
equal(JSON.stringify(line('outer_wall_1')), '[[0,0],[8,0]]', 'the first wall is as long as was typed');
equal(JSON.stringify(line('outer_wall_2')), '[[8,0],[8,7]]', 'the second falls on the corner of the outline');
equal(JSON.stringify(line('outer_wall_4')), '[[0,7],[0,0]]', 'the last closes them');
await drawn('.house .wall', 4);

/* ---- two inner walls, the second by keys alone ---- */
await click(0.05, 3.01);
await click(7.95, 3.02);
await kept('wall_1 drawn');
equal(JSON.stringify(line('wall_1')), '[[0,3],[8,3]]', 'an inner wall ends on the axes of the outer ones');
await drawn('.house .wall', 5);
await page.locator('svg.house').focus();
await page.keyboard.type('4 3');
await page.keyboard.press('Enter');
for (let i = 0; i < 3; i++) await page.keyboard.press('ArrowUp');
await page.keyboard.type('4');
await page.keyboard.press('Enter');
if (!(await page.getByRole('status').filter({ hasText: 'Kept: wall_2' }).isVisible()))
  await page.keyboard.press('Escape');
await kept('wall_2 drawn');
equal(JSON.stringify(line('wall_2')), '[[4,3],[4,7]]', 'a wall by keys alone: from 4 3, northwards, 4 m');

/* ---- doors and windows ---- */
const openings = () => (text().match(/kind: (door|window)/g) ?? []).length;
await tool('door');
for (const [x, y, n] of [
  [2, 3, 1],
  [6, 3, 2],
  [4, 0, 3],
  [4, 5, 4],
]) {
  await click(x, y);
  await drawn('.house .wall .opening', n);
}
await tool('window');
for (const [x, y, n] of [
  [2, 7, 5],
  [6, 7, 6],
  [0, 1.5, 7],
]) {
  await click(x, y);
  await drawn('.house .wall .opening', n);
}
equal(openings(), 7, 'four doors and three windows');
check(/at_m: 3.55, width_m: 0.9/.test(text()), 'the door in the middle of 8 m begins at 3.55');

/* ---- rooms ---- */
await tool('room');
for (const [x, y, name] of [
  [2, 5, 'bedroom'],
  [6, 5, 'kitchen'],
  [6, 1.5, 'Long hall'],
]) {
  if (name === 'kitchen') await page.route('**/enclosure?*', late, { times: 1 });
  else await page.unroute('**/enclosure?*');
  await click(x, y);
  if (name !== 'kitchen') await page.locator('.tool-form').waitFor(); /* there it is named before it is found */
  await page.keyboard.type(name);
  await page.keyboard.press('Enter');
  await kept(`room ${name}`);
}
equal(area(outline('bedroom')), 16, 'the bedroom is 4 by 4 m');
equal(area(outline('kitchen')), 16, 'the kitchen is 4 by 4 m');
equal(area(outline('long_hall')), 24, 'the hall is 8 by 3 m');
check(/long_hall:\n\s+says: Long hall\n\s+floor: ground\n\s+use: hall/.test(text()), 'its name tells its use');
let told = execFileSync(process.env.RT_PROGRAM, ['check', file, '--json'], { encoding: 'utf8' });
check(JSON.parse(told).counts.broken === 0, 'the command line reads the house without an error');

/* ---- refused: a room on ground that is taken ---- */
const before = text();
await page.getByRole('button', { name: 'rectangle' }).click();
await look();
await click(1, 4);
await click(5, 6);
await page.locator('.tool-form').waitFor();
await page.keyboard.type('too much');
await page.keyboard.press('Enter');
await page.locator('.tool-wrong').waitFor();
check(
  /overlaps room/.test(await page.locator('.tool-wrong').innerText()),
  'a room over another is refused in the engine’s words',
);
equal(text(), before, 'and never reaches the file');
await page.getByRole('button', { name: 'not this' }).click();

/* ---- a wall moved, with what ends on it; taken back ---- */
await tool('choose');
await click(5, 3);
await page.locator('.reshape .handle').first().waitFor();
await look();
await move(5, 3);
await page.mouse.down();
await page.mouse.move(...at(5, 3.3), { steps: 4 });
await page.mouse.move(...at(5, 3.5), { steps: 4 });
await page.mouse.up();
await kept('wall 1 moved');
equal(JSON.stringify(line('wall_1')), '[[0,3.5],[8,3.5]]', 'the wall stands half a metre farther');
equal(JSON.stringify(line('wall_2')), '[[4,3.5],[4,7]]', 'the wall that ends on it came along');
check(
  /wall_2:[\s\S]*?kind: door, at_m: 1.05,/.test(text()),
  'its door stays where it is: half a metre nearer to its new end',
);
equal(area(outline('long_hall')), 28, 'and the rooms: 8 by 3.5 m');
await page.getByRole('button', { name: 'undo' }).click();
await page.getByText('One step back').waitFor();
equal(text(), before, 'one step back takes all of it back, to the byte');

/* ---- a corner moved by the arrow keys ---- */
await page.locator('.reshape .handle').first().waitFor();
await page.getByRole('button', { name: 'corner 1 of wall 1' }).focus();
await page.keyboard.press('ArrowDown');
await page.keyboard.press('ArrowDown');
await page.keyboard.press('Enter');
await kept('a corner moved');
equal(JSON.stringify(line('wall_1')), '[[0,2.9],[8,3]]', 'its end stands 10 cm lower');
equal(JSON.stringify(line('wall_2')?.[0]), '[4,2.95]', 'and what stands on its middle half of that');
await page.getByRole('button', { name: 'undo' }).click();
await page.getByText('One step back').waitFor();
equal(text(), before, 'that too is taken back');

/* ---- an access point, the usual promises ---- */
await tool('equipment');
const part = page.locator('.tool-head').getByLabel('part');
await part.waitFor();
check(
  /^access point: /.test(await part.evaluate((e) => e.selectedOptions[0].textContent)),
  'of the parts an access point is offered first',
);
await click(4, 1.5);
await drawn('.house .equipment', 1);
check(/\n {2}access_point_1:/.test(text()), 'an access point is put on the plan');
await page.getByRole('link', { name: 'choose the usual promises, or write one' }).click();
await page.getByLabel('A phone works in every room').check();
await page.getByLabel('The neighbours leave us half the air').check();
await page.getByRole('button', { name: 'promise what is ticked' }).click();
await kept('2 promises');
try {
  told = execFileSync(process.env.RT_PROGRAM, ['check', file, '--json'], {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
  });
} catch (e) {
  told = e.stdout; /* status 1: a promise is broken, which is an answer too */
}
equal(JSON.parse(told).promises.length, 2, 'the command line judges both');

/* ---- as it looks ---- */
await tool('wall');
await axe(page, 'drawing a wall');
await page.setViewportSize({ width: 360, height: 780 });
check((await page.evaluate(() => document.documentElement.scrollWidth)) <= 360, 'it fits a telephone');

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
