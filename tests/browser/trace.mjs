/* A picture of a plan, traced: sent as PNG, JPEG and a page of a PDF, set to scale by two points, laid by two points, moved by keys, kept
   over a reload, removed.  From outside: pictures drawn by librsvg (PNG, PDF) and by the browser (JPEG), whose plan is 8 m wide by
   its own dimension line; where a pixel of it lies on the screen is the browser's own matrix. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve, until } from './kit.mjs';

/* 1200 by 1000 pixels; the house's walls from 100, 100 to 1100, 900: 8 m by 6.4 m, 8 mm to the pixel. */
const M_PER_PX = 0.008;
const plan = (
  turn_deg = 0,
) => `<svg xmlns="http://www.w3.org/2000/svg" width="1200" height="1000" viewBox="0 0 1200 1000">
<rect width="1200" height="1000" fill="#fff"/><g transform="rotate(${turn_deg} 600 500)">
<path d="M100 100H1100V900H100ZM600 100V500M100 500H1100M800 500V900" fill="none" stroke="#222" stroke-width="14"/>
<path d="M100 950H1100M100 940v20M1100 940v20" stroke="#222" stroke-width="2"/><text x="560" y="940" font-size="28">8.00</text></g></svg>`;
const made = mkdtempSync(join(tmpdir(), 'rooftree-plan-'));
const file = (name, bytes) => {
  writeFileSync(join(made, name), bytes);
  return join(made, name);
};
const svg = file('plan.svg', plan());
const cover = file(
  'cover.svg',
  '<svg xmlns="http://www.w3.org/2000/svg" width="500" height="1000"><rect width="9" height="9"/></svg>',
);
const png = file('plan.png', execFileSync('rsvg-convert', [svg]));
const pdf = file('plan.pdf', execFileSync('rsvg-convert', ['-f', 'pdf', cover, svg]));

const server = await serve(['quay_flat']);
const browser = await browse();
const page = await open(browser, server);
const canvas = await browser.newPage({
  viewport: { width: 1200, height: 1000 },
});
await canvas.setContent(`<style>body{margin:0}</style>${plan(3)}`);
const jpeg = file('turned.jpg', await canvas.screenshot({ type: 'jpeg', quality: 90 }));
await canvas.close();

const pictures = async () =>
  (await page.evaluate(async () => (await (await fetch('/api/houses/traced/pictures')).json()).pictures)) ?? [];
const image = page.locator('image.plan-picture').last();
/* Where a pixel of the picture is seen. */
const seen = (u, v) =>
  image.evaluate(
    (e, [x, y]) => {
      const p = new DOMPoint(x, y).matrixTransform(e.getScreenCTM());
      return [p.x, p.y];
    },
    [u, v],
  );
const tap = async (u, v) => page.mouse.click(...(await seen(u, v)));
const near = (is, wanted, share, says) =>
  check(Math.abs(is - wanted) <= share * Math.abs(wanted), `${says}: ${is}, truly ${wanted}`);
const says = page.locator('.tool-says');
const said = (text) => says.filter({ hasText: text }).waitFor();
const toScale = async (a, b, distance) => {
  await said('Choose two points');
  await tap(...a);
  await said('Choose the second point');
  await tap(...b);
  await said('Say how far apart');
  await page.locator('[data-first]:focus').waitFor();
  await page.getByLabel('they are apart').fill(distance);
  await page.getByLabel('they are apart').press('Enter');
  await said('It lies to scale');
};

/* ---- from a picture, on the first page ---- */
await page.getByLabel('What people call it').fill('Traced');
await page.locator('input[name=picture]').setInputFiles(png);
await page.getByRole('button', { name: 'Begin with the picture' }).click();
await image.waitFor();
let [p] = await pictures();
equal(
  `${p.kind} ${p.width_px} ${p.height_px} ${p.m_per_px}`,
  'png 1200 1000 null',
  'it is there, and not to scale yet',
);
await toScale([100, 100], [1100, 100], '8');
[p] = await pictures();
near(p.m_per_px, M_PER_PX, 0.01, 'metres for a pixel');
near(p.turn_deg + 90, 90, 0.001, 'and it lies level');

