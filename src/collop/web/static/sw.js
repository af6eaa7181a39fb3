// Offline: static files from the cache by their digest; pages from the network, and if that does
// not answer in time the last copy, which says from when it is.
"use strict";

const STORE = "collop-__VERSION__";
const KEPT = "__KEPT__";
const WAIT_MS = 2000;
const MOST_PAGES = 30;
// on display for customers: its copy is never dropped, and no fault of the counter takes its place
const BOARD = "/board";

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

// A copy is shown with its banner open; the page carries it, hidden, with the time it was made.
async function lastCopy(request) {
  const store = await caches.open(STORE);
  const exact = await store.match(request);
  const found = exact || await store.match(request, {ignoreSearch: true});
  if (!found) { return null; }
  const html = (await found.text()).replace("data-as-of hidden", "data-as-of");
  return new Response(html, {headers: {"Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": found.headers.get("Content-Security-Policy") || "default-src 'self'"}});
}

// The device keeps the newest few pages only; slips carry names.
async function keepPage(request, answer) {
  const store = await caches.open(STORE);
  await store.delete(request);
  await store.put(request, answer);
  const pages = (await store.keys()).filter(function (kept) {
    const path = new URL(kept.url).pathname;
    return !path.startsWith("/static/") && path !== BOARD;
  });
  const old = pages.slice(0, Math.max(0, pages.length - MOST_PAGES));
  await Promise.all(old.map(function (kept) { return store.delete(kept); }));
}

async function page(request) {
  const network = fetch(request).then(async function (answer) {
    if (answer.ok && !answer.redirected) { await keepPage(request, answer.clone()); }
    const isBoard = new URL(request.url).pathname === BOARD;
    return answer.ok || !isBoard ? answer : await lastCopy(request) || answer;
  });
  const late = new Promise(function (resolve) { setTimeout(resolve, WAIT_MS, null); });
  try {
    const first = await Promise.race([network, late]);
    if (first) { return first; }
    return await lastCopy(request) || await network;
  } catch (error) {
    const copy = await lastCopy(request);
    if (copy) { return copy; }
    throw error;
  }
}

self.addEventListener("fetch", function (event) {
  const request = event.request;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) { return; }
  if (address.pathname.startsWith("/fire/")) { return; }  // a customer's own sheet: no device keeps it
  if (address.pathname.startsWith("/static/") && address.searchParams.has("v")) {
    event.respondWith(keptFile(request));
  } else if (request.mode === "navigate" || address.pathname === BOARD) {
    event.respondWith(page(request));
  }
});
