// Long work: after a moment a strip says that it goes on and for how long. What writes nothing
// while it is worked out can be stopped: the server hears that its reader has left.
"use strict";

(function () {
  const strip = document.getElementById("working");
  if (!strip) { return; }
  const AFTER_MS = 600;
  const LONGEST_MS = 120000;
  const [said, seconds, button] = strip.children;
  const WORKED_OUT = ["/ask/spread"];  // asked for by the page itself, and nothing is written
  const IS_FILE = /\.(?:csv|pdf|zip|json|svg|png)$|\/csv$/;
  let now = null;

  function tick() {
    const took = Date.now() - now.began;
    if (took > LONGEST_MS) { end(now.of); return; }
    seconds.textContent = `${Math.floor(took / 1000)} s`;
  }

  function show() {
    said.textContent = now.stop ? strip.dataset.work : strip.dataset.write;
    button.hidden = !now.stop;
    strip.hidden = false;
    tick();
    now.ticks = window.setInterval(tick, 1000);
  }

  function begin(of, stop) {
    if (now) { end(now.of); }
    now = {of: of, stop: stop, began: Date.now(), wait: window.setTimeout(show, AFTER_MS)};
  }

  // A request that took another's place ends before the one that did.
  function end(of) {
    if (!now || now.of !== of) { return; }
    window.clearTimeout(now.wait);
    window.clearInterval(now.ticks);
    now = null;
    strip.hidden = true;
  }

  function stop() {
    if (!now || !now.stop) { return; }
    const work = now;
    end(work.of);
    work.stop();
    const lost = document.getElementById("lost");
    lost.textContent = lost.dataset.stopped;
    lost.hidden = false;
  }

  // The offline script, if it is at work, asked the server in the page's place.
  function stopLoading() {
    window.stop();
    const helper = navigator.serviceWorker && navigator.serviceWorker.controller;
    if (helper) { helper.postMessage({do: "stop"}, [new MessageChannel().port2]); }
  }

  function isOurs(address) {
    return address.origin === window.location.origin && !IS_FILE.test(address.pathname);
  }

  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (event.defaultPrevented || form.target || form.hasAttribute("hx-post")) { return; }
    const by = event.submitter;
    const address = new URL((by && by.getAttribute("formaction")) || form.action, window.location);
    if (!isOurs(address)) { return; }
    begin(form, form.method === "get" ? stopLoading : null);
  });

  document.addEventListener("click", function (event) {
    const link = event.target.closest("a[href]");
    if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey
      || event.shiftKey || event.altKey || link.target || link.hasAttribute("download")) { return; }
    const address = new URL(link.href);
    const here = address.pathname === window.location.pathname
      && address.search === window.location.search;
    if (here || !isOurs(address)) { return; }
    begin(link, stopLoading);
  });

  document.addEventListener("htmx:before:request", function (event) {
    const ctx = event.detail.ctx;
    const path = new URL(ctx.request.action, window.location).pathname;
    const abort = function () { window.htmx.trigger(ctx.sourceElement, "htmx:abort"); };
    begin(ctx, WORKED_OUT.includes(path) ? abort : null);
  });
  document.addEventListener("htmx:finally:request", function (event) { end(event.detail.ctx); });

  window.addEventListener("pageshow", function () { if (now) { end(now.of); } });
  document.addEventListener("keydown", function (event) {
    if (event.key === "Escape" && !strip.hidden) { stop(); }
  });
  button.addEventListener("click", stop);
}());
