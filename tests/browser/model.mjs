/* The 3-D view: fetched only when it is looked at, drawn only when something changes, turned by keys and pointer, floors left out, told in
   words, and a plain sentence where the browser gives no WebGL.  WebGL is the browser's own in software. */
import { axe, browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve(['quay_flat', 'larch_end']);
const browser = await browse(['--use-angle=swiftshader', '--enable-unsafe-swiftshader']);
const page = await open(browser, server, {
  viewport: { width: 1000, height: 640 },
}); /* drawn in software: not too large */
const asked = [];
page.on('request', (r) => asked.push(new URL(r.url()).pathname));
const go = (p, hash) => p.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);
/* what the plan did not show is held back until it is let go */
let letGo = () => {};
const held = new Promise((resolve) => (letGo = resolve));
await page.route(/field\?.*floor=balcony/, async (route) => {
  await held;
  await route.continue();
});
const isChunk = (path) => /\/assets\/view-.*\.js$/.test(path);

/* ---- fetched when looked at ---- */
const laid = page.waitForResponse(/\/drawing$/); /* the drawing with its cables */
await go(page, { side: 'promises', view: 'plan' });
await page.locator('svg.house').waitFor();
check(!asked.some(isChunk), 'the plan fetches nothing of the 3-D view');
await page.locator('svg.legend').waitFor(); /* the field of the plan's floor */
await page.getByRole('button', { name: '3-D' }).click();
const model = page.getByRole('application', { name: /in 3-D/ });
await model.waitFor();
await page.locator('svg.over .room-name').first().waitFor();
equal(asked.filter(isChunk).length, 1, 'the 3-D view is fetched once');
await page.locator('svg.legend').waitFor();
await page.getByText('the full field is coming').waitFor();
check(true, 'while a floor has no field yet it is said that one is coming');
letGo();

/* ---- keys ---- */
/* What was told to the page before is drawn first: two frames later. */
const drawnOut = () => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)));
const picture = async () => {
  await page.evaluate(drawnOut);
  return (await page.locator('.model').screenshot()).toString('base64');
};
/* Looks again until it is so; false: it never was. */
const until = async (isSo) => {
  for (let i = 0; i < 60; i++) {
    if (await isSo(await picture())) return true;
    await page.waitForTimeout(100);
  }
  return false;
};
const isStill = async (now) => now === (await picture());
/* what comes later, the whole field and the cables, would make another picture of it */
await (await laid).finished();
await page.evaluate(async () => (await fetch('/api/words')).text()); /* and the page has read it */
await page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
await page.getByText('the full field is coming').waitFor({ state: 'detached' });
await model.focus();
await page.keyboard.press('0'); /* by keys: a line is drawn around what has the focus */
check(await until(isStill), 'it comes to rest');
const first = await picture();
for (const key of ['ArrowLeft', 'ArrowUp', '+', '-', 'Shift+ArrowRight']) {
  const before = await picture();
  await page.keyboard.press(key);
  check(await until((now) => now !== before), `${key} moves it`);
}
await page.keyboard.press('ArrowLeft');
const told = page.getByRole('status').filter({ hasText: /seen from .*degrees above/ });
await told.waitFor();
check(true, 'and it is said from where it is seen');
await page.keyboard.press('0');
check(await until((now) => now === first), '0 shows it as at first, to the pixel');

/* ---- nothing is drawn while nothing changes ---- */
const frames = await page.evaluate(async () => {
  let n = 0;
  const own = window.requestAnimationFrame;
  window.requestAnimationFrame = (f) => (n++, own.call(window, f));
  await new Promise((r) => setTimeout(r, 1000));
  window.requestAnimationFrame = own;
  return n;
});
equal(frames, 0, 'no frame is asked for while nothing changes');

