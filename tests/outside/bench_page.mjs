// A day's work on the bench page in a real browser at phone size. Takes one JSON argument (python, nursery, address, port,
// key, chromium), prints one JSON object of what was found; test_bench_page.py judges it.
import { createServer } from "node:http";
import { once } from "node:events";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { calmly, start, stop } from "./serving.mjs";

const given = JSON.parse(process.argv[2]);
const base = `http://${given.address}:${given.port}`;
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 };
const found = { console: [], axe: [], wide: [], small: [] };

const rows = () => readFileSync(`${given.nursery}/logbook.csv`, "utf8").trim().split("\n").slice(1);
const has = (text) => rows().filter((row) => row.includes(text)).length;
const state = (page) => page.textContent("#state");
const says = (page, words) => page.waitForFunction((text) => document.getElementById("state").textContent.includes(text), words, { timeout: 20000 });

async function phone(browser, more = {}) {
  const context = await browser.newContext({ ...PHONE, ...more });
  const page = calmly(await context.newPage());
  page.on("console", (message) => { if (message.type() === "error" && !/ERR_|Failed to load/.test(message.text())) found.console.push(message.text()); });
  page.on("pageerror", (error) => found.console.push(String(error)));
  page.on("dialog", (dialog) => { found.console.push("dialog: " + dialog.message()); dialog.dismiss(); });
  await page.goto(`${base}/k/${given.key}`);
  return page;
}

