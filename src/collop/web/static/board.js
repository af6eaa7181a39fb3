// The board on display: it fetches itself again every minute, changes only when a price did, and
// keeps the last prices when the counter does not answer.
"use strict";

(function () {
  const EVERY_MS = 60000;
  const WAIT_MS = 10000;
  let busy = false;

  function strip(shown) {
    const place = document.querySelector("[data-as-of]");
    if (place) { place.hidden = !shown; }
  }

  function take(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    const board = fresh.getElementById("board");
    const old = document.getElementById("board");
    if (!board || !old) { strip(true); return; }
    if (board.innerHTML !== old.innerHTML) { old.replaceChildren(...board.childNodes); }
    const told = fresh.querySelector("[data-as-of]");
    const place = document.querySelector("[data-as-of]");
    if (told && place) {
      place.textContent = told.textContent;
      place.hidden = told.hidden;
    }
  }

  async function refresh() {
    if (busy) { return; }
    busy = true;
    try {
      const answer = await fetch("/board", {signal: AbortSignal.timeout(WAIT_MS)});
      if (answer.ok) { take(await answer.text()); } else { strip(true); }
    } catch (error) {
      strip(true);
    }
    busy = false;
  }

  window.setInterval(refresh, EVERY_MS);
  window.addEventListener("online", refresh);
  document.addEventListener("visibilitychange", function () {
    if (!document.hidden) { refresh(); }
  });
  document.addEventListener("board:refresh", refresh);
  if (document.querySelector("[data-print]")) { window.print(); }
}());
