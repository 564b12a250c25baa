// The bench page at any size, in light and dark, with text up to twice as large, with scripts and without, and offline.
// Takes one JSON argument (python, nursery, address, port, key, chromium), prints what was found;
// test_bench_sizes.py judges it.
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { calmly, start, stop } from "./serving.mjs";

const given = JSON.parse(process.argv[2]);
const base = `http://${given.address}:${given.port}`;
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];
const PAGES = ["", "lot/7b", "week", "lots", "sale", "chart", "log"];
const found = { axe: [], wide: [], broken: [], narrow: [], tall: {}, console: [] };

async function opened(browser, width, more = {}) {
  const context = await browser.newContext({ viewport: { width, height: 740 }, ...more });
  const page = calmly(await context.newPage());
  page.on("pageerror", (error) => found.console.push(String(error)));
  await page.goto(`${base}/k/${given.key}`);
  return page;
}

// Everything open, as it is at its longest and widest.
const unfold = (page) => page.evaluate(() => document.querySelectorAll("details").forEach((each) => { each.open = true; }));

async function axe(page, name) {
  const violations = await page.evaluate(async (source) => {
    (0, eval)(source); // by the driver's own hand: the page's policy lets no script in
    const result = await axe.run();
    return result.violations.map((each) => [each.id, each.nodes.slice(0, 3).map((node) => node.html)]);
  }, AXE);
  for (const [id, nodes] of violations) found.axe.push({ page: name, id, nodes });
}

// Words broken inside, blocks of text too narrow for twelve letters, and what runs off the side.
async function measured(page, name) {
  const [over, broken, narrow] = await page.evaluate(() => {
    const letters = document.createElement("canvas").getContext("2d");
    const broken = new Set(), narrow = new Set();
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      const around = node.parentElement;
      if (!node.data.trim() || !around.checkVisibility() || around.closest(".unseen, svg, option, datalist, q, .picture")) continue;
      for (const match of node.data.matchAll(/[\p{L}\p{N}]+/gu)) {
        const range = document.createRange();
        range.setStart(node, match.index);
        range.setEnd(node, match.index + match[0].length);
        if (new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size > 1) broken.add(match[0]);
      }
      const block = around.closest("p, li, .name, .place, label, legend");
      if (!block || block.closest(".tick, nav")) continue;
      const style = getComputedStyle(block);
      letters.font = `${style.fontSize} ${style.fontFamily}`;
      const room = block.clientWidth || block.getBoundingClientRect().width;
      const taken = block.getClientRects().length > 1 || block.scrollHeight > 1.6 * parseFloat(style.lineHeight);
      if (taken && room < letters.measureText("abcdefghijkl").width) narrow.add(block.textContent.trim().slice(0, 40));
    }
    const over = document.documentElement.scrollWidth > innerWidth
      ? [...document.body.querySelectorAll("*")].filter((each) => each.getBoundingClientRect().right > innerWidth + 0.5 && !each.closest(".unseen"))
        .map((each) => `${each.tagName} ${each.className} ${each.textContent.trim().slice(0, 30)}`).slice(-3) : [];
    return [over, [...broken], [...narrow]];
  });
  found.wide.push(...over.map((each) => `${name}: ${each}`));
  found.broken.push(...broken.map((word) => `${name}: ${word}`));
  found.narrow.push(...narrow.map((text) => `${name}: ${text}`));
}

// Each page in the narrowest and the usual width, plain and enlarged; on a wide screen what differs there.
async function sizes(browser) {
  const walk = [
    [320, "light", [200], PAGES, 200],
    [360, "dark", [100, 200], ["", "lot/7b"], 100],
    [360, "light", [150], [""], 0],
    [1280, "light", [100, 200], [""], 0],
  ];
  for (const [width, colorScheme, texts, paths, judged] of walk) {
    const page = await opened(browser, width, { colorScheme });
    for (const path of paths) {
      await page.goto(`${base}/${path}`);
      for (const text of texts) {
        await page.evaluate((percent) => {
          document.documentElement.style.fontSize = percent + "%";
          for (const each of document.querySelectorAll("details")) each.open = each.classList.contains("tray");
        }, text);
        const name = `/${path} ${width} px ${text} % ${colorScheme}`;
        found.tall[name] = await page.evaluate(() => document.documentElement.scrollHeight);
        if (given.shots) await page.screenshot({ path: `${given.shots}/${width}-${text}-${colorScheme}-${path.replace("/", "-") || "bench"}.png`, fullPage: width < 1000 });
        await unfold(page);
        await measured(page, name);
        if (text === judged && (!path || path.startsWith("lot/"))) await axe(page, name);
      }
    }
    await page.context().close();
  }
}

// Where a lot's buttons stand, before and after other things were logged of it.
async function places(browser) {
  const page = await opened(browser, 360);
  const standing = () => page.evaluate(() => {
    document.getElementById("open-7b").open = true;
    const top = document.getElementById("log-7b").getBoundingClientRect();
    return [...document.querySelectorAll("#log-7b .taps button")].map((each) => {
      const box = each.getBoundingClientRect();
      return [each.value, Math.round(box.left), Math.round(box.top - top.top)];
    });
  });
  const before = await standing();
  for (const what of ["roots", "mould"]) {
    await page.click(`#log-7b button[value=${what}]`);
    await page.waitForFunction((name) => document.getElementById("state").textContent.includes("Logged. " + name), what === "roots" ? "Roots" : "Mould");
  }
  const after = (await standing()).slice(0, before.length);
  found.places = [before, after];
  await page.context().close();
}

