// Holds pages for when there is no signal, and sends what the phone kept where the browser has background sync.
"use strict";
const PAGES = "rodtally-pages-2"; // of one person; emptied at sign-out and when somebody else signs in
const META = "rodtally-meta-2"; // whose they are, and what is served in place of a page that is not held
const FILES = "rodtally-files-2"; // public: scripts, and the page for when nothing else is held
const WAIT_MS = 5000;
const RENEW_AFTER_MS = 60000;
const PAGE_FIRST_MS = 10000;
const SEND_MS = 8000;
const LIST = "/offline-pages/";
const NO_SIGNAL = "/no-signal/";
const STATIC = ["/static/pages/page.js", "/static/pages/offline.js", "/static/pages/help.js", "/static/pages/mark.svg"];
const HELD = /^\/(day|check-in|phones)\/|^\/at\/[^/]+\/(?!house\/)/;
const OTHERS = /^\/(api|static|health|office|metrics|worker\.js|manifest\.json|offline-pages)/;
const HIDDEN = 'id="as-of" class="care" role="status" hidden';
const NOT_HELD = '<p id="not-held" hidden';
let generation = 0; // changes when pages are taken out: what was asked for before that is not put back in
let renewing = Promise.resolve(); // one renewal at a time

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(holdFiles(""));
});
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  await caches.delete("rodtally-1");
  await self.clients.claim();
})()));
self.addEventListener("message", (event) => {
  const { data } = event;
  if (data === "forget") event.waitUntil(forget());
  else if (data?.type === "renew") {
    renewing = renewing.then(() => renew(data.language)).catch(() => {});
    event.waitUntil(renewing);
  }
});
self.addEventListener("sync", (event) => {
  if (event.tag === "rodtally-unsent") event.waitUntil(sendKept());
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (STATIC.includes(url.pathname)) event.respondWith(file(request, url.pathname));
  else if (OTHERS.test(url.pathname)) return;
  else if (request.mode === "navigate") event.respondWith(page(request, url.pathname));
  else if (HELD.test(url.pathname)) event.respondWith(fetch(request).catch(async () => (await held(url.pathname)) || Response.error()));
});

// A push says what the text message says. It is shown whatever it holds: a browser asks that of every push.
self.addEventListener("push", (event) => {
  let told = {};
  try { told = event.data.json(); } catch { /* nothing in it that can be read */ }
  const title = told.title || "Rodtally";
  const facts = { body: told.body || "", tag: told.tag || "rodtally", renotify: true, requireInteraction: true,
    icon: "/static/pages/mark.svg", data: { open: told.open || "/" } };
  event.waitUntil(self.registration.showNotification(title, facts));
});
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const page = new URL(event.notification.data.open, location.origin);
  event.waitUntil(self.clients.openWindow(page.origin === location.origin ? page.href : "/"));
});

// --- Serving -----------------------------------------------------------------------------------
async function page(request, path) {
  const born = generation;
  const network = fetch(request);
  let late = false;
  try {
    const answer = await timely(network, () => { late = true; });
    if (![502, 503, 504].includes(answer.status)) {
      if (answer.ok && !answer.redirected && HELD.test(path)) await hold(path, answer.clone(), born).catch(() => {});
      return answer;
    }
    return (await instead(path)) || answer;
  } catch {
    const exact = await instead(path, { exactly: late });
    if (exact) return exact;
    try {
      return await network; // slow, and nothing is held of that page
    } catch {
      return (await instead(path)) || Response.error();
    }
  }
}

