// Wet pages: a touch counts on release, after a moment, and never while another finger is down. Water
// presses by itself, and a glove lies flat. Mouse, stylus, pedal and keyboard count at once.
"use strict";

(function () {
  const LEAST_PRESS_MS = 120;
  const SAME_TOUCH_MS = 700;  // a click comes so long after its touch at most
  const fingers = new Map();
  let lastUp = -Infinity;
  let heldMs = 0;
  let isCrowded = false;
  let told = false;

  function down(event) {
    if (event.pointerType !== "touch") { return; }
    if (!fingers.size) { isCrowded = false; }
    fingers.set(event.pointerId, event.timeStamp);
    isCrowded = isCrowded || fingers.size > 1;
  }

  function up(event) {
    if (!fingers.has(event.pointerId)) { return; }
    heldMs = event.timeStamp - fingers.get(event.pointerId);
    lastUp = event.timeStamp;
    fingers.delete(event.pointerId);
  }

  function forget() { fingers.clear(); }

  function say(shown) {
    const strip = document.getElementById("lost");
    if (!strip || (!shown && !told)) { return; }
    if (shown) { strip.textContent = strip.dataset.gloves; }
    strip.hidden = !shown;
    told = shown;
  }

  function guard(event) {
    // a click of the keyboard has no detail; browsers that do not say what clicked are asked the time
    const isTouch = event.pointerType ? event.pointerType === "touch" :
      event.detail > 0 && event.timeStamp - lastUp < SAME_TOUCH_MS;
    if (!isTouch) { return; }
    const isSlip = isCrowded || heldMs < LEAST_PRESS_MS;
    say(isSlip);
    if (isSlip) {
      event.preventDefault();
      event.stopImmediatePropagation();
    }
  }

  document.addEventListener("pointerdown", down, true);
  document.addEventListener("pointerup", up, true);
  document.addEventListener("pointercancel", function (event) {
    fingers.delete(event.pointerId);
  }, true);
  document.addEventListener("click", guard, true);
  window.addEventListener("blur", forget);
}());