/* ---- pointer ---- */
const box = await model.boundingBox();
const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
await page.mouse.move(x, y);
await page.mouse.down();
await page.mouse.move(x + 80, y + 10, { steps: 4 });
await page.mouse.up();
check(await until((now) => now !== first), 'dragging turns it');
check((await page.locator('.spot-panel').count()) === 0, 'and asks nothing');
await page.keyboard.press('0');
await until((now) => now === first); /* names move with the picture */
const room = await page.locator('svg.over .room-name').first().boundingBox();
await page.mouse.click(room.x + room.width / 2, room.y + room.height + 6);
await page.locator('.spot-panel .heard li').first().waitFor();
await page.locator('svg.over .asked-spot').waitFor();
check(true, 'a spot of the floor says what it hears, and is marked');
await page.keyboard.press('Escape');

/* ---- in words ---- */
const drawing = await page.evaluate(async () => (await fetch('/api/houses/quay_flat/drawing')).json());
const words = await page.locator('#model-says').innerText();
for (const r of drawing.rooms) check(words.includes(r.name), `its words name the room ${r.name}`);

/* ---- floors left out, storeys lifted ---- */
await go(page, {
  house: 'larch_end',
  side: 'promises',
  view: 'model',
  quantity: 'none',
});
await page.locator('svg.over .floor-name', { hasText: 'loft' }).waitFor();
const high = async (name) =>
  Number(await page.locator('svg.over .floor-name', { hasText: name }).first().getAttribute('y'));
check((await high('loft')) < (await high('first floor')), 'the loft stands above the first floor');
check((await high('first floor')) < (await high('ground floor')), 'and that above the ground floor');
const stood = (await high('ground floor')) - (await high('loft'));
const above = await page.locator('svg.over .room-name').allTextContents();
await page.getByRole('button', { name: 'lifted' }).click();
let now = stood;
for (let i = 0; i < 100 && now < stood + 20; i++) {
  await page.waitForTimeout(100);
  now = (await high('ground floor')) - (await high('loft'));
}
check(now >= stood + 20, 'lifted apart they stand farther from each other');
await page.getByRole('button', { name: 'as built' }).click();
await page.getByRole('group', { name: 'Floors that are shown' }).getByRole('button', { name: 'loft' }).click();
await page.locator('svg.over .floor-name', { hasText: 'loft' }).waitFor({ state: 'detached' });
const below = await page.locator('svg.over .room-name').allTextContents();
check(above.includes('loft office') && !below.includes('loft office'), 'a floor that is left out is not named');
check(!above.includes('landing') && below.includes('landing'), 'and what it hid is seen');
check(/Left out: loft/.test(await page.locator('#model-says').innerText()), 'the words say so');

/* ---- opened and left again and again ---- */
for (let i = 0; i < 17; i++) {
  await go(page, { house: 'quay_flat', view: 'history', quantity: 'none' });
  await page.locator('rt-history').waitFor();
  await go(page, { house: 'quay_flat', view: 'model', quantity: 'none' });
  await page.locator('svg.over text').first().waitFor();
}
check(
  await page.locator('.model canvas').isVisible(),
  'it is still drawn when it was opened more often than a browser keeps pictures in 3-D',
);

/* ---- light and dark, and on a telephone ---- */
await page.emulateMedia({ reducedMotion: 'reduce' });
await axe(page, '3-D');
await page.setViewportSize({ width: 360, height: 780 });
await page.waitForTimeout(300);
const wide = await page.evaluate(() => document.documentElement.scrollWidth);
check(wide <= 360, `it fits a telephone: ${wide} px wide`);
equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');

/* ---- where there is no WebGL ---- */
const second = await serve(['quay_flat']);
const plain = await browse(['--disable-3d-apis']);
const without = await open(plain, second);
await without.goto(`${second.base}/#house=quay_flat&view=model`);
await without.getByText('This browser draws nothing in three dimensions').waitFor();
await axe(without, 'without WebGL');
await without.locator('.model-trouble').getByRole('button', { name: 'plan' }).click();
await without.locator('rt-drawing svg.house').waitFor();
equal(without.wrong.join('; '), '', 'it is said without an error');
await plain.close();
await second.stop();
done();
