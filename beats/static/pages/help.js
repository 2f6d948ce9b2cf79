// The call for help: sent now, or shown as not sent. It is never kept for later; while the page is open it tries again.
"use strict";
(() => {
  const form = document.querySelector("form[data-help]");
  const notSent = document.getElementById("not-sent");
  const EVERY_MS = 10000;
  const PATIENCE_MS = 8000;
  if (!form || !notSent) return;
  const key = (crypto.randomUUID && crypto.randomUUID()) || form.elements.key.value;
  let calling = false; // pressed, and not yet received
  let sending = false;
  let tries = 0;
  let timer = 0;

  const cookie = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1] || "";
  const time = () => new Date().toLocaleTimeString(document.documentElement.lang, { timeStyle: "medium" });
  const busy = (yes) => form.querySelectorAll("button").forEach((button) => {
    if (yes) button.setAttribute("aria-busy", "true");
    else button.removeAttribute("aria-busy");
  });
  const post = async () => {
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const answer = await fetch(form.action, {
        method: "POST", body: new URLSearchParams({ key }), signal: stop.signal, redirect: "manual",
        headers: { Accept: "application/json", "X-CSRFToken": cookie() },
      });
      return { ok: answer.ok, status: answer.status, told: await answer.json() };
    } catch {
      return { ok: false, status: 0, told: {} };
    } finally {
      clearTimeout(late);
    }
  };
  const send = async () => {
    if (!calling || sending) return;
    clearTimeout(timer);
    sending = true;
    const { ok, status, told } = await post();
    sending = false;
    if (ok) {
      calling = false;
      location.assign(told.next);
      return;
    }
    const final = status >= 400 && status < 500 && ![408, 429].includes(status);
    failed(status === 401 ? notSent.dataset.signedout : told.sentence || "", final);
  };
  const failed = (sentence, final) => {
    tries += 1;
    busy(false);
    notSent.hidden = false;
    notSent.querySelector("[data-trying]").hidden = final;
    const again = tries > 1 && !final ? notSent.dataset.again.replace("{at}", time()) : "";
    notSent.querySelector("[data-tried]").textContent = [sentence, again].filter(Boolean).join(" ");
    if (tries === 1) notSent.scrollIntoView({ block: "start" });
    if (final) calling = false;
    else timer = setTimeout(send, EVERY_MS);
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    event.stopPropagation(); // page.js keeps nothing of this form
    if (calling) return; // a second press: it is being tried
    calling = true;
    busy(true);
    send();
  });
  window.addEventListener("online", send);
})();
