/* What assistive programs are given: the browser's accessibility tree of each view (roles and names as WAI-ARIA 1.2 and the accessible
   name computation have them), headings in order, what live regions say, where the focus is after each deed, no motion for whoever wants
   none, and forced colours (WCAG 2.2: 1.3.1, 2.4.3, 2.4.6, 4.1.2, 4.1.3; CSS Color Adjustment 1 for forced colours). */
import { join } from 'node:path';
import { ROOT, axe, browse, check, done, equal, open, serve } from './kit.mjs';

const server = await serve([join(ROOT, 'tests/browser/one_of_each.house.yaml')]);
const browser = await browse();
const page = await open(browser, server, { reducedMotion: 'reduce' });
const cdp = await page.context().newCDPSession(page);
const go = async (hash) => {
  await page.goto(`${server.base}/#`);
  await page.goto(`${server.base}/#${new URLSearchParams({ house: 'one_of_each', ...hash })}`);
  await page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor({ state: 'attached' }); /* on a telephone it is on the other page */
};

/* ---- the tree ---- */

const CONTROLS = ['button', 'link', 'textbox', 'searchbox', 'combobox', 'checkbox', 'radio', 'spinbutton', 'slider', 'listbox', 'menuitem', 'DisclosureTriangle'];
const NAMED = [...CONTROLS, 'application', 'region', 'complementary', 'form', 'group', 'progressbar', 'table', 'image'];

async function tree() {
  const { nodes } = await cdp.send('Accessibility.getFullAXTree');
  return nodes
    .filter((n) => !n.ignored)
    .map((n) => ({
      role: n.role?.value ?? '',
      name: (n.name?.value ?? '').replace(/\s+/g, ' ').trim(),
      level: n.properties?.find((p) => p.name === 'level')?.value?.value,
      focusable: !!n.properties?.find((p) => p.name === 'focusable')?.value?.value,
    }));
}

async function look(says) {
  const all = await tree();
  const controls = all.filter((n) => CONTROLS.includes(n.role));
  const nameless = all.filter((n) => NAMED.includes(n.role) && !n.name && !['group', 'image', 'table'].includes(n.role));
  check(
    controls.length > 5 && !nameless.length,
    `${says}: ${controls.length} controls, each with a name${nameless.length ? `; none has ${JSON.stringify(nameless.slice(0, 4))}` : ''}`,
  );
  const rolesless = all.filter((n) => n.focusable && ['generic', 'none', ''].includes(n.role));
  check(!rolesless.length, `${says}: what takes the focus has a role${rolesless.length ? `, but ${JSON.stringify(rolesless.slice(0, 3))}` : ''}`);
  const levels = await page.evaluate(() =>
    [...document.querySelectorAll('h1, h2, h3, h4, h5, h6, [role=heading]')]
      .filter((e) => e.checkVisibility({ visibilityProperty: true }))
      .map((e) => Number(e.getAttribute('aria-level') ?? e.tagName[1])),
  );
  const jump = levels.findIndex((l, i) => i > 0 && l > levels[i - 1] + 1);
  check(levels[0] === 1 && jump < 0, `${says}: headings go down step by step: ${levels.join(' ')}`);
  equal(levels.filter((l) => l === 1).length, 1, `${says}: there is one head of all`);
  equal(all.filter((n) => n.role === 'main').length, 1, `${says}: and one main part`);
  equal(await page.evaluate(() => document.getAnimations().filter((a) => a.playState === 'running').length), 0, `${says}: nothing moves`);
}

