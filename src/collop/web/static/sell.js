// A touch on a cut before its weight: the cut is taken as chosen and the weight is asked for where it
// is written. Nothing is loaded, so the list stays under the finger; without script the server says
// the same on a new page.
"use strict";

(function () {
  const form = document.querySelector("form.sell-form");
  if (!form) { return; }
  const gross = form.querySelector("#f-gross");
  const ticket = form.querySelector("#f-ticket");
  const asks = form.querySelector("[data-sell-asks]");
  const add = form.querySelector("[data-sell-add]");

  function choose(tile) {
    let chosen = form.querySelector("input[name=chosen]");
    if (!chosen) {
      chosen = document.createElement("input");
      chosen.type = "hidden";
      chosen.name = "chosen";
      form.prepend(chosen);
    }
    chosen.value = tile.value;
    form.querySelectorAll(".sell-tile").forEach(function (one) {
      one.classList.toggle("is-chosen", one === tile);
    });
    asks.textContent = asks.dataset.sellAsks.replace("{cut}", tile.querySelector(".sell-name").textContent);
    add.textContent = add.dataset.sellAdd + " " + tile.value;
    gross.dataset.scale = "submit";
    gross.focus();
  }

  form.addEventListener("click", function (event) {
    const tile = event.target.closest(".sell-tile");
    if (!tile || gross.value.trim() || ticket.value.trim()) { return; }
    event.preventDefault();
    choose(tile);
  });
}());
