// Makes the page smoother, and keeps what is tapped while the network is away: in this page and its storage, until the
// nursery has it. Each entry has a key of its own, so however often it is sent, it is logged once.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.add("scripted");
  const PREFIX = "stickdate:" + root.dataset.nursery + ":";
  const PATIENCE = 12000; // ms until an answer is no longer waited for
  const AGAIN = 5000; // ms between tries
  const DOUBLE = 1500; // ms within which the same tap is a slip of a wet finger
  const $ = (id) => document.getElementById(id);
  const inPage = new Map();
  let last = { text: "", at: 0 };
  let sending = false;
  let clicked = null; // older browsers do not say which button submits
  let dayShown = today();
  let here = location.pathname + location.search; // the page that main shows
  let confirmation = null; // of the entry logged last, as the nursery's answer said it

  function today() {
    const now = new Date();
    return Date.UTC(now.getFullYear(), now.getMonth(), now.getDate());
  }

  function freshKey() {
    const letters = "abcdefghjkmnpqstuvwxyz23456789";
    const bytes = crypto.getRandomValues(new Uint8Array(15));
    return "q" + Array.from(bytes, (byte) => letters[byte % letters.length]).join("");
  }

  // What is kept, one item of storage each, so that two open pages do not write over each other.
  function keep(item) {
    inPage.set(item.id, item);
    try {
      localStorage.setItem(PREFIX + item.id, JSON.stringify(item));
    } catch {
      // Full or forbidden: the open page alone holds it.
    }
  }

  function forget(item) {
    inPage.delete(item.id);
    try {
      localStorage.removeItem(PREFIX + item.id);
    } catch {
      // As above.
    }
  }

  function kept() {
    const found = new Map(inPage);
    try {
      for (let n = 0; n < localStorage.length; n += 1) {
        const name = localStorage.key(n);
        if (!name.startsWith(PREFIX)) continue;
        const item = JSON.parse(localStorage.getItem(name));
        if (!found.has(item.id)) found.set(item.id, item);
      }
    } catch {
      // Without storage there is the page's own.
    }
    return [...found.values()].sort((one, other) => one.at - other.at);
  }

  function said(text) {
    $("acts").replaceChildren();
    $("told").replaceChildren();
    $("state").textContent = text;
    $("kept").hidden = false;
  }

  function show(text) {
    const items = kept();
    const waiting = items.filter((item) => !item.refused);
    const list = $("kept-list");
    list.replaceChildren();
    const refused = items.filter((item) => item.refused);
    for (const item of waiting) {
      const line = document.createElement("li");
      line.textContent = item.words;
      list.append(line);
    }
    if (refused.length) list.prepend(mended(refused[0], refused.length - 1));
    acts(waiting, text);
    const away = waiting.length ? waiting.length + " kept here, not sent yet" : "";
    const words = [text, away].filter(Boolean).join(". ");
    $("state").textContent = words;
    $("kept").hidden = !words && !items.length;
  }

  // The first that was refused, with its ways out; the others wait behind it.
  function mended(item, more) {
    const line = document.createElement("li");
    const undo = item.action === "/undo";
    line.textContent = (undo ? "Not undone: " : "Not logged: ") + item.words + ". " + item.refused + " ";
    if (item.insist) {
      const words = undo ? "Undo it all the same" : "Log it all the same";
      line.append(tap(words, () => { item.pairs.push(["force", "yes"]); again(item); }));
    }
    line.append(tap(undo ? "Look at it" : "Mend it", () => open(item)));
    line.append(tap("Throw it away", () => { forget(item); show(""); }));
    if (more) {
      const rest = document.createElement("span");
      rest.textContent = "and " + more + " more after it";
      line.append(rest);
    }
    return line;
  }

  // The nursery answers what it refuses with a filled form, the remedy beside its field: go there.
  function open(item) {
    const form = document.createElement("form");
    form.method = "post";
    form.action = item.action;
    for (const [name, value] of item.pairs) {
      const field = document.createElement("input");
      field.type = "hidden";
      field.name = name;
      field.value = value;
      form.append(field);
    }
    document.body.append(form);
    form.submit();
  }

  // What was mended in its form, or went through at last, is no longer kept as refused.
  function settle() {
    const said = new URLSearchParams(location.search).get("said") || "";
    for (const item of kept()) if (item.refused && said.startsWith(item.id)) forget(item);
  }

  function again(item) {
    delete item.refused;
    keep(item);
    send();
  }

  // What can be done about it: send now, see what moved, take it back, put the words away. What was logged is said once,
  // here, where the hand is.
  function acts(waiting, text) {
    const row = [];
    const told = text && confirmation ? [...confirmation.children].filter((each) => !each.matches(".what")) : [];
    $("told").replaceChildren(...told.map((each) => document.importNode(each, true)));
    if (waiting.length) row.push(tap("Send now", () => send()));
    if (text && !waiting.length) row.push(tap("OK", () => { confirmation = null; show(""); }));
    $("acts").replaceChildren(...row);
  }

  function tap(words, act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "undo";
    button.textContent = words;
    button.addEventListener("click", act);
    return button;
  }

  // One try. Gives the page that answered, "refused" with its reason, or nothing while it cannot be reached.
  async function post(item) {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE);
    try {
      const body = new URLSearchParams(item.pairs);
      const answer = await fetch(item.action, { method: "POST", body, credentials: "same-origin", signal: stop.signal });
      const text = await answer.text();
      const where = new URL(answer.url);
      if (answer.ok && answer.redirected && where.origin === location.origin && where.searchParams.has("said")) {
        return { page: text };
      }
      if (answer.status === 409) {
        const why = parse(text).getElementById("why");
        const told = why ? why.dataset.why || why.textContent.trim() : "";
        return { refused: told && told + ".", insist: Boolean(why && "insist" in why.dataset), page: text };
      }
      if (answer.status === 413) return { refused: "It is too long." };
      if (answer.status === 503) {
        const why = parse(text).getElementById("why");
        return { away: why ? why.textContent.trim() : "The nursery cannot take it at the moment" };
      }
      if (answer.status === 404) return { away: "This phone is not let in: open the address of the QR code again" };
      return { away: "The nursery cannot take it at the moment" };
    } catch {
      return { away: "No network" };
    } finally {
      clearTimeout(clock);
    }
  }

  const parse = (text) => nameMain(new DOMParser().parseFromString(text, "text/html"));

  // So that a page's main knows whose it is wherever it is put.
  function nameMain(page) {
    const around = page.querySelector(".page");
    if (around) page.querySelector("main").dataset.page = around.dataset.page;
    return page;
  }

  async function send(form) {
    if (sending) return;
    sending = true;
    const done = [];
    let page = "";
    let inForm = "";
    let trouble = "";
    confirmation = null;
    for (const item of kept()) {
      if (item.refused) continue;
      const answer = await post(item);
      if (answer.away) {
        trouble = answer.away;
        break;
      }
      if ("refused" in answer) {
        if (form && form.id === "any" && item.id === last.key) { // it is still before who filled it in
          forget(item);
          inForm = answer.page;
          continue;
        }
        item.refused = answer.refused || "The nursery refused it.";
        item.insist = answer.insist;
        keep(item);
        continue;
      }
      forget(item);
      done.push(item);
      page = answer.page;
    }
    sending = false;
    if (page || inForm) swap(inForm || page, form);
    const one = done.length === 1 && !done[0].late && confirmation && confirmation.querySelector(".what");
    const words = one ? one.textContent.trim() : done.map(outcome).join("; ");
    for (const item of kept()) {
      if (!item.refused && !item.late) { item.late = true; keep(item); }
    }
    show([words, trouble].filter(Boolean).join(". "));
    if (!trouble && kept().some((item) => !item.refused)) send();
  }

  function outcome(item) {
    if (item.action === "/undo") return "Undone: " + item.words;
    return (item.late ? "Sent: " : "Logged: ") + item.words;
  }

  // Put a new state of a page in place of the old, without losing what is half filled in, opened or scrolled to.
  // The bench and the lot beside it are two pages: an answer is put where its own page is, and the other fetched anew.
  function swap(text, form) {
    const fresh = parse(text);
    const main = fresh.querySelector("main");
    if (!main || !fresh.documentElement.dataset.nursery) return;
    const told = main.querySelector(".said");
    if (told) {
      confirmation = told;
      told.remove();
    }
    const page = main.dataset.page;
    const place = placeOf(page);
    if (place) put(place, main, form);
    if (told && place === $("main") && page !== at()) shows(page, fresh); // back from a form of its own
    if (told) for (const other of [$("main"), $("beside")]) if (other !== place && other.dataset.page) renew(other);
    labels();
  }

  const at = () => here.split("?")[0];

  function shows(address, fresh) {
    here = address;
    if (location.pathname + location.search !== address) history.replaceState(null, "", address);
    document.title = fresh.title;
    for (const name of ["nav", "header"]) document.querySelector(name).replaceWith(document.adoptNode(fresh.querySelector(name)));
    pair();
    copies();
  }

  const placeOf = (page) => [$("main"), $("beside")].find((each) => each.dataset.page === page);

  async function renew(place) {
    try {
      const answer = await fetch(place.dataset.page, { credentials: "same-origin" });
      const main = answer.ok && parse(await answer.text()).querySelector("main");
      if (main && main.dataset.page === place.dataset.page) put(place, main);
      labels();
    } catch {
      // Away: what is shown stays.
    }
  }

  function fill(place, main) {
    if (place.id === "beside") main.querySelector("#said")?.remove(); // there is one, in the page itself
    place.dataset.page = main.dataset.page;
    place.replaceChildren(...document.adoptNode(main).childNodes);
  }

  function put(place, main, form) {
    const within = (each) => place.contains(each);
    const open = [...place.querySelectorAll("details[id][open]")].filter((each) => !folds(each, main)).map((each) => each.id);
    const filled = fields().filter((each) => within(each) && each.form !== form && changed(each)).map(remember);
    const focus = within(document.activeElement) && document.activeElement.value ? named(document.activeElement) : "";
    const anchor = within(clicked) ? clicked.closest("[id]") : null;
    const scroll = window.scrollY;
    const before = anchor ? anchor.getBoundingClientRect().top : null;
    fill(place, main);
    for (const id of open) if ($(id)) $(id).open = true;
    for (const each of filled) restore(each);
    window.scrollTo(0, scroll);
    if (before !== null && $(anchor.id)) window.scrollBy(0, $(anchor.id).getBoundingClientRect().top - Math.max(before, 0));
    const there = focus && [...place.querySelectorAll("button, input, select")].find((each) => named(each) === focus);
    const seen = there && !there.checkVisibility() ? there.closest("details:not([open])").querySelector("summary") : there;
    if (seen) seen.focus({ preventScroll: true });
  }

  // A bin that was open because there was work in it closes when there is none; one opened by hand stays open.
  function folds(old, main) {
    if (!old.matches(".tray:not(.folded)")) return false;
    const fresh = main.querySelector("#" + CSS.escape(old.id));
    return fresh && fresh.matches(".folded");
  }

  // Another page in place of this one; without network this one stays, with all that was tapped.
  async function go(address, more = {}) {
    const url = new URL(address, location.href);
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE);
    let answer, text;
    try {
      answer = await fetch(url.pathname + url.search, { credentials: "same-origin", signal: stop.signal });
      text = await answer.text();
    } catch {
      if (more.back) history.pushState(null, "", here);
      said("No network: “" + (more.words || "the other page") + "” cannot be shown. This page stays, and you can log on it.");
      $("acts").replaceChildren(tap("OK", () => show("")));
      return;
    } finally {
      clearTimeout(clock);
    }
    const fresh = parse(text);
    const main = fresh.querySelector("main[data-page]");
    if (!answer.ok || !main || !fresh.documentElement.dataset.nursery) {
      location.assign(url);
      return;
    }
    if (more.beside) {
      fill($("beside"), main);
      $("beside").scrollTop = 0;
      $("beside").focus({ preventScroll: true });
      return;
    }
    if (!more.back) {
      history.replaceState({ y: window.scrollY }, "");
      history.pushState(null, "", url.pathname + url.search + url.hash);
    }
    fill($("main"), main);
    shows(url.pathname + url.search, fresh);
    shownAt = Date.now();
    dayShown = today();
    labels();
    window.scrollTo(0, (more.back && history.state && history.state.y) || 0);
    $("main").focus({ preventScroll: true });
    if (url.hash) reveal(true);
  }

  // On a wide screen the lot tapped last stands beside the bench.
  const wide = () => matchMedia("(min-width: 70rem)").matches && at() === "/";

  function pair() {
    const beside = $("beside");
    document.querySelector(".page").classList.toggle("pair", at() === "/");
    beside.replaceChildren();
    delete beside.dataset.page;
    const hint = document.createElement("p");
    hint.className = "hint";
    hint.textContent = "The lot you tap is shown here.";
    beside.append(hint);
  }

  function followed(event) {
    const link = event.target.closest("a[href^='/'], .lot > details > summary");
    if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const lot = link.closest(".lot");
    if (link.tagName === "SUMMARY") {
      if (!wide() || !lot) return;
      event.preventDefault();
      go("/lot/" + lot.id.slice(4), { beside: true, words: lot.id.slice(4) });
      return;
    }
    const path = link.getAttribute("href");
    if (/^\/(paper|look)\/|\.svg$/.test(path)) return;
    event.preventDefault();
    go(path, { beside: wide() && path.startsWith("/lot/"), words: link.textContent.trim() });
  }

  const fields = () => [...document.querySelectorAll(".page input, .page select")].filter((each) => each.type !== "hidden");

  function changed(field) {
    if (field.type === "checkbox") return field.checked !== field.defaultChecked;
    if (field.tagName === "SELECT") return field.selectedIndex > 0;
    return field.value !== field.defaultValue;
  }

  const named = (field) => [field.form ? field.form.id : "", field.name, field.type === "text" || field.type === "number" ? "" : field.value].join(" ");

  const remember = (field) => ({ form: field.form && field.form.id, name: field.name, type: field.type, value: field.value, on: field.checked });

  function restore(old) {
    for (const field of fields()) {
      if (!field.form || field.form.id !== old.form || field.name !== old.name) continue;
      if (old.type !== "checkbox") field.value = old.value;
      else if (field.value === old.value) field.checked = old.on;
    }
  }

  // What stands on the button is what it will do.
  function labels() {
    for (const button of document.querySelectorAll(".well button")) {
      const place = button.dataset.place;
      const start = place ? "but." + place : "but.";
      const ticked = fields().filter((each) => each.checked && (place ? each.name === start : each.name.startsWith(start)));
      const words = button.querySelector(".but");
      words.textContent = ticked.length ? "but " + ticked.map((each) => each.value).join(", ") : "";
      words.classList.toggle("some", ticked.length > 0);
      const says = button.querySelector(".says");
      if (!says) continue;
      const left = says.dataset.lots.split(" ").filter((lot) => lot && !ticked.some((each) => each.value === lot));
      const lots = left.length > 8 ? left.slice(0, 7).join(", ") + " and " + (left.length - 7) + " more" : left.join(", ");
      says.textContent = "no trouble" + (lots && ", no roots yet on " + lots);
    }
  }

  // A number, reading or note that a button cannot do without is asked for before anything is sent.
  function lacking(form, button) {
    const needs = button && button.dataset.needs;
    if (!needs) return null;
    const name = needs === "note" ? "note" : needs + "." + button.dataset.group;
    const field = form.elements[name];
    if (!field || field.value || (needs === "count" && form.elements["count.next"] && form.elements["count.next"].value)) return null;
    return field;
  }

  function ask(field, button) {
    const around = field.closest("details");
    if (around) around.open = true;
    const label = field.labels[0] ? field.labels[0].textContent.trim() : field.name;
    said(nameOf(button) + ": fill in “" + label + "”, then tap it again.");
    field.focus();
  }

  function submitted(event) {
    const form = event.target;
    const button = event.submitter || (form.contains(clicked) || (clicked && clicked.form === form) ? clicked : null);
    if (form.method !== "post") return;
    event.preventDefault();
    const field = lacking(form, button);
    if (field) {
      ask(field, button);
      return;
    }
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    if (data.has("on")) data.set("on", moved(data.get("on"), form.elements.on));
    data.delete("key");
    const text = form.action + JSON.stringify([...data]);
    if (text === last.text && Date.now() - last.at < DOUBLE) return;
    last = { text, at: Date.now() };
    const key = freshKey();
    data.set("key", key);
    last.key = key;
    const item = { id: key, at: Date.now(), action: new URL(form.action).pathname, pairs: [...data], words: wordsOf(form, button, data) };
    keep(item);
    if (data.get("mends")) forget({ id: data.get("mends") });
    form.reset();
    labels();
    said("Sending: " + item.words);
    send(form);
  }

  // A page left open overnight still says the day it was made on: unless another was chosen, the day of the tap counts.
  function moved(on, field) {
    const nights = Math.round((today() - dayShown) / 86400000);
    if (on !== field.defaultValue || nights <= 0) return on;
    return new Date(Date.parse(on + "T00:00:00Z") + nights * 86400000).toISOString().slice(0, 10);
  }

  function nameOf(button) {
    const named = [...button.childNodes].filter((each) => each.className !== "says").map((each) => each.textContent).join("");
    return button.dataset.label || named.replace(/\s+/g, " ").trim();
  }

  function wordsOf(form, button, data) {
    if (button && button.dataset.words) return button.dataset.words;
    if (form.id === "any") return [form.dataset.label, data.get("about") || data.get("bin.any")].filter(Boolean).join(" ");
    const count = [...data].filter(([name, value]) => name.startsWith("count.") && value).map(([, value]) => value)[0];
    const about = form.dataset.about === "bench" ? "" : form.dataset.about;
    return [nameOf(button), count, about].filter(Boolean).join(" ");
  }

  // A page looked at again later shows the nursery as it is then.
  let shownAt = Date.now();
  async function refresh() {
    if (document.hidden || Date.now() - shownAt < 60000 || fields().some(changed)) return;
    try {
      const answer = await fetch(here, { credentials: "same-origin" });
      if (!answer.ok) return;
      swap(await answer.text());
      shownAt = Date.now();
      dayShown = today();
    } catch {
      // Away: what is shown stays.
    }
  }

  function reveal(scroll) {
    const there = location.hash && $(decodeURIComponent(location.hash.slice(1)));
    if (!there) return;
    const inside = there.tagName === "DETAILS" ? there : there.querySelector("details");
    const around = there.closest(".tray");
    if (around) around.open = true;
    if (inside) inside.open = true;
    if (scroll === true) there.scrollIntoView();
  }

  document.addEventListener("click", (event) => { clicked = event.target.closest("button"); }, true);
  document.addEventListener("click", followed);
  document.addEventListener("submit", submitted);
  history.scrollRestoration = "manual";
  window.addEventListener("popstate", () => {
    if (location.pathname === at()) reveal(true);
    else go(location.pathname + location.search + location.hash, { back: true });
  });
  document.addEventListener("change", (event) => { if (event.target.type === "checkbox") labels(); });
  document.addEventListener("visibilitychange", () => { refresh(); if (!document.hidden && kept().length) send(); });
  window.addEventListener("hashchange", reveal);
  window.addEventListener("online", () => send());
  window.addEventListener("pageshow", () => { if (kept().length) send(); });
  window.addEventListener("beforeunload", (event) => {
    let stored = 0;
    try {
      stored = kept().filter((item) => localStorage.getItem(PREFIX + item.id)).length;
    } catch {
      // None are.
    }
    if (kept().length > stored) event.preventDefault();
  });
  setInterval(() => { if (kept().some((item) => !item.refused)) send(); }, AGAIN);
  // On plain http a browser lets no script write to its clipboard but by the old way.
  function copies() {
    const copy = $("copy");
    if (!copy || !copy.hidden) return;
    copy.hidden = false;
    copy.addEventListener("click", () => {
      $(copy.dataset.copies).select();
      $("copied").textContent = document.execCommand("copy") ? "Copied" : "Hold the address to copy it";
    });
  }

  nameMain(document);
  pair();
  copies();
  labels();
  reveal();
  settle();
  show("");
})();
