/* The whole job, from no house at all to a kept design and a printed book; then every number that the page shows against the command
   line's JSON of the same file.  The book is checked by qpdf, where there is one. */
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { browse, check, done, equal, open, serve, told, withoutServer, yaml } from './kit.mjs';

const server = await serve([]); /* an empty folder: the demo's parts are offered */
const browser = await browse();
const page = await open(browser, server, { acceptDownloads: true });
const file = join(server.houses, 'my_flat.house.yaml');
const bytes = () => readFileSync(file, 'utf8');
let acts = 0; /* of the user: presses, words typed */
const go = (hash) => page.goto(`${server.base}/#${new URLSearchParams({ house: 'my_flat', ...hash })}`);
const said = (text) => page.locator('.said', { hasText: text }).waitFor();
const judged = () => page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
const press = async (where) => (acts++, where.click());
const type = async (text) => (acts++, page.keyboard.type(text), page.keyboard.press('Enter'));

/* Numbers as the page writes them (en-GB), from the command line's. */
const figure = (v, most = 1) => new Intl.NumberFormat('en-GB', { maximumFractionDigits: most }).format(v).replace(/^-/, '−');
const money = (minor, currency) => new Intl.NumberFormat('en-GB', { style: 'currency', currency }).format(minor / 100);
const flat = (text) => text.replace(/\s+/g, ' ').trim();

/* ---- a blank house, with parts that can be bought ---- */
for (const [label, text] of Object.entries({ title: 'My Flat', country: 'DE', currency: 'EUR', time_zone: 'Europe/Berlin', width: '8', depth: '6', height: '2.5' })) {
  acts++;
  await page.locator(`[name=${label}]`).fill(text);
}
await page.locator('[name=parts_file]').selectOption('demo:demo_eur.parts.yaml');
await press(page.getByRole('button', { name: 'Begin with a blank sheet' }));
await page.locator('svg.house.is-drawing').waitFor();

/* ---- three rooms: places typed from the house's corner, names at once ---- */
const sheet = page.locator('svg.house');
async function point(x, y) {
  const b = await page.evaluate(() => {
    const r = document.querySelector('svg.house .ground').getBoundingClientRect();
    return { x: r.left, y: r.bottom, s: r.width / 8 };
  });
  acts++;
  await page.mouse.move(b.x + x * b.s, b.y - y * b.s, { steps: 3 });
  await page.mouse.down();
  await page.mouse.up();
}
for (const at of [[0.05, 0.05], [7.95, 0.05], [7.95, 5.95], [0.05, 5.95], [0.05, 0.05]]) await point(...at);
await said(/^Kept: 4 walls/);
for (const [n, from, to] of [[1, [0.05, 3], [7.95, 3]], [2, [4, 3.05], [4, 5.95]]]) {
  await page.locator('.house .wall').nth(3 + n - 1).waitFor({ state: 'attached' });
  await point(...from);
  await point(...to);
  await said(`wall_${n} drawn`);
}
await press(page.getByRole('group', { name: 'Tool' }).getByRole('button', { name: 'room', exact: true }));
for (const [x, y, name] of [[2, 4.5, 'Bedroom'], [6, 4.5, 'Kitchen'], [4, 1.5, 'Living room']]) {
  await point(x, y);
  await page.locator('.tool-form').waitFor();
  await page.locator('.tool-form input').first().fill(name);
  await press(page.getByRole('button', { name: 'keep the room' }));
  await page.locator('.tool-form').waitFor({ state: 'detached' });
}
const drawn = yaml(file);
equal(Object.keys(drawn.rooms).join(' '), 'bedroom kitchen living_room', 'three rooms are drawn and named');
equal(Object.keys(drawn.walls).length, 6, 'between six walls');

