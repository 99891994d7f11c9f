/* Every section's form, by the keyboard alone, on a hut that has one of each: one thing changed, one added, one removed, and a mistake.
   The file is compared by its bytes: a change is the text that stands in this table replaced by another and nothing else; what is
   undone or removed leaves the file as it was.  What was added is read back by PyYAML.  A mistake is told beside its field. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT, browse, check, done, equal, open, serve, tabTo, yaml } from './kit.mjs';

const server = await serve([join(ROOT, 'tests/browser/one_of_each.house.yaml')]);
const browser = await browse();
const page = await open(browser, server);
const file = join(server.houses, 'one_of_each.house.yaml');
const bytes = () => readFileSync(file, 'utf8');
const start = bytes();

/* One row a section.  `change`: the member (as the form's fields are named), what is typed, and what of the file's text that replaces.
   `wrong`: what is no value there, and the engine's word for it.  `add`: a name, what is typed, and what PyYAML then reads. */
const ROWS = [
  {
    section: 'house',
    change: ['says', 'a hut by the road', 'says: a hut by the lane', 'says: a hut by the road'],
    wrong: ['country', 'Germany', /country|two letters/i],
  },
  {
    section: 'floors',
    item: 'ground',
    change: ['height_m', '2.6', 'height_m: 2.5', 'height_m: 2.6'],
    wrong: ['slab', 'concrete_15', /concrete_150/],
    add: [
      'upper',
      { level_m: '2.8', height_m: '2,3', outline: '0, 0; 6, 0; 6, 4; 0, 4' },
      { level_m: 2.8, height_m: 2.3, outline: [[0, 0], [6, 0], [6, 4], [0, 4]] },
    ],
  },
  {
    section: 'floors',
    item: 'ground',
    name: 'a hole in a slab',
    change: ['holes-0-what', 'trapdoor', 'what: hatch', 'what: trapdoor'],
    wrong: ['holes-0-outline', '0.5, 3; 1, 3', /corner|outline/],
  },
  {
    section: 'rooms',
    item: 'den',
    change: ['says', 'the study', 'says: the den', 'says: the study'],
    wrong: ['floor', 'grund', /ground/],
    add: [
      'corner',
      { floor: 'ground', outline: '5, 0; 6, 0; 6, 4', use: { pick: 'store' } },
      { floor: 'ground', outline: [[5, 0], [6, 0], [6, 4]], use: 'store' },
    ],
  },
  {
    section: 'walls',
    item: 'middle',
    change: ['construct', 'brick_single', 'construct: stud_wall', 'construct: brick_single'],
    wrong: ['construct', 'stud_wal', /stud_wall/],
    add: [
      'short',
      { floor: 'ground', construct: 'stud_wall', line: '1, 0; 1, 1.5' },
      { floor: 'ground', construct: 'stud_wall', line: [[1, 0], [1, 1.5]] },
    ],
  },
  {
    section: 'walls',
    item: 'north',
    name: 'an opening',
    change: ['openings-0-width_m', '1.4', 'width_m: 1.2', 'width_m: 1.4'],
    wrong: ['openings-0-construct', 'glas_double', /glass_double/],
  },
  {
    section: 'planes',
    item: 'stair',
    change: ['construct', 'metal_door', 'construct: timber_door, outline: [[5, 1', 'construct: metal_door, outline: [[5, 1'],
    wrong: ['floor', 'grund', /ground/],
    add: [
      'slope',
      { floor: 'ground', construct: 'roof_slate', outline: '0, 0, 1; 6, 0, 1; 6, 4, 2' },
      { floor: 'ground', construct: 'roof_slate', outline: [[0, 0, 1], [6, 0, 1], [6, 4, 2]] },
    ],
  },
  {
    section: 'obstacles',
    item: 'stove',
    change: ['to_m', '1.2', 'to_m: 1.1', 'to_m: 1.2'],
    wrong: ['construct', 'metal_aplliance', /metal_appliance/],
    add: [
      'glass',
      { floor: 'ground', construct: 'mirror', to_m: '1.8', line: '1, 1; 1, 2' },
      { floor: 'ground', construct: 'mirror', to_m: 1.8, line: [[1, 1], [1, 2]] },
    ],
  },
  {
    section: 'constructs',
    item: 'lane_wall',
    change: ['layers-0-thickness_m', '0.11', 'thickness_m: 0.225', 'thickness_m: 0.11'],
    wrong: ['layers-0-material', 'brik', /brick/],
    add: [
      'plank',
      { says: 'one board', layers: { more: { 'layers-0-material': 'wood', 'layers-0-thickness_m': '0.03' } } },
      { says: 'one board', layers: [{ material: 'wood', thickness_m: 0.03 }] },
    ],
  },
  {
    section: 'mounts',
    item: 'shelf_den',
    change: ['price', '6', 'price: 4', 'price: 6'],
    wrong: ['room', 'dem', /den/],
    add: [
      'nook_wall',
      { at_m: '4.9, 1, 1.5', surface: { pick: 'wall' }, use: { tick: 'outlet' }, room: 'nook', faces_deg: '270' },
      { room: 'nook', at_m: [4.9, 1, 1.5], surface: 'wall', use: ['outlet'], faces_deg: 270 },
    ],
  },
  {
    section: 'runs',
    item: 'skirting',
    change: ['price_per_m', '3', 'price_per_m: 2', 'price_per_m: 3'],
    wrong: ['floors', 'grund', /ground/],
    add: [
      'pipe',
      { kind: { pick: 'duct' }, floors: 'ground', line: '1, 1, 0; 2, 1, 0' },
      { kind: 'duct', floors: ['ground'], line: [[1, 1, 0], [2, 1, 0]] },
    ],
  },
  {
    section: 'cables',
    item: 'c_switch',
    change: ['length_m', '0.4', 'length_m: 0.5', 'length_m: 0.4'],
    wrong: ['part', 'cord_0m55', /cord_0m5/],
    add: [
      'c_desk',
      { from: 'middle_switch:2', to: 'desk', part: 'cord_2m' },
      { from: 'middle_switch:2', to: 'desk', part: 'cord_2m' },
    ],
  },
  {
    section: 'line',
    change: ['down_mbps', '250', 'down_mbps: 300', 'down_mbps: 250'],
    wrong: ['down_mbps', '-5', /down_mbps|least|-5/],
  },
  {
    section: 'neighbours',
    item: 'lane_2',
    change: ['level_dbm', '−68', 'level_dbm: -70', 'level_dbm: -68'],
    wrong: ['busy_share', '7', /busy_share/],
    add: [
      'lane_5',
      { band: { pick: '5' }, channel: '36', level_dbm: '-80' },
      { band: 5, channel: 36, level_dbm: -80 },
    ],
  },
  {
    section: 'mesh',
    change: ['power_dbm', '4', 'power_dbm: 5', 'power_dbm: 4'],
    wrong: ['channel', '99', /channel/],
  },
  {
    section: 'people',
    item: 'ada',
    change: ['says', 'Ada L.', 'says: Ada,', 'says: Ada L.,'],
    wrong: ['room', 'dem', /den/],
    add: ['cy', { says: 'Cy', kind: { pick: 'child' } }, { says: 'Cy', kind: 'child' }],
  },
  {
    section: 'devices',
    item: 'scribe',
    change: ['says', 'the old printer', 'says: the printer', 'says: the old printer'],
    wrong: ['segment', 'thing', /things/],
    add: [
      'lamp',
      { kind: 'light', link: { pick: 'mesh' }, room: 'den' },
      { kind: 'light', link: 'mesh', room: 'den' },
    ],
  },
  {
    section: 'groups',
    item: 'paper',
    change: ['says', 'all that prints', 'says: what prints', 'says: all that prints'],
    wrong: ['members', 'scrib', /scribe/],
    add: ['desks', { members: 'desk, keeper' }, { members: ['desk', 'keeper'] }],
  },
  {
    section: 'profiles',
    item: 'writing',
    change: ['states-0-down_mbps', '0.3', 'down_mbps: 0.2', 'down_mbps: 0.3'],
    wrong: ['states-0-chance', '7', /chance|0 to 1|between/],
    add: [
      'reading',
      { states: { more: { 'states-0-chance': '0.5' } } },
      { states: [{ chance: [0.5] }] },
    ],
  },
  {
    section: 'segments',
    item: 'things',
    change: ['says', 'with a plug', 'says: what has a plug', 'says: with a plug'],
    wrong: ['ipv4', '10.9.20.0/99', /10\.9\.20\.0\/99|prefix|network/],
    add: ['guests', { says: 'visitors', vlan: '30', ipv4: '10.9.30.0/24' }, { says: 'visitors', vlan: 30, ipv4: '10.9.30.0/24' }],
  },
  {
    section: 'ssids',
    item: 'hut',
    change: ['name', 'The Hut', 'name: Hut', 'name: The Hut'],
    wrong: ['segment', 'hom', /home/],
    add: [
      'plugs',
      { name: 'Plugs', segment: 'things', bands: { tick: '2.4' }, security: { pick: 'wpa2' } },
      { name: 'Plugs', segment: 'things', bands: [2.4], security: 'wpa2' },
    ],
  },
  {
    section: 'foreign_ranges',
    item: '0',
    change: ['says', 'the box', "says: the provider's box", 'says: the box'],
    wrong: ['range', '192.168.77', /192\.168\.77/],
    add: ['', { range: '10.77.0.0/16', says: 'work' }, { range: '10.77.0.0/16', says: 'work' }],
  },
  {
    section: 'interfaces',
    item: 'lan10',
    change: ['segment', 'things', 'lan10: {segment: home}', 'lan10: {segment: things}'],
    wrong: ['segment', 'hom', /home/],
    add: ['lan20', { segment: 'things' }, { segment: 'things' }],
  },
  {
    section: 'hours',
    item: 'nights',
    change: ['to', '06:30', 'to: "07:00"', 'to: "06:30"'],
    wrong: ['from', '25:00', /25:00|hour/],
    add: ['noon', { from: '12:00', to: '13:00' }, { from: '12:00', to: '13:00' }],
  },
  {
    section: 'services',
    item: 'panel',
    change: ['says', 'its page', "says: the hub's page", 'says: its page'],
    wrong: ['ports', '99999', /99999|port/],
    add: ['knock', { protocol: { pick: 'udp' }, ports: '4000-4010' }, { protocol: 'udp', ports: '4000-4010' }],
  },
  {
    section: 'relays',
    item: 'find_paper',
    change: ['says', 'Printer is found', 'says: Home finds the printer', 'says: Printer is found'],
    wrong: ['to', 'thing', /things/],
    add: ['cast', { from: 'home', to: 'things', kind: { pick: 'ssdp' } }, { from: ['home'], to: ['things'], kind: 'ssdp' }],
  },
  {
    section: 'port_openings',
    item: 'page',
    change: ['says', 'seen outside', 'says: the panel from outside', 'says: seen outside'],
    wrong: ['device', 'des', /desk/],
    add: ['prints', { device: 'scribe', service: 'ipps' }, { device: 'scribe', service: 'ipps' }],
  },
  {
    section: 'remote_access',
    item: 'away',
    change: ['port', '51821', 'port: 51820', 'port: 51821'],
    wrong: ['segment', 'hom', /home/],
    add: ['bo_away', { segment: 'things', port: '51900', people: 'bo' }, { segment: 'things', port: 51900, people: ['bo'] }],
  },
  {
    section: 'equipment',
    item: 'middle_switch',
    change: ['says', 'on the wall', 'says: under the desk', 'says: on the wall'],
    wrong: ['part', 'switch_9', /switch_[58]/],
    add: [
      'far_switch',
      { part: 'switch_5', room: 'nook', at_m: '3.2, 0.2, 0.3' },
      { part: 'switch_5', room: 'nook', at_m: [3.2, 0.2, 0.3] },
    ],
  },
  {
    section: 'batteries',
    item: 'cell',
    change: ['age_years', '3', 'age_years: 2', 'age_years: 3'],
    wrong: ['part', 'battery_15', /battery_150/],
    add: ['second', { part: 'battery_150', feeds: 'middle_switch' }, { part: 'battery_150', feeds: ['middle_switch'] }],
  },
  {
    section: 'recordings',
    item: 'porch_days',
    change: ['disk_gb', '750', 'disk_gb: 500', 'disk_gb: 750'],
    wrong: ['recorder', 'keepr', /keeper/],
    add: [
      'porch_moves',
      { recorder: 'keeper', cameras: 'porch', motion_only: { pick: 'yes' } },
      { recorder: 'keeper', cameras: ['porch'], motion_only: true },
    ],
  },
  {
    section: 'phases',
    item: 'spring',
    change: ['budget', '180', 'budget: 150', 'budget: 180'],
    wrong: ['by_date', '2027-13-01', /date|month|2027-13/],
    add: ['autumn', { by_date: '2027-10-31', budget: '50' }, { by_date: '2027-10-31', budget: 50 }],
  },
  {
    section: 'growth',
    item: '0',
    change: ['share', '0.5', 'kind: camera, share: 0', 'kind: camera, share: 0.5'],
    wrong: ['kind', 'camra', /camera/],
    add: ['', { kind: 'phone', share: '2' }, { kind: 'phone', share: 2 }],
  },
  {
    section: 'budget',
    change: ['purchase', '650', 'purchase: 600', 'purchase: 650'],
    wrong: ['yearly', '-1', /yearly|least|-1/],
  },
  {
    section: 'promises',
    item: 'prints',
    change: ['says', 'It prints', 'says: Printing works', 'says: It prints'],
    wrong: ['to', 'scrib', /scribe/],
  },
];

