/* Every number that the page shows is the command line's, formatted by one rule: en-GB, a true minus sign, so many decimals.  A flat with
   radio, and the hut that has one of each with a promise of every kind that needs no radio. */
import { spawnSync } from 'node:child_process';
import { appendFileSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT, browse, check, done, equal, open, serve, told } from './kit.mjs';

const server = await serve(['quay_flat', join(ROOT, 'tests/browser/one_of_each.house.yaml')]);
const fileOf = (house) => join(server.houses, `${house}.house.yaml`);
appendFileSync(
  fileOf('one_of_each'),
  `  sleep: {kind: hours, says: Things sleep, from: segment:things, to: internet, hours: nights}
  watts: {kind: power, says: All that is fed has its watts}
  wires: {kind: cable, says: All cables are legal}
  enough: {kind: line, says: The line is enough, probability: 0.95}
  days: {kind: recording, says: Five days are kept, recording: porch_days, days: 5}
  dark: {kind: outage, says: The gateway lives on, devices: [gateway], minutes: 20}
  stands: {kind: survive, says: Printing lives without the line, failures: [line], promises: [prints]}
  more: {kind: growth, says: Twice the things in three years, times: 2, years: 3}
  bill: {kind: cost, says: Not more than 700, purchase: 700}
`,
);
const browser = await browse();
const page = await open(browser, server);
const go = async (house, hash) => {
  await page.goto(`${server.base}/#${new URLSearchParams({ house, ...hash })}`);
  await page.locator(`.title-block dd`, { hasText: house === 'quay_flat' ? 'Quay Flat' : 'One of Each' }).first().waitFor();
};
const flat = (text) => text.replace(/\s+/g, ' ').trim();
const figure = (v, most = 1) =>
  new Intl.NumberFormat('en-GB', { maximumFractionDigits: most }).format(v).replace(/^-/, '−');
const signed = (v) => (v > 0 ? '+' : '') + figure(v);
const texts = (selector) =>
  page.locator(selector).evaluateAll((all) => all.map((e) => e.textContent.replace(/\s+/g, ' ').trim()));
const words = (id) => id.replace(/_/g, ' ');
/* many comparisons told as one check: which differ */
function same(is, wanted, says) {
  const differ = wanted.flatMap((w, i) => (is[i] === w ? [] : [`${i + 1}: is ${JSON.stringify(is[i])}, wanted ${JSON.stringify(w)}`]));
  check(!differ.length && is.length === wanted.length, `${says}: ${wanted.length}${differ.length ? `\n    ${differ.slice(0, 6).join('\n    ')}` : ''}`);
}

/* ---- promises: the order of the list is the page's own, so each is found by its sentence ---- */

const PROVEN = ['apart', 'reach', 'hours'];
function margin(p) {
  if (p.state === 'unknown') return 'a fact is missing';
  if (PROVEN.includes(p.kind)) return p.state === 'kept' ? 'proven' : 'disproved';
  return p.margin === null ? '' : `${signed(p.margin)} ${p.unit}`.trim();
}

/* Evidence: shares in per cent, small figures with two decimals (all units stand in the head, or behind the figure). */
const isShare = (key) => /(^|_)share(_|$)|probability|availability/.test(key);
const cell = (key, v) => (isShare(key) ? `${figure(v * 100)} %` : figure(v, Math.abs(v) < 10 ? 2 : 1));
/* The first of a key's rows in a list of objects: every figure of it. */
const figuresOf = (row) => Object.entries(row).flatMap(([k, v]) => (typeof v === 'number' ? [cell(k, v)] : []));

async function promises(house, cli) {
  await go(house, { side: 'promises', view: 'history' });
  await page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
  const { kept, broken, unknown } = cli.counts;
  equal(
    (await texts('.tally'))[0],
    `${kept} kept, ${broken} broken, ${unknown} unknown · ${cli.estimate} estimate`,
    `${house}: the tally`,
  );
  equal(await page.locator('.promise').count(), cli.promises.length, `${house}: each promise is there`);
  for (const p of cli.promises) {
    const row = page.locator('.promise', { has: page.getByText(p.says, { exact: true }) });
    await row.getByRole('button').first().click();
    await row.locator('details summary').click();
    const is = await row.evaluate((e) => ({
      margin: e.querySelector('.margin').textContent.trim(),
      mark: e.querySelector('.mark').getAttribute('aria-label'),
      reason: e.querySelector('.reason').textContent,
      cells: [...e.querySelectorAll('details td, details dd')].map((c) => c.textContent.replace(/\s+/g, ' ').trim()),
    }));
    equal(is.mark, p.state, `${house}, ${p.id}: its mark`);
    equal(is.margin, margin(p), `${house}, ${p.id}: its margin and unit`);
    equal(flat(is.reason), flat(p.reason) || 'Nothing comes near to breaking it.', `${house}, ${p.id}: why`);
    const wanted = Object.entries(p.evidence).flatMap(([k, v]) => {
      if (typeof v === 'number') return [cell(k, v)];
      const isTable = Array.isArray(v) && v.length && v.every((x) => x && typeof x === 'object' && !Array.isArray(x));
      return isTable && k !== 'paths' ? v.slice(0, 40).flatMap(figuresOf) : [];
    });
    const missing = wanted.filter((w) => !is.cells.some((c) => c === w || c.startsWith(`${w} `)));
    check(!missing.length, `${house}, ${p.id}: ${wanted.length} figures of its evidence${missing.length ? `, but not ${missing.slice(0, 5).join('; ')}` : ''}`);
    await row.getByRole('button').first().click();
  }
}

