/* The installer's telephone, 360 pixels wide: ticks that a second browser sees, a test with what was read, a level at a tapped spot
   against what the command line expects there, the table of readings. */
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { axe, browse, check, done, equal, open, serve } from "./kit.mjs";

const PHONE = { viewport: { width: 360, height: 780 }, hasTouch: true };
const server = await serve(["quay_flat"]);
const browser = await browse();
const page = await open(browser, server, PHONE);
const file = join(server.houses, "quay_flat.house.yaml");
const go = (p, hash) =>
  p.goto(
    `${server.base}/#${new URLSearchParams({ house: "quay_flat", ...hash })}`,
  );
/* Looked for by the clock, not by drawn pictures: a window behind another draws none. */
async function until(p, what, ...given) {
  const end = Date.now() + Number(process.env.RT_PATIENCE_MS ?? 120000);
  while (!(await p.evaluate(what, given))) {
    if (Date.now() > end)
      throw new Error(`it did not come about: ${what} ${given}`);
    await p.waitForTimeout(200);
  }
}
const shows = (p, selector, text) =>
  until(
    p,
    ([s, t]) =>
      [...document.querySelectorAll(s)].some((e) =>
        e.textContent.replace(/\s+/g, " ").includes(t),
      ),
    selector,
    text,
  );

/* ---- ticks ---- */
await go(page, { side: "install" });
await shows(page, ".install h2", "Lay and label");
equal(
  await page.locator(".install article.cable").count(),
  2,
  "both cables of the file are there",
);
const cable = page.locator('article.cable[aria-label="cable c_a1"]');
check(
  /c_a1 to box_side_switch/.test(await cable.innerText()),
  "its label is that of the book",
);
await cable.getByLabel("tested").check();
await until(
  page,
  () =>
    document.querySelector("article.cable.is-done h4")?.textContent === "c_a1",
);

/* a second browser: the same link does not open it, so it is handed the session */
const second = await browser.newContext(PHONE);
await second.addCookies(await page.context().cookies());
const other = await second.newPage();
await go(other, { side: "install" });
await until(
  other,
  () =>
    document.querySelector("article.cable.is-done h4")?.textContent === "c_a1",
);
check(true, "a second browser sees the tick");
await other
  .locator('article.cable[aria-label="cable c_gateway"]')
  .getByLabel("laid")
  .check();
await until(
  page,
  () =>
    document.querySelector('article.cable[aria-label="cable c_gateway"] input')
      ?.checked,
);
check(true, "and the first sees the tick of the second");

/* ---- which cable is ... ---- */
await page.getByRole("searchbox").fill("living");
await shows(page, ".install [role=status]", "1 of 2 cables");
check(
  /c_a1/.test(await page.locator("article.cable").innerText()),
  "a cable is found by what its label says",
);
await page.getByRole("searchbox").fill("");

/* ---- a test of the day: what was read passes by the promise's own figure, -72 dBm ---- */
const row = page.locator(".test-row").first();
await row.locator(".read input").fill("−72,5");
await row.locator(".read input").press("Tab");
await shows(page, ".test-row .verdict-word", "falls short");
await row.locator(".read input").fill("-71.5");
await row.locator(".read input").press("Tab");
await shows(page, ".test-row .verdict-word", "passes");
check(
  true,
  "a reading falls short or passes as it was promised, with comma or point",
);
await axe(page, "install, telephone");

/* ---- a level at a tapped spot ---- */
await go(page, {
  side: "install",
  view: "plan",
  floor: "third",
  page: "sheet",
});
await until(page, () => document.querySelector("svg.house .room"));
await page.waitForTimeout(500);
const box = await page
  .locator('svg.house .room[data-path="/rooms/bedroom"]')
  .boundingBox();