/* Each kind of promise, with what it cannot do without (docs/house_file.md) and something more that it may have: what is typed, and what
   PyYAML then reads. */
const PROMISES = {
  signal: [{ rooms: 'den, nook', level_dbm: '-70', area_share: '0,9' }, { rooms: ['den', 'nook'], level_dbm: -70, area_share: 0.9 }],
  rate: [{ rooms: 'den', mbps: '50', up_mbps: '10' }, { rooms: ['den'], mbps: 50, up_mbps: 10 }],
  roaming: [{ rooms: 'den, nook', level_dbm: '−75' }, { rooms: ['den', 'nook'], level_dbm: -75 }],
  quiet: [{ max_busy_share: '0.5' }, { max_busy_share: 0.5 }],
  apart: [{ from: 'segment:things', to: 'internet' }, { from: ['segment:things'], to: ['internet'] }],
  reach: [
    { from: 'segment:home', to: 'keeper, desk', services: 'https' },
    { from: ['segment:home'], to: ['keeper', 'desk'], services: ['https'] },
  ],
  hours: [{ from: 'segment:things', to: 'internet', hours: 'nights' }, { from: ['segment:things'], to: ['internet'], hours: 'nights' }],
  power: [{}, {}],
  cable: [{}, {}],
  line: [{ probability: '0.9' }, { probability: 0.9 }],
  recording: [{ recording: 'porch_days', days: '5' }, { recording: 'porch_days', days: 5 }],
  outage: [{ devices: 'desk', minutes: '20' }, { devices: ['desk'], minutes: 20 }],
  survive: [{ failures: { tick: 'line' }, promises: 'prints' }, { failures: ['line'], promises: ['prints'] }],
  growth: [{ times: '2', years: '3' }, { times: 2, years: 3 }],
  cost: [{ purchase: '700' }, { purchase: 700 }],
  exposure: [{ limit: { pick: 'icnirp 2020' } }, { limit: 'icnirp_2020' }],
};