async function judged(page, name) {
  const scheme = await page.evaluate(() => matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
  const [passed, violations] = await page.evaluate(async (source) => {
    (0, eval)(source); // by the driver's own hand: the page's policy lets no script in
    const result = await axe.run();
    const told = (each) => [each.id, each.impact, each.nodes.slice(0, 3).map((node) => node.html)];
    return [result.passes.map((each) => each.id), result.violations.map(told)];
  }, AXE);
  found.axePassed = [...new Set([...(found.axePassed || []), ...passed])];
  for (const [id, impact, nodes] of violations) found.axe.push({ page: `${name}, ${scheme}`, id, impact, nodes });
  if (await page.evaluate(() => document.documentElement.scrollWidth > innerWidth)) found.wide.push(name);
  const small = await page.evaluate(() => [...document.querySelectorAll("button, summary, select, nav a, label.tick")]
    .filter((each) => each.checkVisibility()).map((each) => [each.textContent.trim().slice(0, 30), each.getBoundingClientRect()])
    .filter(([, box]) => box.height < 44 || box.width < 44).map(([text]) => text));
  found.small.push(...small.map((text) => `${name}: ${text}`));
  if (given.shots) await page.screenshot({ path: `${given.shots}/${scheme}-${name}.png` });
}

async function twoTaps(page) {
  await page.tap("#open-7b > summary");
  await judged(page, "lot opened");
  await page.tap("#log-7b button[value=roots]");
  await says(page, "Logged. Roots: 7b");
  found.rootsRows = has(",roots,7b,");
  found.confirmed = await page.textContent("#state");
  found.bar = await page.textContent("#told");
  found.saidElsewhere = (await page.textContent("#said")).trim();
  found.stillOpen = await page.evaluate(() => document.getElementById("open-7b").open);
  await judged(page, "confirmed");
}

async function allWellBut(page) {
  await page.tap("#lot-9a label.tick");
  found.wellButton = (await page.textContent("button[data-place=A]")).replace(/\s+/g, " ").trim();
  await page.tap("button[data-place=A]");
  await says(page, "Logged. Looked:");
  found.wellRows = rows().filter((row) => row.includes(",looked,") && !/^r\d/.test(row)).map((row) => row.split(",")[3]);
}

async function missingCount(page) {
  await page.tap("#log-7b button[value=died]");
  found.askedCount = await state(page);
  found.askedFocus = await page.evaluate(() => document.activeElement.name);
  await page.fill("#log-7b [name='count.next']", "1");
  await page.tap("#log-7b button[value=died]");
  await says(page, "Logged. Died: 7b, 1");
  found.left = await page.textContent("#told");
  found.diedRows = has(",died,7b,,1,");
}

async function withoutNetwork(page) {
  found.openedForTheRest = await page.evaluate(() => document.getElementById("open-9a").open);
  await stop();
  await page.fill("#log-9a [name='count.next']", "2");
  await page.tap("#log-9a button[value=roots]");
  await says(page, "1 kept here, not sent yet");
  await page.tap("#log-9a button[value=mould]");
  await page.tap("#log-9a button[value=mould]"); // a slip of a wet finger
  await says(page, "2 kept here, not sent yet");
  found.keptShown = await page.textContent("#kept");
  if (given.shots) await page.screenshot({ path: `${given.shots}/light-offline.png` });
  await start(given);
  await says(page, "Sent:");
  await page.waitForFunction(() => !/not sent/.test(document.getElementById("state").textContent));
  found.sentShown = await state(page);
  found.offlineRows = [has(",roots,9a,,2,"), has(",mould,9a,")];
}

async function pageClosedMeanwhile(page) {
  await stop();
  await page.tap("#log-7b button[value=watered]");
  await says(page, "1 kept here");
  const context = page.context();
  await page.close();
  await start(given);
  const again = calmly(await context.newPage());
  await again.goto(base + "/");
  await says(again, "Sent:");
  found.reopenedRows = has(",watered,7b,");
  return again;
}

async function answerLost(page) {
  let lost = 0;
  await page.route("**/log", async (route) => {
    if (route.request().method() !== "POST") return route.continue();
    lost += 1;
    if (lost > 2) return route.continue();
    await route.fetch({ maxRedirects: 0 }); // the nursery has it, the phone does not hear so
    return route.abort();
  });
  await page.tap("#open-7b > summary");
  await page.tap("#log-7b button[value=leaves]");
  await says(page, "not sent yet");
  await says(page, "Sent:");
  await page.unroute("**/log");
  found.answerLost = { tries: lost, rows: has(",leaves,7b,") };
}

async function undone(page) {
  const before = rows().length;
  await page.tap(".last li:first-of-type button.undo");
  await says(page, "Undone:");
  found.undone = [rows().length - before, has(",void,")];
}

async function refused(page) {
  await page.evaluate(() => { document.getElementById("open-7b").open = true; });
  await page.fill("#log-7b [name='count.next']", "90");
  await page.tap("#log-7b button[value=died]");
  await page.waitForSelector("#kept-list li");
  found.refused = await page.textContent("#kept-list");
  await page.tap("#kept-list button:has-text('Throw it away')");
  found.refusedGone = await page.evaluate(() => document.getElementById("kept").hidden);
  await page.evaluate(() => { document.getElementById("open-7a").open = true; });
  await page.selectOption("#log-7a [name='bin.move']", "A");
  await page.tap("#log-7a button[value=stuck]");
  await page.tap("#kept-list button:has-text('Log it all the same')");
  await says(page, "Stuck: 7a");
  await page.waitForFunction(() => !document.querySelector("#kept-list li"));
  found.insisted = has(",stuck,7a,,,,A,");
}

// A page left open overnight: the tap counts for the day it is made on, not for the one the page was made on.
async function overnight(browser) {
  const page = await phone(browser);
  const shown = await page.inputValue("#on-log-8a");
  await page.clock.setSystemTime(Date.now() + 86400000);
  const days = [];
  await page.route("**/log", (route) => {
    days.push(new URLSearchParams(route.request().postData()).get("on"));
    return route.abort();
  });
  await page.evaluate(() => { document.getElementById("open-8a").open = true; });
  await page.tap("#log-8a button[value=looked]");
  await says(page, "not sent yet");
  found.overnight = (Date.parse(days[0]) - Date.parse(shown)) / 86400000;
  await page.context().close();
}

async function byKeyboard(browser) {
  const page = await phone(browser, { isMobile: false, hasTouch: false });
  const trail = [];
  let thick = true;
  for (let n = 0; n < 60; n += 1) {
    await page.keyboard.press("Tab");
    const here = await page.evaluate(() => {
      const each = document.activeElement;
      return { what: each.closest("details")?.id + " " + each.tagName + " " + (each.value || ""), outline: parseFloat(getComputedStyle(each).outlineWidth) };
    });
    thick = thick && here.outline >= 2;
    trail.push(here.what);
    if (here.what.startsWith("open-8a SUMMARY")) await page.keyboard.press("Enter");
    if (here.what === "open-8a BUTTON looked") break;
  }
  await page.keyboard.press("Enter");
  await says(page, "Logged. Looked: 8a");
  found.keyboard = { outline: thick, rows: has(",looked,8a,"), steps: trail.length };
  await page.context().close();
}

async function withoutScripts(browser) {
  const page = await phone(browser, { javaScriptEnabled: false });
  await page.tap("#open-8a > summary");
  await page.tap("#log-8a >> text=Another day, a note");
  await page.fill("#note-log-8a", "<script>alert(1)</script> </textarea>\" onfocus=alert(2)");
  const tapped = (what) => Promise.all([page.waitForNavigation(), page.tap(what)]);
  await tapped("#log-8a button[value=looked]");
  found.plain = { url: page.url().replace(base, "").replace(/=.*/, ""), said: await page.textContent("#said") };
  found.plainRows = rows().filter((row) => row.includes("<script>")).length;
  await tapped("#said button.undo");
  found.plainUndone = await page.textContent("#said");
  await page.goto(base + "/log/died");
  await page.fill("#field-about", "8a");
  await page.fill("#field-count", "900");
  await tapped("button.main");
  found.plainRefused = await page.textContent("#why-count");
  await page.context().close();
}

async function fromAnotherSite(browser) {
  const before = rows().length;
  const forms = `<form method=post action="${base}/log"><input name=what value=looked><input name=about value=7b><input name=key value=pabcdefghjkm></form><script>document.forms[0].submit()</script>`;
  const other = createServer((_, answer) => answer.setHeader("Content-Type", "text/html").end(forms)).listen(0, "127.0.0.1");
  await once(other, "listening");
  const page = await phone(browser);
  await page.goto(`http://127.0.0.1:${other.address().port}/`);
  await page.waitForURL((url) => url.href.startsWith(base));
  found.crossSite = { body: await page.textContent("body"), rows: rows().length - before };
  await page.context().close();
  other.close();
}

await start(given);
const browser = await chromium.launch({ executablePath: given.chromium, args: FLAGS });
try {
  let page = await phone(browser);
  found.address = page.url().replace(base, "");
  await judged(page, "bench");
  await twoTaps(page);
  await allWellBut(page);
  await missingCount(page);
  await withoutNetwork(page);
  page = await pageClosedMeanwhile(page);
  await answerLost(page);
  await undone(page);
  await refused(page);
  for (const name of ["lot/7b", "week", "lots", "sale", "log"]) {
    await page.goto(`${base}/${name}`);
    await judged(page, name.split("/")[0]);
  }
  await page.context().close();
  const dark = await phone(browser, { colorScheme: "dark" });
  await dark.evaluate(() => document.querySelectorAll("details").forEach((each) => { each.open = true; }));
  await judged(dark, "bench");
  await dark.goto(`${base}/lot/7b`);
  await judged(dark, "lot");
  await dark.context().close();
  await overnight(browser);
  await byKeyboard(browser);
  await withoutScripts(browser);
  await fromAnotherSite(browser);
} finally {
  await browser.close();
  await stop();
}
console.log(JSON.stringify(found, null, 1));
