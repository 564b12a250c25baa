// What goes wrong on the bench page, in a real browser at phone size, and how it is mended. Takes one JSON argument (base,
// key, logbook, chromium), prints one JSON object of what was found; test_mended_page.py judges it.
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { calmly } from "./serving.mjs";

const given = JSON.parse(process.argv[2]);
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"];
const found = { axe: [], wide: [], taps: {} };
const rows = () => readFileSync(given.logbook, "utf8").trim().split("\n").slice(1);
const says = (page, words) => page.waitForFunction((text) => document.getElementById("state").textContent.includes(text), words, { timeout: 20000 });
let taps = 0;
const tap = (page, what) => { taps += 1; return page.tap(what); };

async function judged(page, name) {
  const told = await page.evaluate(async (source) => {
    (0, eval)(source);
    const result = await axe.run();
    return result.violations.map((each) => [each.id, each.nodes.slice(0, 3).map((node) => node.html)]);
  }, AXE);
  for (const each of told) found.axe.push([name, ...each]);
  if (await page.evaluate(() => document.documentElement.scrollWidth > innerWidth)) found.wide.push(name);
}

async function refusedThenMended(page) {
  await page.goto(given.base + "/");
  await page.evaluate(() => { document.getElementById("open-7a").open = true; });
  await page.fill("#log-7a [name='count.next']", "90");
  await page.tap("#log-7a button[value=roots]");
  await page.waitForSelector("#kept-list button");
  found.refused = await page.textContent("#kept-list");
  await Promise.all([page.waitForNavigation(), page.tap("#kept-list button:has-text('Mend it')")]);
  found.remedy = await page.textContent("#why-count");
  found.filled = [await page.inputValue("#field-about"), await page.inputValue("#field-count")];
  await judged(page, "refused");
  await page.fill("#field-count", "3");
  await page.tap("button.main");
  await page.waitForFunction(() => /Logged.*Roots/.test(document.getElementById("state").textContent), null, { timeout: 20000 });
  found.mended = rows().filter((row) => row.includes(",roots,7a,,3,")).length;
  await page.goto(given.base + "/");
  found.keptAfter = await page.textContent("#kept-list");
}

async function filesAtFault(page) {
  const good = readFileSync(given.logbook, "utf8");
  await page.evaluate(() => { document.getElementById("open-7b").open = true; });
  writeFileSync(given.logbook, good.replace(",received,", ",recieved,"));
  await page.tap("#log-7b button[value=mould]");
  await says(page, "need mending");
  found.atFault = await page.textContent("#state");
  writeFileSync(given.logbook, good);
  await page.waitForFunction(() => !/not sent|need mending/.test(document.getElementById("state").textContent), null, { timeout: 20000 });
  found.sentOnce = rows().filter((row) => row.includes(",mould,7b,")).length;
}

async function undoneOfYesterday(page) {
  await page.goto(given.base + "/lot/7a");
  taps = 0;
  await Promise.all([page.waitForNavigation(), tap(page, "a.undo[href*='/undo/']:has-text('Looked')")]);
  found.asked = await page.textContent("main");
  await judged(page, "undo");
  await tap(page, "#undo-asked button.main");
  await says(page, "ndone");
  found.taps.undone = taps;
  found.voided = rows().filter((row) => row.includes(",void,")).length;
  await page.goto(given.base + "/lot/7a");
  taps = 0;
  await tap(page, "form[id^=restore-] button");
  await says(page, "ount");
  found.taps.restored = taps;
  found.voidedTwice = rows().filter((row) => row.includes(",void,")).length;
}

const browser = await chromium.launch({ executablePath: given.chromium, args: FLAGS });
try {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
  const page = calmly(await context.newPage());
  await page.goto(`${given.base}/k/${given.key}`);
  for (const name of ["calendar", "pair", "log", "log/died"]) {
    await page.goto(`${given.base}/${name}`);
    await judged(page, name);
    await page.evaluate(() => { document.documentElement.style.fontSize = "200%"; });
    if (await page.evaluate(() => document.documentElement.scrollWidth > innerWidth)) found.wide.push(`${name} at 200 %`);
  }
  await page.goto(given.base + "/calendar");
  await page.tap("#copy");
  found.copied = await page.textContent("#copied");
  await refusedThenMended(page);
  await filesAtFault(page);
  await undoneOfYesterday(page);
} finally {
  await browser.close();
}
console.log(JSON.stringify(found, null, 1));