async function instead(path, { exactly = false } = {}) {
  const meta = await readMeta();
  const exact = await held(path === "/" ? meta.home || path : path);
  if (exact || exactly) return exact;
  const tally = path.match(/^\/at\/[^/]+\//)?.[0];
  for (const other of [tally, meta.help, meta.home]) {
    const found = other && (await held(other, { notHeld: true }));
    if (found) return found;
  }
  const files = await caches.open(FILES);
  return files.match(NO_SIGNAL);
}

// A held page says how old it is, and, served in place of another, that it is not the one asked for.
async function held(path, { notHeld = false } = {}) {
  const found = await (await caches.open(PAGES)).match(path);
  if (!found || !(found.headers.get("Content-Type") || "").startsWith("text/html")) return found;
  const at = new Date(Number(found.headers.get("X-Held-At")));
  const today = at.toDateString() === new Date().toDateString();
  const shown = at.toLocaleString(found.headers.get("Content-Language") || undefined,
    today ? { hour: "2-digit", minute: "2-digit" } : { weekday: "long", day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });
  let html = (await found.text()).replace(HIDDEN, HIDDEN.replace(" hidden", "")).replace("{as-of}", shown);
  if (notHeld) html = html.replace(NOT_HELD, NOT_HELD.replace(" hidden", ""));
  return new Response(html, { status: 200, headers: found.headers });
}

async function file(request, path) {
  const files = await caches.open(FILES);
  try {
    const answer = await timely(fetch(request));
    if (answer.ok) await files.put(path, answer.clone());
    return answer;
  } catch {
    return (await files.match(path)) || fetch(request);
  }
}

function timely(answer, whenLate = () => {}) {
  const late = new Promise((_, refuse) => setTimeout(() => { whenLate(); refuse(new Error("slow")); }, WAIT_MS));
  return Promise.race([answer, late]);
}

// --- Holding -----------------------------------------------------------------------------------
async function hold(path, answer, born, from = path) {
  const person = answer.headers.get("X-Page-For");
  if (!person) return false;
  const headers = new Headers(answer.headers);
  headers.set("X-Held-At", String(Date.now()));
  headers.set("X-Held-From", from);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  const body = await answer.blob();
  if (generation !== born) return false;
  await belongTo(person);
  const now = generation;
  const store = await caches.open(PAGES);
  await store.put(path, new Response(body, { status: 200, headers }));
  if (generation !== now) await caches.delete(PAGES); // signed out in this very moment
  return generation === now;
}

async function heldFrom(path) {
  return (await (await caches.open(PAGES)).match(path))?.headers.get("X-Held-From");
}

// What is held is one person's. Somebody else's goes first.
async function belongTo(person) {
  const meta = await readMeta();
  if (meta.who === person) return meta;
  if (meta.who) await forget();
  return writeMeta({ who: person });
}

async function forget() {
  generation += 1;
  await caches.delete(PAGES);
  await caches.delete(META);
}

async function readMeta() {
  const found = await (await caches.open(META)).match("/meta");
  return found ? found.json() : {};
}

async function writeMeta(facts) {
  await (await caches.open(META)).put("/meta", new Response(JSON.stringify(facts)));
  return facts;
}

async function holdFiles(language) {
  const files = await caches.open(FILES);
  for (const path of STATIC) {
    await fetch(path, { cache: "no-cache" }).then((answer) => answer.ok && files.put(path, answer)).catch(() => {});
  }
  const headers = language ? { "Accept-Language": language } : {};
  await fetch(NO_SIGNAL, { credentials: "omit", headers }).then((answer) => answer.ok && files.put(NO_SIGNAL, answer)).catch(() => {});
}

// Fetches every page the list names. One that fails leaves the others, and what was held of it, as they are.
async function renew(language) {
  const list = await fetchList();
  if (!list) return;
  const meta = await belongTo(list.who);
  const born = generation;
  const changed = meta.state !== list.state || meta.language !== language;
  if (!changed && Date.now() - (meta.at || 0) < RENEW_AFTER_MS) return;
  await writeMeta({ ...meta, who: list.who, help: list.help, home: list.home });
  const held = new Set();
  for (const { path, from, same } of list.pages) {
    if (generation !== born) return;
    if (same && (await heldFrom(path)) === from) {
      held.add(path);
      continue;
    }
    try {
      // X-Hold: a new cookie with the answer would make the server refuse a form that is being filled in.
      const answer = await fetch(from, { cache: "no-cache", priority: "low", redirect: "manual", headers: { Accept: "text/html", "X-Hold": "1" } });
      if (answer.ok && (await hold(path, answer, born, from))) held.add(path);
    } catch { /* the copy that is there stays */ }
  }
  if (generation !== born) return;
  await dropOtherLanguages(language, list);
  const whole = held.size === list.pages.length;
  await writeMeta({ who: list.who, language, help: list.help, home: list.home, state: whole ? list.state : "", at: Date.now() });
  if (meta.language !== language) await holdFiles(language);
}

async function dropOtherLanguages(language, list) {
  const store = await caches.open(PAGES);
  const named = new Set(list.pages.map(({ path }) => path));
  for (const request of await store.keys()) {
    const { pathname } = new URL(request.url);
    const other = (await store.match(request))?.headers.get("Content-Language");
    if (!named.has(pathname) && other && other !== language) await store.delete(request);
  }
}

async function fetchList() {
  try {
    const answer = await fetch(LIST, { cache: "no-store", headers: { Accept: "application/json" } });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

// --- Sending, where the browser has background sync -----------------------------------------------
// The rules of page.js: in the order of entry, nothing after one that did not get through, and what the server refuses
// is marked with its reason and shown at the next opening.
async function sendKept() {
  if ((await self.clients.matchAll({ type: "window" })).length) await pause(PAGE_FIRST_MS); // an open page sends by itself
  const settled = await self.navigator.locks.request("rodtally-send", async () => {
    const list = await fetchList();
    if (!list) throw new Error("no connection");
    const store = await openStore();
    try {
      return await sendEach(store, list);
    } finally {
      store.close(); // an open connection would hold up the page that empties the store
    }
  });
  if (!settled) return;
  for (const client of await self.clients.matchAll({ type: "window" })) client.postMessage("sent");
}

async function sendEach(store, { who, csrf }) {
  const kept = (await all(store)).filter((entry) => entry.who === who)
    .sort((a, b) => (a.seq ?? a.at) - (b.seq ?? b.at));
  const clockRan = kept.every((entry, place) => place === 0 || kept[place - 1].at <= entry.at);
  let settled = 0;
  for (const entry of kept.filter(({ refused }) => !refused)) {
    const answer = await post(entry, csrf, clockRan);
    if (answer.status === 408 || answer.status === 429 || answer.status >= 500) throw new Error("not taken now");
    if (answer.ok) await change(store, (box) => box.delete(entry.id));
    else {
      const { sentence } = await answer.json().catch(() => ({}));
      if (answer.status === 401 || answer.status === 403 || !sentence) break; // the page tries, and says what is wrong
      await change(store, (box) => box.put({ ...entry, refused: sentence }));
    }
    settled += 1;
  }
  return settled;
}

function pause(ms) {
  return new Promise((done) => setTimeout(done, ms));
}

function post(entry, csrf, clockRan) {
  const waited = Date.now() - entry.at;
  const body = new URLSearchParams(entry.fields);
  body.set("key", entry.id);
  body.set("said_age_s", clockRan && waited >= 0 ? (waited / 1000).toFixed(1) : "unknown");
  body.set("said_at", new Date(entry.at).toISOString());
  return fetch(entry.path, { method: "POST", body, redirect: "manual", signal: AbortSignal.timeout(SEND_MS),
    headers: { Accept: "application/json", "X-CSRFToken": csrf } });
}

function openStore() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("rodtally"); // whatever version the page made
    asked.onupgradeneeded = () => asked.result.createObjectStore("unsent", { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

function all(store) {
  return new Promise((done, failed) => {
    const asked = store.transaction("unsent").objectStore("unsent").getAll();
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

function change(store, act) {
  return new Promise((done, failed) => {
    const turn = store.transaction("unsent", "readwrite");
    act(turn.objectStore("unsent"));
    turn.oncomplete = () => done();
    turn.onerror = () => failed(turn.error);
  });
}
