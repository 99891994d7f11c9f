/* Seen and used by everyone: contrast by WCAG 2.2's own formula (relative luminance, contrast ratio: its glossary) from the colours that
   the browser computes, a focus that is seen (2.4.7), text of twice the size (1.4.4), a width of 320 px (1.4.10), no trap (2.1.2). */
import { browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve(['quay_flat']);
const browser = await browse();
const page = await open(browser, server);
const go = (hash) => page.goto(`${server.base}/#${new URLSearchParams({ house: 'quay_flat', ...hash })}`);

const channel = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
const contrast = (a, b) => {
  const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
  return (x + 0.05) / (y + 0.05);
};
/* the two ends of the scale, by definition */
equal(contrast([0, 0, 0], [255, 255, 255]), 21, 'black on white is 21 to 1');

/* What the browser makes of the tokens. */
const colours = (names) =>
  page.evaluate((all) => {
    const e = document.body.appendChild(document.createElement('i'));
    const out = all.map((n) => {
      e.style.color = `var(--${n})`;
      return getComputedStyle(e).color.match(/[\d.]+/g).slice(0, 3).map(Number);
    });
    e.remove();
    return out;
  }, names);

await go({ side: 'promises', view: 'history' });
await page.locator('.promise').first().waitFor();
for (const scheme of ['light', 'dark']) {
  await page.emulateMedia({ colorScheme: scheme });
  for (const ground of ['paper', 'sheet']) {
    for (const [name, least] of [['ink', 4.5], ['soft', 4.5], ['accent', 4.5], ['path', 4.5], ['edge', 3], ['focus', 3], ['wall-line', 3]]) {
      const [a, b] = await colours([name, ground]);
      const c = contrast(a, b);
      check(c >= least, `${scheme}: ${name} on ${ground} is ${c.toFixed(2)} to 1, at least ${least}`);
    }
  }
}

/* ---- an address that asks for what there is not ---- */
await go({ side: 'promises', view: 'blueprint', quantity: 'colour' });
await page.locator('.said', { hasText: 'There is no view blueprint, no quantity colour' }).waitFor();
await page.reload();
await page.locator('.said', { hasText: 'There is no view blueprint' }).waitFor();
equal(
  (await page.getByRole('group', { name: 'Drawing' }).locator('[aria-pressed=true]').allInnerTexts()).join(),
  'floors apart',
  'it is told, and the usual is shown',
);
await go({ side: 'promises', view: 'history' });

/* ---- Tab comes to an end of the page and round again; what has the focus is seen ---- */
const seen = new Set();
let unseen = '';
let round = false;
for (let i = 0; i < 150 && !round; i++) {
  await page.keyboard.press('Tab');
  const now = await page.evaluate(() => {
    const e = document.activeElement;
    if (e === document.body) return null;
    const s = getComputedStyle(e);
    const ring = (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 1) || s.boxShadow !== 'none';
    e.dataset.stop ??= String(Math.random());
    return { id: e.dataset.stop, says: e.textContent.trim().slice(0, 30) || e.tagName, ring };
  });
  round = now === null || (seen.has(now.id) && seen.size > 5);
  if (now && !now.ring) unseen = now.says;
  if (now) seen.add(now.id);
}
check(round, `Tab goes through ${seen.size} stops and round: no trap`);
equal(unseen, '', 'each of them shows that it has the focus');

/* ---- the way past the list ---- */
await page.reload();
await page.locator('.promise').first().waitFor();
await page.keyboard.press('Tab');
equal(await page.evaluate(() => document.activeElement.className), 'skip', 'the first stop is the way to the sheet');
await page.keyboard.press('Enter');
equal(await page.evaluate(() => document.activeElement.id), 'sheet', 'which leads there');

/* ---- text of twice the size, and 320 px ---- */
await page.evaluate(() => (document.documentElement.style.fontSize = '200%'));
for (const side of ['promises', 'change', 'ask', 'design']) {
  await go({ side, view: 'history' });
  await page.locator('aside').waitFor();
  const wide = await page.evaluate(() => document.documentElement.scrollWidth);
  check(wide <= 1440, `${side}: text of twice the size needs no scrolling sideways: ${wide} px`);
}
await page.evaluate(() => (document.documentElement.style.fontSize = ''));
await page.setViewportSize({ width: 320, height: 640 });
for (const side of ['promises', 'change', 'ask', 'design', 'install']) {
  await go({ side, view: 'plan' });
  await page.locator('rt-house').waitFor();
  const wide = await page.evaluate(() => document.documentElement.scrollWidth);
  check(wide <= 320, `${side}: fits 320 px: ${wide} px`);
}

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
