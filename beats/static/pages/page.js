// What a page does beyond its forms: it keeps what was said without signal, and sends it when there is some.
// Every form works without this file.
"use strict";
(() => {
  const who = document.body.dataset.who;
  const note = document.getElementById("unsent");
  const words = note.dataset;
  const here = Math.random().toString(36).slice(2);
  const EVERY_MS = 20000;
  const PATIENCE_MS = 8000;

  // --- The store ---------------------------------------------------------------------------
  const opened = new Promise((done) => {
    try {
      const asked = indexedDB.open("rodtally", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("unsent", { keyPath: "id" });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => done(null);
    } catch {
      done(null);
    }
  });
  let keepsNothing = false;
  opened.then((store) => {
    keepsNothing = !store && document.querySelector("form[data-keep]") !== null;
    if (keepsNothing) tell();
  });
  const inStore = async (mode, act) => {
    const store = await opened;
    if (!store) return null;
    return new Promise((done, failed) => {
      const turn = store.transaction("unsent", mode);
      const asked = act(turn.objectStore("unsent"));
      turn.oncomplete = () => done(asked.result);
      turn.onerror = () => failed(turn.error);
      turn.onabort = () => failed(turn.error);
    });
  };
  // In the order in which they were entered, whatever was done to the phone's clock meanwhile.
  const kept = async () => ((await inStore("readonly", (box) => box.getAll())) || [])
    .filter((entry) => entry.who === who).sort((a, b) => (a.seq ?? a.at) - (b.seq ?? b.at));
  const unsent = async () => (await kept()).filter((entry) => !entry.refused);
  const refused = async () => (await kept()).filter((entry) => entry.refused);
  const put = (entry) => inStore("readwrite", (box) => box.put(entry));
  const drop = (id) => inStore("readwrite", (box) => box.delete(id));

  // --- Sending -----------------------------------------------------------------------------
  const cookie = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1] || "";
  // Within one page by a clock that nobody can set; over a reload by the phone's own. Where that clock was put back, or
  // runs against the order of the entries, the age is not known, and the server is told so.
  const age = async (entry) => {
    if (entry.page === here) return ((performance.now() - entry.tick) / 1000).toFixed(1);
    const queue = (await kept()).filter((other) => other.page !== here);
    const ordered = queue.every((other, place) => place === 0 || queue[place - 1].at <= other.at);
    const waited = Date.now() - entry.at;
    return ordered && waited >= 0 ? (waited / 1000).toFixed(1) : "unknown";
  };
  const send = async (entry) => {
    const body = new URLSearchParams(entry.fields);
    body.set("key", entry.id);
    body.set("said_age_s", await age(entry));
    body.set("said_at", new Date(entry.at).toISOString());
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const answer = await fetch(entry.path, {
        method: "POST", body, signal: stop.signal, redirect: "manual",
        headers: { Accept: "application/json", "X-CSRFToken": cookie() },
      });
      const told = await answer.json();
      if (answer.ok) return { state: "received", next: told.next };
      if ([401, 403, 408, 429].includes(answer.status) || answer.status >= 500)
        return { state: "waiting", sentence: told.sentence, signedOut: ["signed-out", "old-page"].includes(told.code) };
      return { state: "refused", sentence: told.sentence, code: told.code };
    } catch {
      return { state: "waiting" };
    } finally {
      clearTimeout(timer);
    }
  };
  const alone = (act) => (navigator.locks ? navigator.locks.request("rodtally-send", act) : act());
  const sendAll = () => alone(async () => {
    let said = "";
    let signedOut = false;
    for (const entry of await unsent()) {
      const outcome = await send(entry);
      if (outcome.state === "waiting") { ({ sentence: said = "", signedOut } = outcome); break; }
      if (outcome.state === "received") {
        await drop(entry.id);
      } else {
        await put({ ...entry, refused: outcome.sentence || words.refused }); // kept in sight until its owner removes it
      }
    }
    await tell([], said, signedOut);
  });
  // The page shows the state before an entry was received, whether this page sent it, another one or the worker.
  const sendAndRenew = async () => {
    const waiting = new Set([...shownWaiting, ...(await unsent()).map(({ id }) => id)]);
    if (!waiting.size) return;
    await sendAll();
    const left = new Set((await kept()).map(({ id }) => id));
    const received = [...waiting].some((id) => !left.has(id));
    if (received && !document.querySelector("form[data-busy]")) location.reload();
  };

  // --- Telling -----------------------------------------------------------------------------
  const line = (text, strong) => {
    const p = document.createElement("p");
    const inner = document.createElement(strong ? "strong" : "span");
    inner.textContent = text;
    p.append(inner);
    return p;
  };
  const wayIn = () => {
    const link = document.createElement("a");
    link.className = "act";
    link.href = `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}`;
    link.textContent = words.signin;
    const acts = document.createElement("div");
    acts.className = "acts";
    acts.append(link);
    return acts;
  };
  const entered = (entry) => {
    const at = new Date(entry.at).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit" });
    return `${entry.what}, ${at}`;
  };
  const choice = (text, act) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "soft";
    button.textContent = text;
    button.addEventListener("click", act);
    return button;
  };
  // What the server refused after it had waited: nobody else saw the refusal, so it stays until it is removed by hand.
  const refusal = (entry) => {
    const box = document.createElement("div");
    const acts = document.createElement("div");
    acts.className = "acts";
    acts.append(
      choice(words.resend, async () => {
        const { refused: _reason, ...again } = entry;
        await put(again);
        await sendAndRenew();
      }),
      choice(words.remove, async () => { await drop(entry.id); await tell(); }),
    );
    box.dataset.refused = entry.id;
    box.append(line(`${words.refused} ${entered(entry)}`, true), line(entry.refused), line(words.refusedhint), acts);
    return box;
  };
  let shownWaiting = [];
  const tell = async (refusals = [], said = "", signedOut = false) => {
    const waiting = await unsent();
    shownWaiting = waiting.map(({ id }) => id);
    const unsaved = await refused();
    note.replaceChildren();
    if (keepsNothing) note.append(line(words.nostore, true));
    for (const text of refusals) note.append(line(`${words.refused} ${text}`, true));
    for (const entry of unsaved) note.append(refusal(entry));
    if (waiting.length) {
      note.append(line(words.waiting, true));
      for (const entry of waiting) note.append(line(entered(entry)));
      note.append(line(said || words.instead));
      if (signedOut) note.append(wayIn());
    }
    note.hidden = !note.childElementCount;
  };

  // --- Forms -------------------------------------------------------------------------------
  const busy = (form, yes) => form.querySelectorAll("button").forEach((button) => {
    if (yes) button.setAttribute("aria-busy", "true");
    else button.removeAttribute("aria-busy");
  });
  const keep = async (form, submitter) => {
    const data = new FormData(form, submitter);
    data.delete("csrfmiddlewaretoken");
    const entry = {
      id: crypto.randomUUID ? crypto.randomUUID() : `${Date.now()}-${here}`,
      who, what: form.dataset.keep, path: form.action, fields: [...data].map(([name, value]) => [name, String(value)]),
      at: Date.now(), tick: performance.now(), page: here,
    };
    try {
      entry.seq = 1 + Math.max(0, ...(await kept()).map((other) => other.seq ?? other.at));
      if ((await put(entry)) === null) throw new Error("no store");
    } catch {
      form.dataset.plain = "yes"; // private mode: without a store it goes the plain way, button and all
      delete form.dataset.busy;
      setTimeout(() => form.requestSubmit(submitter)); // a form does not submit anew while it tells of submitting
      return;
    }
    const outcome = await alone(() => send(entry));
    if (outcome.state === "received") {
      await drop(entry.id);
      location.assign(outcome.next);
      return;
    }
    delete form.dataset.busy;
    busy(form, false);
    if (outcome.state === "refused") await drop(entry.id);
    if (outcome.state === "refused" && outcome.code === form.dataset.confirms) {
      form.dataset.plain = "yes"; // the server's own page asks for the second, deliberate step
      form.requestSubmit(submitter);
      return;
    }
    await tell(outcome.state === "refused" ? [outcome.sentence] : [], outcome.sentence, outcome.signedOut);
    note.scrollIntoView({ block: "nearest" });
  };
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.busy) { event.preventDefault(); return; } // a double tap
    form.dataset.busy = "yes";
    busy(form, true);
    if (form.method === "post") remember("acted");
    if (form.dataset.plain) {
      const token = form.elements.csrfmiddlewaretoken; // another answer may have replaced the cookie since the page came
      if (token && cookie()) token.value = cookie();
      forget(form.dataset);
      return;
    }
    if (form.dataset.push) {
      event.preventDefault();
      subscribe(form).finally(() => { delete form.dataset.busy; busy(form, false); });
    } else if (form.dataset.keep && window.indexedDB) {
      event.preventDefault();
      keep(form, event.submitter);
    } else if (form.method === "post") {
      event.preventDefault();
      sendPlainly(form, event.submitter);
    }
  });
  // Pages kept for another person go, and what was not yet sent with its person; not before the form itself goes:
  // without signal they are all there is. Those of another language go once they are there in the new one.
  const forget = (told) => {
    if ("forget" in told) navigator.serviceWorker?.controller?.postMessage("forget");
    if ("forget" in told) window.indexedDB?.deleteDatabase("rodtally");
  };
  // What is not kept would be lost on the browser's own page of faults: so the server is asked first whether it is
  // there. One that is only slow is sent to all the same.
  const sendPlainly = async (form, submitter) => {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
    const there = await fetch(words.probe, { method: "HEAD", cache: "no-store", signal: stop.signal })
      .then(() => true, () => stop.signal.aborted);
    clearTimeout(timer);
    delete form.dataset.busy;
    if (there) {
      form.dataset.plain = "yes";
      form.requestSubmit(submitter);
      return;
    }
    busy(form, false);
    await tell();
    note.append(line(words.notsent, true));
    note.hidden = false;
    note.scrollIntoView({ block: "nearest" });
  };
  // --- Pushes ------------------------------------------------------------------------------
  const bytes = (text) => Uint8Array.from(
    atob(text.replaceAll("-", "+").replaceAll("_", "/").padEnd(Math.ceil(text.length / 4) * 4, "=")),
    (letter) => letter.charCodeAt(0),
  );
  const pushSays = (form, text) => {
    const says = form.querySelector("[data-push-says]");
    says.textContent = text;
    says.hidden = false;
  };
  const subscribe = async (form) => {
    const told = form.dataset;
    if (!("PushManager" in window && "serviceWorker" in navigator)) return pushSays(form, told.unsupported);
    if ((await Notification.requestPermission()) !== "granted") return pushSays(form, told.denied);
    try {
      const { pushManager } = await navigator.serviceWorker.ready;
      const before = await pushManager.getSubscription();
      if (before) await before.unsubscribe(); // perhaps made with another key
      const made = (await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes(told.push) })).toJSON();
      form.elements.endpoint.value = made.endpoint;
      form.elements.p256dh.value = made.keys.p256dh;
      form.elements.auth.value = made.keys.auth;
      form.elements.label.value = navigator.userAgentData?.platform || navigator.platform || "";
      form.submit();
    } catch {
      pushSays(form, told.failed);
    }
  };
  window.addEventListener("pageshow", (event) => {
    document.querySelectorAll("form").forEach((form) => {
      delete form.dataset.busy;
      delete form.dataset.plain;
      busy(form, false);
    });
    comeBack(event.persisted);
  });

  // --- The back button ---------------------------------------------------------------------
  // A page seen before the last deed tells what was; where nothing was done since, what was typed in it stays.
  const recall = (name) => Number(tabs()?.getItem(name) || 0);
  const remember = (name) => tabs()?.setItem(name, String(Date.now()));
  const tabs = () => { try { return window.sessionStorage; } catch { return null; } };
  const comeBack = (persisted) => {
    const seen = `seen ${location.pathname}${location.search}`;
    const back = persisted || performance.getEntriesByType("navigation")[0]?.type === "back_forward";
    if (back && recall("acted") > recall(seen)) location.replace(location.pathname + location.search);
    else remember(seen);
  };

  // --- Cookies off -------------------------------------------------------------------------
  // Each form brings a cookie; where it is not kept, that is said before anything is typed.
  document.querySelectorAll("[data-no-cookies]").forEach((words) => { words.hidden = cookie() !== ""; });

  // --- When to try again -------------------------------------------------------------------
  if (!who) return;
  const again = async () => {
    await sendAndRenew();
    if ((await refused()).length && !note.querySelector("[data-refused]")) await tell();
  };
  again();
  window.addEventListener("online", again);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && again());
  setInterval(again, EVERY_MS);
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => {});
})();
