// Offline: static files from the cache by their digest; pages from the network, and if that does
// not answer in time the last copy, which says from when it is; writes that may wait are kept on
// the device (queue.js) and sent when the server is back.
"use strict";

importScripts(..."__QUEUE__");

const STORE = "collop-__VERSION__";
const KEPT = "__KEPT__";
const RULES = "__RULES__";
const ALWAYS = "__ALWAYS__";
const WAIT_MS = 2000;
const WRITE_MS = 8000;
const FRESH_MS = 600000;
const MOST_PAGES = 40;
// on display for customers: its copy is never dropped, and no fault of the counter takes its place
const BOARD = "/board";
// no copy of these: who may come in, and what was done by whom
const NEVER = /^\/(?:sign-in|sign-out|first-run|people|log|keeping|exchange)(?:\/|$)/;

self.addEventListener("install", function (event) {
  event.waitUntil(caches.open(STORE).then(function (store) { return store.addAll(KEPT); })
    .then(function () { return self.skipWaiting(); }));
});

self.addEventListener("activate", function (event) {
  event.waitUntil(caches.keys().then(function (names) {
    return Promise.all(names.filter(function (name) {
      return name.startsWith("collop-") && name !== STORE;
    }).map(function (name) { return caches.delete(name); }));
  }).then(function () { return self.clients.claim(); }));
});

async function keptFile(request) {
  const found = await caches.match(request);
  if (found) { return found; }
  const answer = await fetch(request);
  if (answer.ok) { (await caches.open(STORE)).put(request, answer.clone()); }
  return answer;
}

// --- copies of pages

async function pagesKept(store) {
  return (await store.keys()).filter(function (kept) {
    const path = new URL(kept.url).pathname;
    return !path.startsWith("/static/") && path !== BOARD;
  });
}

// A person's pages are not the next one's to read. What waits stays, and so does its page.
async function wipe() {
  const store = await caches.open(STORE);
  const pages = (await pagesKept(store)).filter(function (kept) {
    return new URL(kept.url).pathname !== "/waiting";
  });
  await Promise.all(pages.map(function (kept) { return store.delete(kept); }));
}

// Each answer says whose hands it is for, without saying who; a fault of the storage says nothing.
async function seen(answer) {
  if (answer.status >= 500 || answer.type === "opaqueredirect") { return; }
  const told = answer.headers.get("X-Collop-Hands");
  if (told === null && !answer.ok) { return; }
  const before = await waitingQueue.meta("hands");
  const now = told || "";
  if (before !== undefined && before !== now) { await wipe(); }
  if (before !== now) { await waitingQueue.setMeta("hands", now); }
}

function mayKeep(answer, path) {
  return answer.ok && !answer.redirected && answer.type !== "opaqueredirect" && !NEVER.test(path);
}

async function noteWho(person) {
  const before = await waitingQueue.meta("person");
  if (!before || before.id !== person.id || before.name !== person.name) {
    await waitingQueue.setMeta("person", person);
  }
}

