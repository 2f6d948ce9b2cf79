// Asks the worker to renew what the phone holds, and to send what was kept when there is signal.
"use strict";
(() => {
  const { serviceWorker } = navigator;
  const { who, signedOut } = document.body.dataset;
  if (signedOut !== undefined) takeOut();
  if (!serviceWorker) return;
  if (who) serviceWorker.ready.then(({ active }) => active.postMessage({ type: "renew", language: document.documentElement.lang }));
  // What this page still shows as waiting has been sent; a page that is sending goes on by itself.
  serviceWorker.addEventListener("message", ({ data }) => {
    const waiting = !document.getElementById("unsent").hidden;
    if (data === "sent" && waiting && !document.querySelector("form[data-busy]")) location.reload();
  });

  // Registered before the page tries, since the phone may be put away at once. Only some browsers have it; the others
  // send at the next opening.
  document.addEventListener("submit", ({ target }) => {
    if (target.dataset.keep === undefined) return;
    serviceWorker.ready.then(({ sync }) => sync?.register("rodtally-unsent")).catch(() => {});
  });

  // Nothing of the person stays in a phone they signed out of, whether or not a worker took the message.
  async function takeOut() {
    serviceWorker?.controller?.postMessage("forget");
    if (!window.caches) return;
    for (const name of await caches.keys()) if (/^rodtally-(pages|meta)/.test(name)) await caches.delete(name);
  }
})();
