// The scale on a page: its live figure, and the keys of a scale that types. Both end in a text
// field marked data-scale; what stands there is read by the server like anything typed by hand.
"use strict";

(function () {
  const POLL_MS = 300;
  const KEY_GAP_MS = 40;  // a scale types faster than any hand
  const LEAST_KEYS = 3;
  const SECOND_ENTER_MS = 500;  // some scales end a line with two
  const A_CODE = /\d{8}/;  // no scale of a shop writes eight digits without a point
  const TICKETS = "[data-scan], input[name=ticket], input[name=lot], input[name=other_lot]," +
    " input[name=code]";
  const KEEPS = TICKETS + ", input[name=find], [type=search]";
  const byHand = new WeakSet();
  let taken = null;
  let burst = null;
  let enterAt = -Infinity;
  let isAsking = false;

  // the field one stands in, or the only one; keys may go to the first empty one too
  function scaleField(isForKeys) {
    const fields = Array.from(document.querySelectorAll("input[data-scale]"));
    if (fields.includes(document.activeElement)) { return document.activeElement; }
    const empty = isForKeys && fields.find(function (field) { return !field.value; });
    return empty || (fields.length === 1 ? fields[0] : null);
  }

  function write(element, name, text) {
    if (element && element[name] !== text) { element[name] = text; }
  }

  function fill(seen) {
    // a scale that says nothing for a while still has on it what it had
    if (seen === null) { return; }
    // an emptied pan must not wipe out the weight that was just taken
    const isWeight = seen.stable && seen.state !== "zero";
    if (!isWeight) { taken = taken && {field: taken.field, text: null}; return; }
    const field = scaleField(false);
    if (!field || byHand.has(field)) { return; }
    // what still lies on the pan was weighed for the field before
    if (taken && taken.field !== field && taken.text === seen.text) { return; }
    taken = {field: field, text: seen.text};
    write(field, "value", seen.text);
  }

  function show(seen) {
    const live = document.querySelector("[data-scale-live]");
    if (!live) { return; }
    write(live, "textContent", seen ? seen.text || "--" : "no scale");
    live.dataset.scaleLive = seen ? seen.state : "none";
    const words = seen && seen.text ? seen.state + ", " + seen.age_s + " s" : "";
    write(document.querySelector("[data-scale-said]"), "textContent",
      words || (seen ? seen.sentence : ""));
    fill(seen);
  }

  async function poll() {
    if (isAsking || document.hidden || !document.querySelector("[data-scale-live]")) { return; }
    isAsking = true;
    let seen = null;
    try {
      const answer = await fetch("/scale.json", {cache: "no-store"});
      if (answer.status === 200) { seen = await answer.json(); }
    } catch {
      seen = null;  // no connection is no scale
    }
    isAsking = false;
    show(seen);
  }

  function startBurst(event) {
    const at = document.activeElement;
    const isField = at !== null && at.matches("input, select, textarea");
    burst = {keys: event.key, time: event.timeStamp, at: isField ? at : null,
      value: isField && at.value, checked: isField && at.checked};
  }

  // A code is no weight: it counts in the field it was scanned into and in no other. Out of the
  // field of a weight it is taken again, and the field that is meant for it gets the focus.
  function endCode(event) {
    if (!burst.at || !burst.at.matches("[data-scale]")) { return; }
    event.preventDefault();
    event.stopPropagation();
    write(burst.at, "value", burst.value);
    const field = document.querySelector("main :is(" + TICKETS + "):not([type=hidden], [disabled])");
    if (field) { field.focus(); }
    const strip = document.getElementById("scanned");
    if (strip) {
      strip.textContent = strip.dataset.code;
      strip.classList.add("loud");
      strip.hidden = false;
    }
  }

  function endBurst(event) {
    if (!document.querySelector("input[data-scale]")) { return; }
    if (burst.at && burst.at.matches(KEEPS)) { return; }
    if (A_CODE.test(burst.keys)) { endCode(event); return; }
    event.preventDefault();
    event.stopPropagation();
    enterAt = event.timeStamp;
    // the keys went into whatever had the focus: put that back as it was
    if (burst.at) {
      write(burst.at, "value", burst.value);
      write(burst.at, "checked", burst.checked);
    }
    const field = scaleField(true);
    if (!field) { return; }
    write(field, "value", burst.keys.trim());
    byHand.add(field);  // this weight was sent on purpose: the live figure leaves it alone
    if (field.dataset.scale === "submit" && field.form) { field.form.requestSubmit(); }
  }

  function onEnter(event, isSoon) {
    // a scale that ends its line with two Enters: the second comes alone
    if (burst === null && event.timeStamp - enterAt < SECOND_ENTER_MS) {
      event.preventDefault();
      event.stopPropagation();
    } else if (isSoon && burst.keys.length >= LEAST_KEYS) {
      endBurst(event);
    }
    burst = null;
  }

  document.addEventListener("keydown", function (event) {
    const isSoon = burst !== null && event.timeStamp - burst.time < KEY_GAP_MS;
    if (isSoon) { burst.time = event.timeStamp; }
    const isPlain = Boolean(event.key) && event.key.length === 1 &&
      !(event.ctrlKey || event.altKey || event.metaKey || event.isComposing || event.repeat);
    if (event.key === "Enter") { onEnter(event, isSoon); return; }
    if (event.key === "Shift") { return; }
    if (!isPlain) { burst = null; return; }
    if (!isSoon) { startBurst(event); return; }
    burst.keys += event.key;
    if (!burst.at) { event.preventDefault(); }  // a space must press no button
  }, true);
  document.addEventListener("input", function (event) {
    if (!event.isTrusted || !event.target.matches("input[data-scale]")) { return; }
    if (event.target.value) { byHand.add(event.target); } else { byHand.delete(event.target); }
  });
  window.setInterval(poll, POLL_MS);
}());
