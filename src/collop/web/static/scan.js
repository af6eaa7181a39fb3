// A scanner works on every page. It is a fast keyboard set to send a prefix key of the F13 class, the
// code and Enter: what comes between the two is taken here and lands in no field. The page's own
// ticket field takes it if it has one; otherwise the shop is asked what the ticket is. Without the
// prefix a scan counts in the focused field only, as typing does.
"use strict";

(function () {
  const PREFIX = /^F(1[3-9]|2[0-4])$/;
  const KEY_GAP_MS = 300;
  const TWICE_MS = 2000;
  const LONGEST = 200;
  const GROUP = "\u001d";
  const LAST = "collop-scan";
  const own = "[data-scan], input[type=text][name=lot], input[type=text][name=ticket]," +
    " input[type=text][name=other_lot], form[action='/codes'] input[name=code]";
  const strip = document.getElementById("scanned");
  if (!strip) { return; }
  let buffer = null;
  let timer = 0;

  function say(words, code, isRefused) {
    strip.textContent = words.replace("{code}", code);
    strip.classList.toggle("loud", isRefused);
    strip.hidden = false;
    strip.scrollIntoView({block: "nearest"});
  }

  function sound(kind, then) {
    const asked = new CustomEvent("collop:sound", {cancelable: true, detail: {kind: kind, then: then}});
    // whoever plays it prevents the default and goes on when the tone is over
    if (document.dispatchEvent(asked) && then) { then(); }
  }

  function isTwice(code) {
    let last = null;
    try { last = JSON.parse(sessionStorage.getItem(LAST)); } catch (error) { last = null; }
    const now = Date.now();
    if (last && last.code === code && now - last.at >= 0 && now - last.at < TWICE_MS) { return true; }
    try { sessionStorage.setItem(LAST, JSON.stringify({code: code, at: now})); } catch (error) { return false; }
    return false;
  }

  function ownField() {
    const focused = document.activeElement;
    if (focused && focused.matches(own)) { return focused; }
    return document.querySelector("main :is(" + own + "):not([disabled])");
  }

  function fill(field, code) {
    const fold = field.closest("details");
    if (fold) { fold.open = true; }
    field.value = code;
    field.dispatchEvent(new Event("input", {bubbles: true}));
    if (!field.form) { return; }
    if (field.form.method === "get") { field.form.requestSubmit(); return; }
    const add = field.name === "ticket" ? field.form.querySelector("button[value=add]") : null;
    if (add) { field.form.requestSubmit(add); return; }
    field.dispatchEvent(new Event("change", {bubbles: true}));
    field.scrollIntoView({block: "nearest"});
  }

  function take(code) {
    if (isTwice(code)) { say(strip.dataset.twice, code, false); return; }
    say(strip.dataset.taken, code.replaceAll(GROUP, " "), false);
    const field = ownField();
    sound("taken", function () {
      if (field) { fill(field, code); return; }
      window.location.assign("/scan?code=" + encodeURIComponent(code));
    });
  }

  function refuse() {
    say(strip.dataset.cut, "", true);
    sound("refused");
  }

  function end(isWhole) {
    const code = buffer.trim().slice(0, LONGEST);
    window.clearTimeout(timer);
    buffer = null;
    if (isWhole && code) { take(code); } else { refuse(); }
  }

  function wait() {
    window.clearTimeout(timer);
    timer = window.setTimeout(end, KEY_GAP_MS, false);
  }

  function swallow(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }

  window.addEventListener("keydown", function (event) {
    if (PREFIX.test(event.key) && !event.repeat) {
      swallow(event);
      buffer = "";
      wait();
      return;
    }
    if (buffer === null) { return; }
    swallow(event);
    if (event.key === "Enter") { end(true); return; }
    // the sign between two parts of a GS1 code comes as Ctrl and ]
    if (event.key === GROUP || (event.ctrlKey && event.key === "]")) { buffer += GROUP; }
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey) { buffer += event.key; }
    wait();
  }, true);
  ["keypress", "keyup", "beforeinput"].forEach(function (name) {
    window.addEventListener(name, function (event) {
      if (buffer !== null) { swallow(event); }
    }, true);
  });
}());
