// The knife page after a touch: the scale field is ready for the next part, a slip of water or two
// fingers at once weighs nothing, and what was done is said aloud.
"use strict";

(function () {
  const LEAST_PRESS_MS = 120;
  const fingers = new Map();
  let pressedMs = null;
  let isCrowded = false;

  function say(text) {
    const place = document.getElementById("knife-said");
    if (place) { place.textContent = text; }
  }

  function ready() {
    const board = document.getElementById("knife");
    if (!board) { return; }
    const lost = document.getElementById("lost");
    if (lost) { lost.hidden = true; }
    const next = board.querySelector("[data-focus]") || board.querySelector("input[data-scale]") ||
      board.querySelector("h1");
    if (next) { next.focus(); }
    const done = board.querySelector("[data-said]");
    say(done ? done.textContent : "");
  }

  // a finger counts on release, after a moment; the mouse, a pedal and the keyboard count at once
  function down(event) {
    if (event.pointerType !== "touch") { return; }
    fingers.set(event.pointerId, event.timeStamp);
    isCrowded = isCrowded || fingers.size > 1;
  }

  function up(event) {
    if (!fingers.has(event.pointerId)) { return; }
    pressedMs = event.timeStamp - fingers.get(event.pointerId);
    fingers.delete(event.pointerId);
  }

  function guard(event) {
    const isTouch = event.pointerType === "touch";
    const isSlip = isTouch && (isCrowded || (pressedMs !== null && pressedMs < LEAST_PRESS_MS));
    if (!fingers.size) { isCrowded = false; }
    pressedMs = null;
    if (!isSlip || !event.target.closest("#knife-form button")) { return; }
    event.preventDefault();
    event.stopPropagation();
    const strip = document.getElementById("lost");
    if (strip) { strip.textContent = "Touch one tile, a little longer."; strip.hidden = false; }
  }

  document.addEventListener("pointerdown", down, true);
  document.addEventListener("pointerup", up, true);
  document.addEventListener("pointercancel", function (event) {
    fingers.delete(event.pointerId);
    if (!fingers.size) { isCrowded = false; }
  }, true);
  document.addEventListener("click", guard, true);
  document.addEventListener("htmx:after:swap", ready);
}());