/* ---- by the keyboard ---- */

const key = (k) => page.keyboard.press(k);

async function replace(text) {
  await key('Control+A');
  if (text === '') await key('Delete');
  else await page.keyboard.type(text);
}

/* A choice: arrow down until its word is there. */
async function pick(word) {
  for (let i = 0; i < 60; i++) {
    const now = await page.evaluate(() => document.activeElement.selectedOptions[0]?.textContent.trim());
    if (now === word) return;
    await key('ArrowDown');
  }
  check(false, `the choice has the word ${word}`);
}

const fieldOf = (section, member) => `#f-${section}-${member}`;

async function fill(section, member, value) {
  if (typeof value === 'object' && value.more) {
    await focusOn('fieldset.nested button.word', 'one more');
    await key('Enter');
    for (const [m, v] of Object.entries(value.more)) await fill(section, m, v);
  } else if (typeof value === 'object' && value.tick) {
    const at = await page
      .locator('fieldset.choose label.tick')
      .evaluateAll((all, word) => all.findIndex((l) => l.textContent.trim() === word), value.tick);
    await focusOn('fieldset.choose input[type=checkbox]', '', at);
    await key('Space');
  } else {
    await focusOn(fieldOf(section, member));
    if (typeof value === 'object') await pick(value.pick);
    else await replace(value);
  }
}

