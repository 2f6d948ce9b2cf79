// Keeps the guest's pages for when there is no signal. It sends nothing: what was said is sent by the page.
"use strict";
const STORE = "rodtally-1";
const WAIT_MS = 5000;
const KEPT = /^\/(day|check-in)\//;
const STATIC = /^\/static\/pages\//;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("message", (event) => {
  if (event.data === "forget") event.waitUntil(caches.delete(STORE));
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && (KEPT.test(url.pathname) || url.pathname === "/")) {
    event.respondWith(fresh(request, url));
  } else if (STATIC.test(url.pathname)) {
    event.respondWith(fresh(request, url));
  }
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

async function fresh(request, url) {
  const store = await caches.open(STORE);
  try {
    const answer = await timely(fetch(request));
    if (answer.ok && !answer.redirected) await store.put(url.pathname, answer.clone());
    return answer;
  } catch (fault) {
    const kept = await store.match(url.pathname === "/" ? "/day/" : url.pathname);
    if (kept) return kept;
    throw fault;
  }
}

function timely(answer) {
  const late = new Promise((_, refuse) => setTimeout(() => refuse(new Error("no signal")), WAIT_MS));
  return Promise.race([answer, late]);
}