await page.touchscreen.tap(box.x + box.width * 0.3, box.y + box.height * 0.75);
await until(page, () => document.querySelector("rt-reading form"));
const level = page.getByLabel("level, dBm");
await page.locator("rt-reading select").selectOption("a1 5");
await level.fill("−61,5");
await page.getByLabel("note", { exact: false }).last().fill("door shut");
await page.locator("rt-reading button.main").click();
await shows(page, "rt-reading p", "expected");
const kept = await page.evaluate(async () =>
  (await fetch("/api/houses/quay_flat/readings")).json(),
);
equal(kept.readings.length, 1, "it was kept");
const reading = kept.readings[0];
equal(reading.level_dbm, -61.5, "with the level that was typed");
const said = JSON.parse(
  execFileSync(process.env.RT_PROGRAM, [
    "signal",
    file,
    "--floor",
    "third",
    "--at",
    reading.at_m.join(","),
    "--json",
  ]),
);
const heard = said.access_points.find((a) => a.id === "a1" && a.band === "5");
check(
  Math.abs(reading.expected_dbm - heard.level_dbm) < 0.011,
  `expected as signal --json says: ${reading.expected_dbm} and ${heard.level_dbm} dBm`,
);
check(
  Math.abs(reading.difference_db - (-61.5 - heard.level_dbm)) < 0.02,
  `the difference is read less expected: ${reading.difference_db} dB`,
);
await until(page, () => document.querySelector(".reading-mark text"));
check(
  /dB/.test(await page.locator(".reading-mark text").textContent()),
  "the plan shows it",
);
await axe(page, "a spot, telephone");

/* ---- the table, and the file ---- */
await go(page, { side: "install", view: "readings", page: "sheet" });
await shows(page, "rt-readings", "root mean square");
await axe(page, "readings, telephone");
const csv = await page.evaluate(async () =>
  (await fetch("/api/houses/quay_flat/readings.csv")).text(),
);
const [head, line] = csv.split("\r\n");
equal(
  head,
  "floor,x_m,y_m,z_m,access_point,band_ghz,level_dbm,at,note",
  "columns as docs/readings.md has them",
);
check(
  /^third,[\d.]+,[\d.]+,1\.200,a1,5,-61\.5,\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ,door shut$/.test(
    line,
  ),
  `a row: ${line}`,
);

/* ---- the network in rows ---- */
await go(page, { view: "ports", page: "sheet" });
await shows(page, "rt-ports h3", "box side switch");
check(
  /c_a1/.test(await page.locator("rt-ports").innerText()),
  "the port map names the cable",
);
await axe(page, "ports, telephone");
await go(page, { view: "matrix", page: "sheet" });
await shows(page, "rt-matrix th", "guests");
await axe(page, "who may talk, telephone");

/* ---- one row of head, nothing wider than the telephone, targets of 24 pixels (WCAG 2.2, 2.5.8) ---- */
for (const [name, hash] of [
  ["install", { side: "install", page: "list" }],
  ["promises", { side: "promises", page: "list" }],
  ["plan", { view: "plan", page: "sheet" }],
  ["readings", { view: "readings", page: "sheet" }],
]) {
  await go(page, hash);
  await until(page, () => document.querySelector(".house-screen"));
  await page.waitForTimeout(400);
  const seen = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth,
    high: document.documentElement.scrollHeight,
    small: [
      ...document.querySelectorAll(
        "button, a[href], summary, select, input:not([type=checkbox])",
      ),
    ]
      .map((e) => [
        e.getBoundingClientRect(),
        e.textContent.trim().slice(0, 20),
      ])
      .filter(([b]) => b.width > 0 && b.height > 0 && b.height < 24)
      .map(([, t]) => t),
  }));
  check(
    seen.wide <= 360 && seen.high <= 780,
    `${name} fits: ${seen.wide} by ${seen.high}`,
  );
  equal(
    seen.small.join("; "),
    "",
    `${name}: nothing to tap is lower than 24 pixels`,
  );
}

equal(
  page.wrong.join("; "),
  "",
  "no error of the page, nothing asked elsewhere",
);
await browser.close();
equal(await server.stop(), 0, "the server ends well");
done();