const focusOn = (selector, text, nth) => tabTo(page, selector, text, nth);

async function press(selector, text) {
  if (!(await focusOn(selector, text))) return;
  await key('Enter');
}

const idle = () => page.locator('.tally:not(:has(i))', { hasText: ' kept' }).waitFor();
const said = (text) => page.locator('.said', { hasText: text }).waitFor();

async function undo(what) {
  await key('Control+z'); /* the focus is on a button, not in a field */
  await said(/^One step back/);
  fileIs(start, `${what}: undo gives the file back to the byte`);
}

async function openSection(section) {
  if ((await page.locator('.crumbs').count()) && (await focusOn('.crumbs button', 'everything'))) await key('Enter');
  await page.locator('.sections').waitFor();
  await press('.sections button', section.replace(/_/g, ' '));
}

/* All that may be said is shown, so that every member has its field. */
async function openAll() {
  const more = page.locator('button[aria-expanded]', { hasText: 'more that may be said' });
  if (await more.count()) await press('button[aria-expanded=false]');
}

async function openItem(row) {
  await openSection(row.section);
  if (row.item === undefined) return openAll();
  await page.locator('.things-list').waitFor();
  const at = await page.locator('.things-list li button').evaluateAll(
    (all, item) => all.findIndex((b, i) => b.querySelector('.quiet')?.textContent.trim() === item || String(i) === item),
    row.item,
  );
  await focusOn('.things-list li button', '', at);
  await key('Enter');
  await page.locator('form.item-form').waitFor();
  await openAll();
}

