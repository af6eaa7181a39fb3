// The door: large keys for a PIN, and a form that was held is sent on.
"use strict";

(function () {
  const keys = document.querySelector("[data-keys]");
  const field = document.querySelector("[data-pin]");
  if (keys && field) {
    keys.hidden = false;
    keys.addEventListener("click", function (event) {
      const button = event.target.closest("button[data-key]");
      if (!button) { return; }
      const key = button.dataset.key;
      field.value = key === "back" ? field.value.slice(0, -1) : field.value + key;
    });
  }
  const held = document.querySelector("form[data-send-now]");
  if (held) { held.requestSubmit(); }
}());