/* ---- every single failure ---- */

async function failures(house, cli) {
  await go(house, { side: 'promises', view: 'failures' });
  await page.locator('rt-failures tbody tr').first().waitFor();
  const order = [...cli.failures].sort((a, b) => b.broken - a.broken);
  const says = new Map(cli.promises.map((p) => [p.id, p.says]));
  same(
    await page.locator('rt-failures tbody tr th').evaluateAll((all) => all.map((e) => e.firstChild.textContent.trim() || e.textContent.trim().split('\n')[0].trim())),
    order.map((f) => f.says),
    `${house}: what can fail, the worst first`,
  );
  same(await texts('rt-failures tbody tr > td:nth-child(2)'), order.map((f) => String(f.broken)), `${house}: what each breaks`);
  same(
    await texts('rt-failures tbody th .quiet'),
    order.map((f) => [f.line_lost ? 'no internet any more' : '', f.lost.length ? `${f.lost.length} things go with it` : ''].filter(Boolean).join('; ')),
    `${house}: what goes with it`,
  );
  same(
    await texts('rt-failures tbody li'),
    order.flatMap((f) => f.promises.filter((p) => p.by_this).map((p) => flat(`${says.get(p.id)} ${p.reason}`))),
    `${house}: which promises break, and why`,
  );
}

/* ---- ports, who may talk, the week ---- */