const wrongTold = async () => (await page.locator('.field-wrong, .item-form [role=alert]').allInnerTexts()).join(' | ');

function holds(is, wanted) {
  if (wanted === null || typeof wanted !== 'object') return is === wanted;
  if (Array.isArray(wanted)) return Array.isArray(is) && is.length === wanted.length && wanted.every((w, i) => holds(is[i], w));
  return !!is && typeof is === 'object' && Object.entries(wanted).every(([k, w]) => holds(is[k], w));
}

/* The same members with the same values, in whatever order; no more and no fewer. */
const isSame = (a, b) => holds(a, b) && holds(b, a);

/* What was added is text put in at one place; all other bytes are there as before. */
function inserted(after) {
  let a = 0;
  while (a < start.length && start[a] === after[a]) a++;
  let z = 0;
  while (z < start.length - a && start[start.length - 1 - z] === after[after.length - 1 - z]) z++;
  return a + z === start.length;
}

/* The file is that; if not, the first line that differs is told. */
function fileIs(wanted, says) {
  const is = bytes().split('\n');
  const at = wanted.split('\n').findIndex((line, i) => line !== is[i]);
  check(bytes() === wanted, bytes() === wanted ? says : `${says}: line ${at + 1} is ${is[at]}, wanted ${wanted.split('\n')[at]}`);
}