/* ---- what is in it: one form each ---- */
async function add(section, id, members) {
  await go({ side: 'change', view: 'plan', section, item: id === undefined ? '' : '+' });
  await page.locator('form.item-form').waitFor();
  if (id) await page.locator('#item-id').fill(id);
  const order = Object.entries(members);
  for (const [m, v] of order) {
    acts++;
    const field = page.locator(`#f-${section}-${m}`);
    if (!(await field.count())) await page.locator('.item-form button[aria-expanded=false]').click();
    if (v === Object(v)) await field.selectOption({ label: v.pick });
    else await field.fill(v);
    await field.blur();
  }
  await press(page.locator('.form-foot button.main'));
  await page.locator('.said:text-matches("^Kept: "), .item-form [role=alert], .field-wrong').first().waitFor();
  const wrong = await page.locator('.item-form [role=alert], .field-wrong').allInnerTexts();
  check(!wrong.length, `${section} ${id ?? ''}: kept${wrong.map(flat).join(' | ')}`);
  await page.locator('.form-foot button[disabled]', { hasText: 'as it was' }).waitFor();
  await page.evaluate(() => (document.querySelector('.said').textContent ||= ''));
}
await add('line', undefined, { kind: { pick: 'fibre' }, down_mbps: '300', up_mbps: '100', floor: 'ground', at_m: '0.3, 0.3, 0.4' });
await add('segments', 'home', { vlan: '10', ipv4: '10.20.10.0/24' });
await add('segments', 'guests', { vlan: '20', ipv4: '10.20.20.0/24' });
await add('ssids', 'flat', { name: 'Flat', segment: 'home' });
await add('devices', 'phone', { kind: 'phone', link: { pick: 'wifi' }, room: 'living_room', segment: 'home' });
await add('devices', 'laptop', { kind: 'laptop', link: { pick: 'wifi' }, room: 'bedroom', segment: 'home' });
await add('hours', 'nights', { from: '22:00', to: '06:00' });
await go({ side: 'change', view: 'plan', section: 'statements', item: '+' });
await page.locator('.sentence select[aria-label="who starts: one more"]').selectOption('segment:home');
await page.locator('.sentence select[aria-label="with whom: one more"]').selectOption('internet');
await press(page.locator('.form-foot button.main'));
await said(/^Kept: statements/);
equal(yaml(file).statements[0].to, 'internet', 'a statement was written as a sentence');
await add('promises', 'everywhere', { kind: { pick: 'signal' }, says: 'A phone works in every room', rooms: 'living_room, kitchen, bedroom', level_dbm: '-70' });
await add('promises', 'money', { kind: { pick: 'cost' }, says: 'Not more than 900', purchase: '900' });
await add('promises', 'guests_apart', { kind: { pick: 'apart' }, says: 'Visitors see nothing of ours', from: 'segment:guests', to: 'segment:home' });
await judged();
const before = told('check', file, '--json');
check(before.counts.broken > 0, 'without an access point, a promise is broken: there is something to design');

/* ---- a design that takes its time is stopped: it ends because of that, and not of itself ---- */
const lastJob = () =>
  page.evaluate(async () => {
    for (let n = 9; n > 0; n--) {
      const r = await fetch(`/api/jobs/${n}`);
      if (r.ok) return r.json();
    }
    return null;
  });
await page.evaluate(() =>
  fetch('/api/houses', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ name: 'larger', demo: 'quay_flat' }),
  }),
);
await go({ house: 'larger', side: 'design', view: 'history' });
await page.getByLabel('from what').selectOption('anew');
await page.getByLabel('how long').selectOption({ label: '10 minutes' });
await page.getByRole('button', { name: 'begin', exact: true }).click();
await page.getByRole('button', { name: 'stop, and take the best so far' }).click();
await page.locator('.design h3, .design .stopped').first().waitFor();
const stopped = await lastJob();
check(
  stopped.design?.stopped === true || (stopped.state === 'failed' && stopped.problems.every((p) => p.code === 'CANCELLED')),
  `the search ended because it was stopped: ${stopped.state}, ${JSON.stringify(stopped.design?.stopped ?? stopped.problems)}`,
);
equal(await page.locator('.design progress').count(), 0, 'no progress is shown any more');

/* ---- the design: watched, looked at, taken ---- */
await go({ side: 'design', view: 'plan' });
await press(page.getByRole('button', { name: 'begin', exact: true }));
await page.locator('.design progress').waitFor();
check(/\S/.test(await page.locator('.progress label').innerText()), 'what it is doing is told in words');
await page.locator('.design h3').waitFor();
const result = flat(await page.locator('.design').innerText());
check(/cost|kept/.test(result) && (await page.locator('.designed').count()) > 0, `what came of it stands there: ${result.slice(0, 200)}`);
const { design: designed } = await lastJob();
const again = told('design', file, '--seconds', '30', '--json', '--out', join(server.houses, 'by_command.house.yaml'));
rmSync(join(server.houses, 'by_command.house.yaml'));
for (const key of ['cost', 'bound_minor', 'added', 'moved', 'bill', 'promises', 'conflict'])
  equal(JSON.stringify(designed[key]), JSON.stringify(again[key]), `the design: its ${key} as the command line has it`);
