/* Two houses beside each other, a house beside itself as it was, and the week of all load: every figure as the command line and the
   server have it, and what differs in the files as PyYAML reads them. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { axe, browse, check, done, equal, open, serve, told, until, yaml } from './kit.mjs';

const server = await serve(['quay_flat']);
const flat = join(server.houses, 'quay_flat.house.yaml');
const other = join(server.houses, 'other.house.yaml');
/* more is put aside in the other for what was not foreseen */
writeFileSync(
  other,
  readFileSync(flat, 'utf8')
    .replace(/^name: .*/m, 'name: The Other')
    .replace('contingency_share: 0.10', 'contingency_share: 0.30')
    .replace('- {band: 5, channel: 100, width_mhz: 80', '- {band: 5, channel: 36, width_mhz: 40')
    .replace(/^  fridge: .*\n/m, ''),
);
const browser = await browse();
const page = await open(browser, server);

/* ---- beside each other ---- */
await page.goto(`${server.base}/#house=quay_flat&side=change&view=compare`);
await page.locator('#compare-with').waitFor();
check(
  (await page.locator('.compare').innerText()).includes('Nothing is changed by looking'),
  'before anything is chosen the view says what it is for',
);
await axe(page, 'nothing chosen yet');
await page.selectOption('#compare-with', 'other');
await page.getByText('What each comes to').waitFor();
const c = told('design', flat, '--compare', other, '--json');
const row = async (name) =>
  page
    .locator('.compare tbody tr', {
      has: page.getByRole('rowheader', { name, exact: true }),
    })
    .locator('td')
    .allInnerTexts();
const euros = (minor) =>
  new Intl.NumberFormat('en-GB', {
    style: 'currency',
    currency: c.currency,
  }).format(minor / 100);
const [a, b] = c.houses;
const buy = await row('to buy');
equal(buy[0], euros(a.total_minor), 'what this house costs, as the command line says');
equal(buy[1], euros(b.total_minor), 'and the other');
equal(buy[2], `+${euros(b.total_minor - a.total_minor)}`, 'and how far they are apart');
equal((await row('broken'))[1], String(b.broken), 'broken promises of the other');
const differ = c.promises.filter(
  (p) => p.sides[0].state !== p.sides[1].state || p.sides[0].margin !== p.sides[1].margin,
);
check(differ.length > 0, 'the two keep some promise differently');
equal(
  await page.locator('.compare table').nth(1).locator('tbody tr').count(),
  differ.length,
  'the promises that differ, as the command line has them',
);
const apart = async (section) => {
  const at = page.getByRole('region', { name: section, exact: true });
  return (await at.locator('tbody').allInnerTexts()).map((t) => t.replace(/\s+/g, ' ').trim());
};
const [ours, theirs] = [yaml(flat), yaml(other)];
equal(
  (await page.locator('.apart').evaluateAll((all) => all.map((e) => e.ariaLabel))).join(),
  'house,obstacles,equipment,budget',
  'the sections in which the files differ',
);
const said = (await apart('equipment')).join();
const radio = (h) => h.equipment.a1.radios.find((x) => x.band === 5);
for (const [words, of] of [
  ['radios 5, channel', (h) => String(radio(h).channel)],
  ['radios 5, channel width', (h) => `${radio(h).width_mhz} MHz`],
])
  check(
    said.includes(`${words} ${of(ours)} ${of(theirs)}`),
    `${words}: ${of(ours)} here, ${of(theirs)} there: ${said}`,
  );
check(/^fridge metal_appliance only here/.test((await apart('obstacles'))[0]), 'what only this house has');
await page.getByRole('region', { name: 'obstacles', exact: true }).locator('summary').click();
check(
  (await apart('obstacles'))[0].includes(`upper edge ${ours.obstacles.fridge.to_m} m`),
  'and all that stands there',
);
await axe(page, 'two houses');

/* ---- this house as it was ---- */
await page.evaluate(async () => {
  const edits = [
    { op: 'set', path: '/equipment/a1/radios/1/power_dbm', value: 17 },
    { op: 'remove', path: '/obstacles/bookcase' },
    { op: 'add', path: '/rooms/hall/says', value: 'the long hall' },
  ];
  await fetch('/api/houses/quay_flat/edits', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ what: 'less power, no bookcase', edits }),
  });
});
await page.reload();
await page.locator('#compare-with optgroup').nth(1).waitFor({ state: 'attached' });
await page.selectOption('#compare-with', '@1');
await page.getByText('What differs in the files').waitFor();
check((await page.locator('.compare thead').first().innerText()).includes('as it was'), 'the columns are now and then');
const changed = yaml(flat);
equal((await apart('obstacles')).length, 1, 'one obstacle less');
check((await apart('obstacles'))[0].startsWith('bookcase furniture_full only then'), 'that was there then');
check((await apart('rooms'))[0].endsWith('words the long hall left out'), 'a word that is new');
check(
  (await apart('equipment'))
    .join()
    .includes(`radios 5, power ${radio(changed).power_dbm} dBm ${radio(ours).power_dbm} dBm`),
  'a power that was another',
);
await axe(page, 'the house as it was');

/* ---- the week ---- */
await page.getByRole('button', { name: 'week', exact: true }).click();
await page.locator('.chart').first().waitFor();
const w = await page.evaluate(async () => (await fetch('/api/houses/quay_flat/week')).json());
const days = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];
const hour = (i) => `${days[Math.floor(i / 24)]} ${i % 24} to ${(i % 24) + 1} h`; /* as `check` words it */
const heads = await page.locator('.chart figcaption').allInnerTexts();
equal(heads.length, 2 + w.radios.length, 'the line both ways, and the channel of each radio');
check(heads[0].includes(hour(w.line.down.fullest_hour)), `the busy hour of the line is said: ${heads[0]}`);
const most = told('check', flat, '--json')
  .promises.find((p) => p.kind === 'line')
  .evidence.ways.find((x) => x.way === 'down');
check(heads[0].includes(most.worst_hour.needed_mbps.toFixed(1)), 'with the figure of the command line');
const busy = w.radios[0].own.map((_, i) =>
  ['own', 'beacons', 'own_radios', 'neighbours', 'mesh'].reduce((sum, k) => sum + w.radios[0][k][i], 0),
);
check(
  heads[2].includes(`${Math.round(Math.max(...busy) * 100)} %`),
  `how busy the first channel is at most: ${heads[2]}`,
);
await page.locator('.chart summary').first().click();
await until(
  async () => (await page.locator('.chart table tbody tr').first().locator('td').count()) === 7,
  'a table of seven days',
);
await axe(page, 'the week');

equal(page.wrong.length, 0, `the page complains of nothing${page.wrong.map((x) => `\n    ${x}`).join('')}`);
await browser.close();
equal(await server.stop(), 0, 'the program ends as it should');
done();
