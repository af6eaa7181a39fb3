// The strip of the plan in force, while a page stays open: asked for every few seconds and put in
// only where it says something else, so that a screen reader hears each change once.
"use strict";

(function () {
  const EVERY_MS = 5000;
  const WAIT_MS = 4000;
  const PARTS = ["plan-state-now", "plan-state-news"];
  let busy = false;

  function take(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    PARTS.forEach(function (id) {
      const here = document.getElementById(id);
      const next = fresh.getElementById(id);
      if (!here || !next || here.innerHTML === next.innerHTML) { return; }
      const held = here.contains(document.activeElement);
      here.replaceChildren(...next.childNodes);
      const link = held && here.querySelector("a");
      if (link) { link.focus({preventScroll: true}); }
    });
  }

  async function look() {
    const strip = document.getElementById("plan-state");
    if (busy || document.hidden || !strip) { return; }
    busy = true;
    try {
      const answer = await fetch(strip.dataset.state,
        {cache: "no-store", signal: AbortSignal.timeout(WAIT_MS)});
      if (answer.ok) { take(await answer.text()); }
    } catch {
      // no connection: the page's own strip says so; the last word stays
    }
    busy = false;
  }

  window.setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
}());
