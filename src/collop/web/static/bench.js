// The list on the wall: it fetches itself again, changes only where something did, and says from
// when it is while the counter does not answer. A list somebody is writing in is left alone.
"use strict";

(function () {
  const EVERY_MS = 20000;
  const WAIT_MS = 10000;
  const TOUCHED_MS = 1500;  // what is under a finger must not change
  let touchedAt = -Infinity;
  let busy = false;

  function strip(shown) {
    const place = document.querySelector("[data-as-of]");
    if (place) { place.hidden = !shown; }
  }

  function take(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    const focused = document.activeElement && document.activeElement.id;
    let changed = false;
    document.querySelectorAll("[data-live]").forEach(function (part) {
      const next = fresh.getElementById(part.id);
      if (!next || next.innerHTML === part.innerHTML) { return; }
      changed = changed || part.id === "bench-list" &&
        next.textContent.replace(/\s+/g, " ") !== part.textContent.replace(/\s+/g, " ");
      part.replaceChildren(...next.childNodes);
    });
    if (focused && document.activeElement === document.body) {
      const again = document.getElementById(focused);
      if (again) { again.focus({preventScroll: true}); }
    }
    if (changed) { document.getElementById("bench-said").textContent = "The list has changed."; }
    const told = fresh.querySelector("[data-as-of]");
    const place = document.querySelector("[data-as-of]");
    if (told && place) {
      place.textContent = told.textContent;
      place.hidden = told.hidden;
    }
  }

  async function refresh() {
    const isTouched = performance.now() - touchedAt < TOUCHED_MS;
    if (busy || isTouched || document.hidden || !document.querySelector("[data-live]")) { return; }
    busy = true;
    try {
      const by = new URLSearchParams(window.location.search).get("by");
      const path = by ? "/bench?by=" + encodeURIComponent(by) : "/bench";
      const answer = await fetch(path, {signal: AbortSignal.timeout(WAIT_MS)});
      if (answer.ok) { take(await answer.text()); } else { strip(true); }
    } catch {
      strip(true);
    }
    busy = false;
  }

  ["pointerdown", "pointerup", "keydown"].forEach(function (name) {
    document.addEventListener(name, function () { touchedAt = performance.now(); }, true);
  });
  window.setInterval(refresh, EVERY_MS);
  window.addEventListener("online", refresh);
  document.addEventListener("visibilitychange", refresh);
  document.addEventListener("bench:refresh", refresh);

  const print = document.querySelector("[data-print-now]");
  if (print) {
    print.hidden = false;
    print.addEventListener("click", function () { window.print(); });
  }
  if (document.querySelector("[data-print]")) { window.print(); }
}());