function csv(text) {
  const [head, ...rows] = text.trim().split('\n').map((line) =>
    [...line.matchAll(/("(?:[^"]|"")*"|[^,]*)(?:,|$)/g)].slice(0, -1).map((m) => m[1].replace(/^"|"$/g, '').replace(/""/g, '"')),
  );
  return rows.map((r) => Object.fromEntries(head.map((k, i) => [k, r[i] ?? ''])));
}
const speed = (mbps) => (mbps === '' ? '·' : Number(mbps) >= 1000 ? `${figure(mbps / 1000)} Gb/s` : `${figure(Number(mbps), 0)} Mb/s`);

async function ports(house) {
  const out = mkdtempSync(join(tmpdir(), 'rooftree-csv-'));
  const r = spawnSync(process.env.RT_PROGRAM, ['export', fileOf(house), '--to', 'csv', '--out', out], { encoding: 'utf8' });
  check(r.status === 0 || r.status === 1, `${house}: the command line writes its tables`);
  const map = csv(readFileSync(join(out, 'port_map.csv'), 'utf8'));
  rmSync(out, { recursive: true });
  await go(house, { side: 'promises', view: 'ports' });
  await page.locator('rt-ports tbody tr').first().waitFor();
  const column = (n) => texts(`rt-ports tbody tr > :nth-child(${n})`);
  same(await column(1), map.map((p) => `${p.port} ${speed(p.port_mbps)}`), `${house}: each port and its speed`);
  same(await column(3), map.map((p) => p.cable), `${house}: its cable`);
  same(await column(5), map.map((p) => speed(p.link_mbps)), `${house}: the speed of its link`);
  same(
    await column(6),
    map.map((p) => (p.drawn_w === '' ? '·' : `${figure(Number(p.drawn_w))} W${p.class_granted === '' ? '' : `, class ${p.class_granted}`}`)),
    `${house}: the power it gives`,
  );
  const carried = await column(4);
  check(
    map.every((p, i) => !p.untagged_vlan || carried[i].includes(`${words(p.untagged_segment)} (${p.untagged_vlan})`)),
    `${house}: and the segments it carries`,
  );
}

async function matrix(house) {
  const cli = told('prove', fileOf(house), '--json');
  await go(house, { side: 'promises', view: 'matrix' });
  await page.locator('rt-matrix tbody tr').first().waitFor();
  const heads = await texts('rt-matrix thead th');
  const rows = await page.locator('rt-matrix tbody tr').evaluateAll((all) =>
    all.map((r) => [...r.children].map((c) => c.textContent.replace(/\s+/g, ' ').trim())),
  );
  const wrong = cli.matrix.filter((c) => {
    const is = rows.find((r) => r[0] === words(c.from))?.[heads.indexOf(words(c.to))] ?? '';
    const says = [c.verdict, c.services.map(words).join(', '), c.hours.map(words).join(', ')].filter(Boolean).join(': ');
    return is !== says && !is.includes(`${c.family} ${says}`);
  });
  check(!wrong.length && cli.matrix.length > 4, `${house}: who may talk, ${cli.matrix.length} cells${wrong.length ? `, but ${JSON.stringify(wrong[0]).slice(0, 200)}` : ''}`);
  check((await texts('rt-matrix p.quiet')).some((t) => t.startsWith(`${cli.rules} rules`)), `${house}: ${cli.rules} rules`);
}

async function week(house, cli) {
  const { ways } = cli.promises.find((p) => p.kind === 'line').evidence;
  await go(house, { side: 'promises', view: 'week' });
  await page.locator('rt-week .chart').first().waitFor();
  const captions = await texts('rt-week .chart figcaption');
  ways.forEach((w, i) => {
    const most = w.worst_hour.needed_mbps === null ? '' : `, ${figure(w.worst_hour.needed_mbps)} Mb/s`;
    equal(
      captions[i],
      `${w.way}: the line carries ${figure(w.payload_mbps, 0)} Mb/s; most is asked ${w.worst_hour.says}${most}`,
      `${house}: the week ${w.way}`,
    );
  });
  /* the bars: as high as the figures, the axis being its own scale */
  const high = await page.locator('rt-week .chart').first().locator('rect.needed').evaluateAll((all) => all.map((r) => Number(r.getAttribute('height'))));
  const top = Math.max(...ways[0].needed_mbps);
  const scale = Math.max(...high) / top;
  check(
    high.length === 168 && top > 0 && ways[0].needed_mbps.every((v, i) => Math.abs(high[i] - v * scale) < 0.01),
    `${house}: its 168 bars stand as the figures do`,
  );
}

/* ---- what a spot hears, path by path ---- */

async function spot(house) {
  await go(house, { side: 'promises', view: 'plan', quantity: 'none', floor: 'third' });
  await page.locator('svg.house').focus();
  for (let i = 0; i < 6; i++) await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Enter');
  await page.locator('.spot-panel .ray-list button').first().waitFor();
  const at = await page.evaluate(() => document.querySelector('rt-sheet').house.report.spot.at_m);
  const cli = told('signal', fileOf(house), '--json', '--floor', 'third', '--paths', '6', '--at', at.slice(0, 2).join(','));
  equal(
    (await texts('.spot-panel > .quiet'))[0],
    `${figure(at[0], 2)} m by ${figure(at[1], 2)} m, heard by a ${cli.device}, ${cli.estimate} estimate`,
    'the spot, by whom it is heard',
  );
  same(
    await texts('.heard > li > p'),
    cli.access_points.slice(0, 5).map(
      (a) =>
        `${words(a.id)} ${a.band} GHz ${figure(a.level_dbm, 0)} dBm promised ${figure(a.promised_level_dbm, 0)}, up ${figure(a.uplink_level_dbm, 0)}, ${figure(a.payload_mbps, 0)} Mb/s`,
    ),
    'each radio: its level, what may be promised, up, rate',
  );
  const two = cli.access_points.slice(0, 2).map((a) => a.paths.slice(0, 4));
  same(
    await texts('.ray-list button'),
    two.flat().map((p) => `${p.kind}, ${figure(p.length_m)} m: ${figure(p.level_dbm, 0)} dBm`),
    'each path: its kind, length and level',
  );
  const buttons = page.locator('.ray-list button');
  for (const [i, p] of two.flat().entries()) {
    await buttons.nth(i).focus();
    const li = page.locator('.ray-list > li', { has: page.locator('[aria-pressed=true]') });
    const says = await li.locator('span.quiet').allInnerTexts();
    const wanted = p.crossings.map((c) => `${words(c.id)} ${c.reflection ? 'reflects ' : c.bend ? 'bends ' : ''}−${figure(c.loss_db, 0)}`).join(', ');
    if (flat(says.join('')) !== wanted) check(false, `path ${i + 1}: what is lost where: is ${flat(says.join(''))}, wanted ${wanted}`);
  }
  check(two.flat().some((p) => p.crossings.length > 1), 'and of each what is lost where');
}

for (const house of ['one_of_each', 'quay_flat']) {
  const cli = told('check', fileOf(house), '--failures', '--json');
  await promises(house, cli);
  await failures(house, cli);
  if (house === 'quay_flat') await ports(house); /* the hut is not whole enough to be exported */
  await matrix(house);
  await week(house, cli);
}
await spot('quay_flat');

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