async function changeOne(row, name) {
  const [member, typed, was, is] = row.change;
  equal(start.split(was).length, 2, `${name}: the table's text stands once in the file`);
  await fill(row.section, member, typed);
  await press('form.item-form .form-foot button.main');
  await said(/^Kept: /);
  fileIs(start.replace(was, () => is), `${name}: changed, and no other byte`);
  await idle();
  await undo(name);
}

async function wrongOne(row, name) {
  const [member, typed, says] = row.wrong;
  await fill(row.section, member, typed);
  if (await page.evaluate(() => document.activeElement.matches('input'))) await key('Enter');
  else await press('form.item-form .form-foot button.main');
  const beside = page.locator(`.field.is-wrong:has(${fieldOf(row.section, member)}) .field-wrong`);
  await page.locator('.field-wrong, .item-form [role=alert]').first().waitFor();
  const n = await beside.count();
  const told = n ? await beside.first().innerText() : `nothing; but ${await wrongTold()}`;
  check(n === 1 && says.test(told), `${name}: the engine's word stands beside ${member}: ${told.slice(0, 300)}`);
  equal(await page.locator('.field-wrong').count(), 1, `${name}: and nowhere else`);
  equal(await page.evaluate(() => document.activeElement.id), fieldOf(row.section, member).slice(1), `${name}: and the field has the focus`);
  fileIs(start, `${name}: what cannot be is not kept`);
  await press('.form-foot button[type=button]', 'as it was');
}

async function addOne(section, [id, members, wanted], name, remove) {
  if (await page.locator('.crumbs button', { hasText: section.replace(/_/g, ' ') }).count())
    await press('.crumbs button', section.replace(/_/g, ' '));
  else await openSection(section);
  await press('.things-list > button.main');
  await page.locator('form.item-form').waitFor();
  if (id) {
    await focusOn('#item-id');
    await page.keyboard.type(id);
  }
  if (members.kind?.pick) await fill(section, 'kind', members.kind);
  await openAll();
  for (const [m, v] of Object.entries(members)) if (m !== 'kind' || !v.pick) await fill(section, m, v);
  await press('form.item-form .form-foot button.main');
  await page.locator('.said:text-matches("^Kept: "), .item-form [role=alert], .field-wrong').first().waitFor();
  const after = bytes();
  if (after === start) return check(false, `${name}: added; the page says: ${await wrongTold()}`);
  check(inserted(after), `${name}: added, and every other byte stays`);
  const is = yaml(file)[section];
  const found = Array.isArray(is) ? is[is.length - 1] : is?.[id];
  check(isSame(found, wanted), `${name}: PyYAML reads what was typed, each member: ${JSON.stringify(found)}`);
  await idle();
  if (!remove) return undo(name);
  await press('.form-foot button.word', 'remove');
  await said(/^Kept: .* removed from/);
  fileIs(start, `${name}: removed, and the file is as it was`);
}

await page.goto(`${server.base}/#house=one_of_each&side=change&view=text`);
await idle();
const only = process.env.RT_ONLY;
for (const row of ROWS.filter((r) => !only || r.section === only)) {
  const name = row.name ?? row.section;
  await openItem(row);
  await wrongOne(row, name);
  await changeOne(row, name);
  if (row.add) await addOne(row.section, row.add, name, true);
}

/* ---- a statement is a sentence with choices ---- */

