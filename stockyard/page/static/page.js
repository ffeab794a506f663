/* Live parts of the pages: follow the yard, send forms without losing what was typed, keep the focus. */
"use strict";
(() => {
  const notice = () => document.getElementById("notice");
  const line = (words) => { const at = document.getElementById("line"); if (at) at.textContent = words; };
  let source = null, state = "", sending = 0, turn = 0, again = false;
  const LOST = "The server does not answer. What was confirmed is kept; this page looks again by itself.";

  // Whether somebody is typing here: then the page waits.
  const typing = () => {
    const at = document.activeElement;
    if (at && at.matches("input:not([type=hidden]):not([type=checkbox]), textarea, select") && at.closest("main") && !at.dataset.scan) return true;
    return [...document.querySelectorAll("main input[type=text], main input:not([type]), main textarea, main input[type=checkbox], main input[type=file]")]
      .some((i) => i.type === "file" ? i.value : i.type === "checkbox" ? i.checked !== i.defaultChecked : i.value !== i.defaultValue);
  };
  // A way to find an element again in the page that replaces this one.
  const mark = (at) => {
    if (!at || at === document.body) return null;
    if (at.id) return (doc) => doc.getElementById(at.id);
    const key = at.getAttribute("href") || (at.form && at.form.getAttribute("action")) || "";
    const words = at.textContent;
    return (doc) => [...doc.querySelectorAll(at.tagName)].find((e) =>
      (e.getAttribute("href") || (e.form && e.form.getAttribute("action")) || "") === key && e.textContent === words);
  };
  const show = (text, wholly) => {
    const doc = new DOMParser().parseFromString(text, "text/html");
    const fresh = doc.getElementById("main");
    if (!fresh) return false;
    const find = mark(document.activeElement), open = [...document.querySelectorAll("details[open][id]")].map((d) => d.id);
    document.title = doc.title;
    document.body.className = doc.body.className;
    for (const id of wholly ? ["notice", "main"] : ["main"]) {
      const old = document.getElementById(id), now = doc.getElementById(id);
      if (old && now) old.replaceWith(document.importNode(now, true));
    }
    const heads = [document.querySelector("header"), doc.querySelector("header")];
    if (heads[0] && heads[1]) heads[0].replaceWith(document.importNode(heads[1], true));
    for (const id of open) { const d = document.getElementById(id); if (d) d.open = true; }
    const back = find && find(document);
    const first = document.querySelector("main [data-first]"), fault = document.querySelector("main [data-fault]");
    if (fault && wholly) { fault.focus(); fault.scrollIntoView({ block: "center" }); } else if (back) back.focus({ preventScroll: true }); else if (first) first.focus({ preventScroll: true });
    ready();
    return true;
  };
  const refusal = (text) => {
    const doc = new DOMParser().parseFromString(text, "text/html");
    const told = doc.getElementById("hurdle"), box = notice();
    if (!box) return;
    box.replaceChildren();
    const at = document.createElement("div");
    at.className = "hurdle"; at.setAttribute("role", "alert");
    at.textContent = told ? told.textContent.trim() : "The server could not do it.";
    box.append(at);
    const next = doc.querySelector("main .row .button:not(.quiet)");
    if (told && next) box.append(document.importNode(next, true));
    box.scrollIntoView({ block: "nearest" });
  };
  const reload = async () => {
    if (sending) { again = true; return; }
    if (typing()) { line("The yard has changed meanwhile."); again = true; return; }
    const mine = ++turn;
    again = false;
    try {
      const at = location.pathname + location.search.replace(/([?&])told=\d+&?/, "$1").replace(/[?&]$/, "");
      const got = await fetch(at, { headers: { accept: "text/html" }, redirect: "follow" });
      const text = await got.text();
      // A form sent meanwhile has led elsewhere: what was asked before is not shown over it.
      if (mine !== turn || sending) return;
      if (typing()) { again = true; return; }
      if (got.ok) { show(text, false); line(""); }
    } catch { line(LOST); }
  };
  const send = async (form, button) => {
    if (form.dataset.sent) return;
    form.dataset.sent = "1";
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    const whole = form.enctype === "multipart/form-data";
    const to = (button && button.getAttribute("formaction")) || form.getAttribute("action");
    sending++; turn++;
    try {
      const got = await fetch(to, { method: "POST", body: whole ? data : new URLSearchParams(data) });
      const kind = got.headers.get("content-type") || "";
      if (!kind.startsWith("text/html")) { location.assign(got.url); return; }
      const text = await got.text();
      if (got.ok) {
        const url = new URL(got.url);
        if (got.redirected) history.pushState(null, "", url.pathname + url.search + url.hash);
        show(text, true);
        const spot = url.hash && document.getElementById(url.hash.slice(1));
        if (spot) spot.scrollIntoView(); else if (document.querySelector("main [data-fault]")) { /* seen already */ } else if (got.redirected && !form.dataset.stay) scrollTo(0, 0);
      } else refusal(text);
    } catch {
      refusal("");
      notice().firstChild.textContent = "The server did not answer: this was not confirmed. Look whether it was done before you do it again.";
    }
    delete form.dataset.sent;
    sending--;
    if (again && !typing()) reload();
  };
  const follow = () => {
    if (source || document.hidden || !document.querySelector("footer")) return;
    source = new EventSource("/stream");
    source.onmessage = (e) => {
      line("");
      const [deed, extra] = e.data.split("."), moved = state !== "" && state !== extra;
      state = extra;
      if (moved || deed !== document.getElementById("main").dataset.state) reload();
    };
    source.onerror = () => line(LOST);
  };
  const ready = () => {
    for (const at of document.querySelectorAll("[data-live]")) live(at);
    const scan = document.querySelector("main input[data-scan], main [data-first]");
    if (scan && document.activeElement === document.body) scan.focus({ preventScroll: true });
  };
  // A form that is understood while one types: its answer goes beside it.
  const live = (area) => {
    if (area.dataset.on) return;
    area.dataset.on = "1";
    let wait = 0, asked = 0;
    area.addEventListener("input", () => {
      clearTimeout(wait);
      wait = setTimeout(async () => {
        const mine = ++asked, data = new URLSearchParams(new FormData(area.form));
        try {
          const got = await fetch(area.dataset.live, { method: "POST", body: data });
          const doc = new DOMParser().parseFromString(await got.text(), "text/html");
          const now = doc.getElementById("understood"), old = document.getElementById("understood");
          if (mine === asked && area.isConnected && !sending && now && old) old.replaceWith(document.importNode(now, true));
        } catch { /* the next letter tries again */ }
      }, 300);
    });
  };
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.method !== "post") return;
    e.preventDefault();
    send(form, e.submitter);
  });
  document.addEventListener("change", (e) => {
    if (e.target.matches("input[data-send]") && e.target.value) e.target.form.requestSubmit();
  });
  document.addEventListener("focusout", () => setTimeout(() => { if (again && !typing()) reload(); }, 200));
  // Space bar, a foot pedal (Page Down) and arrows turn the cuts at the saw.
  document.addEventListener("keydown", (e) => {
    if (!document.body.classList.contains("saw") || e.ctrlKey || e.altKey || e.metaKey) return;
    if (e.target.closest && e.target.closest("input, textarea, select, summary, button, a.button:not([rel=next])") && e.key === " ") return;
    if (e.target.closest && e.target.closest("input, textarea, select")) return;
    const rel = [" ", "PageDown", "ArrowRight"].includes(e.key) ? "next" : ["PageUp", "ArrowLeft"].includes(e.key) ? "prev" : "";
    const at = rel && document.querySelector(`main a[rel=${rel}]`);
    if (at) { e.preventDefault(); at.click(); }
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) { if (source) source.close(); source = null; } else follow();
  });
  addEventListener("pagehide", () => { if (source) source.close(); source = null; });
  addEventListener("pageshow", (e) => { if (e.persisted) { reload(); follow(); } });
  addEventListener("popstate", () => location.reload());
  ready();
  follow();
})();