const VIEWS = {
  promises: { side: 'promises', view: 'apart' },
  plan: { side: 'promises', view: 'plan' },
  everything: { side: 'change', view: 'plan' },
  'a list': { side: 'change', view: 'plan', section: 'devices' },
  'a form': { side: 'change', view: 'plan', section: 'walls', item: 'north' },
  statement: { side: 'change', view: 'plan', section: 'statements', item: '0' },
  hours: { side: 'change', view: 'week', section: 'hours', item: 'nights' },
  'wall tool': { side: 'change', view: 'plan', tool: 'wall' },
  ask: { side: 'ask', view: 'matrix' },
  design: { side: 'design', view: 'ports' },
  install: { side: 'install', view: 'readings' },
  failures: { side: 'promises', view: 'failures' },
  text: { side: 'promises', view: 'text' },
  history: { side: 'promises', view: 'history' },
};
for (const [name, hash] of Object.entries(VIEWS)) {
  await go(hash);
  await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve))));
  await look(name);
}
await page.goto(`${server.base}/#`);
await page.getByRole('heading', { name: 'A copy of a house' }).waitFor();
await look('start');

/* ---- what is said: changes of the live regions, from a change that is kept to a mistake ---- */

await go({ side: 'change', view: 'history', section: 'devices', item: 'scribe' });
await page.evaluate(() => {
  document.body.dataset.heard = '';
  const listen = (e) => {
    const region = (e.nodeType === 1 ? e : e.parentElement)?.closest?.('[aria-live=polite], [aria-live=assertive], [role=status], [role=alert]');
    const says = region?.textContent.replace(/\s+/g, ' ').trim();
    if (says) document.body.dataset.heard += `${says} | `;
  };
  new MutationObserver((all) => {
    for (const m of all) {
      listen(m.target);
      for (const n of m.addedNodes) {
        listen(n);
        n.querySelectorAll?.('[role=alert], [role=status], [aria-live]').forEach(listen);
      }
    }
  }).observe(document.body, { childList: true, characterData: true, subtree: true });
});
const heard = (text) => page.locator(`body[data-heard*="${text}"]`).waitFor();
const focus = () =>
  page.evaluate(() => {
    const e = document.activeElement;
    return e === document.body || !e.checkVisibility({ visibilityProperty: true }) ? '' : `${e.tagName} ${e.id || e.textContent.replace(/\s+/g, ' ').trim().slice(0, 30)}`;
  });
async function held(what) {
  /* what was done is said before the history is read again, which closes a button or opens it: at rest within half a second */
  let now = '';
  for (let frames = 0; frames < 30 && now === ''; frames++) {
    await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve))));
    now = await focus();
  }
  check(now !== '', `${what}: the focus is somewhere: ${now}`);
}
const keep = page.locator('.form-foot button.main');
const settled = () => page.locator('.form-foot button[disabled]', { hasText: 'as it was' }).waitFor();

await page.locator('#f-devices-says').fill('the old printer');
await keep.focus();
await page.keyboard.press('Enter');
await heard('Kept: scribe changed');
await settled();
check(true, 'that a change is kept is said');
await held('after it is kept');
await page.locator('#f-devices-room').fill('dem');
await page.keyboard.press('Enter');
await heard('Not kept');
await page.locator('.field-wrong').waitFor();
check(true, 'and that one is not, with the engine’s words');
await held('after a mistake');
await page.getByRole('button', { name: 'as it was' }).focus();
await page.keyboard.press('Enter');
await held('after "as it was", which then has nothing to do');
await page.locator('.form-foot').getByRole('button', { name: 'remove' }).focus();
await page.keyboard.press('Enter');
await page.locator('.item-form [role=alert], .things-list').first().waitFor();
await held('after a thing was to be removed that others name');

