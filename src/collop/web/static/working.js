// What takes long says so: after a second the page tells that it works and for how long, with a
// button that stops it. What is on the screen, the last answer, stays.
"use strict";

(function () {
  const SILENT_MS = 1000;
  const STEP_MS = 1000;
  const strip = document.getElementById("working");
  if (!strip) { return; }
  const said = strip.querySelector("output");
  const button = strip.querySelector("button");
  let timer = 0;
  let began = 0;

  function tell() {
    const seconds = Math.round((Date.now() - began) / 1000);
    said.textContent = strip.dataset.works.replace("{seconds}", seconds);
    strip.hidden = false;
  }

  function rest() {
    window.clearInterval(timer);
    timer = 0;
    strip.hidden = true;
  }

  function begin() {
    rest();
    began = Date.now();
    button.hidden = false;
    timer = window.setInterval(tell, Math.max(SILENT_MS, STEP_MS));
  }

  function leaves(link, event) {
    return link && link.href && !link.target && !link.hasAttribute("download") &&
      link.origin === window.location.origin && !link.getAttribute("href").startsWith("#") &&
      !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey || event.button);
  }

  document.addEventListener("click", function (event) {
    if (!event.defaultPrevented && leaves(event.target.closest("a"), event)) { begin(); }
  });
  // only what is read is stopped so: what changes the shop is done to its end
  document.addEventListener("submit", function (event) {
    const by = event.submitter;
    const way = (by && by.getAttribute("formmethod")) || event.target.method;
    if (!event.defaultPrevented && way === "get") { begin(); }
  });
  button.addEventListener("click", function () {
    window.stop();
    window.clearInterval(timer);
    timer = 0;
    button.hidden = true;
    said.textContent = strip.dataset.stopped;
  });
  window.addEventListener("pageshow", rest);
  window.addEventListener("pagehide", rest);
}());