/* ---- traced: a wall drawn over the picture is as long as it truly is ---- */
await page.getByRole('button', { name: 'wall', exact: true }).click();
await said('Choose where a wall begins');
await tap(600, 160);
await tap(600, 440);
await page.keyboard.press('Escape');
await page
  .getByText(/Kept: .* drawn/)
  .first()
  .waitFor();
const drawn = await page.evaluate(async () => (await (await fetch('/api/houses/traced/drawing')).json()).walls[0].line);
near(
  Math.hypot(drawn[1][0] - drawn[0][0], drawn[1][1] - drawn[0][1]),
  280 * M_PER_PX,
  0.02,
  'a wall of 2.24 m, on the grid of 5 cm',
);

/* ---- dark lines of the picture draw the point to themselves: to the middle of the stroke, within a pixel of where it was drawn ---- */
const walls = () => page.evaluate(async () => (await (await fetch('/api/houses/traced/drawing')).json()).walls.map((w) => w.line));
const pixelOf = ([x, y]) => {
  const t = (p.turn_deg * Math.PI) / 180;
  const [dx, dy] = [(x - p.x_m) / p.m_per_px, (y - p.y_m) / p.m_per_px];
  return [dx * Math.cos(t) + dy * Math.sin(t), dx * Math.sin(t) - dy * Math.cos(t)];
};
const lies_at = (place, [u, v], says) => {
  const is = pixelOf(place);
  check(Math.hypot(is[0] - u, is[1] - v) <= 1, `${says}: pixel ${is.map((k) => k.toFixed(2))}, drawn at ${u}, ${v}`);
};
const caught = (text) => page.locator('.draft .caught', { hasText: text }).waitFor();
async function wall(from, to) {
  const before = (await walls()).length;
  for (const [spot, word] of [from, to]) {
    await page.mouse.move(...(await seen(...spot)));
    if (word) await caught(word);
    await tap(...spot);
  }
  await page.keyboard.press('Escape');
  await until(async () => (await walls()).length > before, 'a wall is drawn');
  return (await walls())[before];
}
let [a, b] = await wall([[804, 495], 'corner in the picture'], [[797, 904], 'corner in the picture']);
lies_at(a, [800, 500], 'pointed 6 pixels beside it, it begins where two strokes meet');
lies_at(b, [800, 900], 'and ends where they meet');
[a, b] = await wall([[300, 505], 'on a line of the picture'], [[302, 300], 'straight']);
lies_at(a, [300, 500], 'on a stroke it falls on its middle, as far along as was pointed');
check(Math.abs(pixelOf(b)[0] - 300) < 1, 'off the strokes it runs straight');
await page.keyboard.down('Shift');
[a] = await wall([[300, 893], ''], [[300, 700], '']);
await page.keyboard.up('Shift');
lies_at(a, [300, 893], 'with Shift nothing draws it to itself');

/* ---- kept over a reload ---- */
const lies = await image.getAttribute('transform');
await page.reload();
await image.waitFor();
await page.waitForTimeout(300);
equal(await image.getAttribute('transform'), lies, 'it lies where it lay');

/* ---- in feet, and moved by keys ---- */
await page.getByRole('button', { name: 'picture', exact: true }).click();
await said('It lies to scale');
await page.getByRole('button', { name: 'feet' }).click();
await page.getByRole('button', { name: 'set to scale' }).click();
await toScale([1100, 900], [100, 900], '26.2467' /* 8 m: a foot is 0.3048 m (1959) */);
const [before] = await pictures();
near(before.m_per_px, M_PER_PX, 0.01, 'in feet it is the same');
await page.getByRole('button', { name: 'metres' }).click();
await page.getByRole('button', { name: 'move', exact: true }).click();
await page.locator('svg.house').focus();
await page.keyboard.press('ArrowRight');
await page.keyboard.press('ArrowUp');
await page.keyboard.press('Enter');
await page.getByText('The picture lies there now').waitFor();
const [after] = await pictures();
near(after.x_m - before.x_m, 0.1, 1e-6, 'an arrow key moves it by 0.1 m');
near(after.y_m - before.y_m, 0.1, 1e-6, 'upwards too');