// The device keeps the newest few pages beside those it always keeps; slips carry names.
async function keepPage(request, answer) {
  const html = await answer.clone().text();
  const person = /data-person="([^"]*)" data-name="([^"]*)"/.exec(html);
  if (person) { await noteWho({id: person[1], name: person[2]}); }
  const store = await caches.open(STORE);
  await store.delete(request);
  await store.put(request, answer);
  const pages = (await pagesKept(store)).filter(function (kept) {
    const address = new URL(kept.url);
    return address.search || !always.has(address.pathname);
  });
  const old = pages.slice(0, Math.max(0, pages.length - MOST_PAGES));
  await Promise.all(old.map(function (kept) { return store.delete(kept); }));
}

const always = new Set(ALWAYS);

// A form on a copy gets a key of its own each time: a key is of one piece of work.
function freshKeys(html) {
  const fresh = new Map();
  return html.replace(/(name="key" value=")([0-9a-f]{32})/g, function (_all, head, old) {
    if (!fresh.has(old)) { fresh.set(old, crypto.randomUUID().replace(/-/g, "")); }
    return head + fresh.get(old);
  });
}

async function findCopy(address) {
  const store = await caches.open(STORE);
  const plain = new Request(address.origin + address.pathname);
  // lines of a sale are worked out on the plain page, whose prices are of one moment
  const exact = address.pathname === "/sell" ? null : await store.match(address.href);
  return exact || await store.match(plain) || await store.match(plain, {ignoreSearch: true});
}

// A copy is shown with its banner open; the page carries it, hidden, with the time it was made.
async function lastCopy(request) {
  const address = new URL(request.url);
  const found = await findCopy(address);
  if (!found) { return null; }
  let html = freshKeys((await found.text()).replace("data-as-of hidden", "data-as-of"));
  if (address.pathname !== BOARD) {
    // what was done then is not done now; nor is it said on another's device who was there
    html = html.replace(/<p class="notice[^"]*" role="status">[\s\S]*?<\/p>/g, "");
  }
  if (address.pathname === "/waiting") { html = html.replace(/<p class="hands">[\s\S]*?<\/p>/, ""); }
  return new Response(html, {headers: {"Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": found.headers.get("Content-Security-Policy") || "default-src 'self'"}});
}

function plainPage(title, words) {
  const style = KEPT.find(function (file) { return file.includes("/collop.css"); });
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport"
    content="width=device-width, initial-scale=1"><title>${title} - collop</title>
    <link rel="stylesheet" href="${style}"></head><body><main><h1>${title}</h1><p>${words}</p>
    <p><a class="button" href="/sell">Sell</a> <a class="button" href="/waiting">What waits</a></p>
    </main></body></html>`;
  return new Response(text, {status: 503, headers: {"Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": "default-src 'self'"}});
}

async function withoutCopy(address) {
  const id = address.pathname === "/waiting" && address.searchParams.get("kept");
  const entry = id && await waitingQueue.one(id);
  if (!entry) {
    return plainPage("No connection", "This page is not kept on this device. Nothing was written.");
  }
  const waits = (await waitingQueue.counts()).waits;
  const words = entry.words.replace(/&/g, "&amp;").replace(/</g, "&lt;");
  return plainPage("Kept on this device", `${words}. ${waits} waiting; sent when the server is back.`);
}

// The smallest file there is, past every cache.
async function isThere() {
  const asked = fetch("/static/tag.svg", {cache: "no-store"}).then(function (answer) { return answer.ok; });
  return Boolean(await within(asked.catch(function () { return false; }), WAIT_MS));
}

// What a page waits for. A browser that stops loading does not tell it here, so the page says it.
const inWork = new Map();

async function stoppable(request, client) {
  const control = new AbortController();
  inWork.set(client, control);
  try {
    return await fetch(request, {signal: control.signal});
  } finally {
    if (inWork.get(client) === control) { inWork.delete(client); }
  }
}

async function page(request, client) {
  const address = new URL(request.url);
  const network = stoppable(request, client).then(async function (answer) {
    const isBoard = address.pathname === BOARD;
    if (!isBoard) { await seen(answer); }
    if (mayKeep(answer, address.pathname)) { await keepPage(request, answer.clone()); }
    return answer.ok || !isBoard ? answer : await lastCopy(request) || answer;
  });
  try {
    const first = await within(network, WAIT_MS);
    if (first) { return first; }
    // a page that is worked out for long is waited for; only a server that is away has its copy shown
    return !await isThere() && await lastCopy(request) || await network;
  } catch (error) {
    const copy = await lastCopy(request);
    if (copy) { return copy; }
    if (request.mode !== "navigate") { throw error; }
    return withoutCopy(address);
  }
}

// The pages of the day are fetched while nobody waits for them, the list of them first.
async function refresh() {
  const store = await caches.open(STORE);
  const wanted = ["/waiting"];
  for (let at = 0; at < wanted.length; at += 1) {
    const path = wanted[at];
    let found = await store.match(path);
    const age = found ? Date.now() - Date.parse(found.headers.get("Date") || 0) : Infinity;
    if (!(age < FRESH_MS)) {
      const answer = await fetch(path, {redirect: "manual", credentials: "same-origin"});
      await seen(answer);
      if (!mayKeep(answer, path)) { if (at) { continue; } return; }
      found = answer.clone();
      await keepPage(new Request(self.location.origin + path), answer);
    }
    if (!at) {
      const list = /data-keep="([^"]*)"/.exec(await found.text());
      (list ? list[1].split(" ") : ALWAYS).forEach(function (one) {
        always.add(one);
        if (!wanted.includes(one)) { wanted.push(one); }
      });
    }
  }
}

// --- writes

function within(work, ms) {
  return Promise.race([work, new Promise(function (resolve) { setTimeout(resolve, ms); })]);
}

// 503 is the shop's own word that its storage is away, 502 and 504 that of something before it.
function isAway(answer) { return [502, 503, 504].includes(answer.status); }

function again(request, body) {
  return fetch(request.url, {method: "POST", body: body, headers: new Headers(request.headers),
    redirect: request.redirect, credentials: "same-origin", referrer: request.referrer,
    signal: AbortSignal.timeout(WRITE_MS)});
}

async function tell(message) {
  const pages = await self.clients.matchAll({includeUncontrolled: true, type: "window"});
  pages.forEach(function (one) { one.postMessage(message); });
}

async function tellCounts() { await tell(Object.assign({what: "counts"}, await waitingQueue.counts())); }

async function cannotWait(request, path) {
  if (request.mode !== "navigate") { return Response.error(); }
  return Response.redirect("/waiting?not=" + encodeURIComponent(path), 303);
}

// Of when the page is on which a form was filled in, as the page itself says.
async function asOf(referrer) {
  if (!referrer) { return ""; }
  const copy = await findCopy(new URL(referrer));
  const told = copy && /<p class="clock">[\s\S]*?<time datetime="([^"]*)"/.exec(await copy.text());
  return told ? told[1] : "";
}

async function keepWrite(request, path, body, fields, rule) {
  const person = await waitingQueue.meta("person") || {id: "", name: ""};
  const entry = await waitingQueue.keep({
    id: crypto.randomUUID(), path: path, body: body, key: fields.get("key"), state: "waits",
    words: waitingQueue.wordsOf(rule, path, fields), caution: rule.caution, keptAt: Date.now(),
    asOf: await asOf(request.referrer), version: STORE, by: person.id,
    name: person.name || fields.get("by") || "", from: request.referrer, tries: 0, notBefore: 0,
    said: "", answer: "",
  });
  await tell({what: "kept", id: entry.id, key: entry.key, words: entry.words, at: entry.keptAt,
    isPage: request.mode === "navigate"});
  await tellCounts();
  return request.mode === "navigate" ? Response.redirect("/waiting?kept=" + entry.id, 303) :
    new Response(null, {status: 204});
}

async function sendOrKeep(request, path, body, fields, rule) {
  const counted = await waitingQueue.counts();
  if (counted.waits && !counted.signIn) { await within(waitingQueue.replay(true), WRITE_MS); }
  const isBehind = (await waitingQueue.all()).some(function (entry) {
    return entry.state === "waits" && !entry.hands;
  });
  if (!isBehind || (await waitingQueue.counts()).signIn) {
    try {
      const answer = await again(request, body);
      if (!isAway(answer)) {
        await seen(answer);
        if (answer.redirected || answer.type === "opaqueredirect") {
          await waitingQueue.answered(fields.get("key"), path, answer.redirected ? answer.url : "");
        }
        if (counted.waits + counted.conflicts) { await tellCounts(); }
        return answer;
      }
    } catch { /* away, or too slow: the same key is sent again later */ }
  }
  try {
    return await keepWrite(request, path, body, fields, rule);
  } catch {
    return request.mode !== "navigate" ? Response.error() :
      plainPage("Not kept", "The server is away and this device has no room. Write it on paper.");
  }
}

// A line more on a sale that is not sold yet: the address carries it, as the server's own does.
async function draft(request, body, fields) {
  try {
    const answer = await again(request, body);
    if (!isAway(answer)) { return answer; }
  } catch { /* away */ }
  const copy = await findCopy(new URL("/sell", self.location.origin));
  const facts = copy && awaySale.factsOf(await copy.text());
  return facts ? Response.redirect("/sell?" + awaySale.next(fields, facts), 303) :
    cannotWait(request, "/sell");
}

async function write(request, path) {
  const type = request.headers.get("Content-Type") || "";
  let body = type.startsWith("application/x-www-form-urlencoded") ? await request.clone().text() : "";
  const fields = new URLSearchParams(body);
  if (path === "/sell" && body && !fields.get("way")) { return draft(request, body, fields); }
  const rule = body && waitingQueue.ruleFor(RULES, path, fields);
  if (rule) {
    if (!fields.get("key")) {
      fields.set("key", crypto.randomUUID().replace(/-/g, ""));
      body = fields.toString();
    }
    return sendOrKeep(request, path, body, fields, rule);
  }
  try {
    // as it came: asked anew it would be this shop's own form, whoever made it
    const answer = await fetch(request);
    await seen(answer);
    return answer;
  } catch (error) {
    if (request.mode !== "navigate") { throw error; }
    return cannotWait(request, path);
  }
}

// --- what pages ask

const ASKED = {
  counts: function () { return waitingQueue.counts(); },
  ping: async function () { await waitingQueue.replay(false); return waitingQueue.counts(); },
  send: async function () { await waitingQueue.replay(true); return waitingQueue.counts(); },
  list: function () { return waitingQueue.all(); },
  rules: function () { return RULES; },
  stop: function (_data, client) { const work = inWork.get(client); if (work) { work.abort(); } },
  idle: function () { return refresh().catch(function () { return null; }); },
  "give-up": async function (data) {
    const person = await waitingQueue.meta("person") || {id: ""};
    const isGiven = await waitingQueue.giveUp(data.id, data.why, person.id);
    await waitingQueue.replay(false);
    return isGiven;
  },
  mine: async function (data) { await waitingQueue.asMine(data.id); await waitingQueue.replay(true); },
  again: async function (data) { await waitingQueue.again(data.id); await waitingQueue.replay(true); },
};

self.addEventListener("message", function (event) {
  const act = ASKED[event.data && event.data.do];
  const port = event.ports[0];
  if (!act || !port) { return; }
  event.waitUntil((async function () {
    const found = await act(event.data, event.source && event.source.id);
    port.postMessage(found === undefined ? null : found);
    if (!["list", "rules", "idle", "counts", "stop"].includes(event.data.do)) { await tellCounts(); }
  }()).catch(function () { port.postMessage(null); }));
});

self.addEventListener("fetch", function (event) {
  const request = event.request;
  const address = new URL(request.url);
  const path = address.pathname;
  if (address.origin !== self.location.origin) { return; }
  if (path.startsWith("/fire/")) { return; }  // a customer's own sheet: no device keeps it
  if (request.method === "POST") {
    const mayWait = RULES.may.some(function (rule) { return new RegExp("^" + rule.path + "$").test(path); });
    if (request.mode === "navigate" || mayWait) { event.respondWith(write(request, path)); }
    return;
  }
  if (request.method !== "GET") { return; }
  if (path.startsWith("/static/") && address.searchParams.has("v")) {
    event.respondWith(keptFile(request));
  } else if (request.mode === "navigate" || path === BOARD) {
    event.respondWith(page(request, event.clientId));
  }
});