await page.locator('.crumbs button').first().focus();
await page.keyboard.press('Enter');
await page.locator('.sections').waitFor();
await held('after a form is left');
await page.locator('.sections button', { hasText: 'people' }).first().focus();
await page.keyboard.press('Enter');
await page.locator('.things-list').waitFor();
await held('after a list is opened');
await page.locator('.things-list > button.main').focus();
await page.keyboard.press('Enter');
await page.locator('form.item-form').waitFor();
await held('after a new thing is begun');
await page.locator('#item-id').fill('cy');
await page.keyboard.press('Enter');
await heard('Kept: cy added to people');
await settled();
await held('after it is added');
await page.locator('.form-foot').getByRole('button', { name: 'remove' }).focus();
await page.keyboard.press('Enter');
await heard('Kept: cy removed from people');
await page.locator('.things-list').waitFor();
await held('after it is removed');
for (const word of ['undo', 'redo', 'undo', 'undo', 'undo']) {
  const button = page.locator('aside .steps button', { hasText: word });
  if (await button.isDisabled()) continue;
  await button.focus();
  await page.keyboard.press('Enter');
  await heard(word === 'undo' ? 'One step back' : 'One step forth');
  await held(`after ${word}`);
  await page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
}

/* a statement carried earlier and later keeps the focus too */
await go({ side: 'change', view: 'history', section: 'statements', item: '0' });
await page.locator('.form-foot').getByRole('button', { name: 'later' }).focus();
await page.keyboard.press('Enter');
await page.getByRole('heading', { name: 'statement 2' }).waitFor();
await held('after a statement was moved');

/* ---- Escape ends what is open ---- */

await go({ side: 'change', view: 'plan', tool: 'wall' });
await page.locator('svg.house.is-drawing').waitFor();
await page.locator('svg.house').focus();
await page.keyboard.type('1 1');
await page.keyboard.press('Enter');
equal(await page.locator('.draft .drawn-point').count(), 1, 'a point is drawn');
await page.keyboard.press('Escape');
equal(await page.locator('.draft .drawn-point').count(), 0, 'Escape gives it up');
await page.keyboard.press('Escape');
await page.locator('svg.house:not(.is-drawing)').waitFor();
check(true, 'Escape again lays the tool down');
await held('then');
await go({ side: 'promises', view: 'plan' });
await page.locator('svg.house').focus();
await page.keyboard.press('ArrowRight');
await page.keyboard.press('Enter');
await page.locator('.spot-panel').waitFor();
await page.locator('.spot-panel button', { hasText: 'close' }).focus();
await page.keyboard.press('Escape');
await page.locator('.spot-panel').waitFor({ state: 'detached' });
await held('a spot’s panel is closed by Escape from within');
await page.setViewportSize({ width: 360, height: 780 });
await go({ side: 'promises', view: 'plan', page: 'sheet' });
await page.locator('.head-now button').focus();
await page.keyboard.press('Enter');
await page.locator('#head-choices.is-open').waitFor();
await page.locator('#head-choices button').first().focus();
await page.keyboard.press('Escape');
equal(await page.locator('#head-choices.is-open').count(), 0, 'on a telephone the choices are closed by Escape');
await held('and then');
await page.setViewportSize({ width: 1440, height: 900 });

/* ---- colours that the user forces ---- */

await page.emulateMedia({ forcedColors: 'active' });
for (const name of ['promises', 'everything', 'a form', 'plan']) {
  await go(VIEWS[name]);
  await axe(page, `${name}, forced colours`);
}
await go(VIEWS.everything);
const [ground, marks] = await page.evaluate(() => {
  const colour = (e, k) => getComputedStyle(e)[k];
  return [colour(document.body, 'backgroundColor'), [...document.querySelectorAll('.house .wall .solid, .house .room-name')].slice(0, 8).map((e) => [colour(e, 'stroke'), colour(e, 'fill')])];
});
check(
  marks.length > 0 && marks.every(([stroke, fill]) => stroke !== ground || fill !== ground),
  `walls and names are seen on the ground that is forced: ${ground}`,
);
const chosen = await page.evaluate(() => {
  const [on, off] = ['true', 'false'].map((v) => getComputedStyle(document.querySelector(`.sides [aria-pressed=${v}]`)));
  return on.borderBottomColor !== off.borderBottomColor || on.fontWeight !== off.fontWeight || on.textDecorationLine !== off.textDecorationLine;
});
check(chosen, 'what is chosen is told apart from what is not');

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