const count = (state) => again.promises.filter((p) => p.state === state).length;
check(
  result.includes(`${count('kept')} kept, ${count('broken')} broken, ${count('unknown')} unknown, for ${money(again.cost.total_minor, again.cost.currency)}`),
  `and so it stands on the page: ${count('kept')} kept, for ${money(again.cost.total_minor, again.cost.currency)}`,
);
await page.locator('.design details summary').click();
for (const b of designed.bill)
  if (b.total_minor !== null)
    check(result.length && flat(await page.locator('.design details').innerText()).includes(money(b.total_minor, designed.cost.currency)), `the bill has ${b.what || b.kind} at ${money(b.total_minor, designed.cost.currency)}`);
await press(page.getByRole('button', { name: 'take all of it' }));
await said('The design was taken');
const kept = told('check', file, '--json');
equal(kept.counts.broken, 0, 'taken: no promise is broken, says the command line');

/* ---- every number on screen is the command line's ---- */
await go({ side: 'promises', view: 'plan' });
await judged();
const tally = flat(await page.locator('.tally').innerText());
check(
  tally.startsWith(`${kept.counts.kept} kept, ${kept.counts.broken} broken, ${kept.counts.unknown} unknown`),
  `the tally: ${tally}`,
);
for (const p of kept.promises) {
  const row = page.locator('.promise', { hasText: p.says });
  equal(flat(await row.locator('.says').innerText()), p.says, `promise ${p.id}: word for word`);
  const margin =
    p.kind === 'apart' ? 'proven' : p.margin === null ? '' : `${p.margin > 0 ? '+' : ''}${figure(p.margin)} ${p.unit}`.trim();
  equal(flat(await row.locator('.margin').innerText()), margin, `promise ${p.id}: the margin, figure for figure`);
  await press(row.getByRole('button').first());
  equal(flat(await page.locator('.evidence .reason').innerText()), flat(p.reason), `promise ${p.id}: why, word for word`);
  await press(row.getByRole('button').first());
}

/* a spot that is listened to */
await sheet.focus();
await page.keyboard.press('ArrowRight');
await page.keyboard.press('Enter');
await page.locator('.spot-panel .heard li').first().waitFor();
const heard = await page.evaluate(() => document.querySelector('rt-sheet').house.report);
const signal = told('signal', file, '--json', '--floor', 'ground', '--at', heard.spot.at_m.slice(0, 2).join(','));
const panel = flat(await page.locator('.spot-panel').innerText());
for (const a of signal.access_points.slice(0, 5)) {
  check(panel.includes(`${a.band} GHz ${figure(a.level_dbm, 0)} dBm`), `${a.id} at ${a.band} GHz is heard with ${figure(a.level_dbm, 0)} dBm`);
  check(
    panel.includes(`promised ${figure(a.promised_level_dbm, 0)}, up ${figure(a.uplink_level_dbm, 0)}, ${figure(a.payload_mbps, 0)} Mb/s`),
    `${a.id}: promised, up, and rate as the command line has them`,
  );
}
await page.keyboard.press('Escape');

/* may these two talk */
const ask = told('ask', file, '--json', '--from', 'laptop', '--to', 'internet', '--service', 'https');
const answered = await page.evaluate(async () => (await fetch('/api/houses/my_flat/ask?from=laptop&to=internet&service=https')).json());
equal(JSON.stringify(answered), JSON.stringify(ask), 'may the laptop use the internet: the answer is that of the command line');

/* ---- the book ---- */
const book = await page.context().request.get(`${server.base}/api/houses/my_flat/book.pdf`);
const pdf = await book.body();
equal(book.status(), 200, 'the book is there');
check(pdf.subarray(0, 5).toString() === '%PDF-', 'and is a PDF');
if (existsSync('/usr/bin/qpdf')) {
  const path = join(server.houses, 'book.pdf');
  writeFileSync(path, pdf);
  equal(spawnSync('/usr/bin/qpdf', ['--check', path]).status, 0, 'without a fault, says qpdf');
}
await go({ side: 'install', view: 'plan' });
await page.getByRole('link', { name: /hand-over book/ }).waitFor();

/* ---- started again, all is there ---- */
const whole = bytes();
equal(await server.halt(), 0, 'the server ends well');
await server.again();
await page.goto(server.link);
await page.getByRole('link', { name: 'My Flat' }).click();
await judged();
equal(flat(await page.locator('.tally').innerText()), tally, 'started again: the promises stand as before');
equal(bytes(), whole, 'and the file is the same, to the byte');
console.log(`# ${acts} acts of the user`);

equal(withoutServer(page.wrong).join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