async function statements() {
  const one = (name) => `.sentence select[aria-label="${name}: one more"]`;
  await openItem({ section: 'statements', item: '0' });
  await focusOn('#statement-id');
  await replace('two words');
  await key('Enter');
  await page.locator('.field.is-wrong:has(#statement-id) .field-wrong').waitFor();
  check(/two words/.test(await wrongTold()), `statements: a name that is none is told beside it: ${await wrongTold()}`);
  await press('.form-foot button[type=button]', 'as it was');
  await focusOn(one('for what'));
  await pick('https');
  await key('Enter');
  await focusOn('.sentence select[aria-label="when"]');
  await pick('during nights');
  await press('form.item-form .form-foot button.main');
  await said(/^Kept: /);
  const [first, second] = yaml(file).statements;
  check(holds(first, { services: ['https'], hours: 'nights' }), `statements: PyYAML reads what was chosen: ${JSON.stringify(first)}`);
  check(
    bytes().replace(/, services: \[?"?https"?\]?, hours: nights/, '') === start,
    `statements: only that was written into the first: ${bytes().split('\n').find((l) => l.includes('home_out'))}`,
  );
  equal(second.id, 'home_prints', 'statements: the second is as it was');
  await idle();
  await undo('statements');

  await press('.crumbs button', 'statements');
  await press('.things-list > button.main');
  const offered = await page.locator(`${one('who starts')} option`).allInnerTexts();
  check(offered.every((o) => !/:/.test(o)) && new Set(offered).size === offered.length, `statements: who may talk is offered once each, in the house's words: ${offered.join(', ')}`);
  await focusOn(one('who starts'));
  await pick('what has a plug');
  await key('Enter');
  await focusOn('.sentence select[aria-label="may they"]');
  await pick('may never');
  await focusOn(one('with whom'));
  await pick('the internet');
  await key('Enter');
  await press('form.item-form .form-foot button.main');
  await said(/^Kept: /);
  check(inserted(bytes()), 'statements: one added, and every other byte stays');
  const added = yaml(file).statements[2];
  check(holds(added, { from: 'segment:things', to: 'internet', verdict: 'refuse' }), `statements: PyYAML reads the third: ${JSON.stringify(added)}`);
  await idle();
  await press('.form-foot button.word', 'remove');
  await said(/^Kept: .* removed from/);
  fileIs(start, 'statements: removed, and the file is as it was');
}

/* ---- hours on the picture of the week ---- */

async function week() {
  await openItem({ section: 'hours', item: 'nights' });
  equal(await page.locator('.week-grid td.is-on').count(), 2 * 10, 'hours: two nights of ten hours are on the picture');
  await focusOn('.week-grid input[type=checkbox]', '', 2); /* Wednesday */
  await key('Space');
  equal(await page.locator('.week-grid td.is-on').count(), 3 * 10, 'hours: and a third with Wednesday');
  await press('form.item-form .form-foot button.main');
  await said(/^Kept: nights changed/); /* and not what was kept before */
  check(
    JSON.stringify(yaml(file).hours.nights.days) === '["mon","tue","wed"]',
    `hours: PyYAML reads three days: ${JSON.stringify(yaml(file).hours.nights.days)}`,
  );
  await idle();
  await undo('hours');
}

if (!only || only === 'statements') await statements();
if (!only || only === 'week') await week();
for (const [kind, [members, wanted]] of Object.entries(PROMISES).filter(() => !only || only === 'kinds'))
  await addOne(
    'promises',
    [`p_${kind}`, { kind: { pick: kind }, says: `Promise of ${kind}`, ...members }, { kind, says: `Promise of ${kind}`, ...wanted }],
    `a promise of ${kind}`,
    false,
  );

equal(page.wrong.join('; '), '', 'no error of the page, nothing asked elsewhere');
await browser.close();
equal(await server.stop(), 0, 'the server ends well');
done();