/* ---- laid by two points: two corners of the picture on two corners of the house ---- */
await page.getByRole('button', { name: 'lay by two points' }).click();
const outline = await page.evaluate(
  async () => (await (await fetch('/api/houses/traced/drawing')).json()).floors[0].outline,
);
/* the pixel that lies at a place now: the picture lies level */
const at = async ([x, y]) => {
  const [now] = await pictures();
  return tap((x - now.x_m) / now.m_per_px, (now.y_m - y) / now.m_per_px);
};
const west = outline.find(([x, y]) => x === 0 && y === 0);
const east = outline.find(([x, y]) => x > 0 && y === 0);
await said('Choose a point on the picture');
await tap(100, 900);
await said('where that point lies');
await at(west);
await said('another point on the picture');
await tap(1100, 900);
await said('And where that lies');
await at(east);
await said('It lies to scale');
const [laid] = await pictures();
near(laid.m_per_px, east[0] / 1000, 0.01, 'as wide as the house');
near(laid.x_m + 100 * laid.m_per_px + 1, 1, 0.03, 'the corner lies on the corner');

/* ---- set to scale by keys alone: two points that lie 2 m apart are 4 m apart ---- */
await page.getByRole('button', { name: 'set to scale' }).click();
await page.locator('svg.house:focus').waitFor();
await page.keyboard.press('ArrowRight');
await page.keyboard.press('Enter');
await said('Choose the second point');
for (let i = 0; i < 8; i++) await page.keyboard.press('ArrowRight');
await page.keyboard.press('Enter');
await page.locator('input[name=distance]:focus').waitFor();
await page.keyboard.type('4');
await page.keyboard.press('Enter');
await said('It lies to scale');
near((await pictures())[0].m_per_px, 2 * laid.m_per_px, 1e-6, 'by keys it is twice as large');

/* ---- a photograph that is not level ---- */
/* its lines are read only once the pointer rests on one */
let letGo = () => {};
const held = new Promise((resolve) => (letGo = resolve));
await page.route(/\/pictures\/\d+\?/, async (route) => {
  if (route.request().resourceType() === 'fetch') await held;
  await route.continue();
});
const choose = (path) => page.getByLabel('another picture').setInputFiles(path);
await choose(jpeg);
await page.locator('image.plan-picture').nth(1).waitFor();
const turn = (u, v) => {
  const t = (3 * Math.PI) / 180;
  const [x, y] = [u - 600, v - 500];
  return [600 + x * Math.cos(t) - y * Math.sin(t), 500 + x * Math.sin(t) + y * Math.cos(t)];
};
await page.mouse.move(...(await seen(...turn(104, 897))));
equal(await page.locator('.draft .caught').count(), 0, 'before its lines are read nothing draws the point to itself');
letGo();
await caught('corner in the picture');
await toScale(turn(104, 897), turn(1096, 904), '8'); /* near the corners: they draw the points to themselves */
p = (await pictures())[1];
equal(p.kind, 'jpeg', 'a JPEG is taken');
near(p.m_per_px, M_PER_PX, 0.001, 'its metres for a pixel');
near(p.turn_deg, 3, 0.02, 'it was turned level, against the clock');

