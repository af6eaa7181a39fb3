// Writes that wait on this device: kept in IndexedDB under the key of their form, sent again in the
// order they were kept, one at a time; the server does each once. Loaded by sw.js.
"use strict";

const waitingQueue = (function () {
  const DB = "collop-waiting";
  const SEND_MS = 15000;
  const LEASE_MS = 60000;
  const FIRST_PAUSE_MS = 30000;
  const LONGEST_PAUSE_MS = 600000;
  const LONGEST_WORDS = 90;
  let opened = null;

  function open() {
    opened = opened || new Promise(function (resolve, reject) {
      const asked = indexedDB.open(DB, 1);
      asked.onupgradeneeded = function () {
        asked.result.createObjectStore("entries", {keyPath: "n", autoIncrement: true});
        asked.result.createObjectStore("meta", {keyPath: "name"});
      };
      asked.onsuccess = function () { resolve(asked.result); };
      asked.onerror = function () { opened = null; reject(asked.error); };
    });
    return opened;
  }

  // One transaction: it is done when the disk has it, not when the request was taken.
  async function within(store, mode, act) {
    const base = await open();
    return new Promise(function (resolve, reject) {
      const work = base.transaction(store, mode, {durability: "strict"});
      const asked = act(work.objectStore(store));
      work.oncomplete = function () { resolve(asked && asked.result); };
      work.onerror = work.onabort = function () { reject(work.error); };
    });
  }

  async function meta(name) {
    const found = await within("meta", "readonly", function (store) { return store.get(name); });
    return found ? found.value : undefined;
  }

  function setMeta(name, value) {
    return within("meta", "readwrite", function (store) { return store.put({name: name, value: value}); });
  }

  function all() {
    return within("entries", "readonly", function (store) { return store.getAll(); });
  }

  function put(entry) {
    return within("entries", "readwrite", function (store) { return store.put(entry); });
  }

  function drop(entry) {
    return within("entries", "readwrite", function (store) { return store.delete(entry.n); });
  }

  async function one(id) {
    return (await all()).find(function (entry) { return entry.id === id; });
  }

  async function device() {
    let name = await meta("device");
    if (!name) {
      name = crypto.randomUUID().slice(0, 4);
      await setMeta("device", name);
    }
    return name;
  }

  // words of an entry: {field}, {#field} for how many, {1} for a part of the address
  function wordsOf(rule, path, fields) {
    const parts = new RegExp("^" + rule.path + "$").exec(path) || [];
    return rule.words.replace(/\{(#?)([A-Za-z_]+|[0-9])\}/g, function (_all, count, name) {
      if (count) { return String(fields.getAll(name).length); }
      return /[0-9]/.test(name) ? decodeURIComponent(parts[Number(name)] || "") : fields.get(name) || "";
    }).replace(/[^\x20-\x7e\u00a0-\uffff]/g, " ").replace(/\b1 lines\b/, "1 line").replace(/ +/g, " ")
      .replace(/ (?=[:,])/g, "").replace(/[ :,]+$/, "").slice(0, LONGEST_WORDS);
  }

  function ruleFor(rules, path, fields) {
    return rules.may.find(function (rule) {
      if (!new RegExp("^" + rule.path + "$").test(path)) { return false; }
      return Object.entries(rule.having).every(function ([name, text]) {
        return new RegExp("^" + text + "$").test(fields.get(name) || "");
      });
    });
  }

  // The same form sent twice is one entry. A conflict that was opened, mended and sent again takes
  // the place of what it was; anything else under a used key is for the server to judge.
  async function keep(entry) {
    const before = (await all()).filter(function (old) {
      return old.key === entry.key && old.path === entry.path && old.state !== "done" &&
        old.state !== "given-up";
    });
    const same = before.find(function (old) { return old.body === entry.body; });
    const mended = same || before.find(function (old) { return old.state === "conflict"; });
    if (mended) {
      const kept = Object.assign({}, mended, entry, {id: mended.id, n: mended.n,
        keptAt: same ? mended.keptAt : entry.keptAt});
      await put(kept);
      return kept;
    }
    await put(entry);
    return entry;
  }

  async function counts() {
    const entries = await all();
    const having = function (state) {
      return entries.filter(function (entry) { return entry.state === state; }).length;
    };
    return {waits: having("waits"), conflicts: having("conflict"), signIn: Boolean(await meta("signIn")),
      told: await meta("told") || ""};
  }

  function plain(html) {
    const text = html.replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").trim();
    const signs = {"&amp;": "&", "&lt;": "<", "&gt;": ">", "&quot;": "\"", "&#34;": "\"", "&#39;": "'"};
    return text.replace(/&(?:amp|lt|gt|quot|#34|#39);/g, function (sign) { return signs[sign]; });
  }

  // What the server said of it: the summary of faults, else its notice, else the heading.
  function sentenceOf(html, type) {
    if (!type.includes("html")) { return plain(html.replace(/</g, "&lt;")).slice(0, 400); }
    const problem = /<section class="problem"[\s\S]*?<ul>([\s\S]*?)<\/ul>/.exec(html);
    const notice = /<p class="notice loud[^"]*" role="alert">([\s\S]*?)<\/p>/.exec(html);
    const heading = /<section class="(?:trouble|door)">\s*<h1>([\s\S]*?)<\/h1>/.exec(html);
    const found = problem || notice || heading;
    return (found ? plain(found[1]) : "The server showed the form again.").slice(0, 400);
  }

  async function headersFor(entry) {
    const headers = {"Content-Type": "application/x-www-form-urlencoded",
      "X-Done-At": new Date(entry.keptAt).toISOString(), "X-Device-Now": new Date().toISOString(),
      "X-Device": await device()};
    if (entry.asOf) { headers["X-As-Of"] = entry.asOf; }
    if (entry.by && !entry.mine) { headers["X-Kept-By"] = entry.by; }
    return headers;
  }

  // Send one entry; returns whether the next may be sent.
  async function send(entry) {
    let answer, text;
    try {
      answer = await fetch(entry.path, {method: "POST", body: entry.body, redirect: "follow",
        credentials: "same-origin", headers: await headersFor(entry),
        signal: AbortSignal.timeout(SEND_MS)});
      text = await answer.text();
    } catch {
      await setMeta("told", "No connection yet.");
      return false;
    }
    await setMeta("signIn", answer.status === 401);
    if (answer.status === 401) { return false; }
    if (answer.headers.get("X-Collop-Waits")) {
      await put(Object.assign(entry, {said: sentenceOf(text, ""), hands: true}));
      return true;
    }
    if (answer.status >= 500 || answer.status === 408 || answer.status === 429) {
      const tries = entry.tries + 1;
      const pause = Math.min(LONGEST_PAUSE_MS, FIRST_PAUSE_MS * 2 ** (tries - 1));
      await put(Object.assign(entry, {tries: tries, notBefore: Date.now() + pause,
        said: sentenceOf(text, answer.headers.get("Content-Type") || "")}));
      await setMeta("told", "The server answers, but cannot write; it is tried again.");
      return false;
    }
    await setMeta("told", "");
    if (answer.redirected && answer.status < 400) {
      const place = new URL(answer.url);
      await put(Object.assign(entry, {state: "done", doneAt: Date.now(), said: "", body: "",
        answer: place.pathname + place.search}));
      return true;
    }
    await put(Object.assign(entry, {state: "conflict",
      said: sentenceOf(text, answer.headers.get("Content-Type") || "")}));
    return true;
  }

  async function tellGivenUp(entry) {
    const note = new URLSearchParams({what: entry.words, why: entry.why, key: entry.id,
      kept_at: new Date(entry.keptAt).toISOString(), device_now: new Date().toISOString()});
    if (entry.gaveUpBy || entry.by) { note.set("by", entry.gaveUpBy || entry.by); }
    try {
      const answer = await fetch("/waiting/given-up", {method: "POST", body: note,
        credentials: "same-origin", signal: AbortSignal.timeout(SEND_MS)});
      if (answer.ok) {
        await put(Object.assign(entry, {isTold: true, doneAt: Date.now(), body: ""}));
      }
    } catch { /* told when there is a connection */ }
  }

  function today(ms) { return new Date(ms).toDateString(); }

  async function run(now) {
    for (const entry of await all()) {
      const isOld = entry.doneAt && today(entry.doneAt) !== today(Date.now());
      if (isOld) { await drop(entry); }
      if (entry.state === "given-up" && !entry.isTold) { await tellGivenUp(entry); }
    }
    for (const listed of await all()) {
      const entry = await one(listed.id);
      if (!entry || entry.state !== "waits") { continue; }
      if (!now && entry.notBefore > Date.now()) { break; }
      if (!await send(entry)) { break; }
    }
  }

  // One replayer for all tabs: a lock of the browser, else a lease that a dead one loses.
  async function replay(now) {
    const work = function () { return run(now); };
    if (navigator.locks) {
      await navigator.locks.request("collop-waiting", {ifAvailable: true}, function (lock) {
        return lock ? work() : null;
      });
      return;
    }
    const mine = crypto.randomUUID();
    const held = await within("meta", "readwrite", function (store) {
      const asked = store.get("lease");
      asked.onsuccess = function () {
        const lease = asked.result;
        if (!lease || lease.until < Date.now()) {
          store.put({name: "lease", value: mine, until: Date.now() + LEASE_MS});
        }
      };
      return asked;
    });
    if (held && held.until >= Date.now()) { return; }
    if (await meta("lease") !== mine) { return; }
    try { await work(); } finally {
      await within("meta", "readwrite", function (store) { return store.delete("lease"); });
    }
  }

  async function giveUp(id, why, by) {
    const entry = await one(id);
    const words = (why || "").replace(/\s+/g, " ").trim().slice(0, 60);
    if (!entry || !words || !["waits", "conflict"].includes(entry.state)) { return false; }
    await put(Object.assign(entry, {state: "given-up", why: words, gaveUpBy: by, isTold: false}));
    return true;
  }

  // Sent by whoever is signed in now: what was begun by another becomes theirs.
  async function asMine(id) {
    const entry = await one(id);
    if (entry && entry.hands) { await put(Object.assign(entry, {mine: true, hands: false})); }
  }

  async function again(id) {
    const entry = await one(id);
    if (entry && entry.state === "conflict") {
      await put(Object.assign(entry, {state: "waits", notBefore: 0, said: ""}));
    }
  }

  // A form sent by hand under the key of an entry, and answered: the entry is done.
  async function answered(key, path, place) {
    for (const entry of await all()) {
      const isIts = entry.key === key && entry.path === path;
      if (isIts && ["waits", "conflict"].includes(entry.state)) {
        await put(Object.assign(entry, {state: "done", doneAt: Date.now(), said: "", body: "", answer: place}));
      }
    }
  }

  return {all, again, answered, asMine, counts, giveUp, keep, meta, one, put, replay, ruleFor, setMeta,
    wordsOf};
}());
