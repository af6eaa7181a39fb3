// The knife page after a touch: the scale field is ready for the next part, and what was done is said
// aloud. What counts as a touch is decided in gloves.js.
"use strict";

(function () {
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

  document.addEventListener("htmx:after:swap", ready);
}());
