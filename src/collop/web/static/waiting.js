// What waits on this device: the word in the top bar, the list of it, and what a copied page says
// beside its buttons. The offline script keeps and sends; this only shows and asks.
"use strict";

(function () {
  const PING_MS = 30000;
  const ANSWER_MS = 20000;
  const IDLE_MS = 4000;
  const chip = document.getElementById("waits");
  const worker = "serviceWorker" in navigator ? navigator.serviceWorker : null;
  const list = document.getElementById("waiting-list");
  let rules = null;

  function ask(what, more) {
    return new Promise(function (resolve, reject) {
      if (!worker || !worker.controller) { reject(new Error("no offline script")); return; }
      const line = new MessageChannel();
      const late = window.setTimeout(reject, ANSWER_MS, new Error("no answer"));
      line.port1.onmessage = function (event) { window.clearTimeout(late); resolve(event.data); };
      worker.controller.postMessage(Object.assign({do: what}, more), [line.port2]);
    });
  }

  function quietly(promise) { return promise.catch(function () { return null; }); }

  function make(tag, text, more) {
    const made = document.createElement(tag);
    if (text) { made.textContent = text; }
    return Object.assign(made, more);
  }

  function hour(ms) {
    return new Date(ms).toLocaleTimeString("en-GB", {hour: "2-digit", minute: "2-digit"});
  }

  function when(ms) {
    const then = new Date(ms);
    const day = then.toDateString() === new Date().toDateString() ? "" :
      then.toLocaleDateString("en-GB", {weekday: "short", day: "numeric", month: "short"}) + ", ";
    return day + hour(ms);
  }

  // the shop's time as a page carries it, without a zone
  function shopTime(text) {
    return /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}/.test(text) ? when(Date.parse(text.slice(0, 16))) : "";
  }

  // --- the word in the top bar

  function showCounts(counts) {
    if (!chip || !counts) { return; }
    const key = [counts.waits, counts.conflicts, counts.signIn].join(" ");
    if (chip.dataset.shown === key) { return; }
    chip.dataset.shown = key;
    chip.replaceChildren();
    if (!counts.waits && !counts.conflicts) { return; }
    const link = make("a", "", {href: "/waiting"});
    if (counts.waits) {
      const sign = make("span", "\u25d4", {className: "waits-sign"});
      sign.setAttribute("aria-hidden", "true");
      link.append(sign, " " + counts.waits + " waiting" + (counts.signIn ? ", sign in to send" : ""));
    }
    if (counts.conflicts) {
      const sign = make("span", "\u25b2", {className: "waits-sign"});
      sign.setAttribute("aria-hidden", "true");
      link.append(counts.waits ? " " : "", sign, " " + counts.conflicts + " need" +
        (counts.conflicts === 1 ? "s" : "") + " you");
      link.className = "needs-you";
    }
    chip.append(link);
  }

  // --- the list

  function stateWords(entry) {
    if (entry.state === "done") { return "Done. The server has it."; }
    if (entry.state === "given-up") {
      return "Given up: " + entry.why + (entry.isTold ? ". It is in the log." : ". The log is told when the server is back.");
    }
    if (entry.state === "conflict") { return "Needs you: " + entry.said; }
    if (entry.hands) { return "Waits for " + (entry.name || "whoever kept it") + " to sign in."; }
    return entry.said ? "Waits. The server said: " + entry.said : "Waits.";
  }

  function fact(name, text) {
    const row = make("div");
    row.append(make("dt", name), make("dd", text));
    return row;
  }

  function sentFields(entry) {
    const hidden = ["key", "unit", "line", "worked", "do", "sure", "find", "chosen"];
    return Array.from(new URLSearchParams(entry.body)).filter(function ([name, value]) {
      return value && !hidden.includes(name);
    });
  }

  function button(text, act, kind) {
    const made = make("button", text, {type: "button"});
    if (kind) { made.className = kind; }
    made.addEventListener("click", async function () {
      made.disabled = true;
      await quietly(act());
      await draw();
    });
    return made;
  }

  function formOf(entry) {
    if (entry.path === "/sell") {
      const fields = new URLSearchParams(entry.body);
      const query = new URLSearchParams(fields.getAll("line").map(function (line) { return ["line", line]; }));
      ["by", "name"].forEach(function (name) { if (fields.get(name)) { query.set(name, fields.get(name)); } });
      return "/sell?" + query;
    }
    const from = entry.from ? new URL(entry.from) : null;
    const page = from && from.origin === window.location.origin && from.pathname !== "/waiting" ?
      from.pathname + from.search : entry.path.replace(/\/(?:money|state|count|done)$/, "");
    return page;
  }

  function giveUpPart(entry) {
    const form = make("form", "", {className: "give-up", noValidate: true});
    const id = "why-" + entry.id;
    const label = make("label", "Why it is given up");
    label.htmlFor = id;
    const field = make("input", "", {id: id, type: "text", maxLength: 60, autocomplete: "off"});
    const fault = make("p", "", {className: "fault", id: "e-" + id, hidden: true});
    field.setAttribute("aria-describedby", fault.id);
    form.append(label, fault, field, make("button", "Give up", {type: "submit"}));
    form.addEventListener("submit", async function (event) {
      event.preventDefault();
      if (!field.value.trim()) {
        fault.textContent = "Why it is given up: write a word or two; the log keeps it.";
        fault.hidden = false;
        field.setAttribute("aria-invalid", "true");
        field.focus();
        return;
      }
      await quietly(ask("give-up", {id: entry.id, why: field.value}));
      await draw();
    });
    const box = make("details");
    box.append(make("summary", "Give up"), form);
    return box;
  }

  function item(entry) {
    const row = make("li", "", {id: "w-" + entry.id, className: "waiting-one is-" + entry.state});
    row.append(make("h3", entry.words));
    row.append(make("p", stateWords(entry), {className: "waiting-state"}));
    const facts = make("dl", "", {className: "waiting-facts"});
    facts.append(fact("Done", when(entry.keptAt)));
    if (entry.asOf) { facts.append(fact("Page as of", shopTime(entry.asOf))); }
    if (entry.name) { facts.append(fact("By", entry.name)); }
    row.append(facts);
    if (entry.state === "waits" && entry.caution) { row.append(make("p", entry.caution, {className: "quiet"})); }
    const told = sentFields(entry);
    if (told.length) {
      const box = make("details");
      const all = make("dl", "", {className: "waiting-facts"});
      told.forEach(function ([name, value]) { all.append(fact(name.replace(/[_-]/g, " "), value)); });
      box.append(make("summary", "What was written"), all);
      row.append(box);
    }
    if (entry.state === "done" && entry.answer) {
      const address = new URL(entry.answer, window.location.origin);
      const number = (/\/(H[0-9]+)$/.exec(address.pathname) || [])[1];
      row.append(make("a", number ? "Open " + number : "Open the page", {className: "button", href: address.pathname}));
    }
    if (["waits", "conflict"].includes(entry.state)) {
      const acts = make("div", "", {className: "acts"});
      if (entry.hands) {
        acts.append(button("Send it as mine", function () { return ask("mine", {id: entry.id}); }));
      } else if (entry.state === "conflict") {
        acts.append(make("a", "Open the form", {className: "button main-action",
          href: formOf(entry) + (entry.path === "/sell" ? "" : "#kept=" + entry.id)}));
        acts.append(button("Send it again", function () { return ask("again", {id: entry.id}); }));
      }
      row.append(acts, giveUpPart(entry));
    }
    return row;
  }

  function section(title, entries) {
    if (!entries.length) { return []; }
    const rows = make("ol", "", {className: "waiting-rows"});
    entries.forEach(function (entry) { rows.append(item(entry)); });
    return [make("h2", title), rows];
  }

  async function draw() {
    if (!list) { return; }
    const entries = await quietly(ask("list"));
    if (!entries) {
      list.replaceChildren(make("p", "Nothing can wait on this device: while the server is away, write on the paper sheets and key them back. To let it wait here: open the shop at its https address, or on the counter's own machine, and load this page once more."));
      return;
    }
    const open = document.activeElement && document.activeElement.id;
    if (open && open.startsWith("why-") && document.getElementById(open).value) { return; }
    const having = function (state) { return entries.filter(function (one) { return one.state === state; }); };
    const waits = having("waits");
    const parts = [...section("Needs you", having("conflict")), ...section("Waiting", waits),
      ...section("Given up", having("given-up")), ...section("Done today", having("done").reverse())];
    list.replaceChildren(...(parts.length ? parts : [make("p", "Nothing waits on this device.")]));
    const now = document.getElementById("send-now");
    now.hidden = !waits.length;
    const counts = await quietly(ask("counts"));
    document.getElementById("waiting-told").textContent = !counts || !waits.length ? "" :
      counts.signIn ? "Sign in to send " + waits.length + "." : counts.told;
    document.getElementById("waiting-sign-in").hidden = !(counts && counts.signIn && waits.length);
    showCounts(counts);
  }

  async function said() {
    const place = document.getElementById("waiting-said");
    const query = new URLSearchParams(window.location.search);
    if (!place) { return; }
    if (query.get("not")) {
      rules = rules || await quietly(ask("rules"));
      const rule = rules && rules.not.find(function (one) { return query.get("not").startsWith(one.path); });
      place.replaceChildren(make("h2", "This was not sent"), make("p", "There is no connection, and this cannot wait: " +
        (rule ? rule.why : "it needs the server") + ". Nothing was written. What you typed is still there: go back to it."));
      const back = make("button", "Back to it", {type: "button", className: "main-action"});
      back.addEventListener("click", function () { window.history.back(); });
      place.append(back);
      place.hidden = false;
      place.focus();
      return;
    }
    const entries = query.get("kept") && await quietly(ask("list"));
    const entry = entries && entries.find(function (one) { return one.id === query.get("kept"); });
    if (!entry) { return; }
    const waits = entries.filter(function (one) { return one.state === "waits"; }).length;
    const isDone = entry.state === "done";
    place.replaceChildren(make("h2", isDone ? "Sent. The server has it." :
      "Kept on this device at " + hour(entry.keptAt) + " - " + waits + " waiting"), make("p", entry.words + "."));
    if (entry.caution && !isDone) { place.append(make("p", entry.caution)); }
    const on = entry.path === "/sell" ? "/sell" : entry.path.startsWith("/hook/") ? "/hook" :
      formOf(entry).replace(/[?#].*$/, "");
    place.append(make("a", entry.path === "/sell" ? "Next sale" : "Go on", {className: "button main-action", href: on}));
    place.hidden = false;
    place.focus();
  }

  // --- forms: filled in again, and what a copy says of them

  async function fillAgain() {
    const id = (/^#kept=([0-9a-f-]{36})$/.exec(window.location.hash) || [])[1];
    const entry = id && (await quietly(ask("list")) || []).find(function (one) { return one.id === id; });
    if (!entry || !entry.body) { return; }
    const form = Array.from(document.forms).find(function (one) {
      return new URL(one.action).pathname === entry.path;
    });
    if (!form) { return; }
    const fields = new URLSearchParams(entry.body);
    Array.from(form.elements).forEach(function (field) {
      const told = field.name ? fields.getAll(field.name) : [];
      if (!told.length || field.type === "submit") { return; }
      if (field.type === "radio" || field.type === "checkbox") {
        field.checked = told.includes(field.value);
      } else { field.value = told[0]; }
    });
    const note = make("p", (entry.said || "It came back") + " Change it, and send it again.", {className: "notice loud", tabIndex: -1});
    note.setAttribute("role", "alert");
    form.before(note);
    note.focus();
  }

  function isCopy() {
    const strip = document.querySelector("[data-as-of]");
    return Boolean(strip && !strip.hidden);
  }

  function addressOf(form, control) {
    return new URL(control && control.getAttribute("formaction") || form.getAttribute("action") || "", window.location.href).pathname;
  }

  // Which row of the table a button of a form falls under; a field of the form may say it too.
  function rowOf(form, control) {
    const path = addressOf(form, control);
    return rules.may.find(function (rule) {
      if (!new RegExp("^" + rule.path + "$").test(path)) { return false; }
      return Object.entries(rule.having).every(function ([name, text]) {
        const own = control.name === name && new RegExp("^" + text + "$").test(control.value);
        return own || Boolean(form.querySelector('input[name="' + name + '"]'));
      });
    });
  }

  function awayWords(form, controls) {
    const rows = controls.map(function (control) { return rowOf(form, control); });
    const found = rows.find(Boolean);
    const path = addressOf(form, controls[controls.length - 1]);
    if (path === "/sell") { return "No connection: the sale will wait on this device."; }
    if (found && rows.every(Boolean)) { return "No connection: this will wait on this device."; }
    if (found) { return "No connection: will wait on this device: " + found.title + ". The rest of this form cannot."; }
    const not = rules.not.find(function (rule) { return path.startsWith(rule.path); });
    return "No connection: this cannot wait; " + not.why + ".";
  }

  async function tellForms() {
    if (!isCopy()) { return; }
    document.querySelectorAll("[data-when-away]").forEach(function (part) { part.hidden = false; });
    document.querySelectorAll("[data-when-here]").forEach(function (part) { part.remove(); });
    rules = rules || await quietly(ask("rules"));
    if (!rules) { return; }
    document.querySelectorAll('main form[method="post"]').forEach(function (form) {
      const controls = Array.from(form.querySelectorAll('button[type="submit"]:not(.unseen)'));
      if (!controls.length || form.querySelector(".will-wait")) { return; }
      controls[controls.length - 1].after(make("p", awayWords(form, controls), {className: "will-wait"}));
    });
  }

  // A part of a page that was kept: its field is free for the next, under a key of its own.
  function keptHere(data) {
    const strip = document.getElementById("lost");
    document.querySelectorAll('input[name="key"]').forEach(function (field) {
      if (field.value !== data.key) { return; }
      field.value = crypto.randomUUID().replace(/-/g, "");
      if (data.isPage || !field.form) { return; }
      field.form.querySelectorAll("input[data-scale]").forEach(function (scale) { scale.value = ""; });
    });
    if (strip && !data.isPage) {
      strip.textContent = "Kept on this device at " + hour(data.at) + ": " + data.words + ". The page shows it once it is sent.";
      strip.hidden = false;
    }
  }

  async function ping() {
    if (document.hidden) { return; }
    showCounts(await quietly(ask("ping")));
    await draw();
  }

  async function begin() {
    const counts = await quietly(ask("counts"));
    showCounts(counts);
    // what waits must not be cleared away when the disk of the device is short
    if (counts && counts.waits && navigator.storage) { quietly(navigator.storage.persist()); }
    tellForms();
    fillAgain();
    await said();
    await draw();
    await ping();
  }

  if (!worker) { if (list) { draw(); } return; }
  worker.addEventListener("message", function (event) {
    const data = event.data || {};
    if (data.what === "counts") { showCounts(data); draw(); }
    if (data.what === "kept") { keptHere(data); }
  });
  worker.addEventListener("controllerchange", begin);
  window.addEventListener("online", ping);
  window.setInterval(ping, PING_MS);
  const now = document.getElementById("send-now");
  if (now) {
    now.addEventListener("click", async function () {
      now.disabled = true;
      await quietly(ask("send"));
      now.disabled = false;
      await draw();
    });
  }
  window.addEventListener("load", function () {
    window.setTimeout(function () { if (!isCopy()) { quietly(ask("idle")); } }, IDLE_MS);
  });
  if (worker.controller) { begin(); } else if (list) { draw(); }
}());