/* ---- a page of a PDF ---- */
await choose(pdf);
await page.locator('image.plan-picture').nth(2).waitFor();
p = (await pictures())[2];
equal(`${p.page} of ${p.pages}`, '1 of 2', 'the first page is shown');
near(p.width_px / p.height_px, 0.5, 0.01, 'it is the cover');
await page.getByRole('combobox', { name: /^page/ }).selectOption('2');
await page.getByText('The page is drawn').waitFor();
p = (await pictures())[2];
near(p.width_px / p.height_px, 1.2, 0.01, 'the second page is the plan');
const k = p.width_px / 1200;
await toScale([100 * k, 100 * k], [100 * k, 900 * k], '6.4');
p = (await pictures())[2];
near(p.m_per_px * k, M_PER_PX, 0.01, 'its metres for a pixel of the drawing');

/* ---- how strong, and away ---- */
await page.getByLabel('strength').fill('30');
await page.waitForTimeout(300);
equal((await pictures())[2].opacity, 0.3, 'it can be made fainter');
for (let n = 3; n > 1; n--) {
  await page.getByRole('button', { name: 'remove it' }).click();
  await page
    .locator('image.plan-picture')
    .nth(n - 1)
    .waitFor({ state: 'detached' });
}
equal((await pictures()).length, 1, 'two are removed');

/* ---- another floor has its own, laid by the walls below ---- */
await page.evaluate(async () => {
  const tag = (await fetch('/api/houses/traced/model')).headers.get('ETag');
  const value = {
    level_m: 2.8,
    height_m: 2.4,
    outline: [
      [0, 0],
      [10, 0],
      [10, 8],
      [0, 8],
    ],
  };
  await fetch('/api/houses/traced/edits', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', 'If-Match': tag },
    body: JSON.stringify({ what: 'a floor', edits: [{ op: 'add', path: '/floors/upper', value }] }),
  });
});
await page.reload();
await page.getByRole('group', { name: 'Floor' }).getByRole('button', { name: 'upper' }).click();
await said('Choose a picture of this floor');
equal(
  await page.locator('image.plan-picture').count(),
  0,
  "the ground floor's picture does not lie on the floor above",
);
await page.getByLabel('a picture from this machine').setInputFiles(png);
await image.waitFor();
await page.getByRole('button', { name: 'lay by two points' }).click();
await said('Choose a point on the picture');
const [foot, head] = drawn; /* of the wall that was drawn on the ground floor: from pixel 600, 160 to 600, 440 */
const upper = async () => (await pictures()).find((x) => x.floor === 'upper');
const spot = async ([x, y]) => {
  const k = await page.evaluate(() => {
    const e = document.querySelector('.ground');
    const m = e.getScreenCTM();
    const b = e.getBBox();
    return [b.x + m.e, b.y + m.f, b.width, b.height];
  });
  return page.mouse.click(k[0] + (x * k[2]) / 10, k[1] + k[3] - (y * k[3]) / 8);
};
await tap(600, 160);
await spot(foot);
await tap(600, 440);
await spot(head);
await said('It lies to scale');
near(
  (await upper()).m_per_px,
  Math.hypot(head[0] - foot[0], head[1] - foot[1]) / 280,
  0.005,
  'it lies by the wall below',
);
await page.getByRole('group', { name: 'Floor' }).getByRole('button', { name: 'ground' }).click();
await page.locator('image.plan-picture').waitFor();

/* ---- what is no picture ---- */
await choose(file('plan.txt', 'hello'));
const told = await page.locator('.tool-wrong').innerText();
check(/no picture/.test(told) && /PNG/.test(told), `it is said why: ${told.replace(/\s+/g, ' ')}`);
await choose(file('half.png', readFileSync(png).subarray(0, 3000)));
await page.locator('.tool-wrong', { hasText: 'cut short' }).waitFor();
equal((await pictures()).length, 2, 'nothing of them is kept');

/* ---- light and dark, and on a telephone ---- */
await page.emulateMedia({ reducedMotion: 'reduce' });
await axe(page, 'a picture');
await page.setViewportSize({ width: 360, height: 780 });
await page.waitForTimeout(300);
const wide = await page.evaluate(() => document.documentElement.scrollWidth);
check(wide <= 360, `it fits a telephone: ${wide} px wide`);

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
rmSync(made, { recursive: true });
done();