async function side(browser) {
  const page = await opened(browser, 1280);
  await page.click("#lot-9a summary");
  await page.waitForSelector("#beside #tell-9a");
  found.beside = await page.evaluate(() => {
    const [bench, lot] = ["main", "beside"].map((id) => document.getElementById(id).getBoundingClientRect());
    return { apart: lot.left >= bench.right, url: location.pathname, opened: document.getElementById("open-9a").open };
  });
  await axe(page, "bench and lot side by side");
  if (given.shots) await page.screenshot({ path: `${given.shots}/side.png` });
  await page.click("#beside button[value=leaves]");
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("First leaves: 9a"));
  await page.waitForFunction(() => document.querySelector("#beside button[value=leaves] small"));
  await page.waitForFunction(() => document.querySelector(".last li").textContent.includes("First leaves: 9a"));
  found.sideSaid = await page.evaluate(() => [document.querySelectorAll(".said").length, document.querySelectorAll("#undo-said").length]);
  await page.context().close();
}

async function offline(browser) {
  const page = await opened(browser, 360);
  await page.evaluate(() => { document.getElementById("open-8a").open = true; });
  await page.fill("#log-8a [name='count.next']", "2");
  await page.context().setOffline(true);
  await page.click("nav a[href='/week']");
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("No network"));
  found.offline = await page.evaluate(() => ({
    path: location.pathname, said: document.getElementById("state").textContent,
    open: document.getElementById("open-8a").open, filled: document.querySelector("#log-8a [name='count.next']").value,
  }));
  if (given.shots) await page.screenshot({ path: `${given.shots}/offline.png` });
  await page.click("#log-8a button[value=roots]");
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("1 kept here"));
  await page.context().setOffline(false);
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("Sent: Roots 2 8a"), null, { timeout: 15000 });
  await page.click("nav a[href='/week']");
  await page.waitForFunction(() => document.querySelector("h1").textContent.includes("seven days"));
  const there = await page.evaluate(() => [location.pathname, document.title, document.querySelector("nav [aria-current]").textContent]);
  await page.goBack();
  await page.waitForSelector("#tray-A");
  found.online = [...there, await page.evaluate(() => location.pathname)];
  await page.context().close();
}

async function folded(browser) {
  const page = await opened(browser, 360);
  await page.click("button[data-place=B]");
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("Looked: bin B"));
  found.foldedTroubled = await page.evaluate(() => document.getElementById("tray-B").open);
  await page.evaluate(() => { document.getElementById("open-bin-B").open = true; });
  await page.click("#bin-B button[value=all_clear]");
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("Logged. Trouble over"));
  found.foldedSound = await page.evaluate(() => document.getElementById("tray-B").open);
  await page.context().close();
}

// How many taps the commonest jobs take from the bench; typing a number is none.
async function taps(browser) {
  const page = await opened(browser, 360);
  found.taps = {};
  const job = async (name, said, steps) => {
    await page.goto(base + "/");
    for (const step of steps) {
      if (Array.isArray(step)) await page.fill(...step);
      else await page.click(step);
    }
    await page.waitForFunction((words) => document.getElementById("state").textContent.includes("Logged. " + words), said);
    found.taps[name] = steps.filter((step) => !Array.isArray(step)).length;
    return page.textContent("#told");
  };
  await job("roots with a number", "Roots: 8a, 2", ["#open-8a > summary", ["#log-8a [name='count.next']", "2"], "#log-8a button[value=roots]"]);
  found.partTold = await job("part of a lot potted", "Potted up: 8a, 2", ["#open-8a > summary", ["#log-8a [name='count.next']", "2"], "#log-8a button[value=potted]"]);
  await job("all well but one", "Looked:", ["#lot-10a label.tick", "button[data-place=A]"]);
  await page.click("#log-10a button[value=mould]"); // it stands open by then
  await page.waitForFunction(() => document.getElementById("state").textContent.includes("Logged. Mould: 10a"));
  found.taps["and its mould"] = 1;
  await job("a bin all well", "Looked: ", ["button[data-place=B]"]);
  await page.context().close();
}

async function plain(browser) {
  const page = await opened(browser, 320, { javaScriptEnabled: false });
  await page.click("#open-9a > summary");
  await page.click("#log-9a button[value=mould]");
  await page.waitForURL(/said=/);
  found.plain = await page.textContent("#said");
  await page.context().close();
}

await start(given);
const browser = await chromium.launch({ executablePath: given.chromium, args: FLAGS });
try {
  await sizes(browser);
  await places(browser);
  await side(browser);
  await offline(browser);
  await plain(browser);
  await taps(browser);
  await folded(browser);
} finally {
  await browser.close();
  await stop();
}
if (given.shots) writeFileSync(`${given.shots}/sizes.json`, JSON.stringify(found, null, 1));
console.log(JSON.stringify(found, null, 1));
