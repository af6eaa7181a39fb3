// Chalk: prices are worked out while they are slid or typed, one request at a time and each with
// its number, so that no late answer takes the place of a newer one; and the line's price steps.
"use strict";

(function () {
  const PAUSE_MS = 60;
  const WAIT_MS = 4000;
  const REST_MS = 900;
  const form = document.getElementById("chalk-form");
  let sent = 0;
  let shown = 0;
  let busy = false;
  let again = false;
  let timer = null;
  let saying = null;

  function lost(name) {
    const strip = document.getElementById("lost");
    if (!strip) { return; }
    strip.textContent = name ? strip.dataset[name] : "";
    strip.hidden = !name;
  }

  // Take the parts of the answer into their places; fields are never touched.
  function show(html) {
    const live = new DOMParser().parseFromString(html, "text/html").getElementById("chalk-live");
    if (!live) { return; }
    const number = Number(live.dataset.number);
    if (number < shown) { return; }
    shown = number;
    Array.from(live.children).forEach(function (part) {
      const place = part.id && document.getElementById(part.id);
      if (place) { place.replaceWith(document.importNode(part, true)); }
    });
  }

  // Said aloud once the prices rest.
  function sayLater() {
    window.clearTimeout(saying);
    saying = window.setTimeout(function () {
      const told = document.querySelectorAll(".chalk-brings .sum p");
      const place = document.getElementById("chalk-said");
      if (told.length && place) { place.textContent = told[told.length - 1].textContent; }
    }, REST_MS);
  }

  function body(number) {
    const data = new URLSearchParams();
    new FormData(form).forEach(function (value, name) { data.append(name, value); });
    data.append("number", String(number));
    return data;
  }

  async function ask() {
    timer = null;
    if (busy) { again = true; return; }
    busy = true;
    again = false;
    sent += 1;
    try {
      const answer = await fetch(form.dataset.pulls, {method: "POST", body: body(sent),
        headers: {"HX-Request": "true"}, signal: AbortSignal.timeout(WAIT_MS)});
      if (answer.ok || answer.status === 422) {
        show(await answer.text());
        sayLater();
        lost("");
      } else {
        lost("refused");
      }
    } catch (error) {
      lost("unsent");
    }
    busy = false;
    if (again) { soon(); }
  }

  function soon() {
    if (timer === null) { timer = window.setTimeout(ask, PAUSE_MS); }
  }

  function places(step) { return (String(step).split(".")[1] || "").length; }

  function slid(slide) {
    const field = document.getElementById(slide.dataset.for);
    field.value = Number(slide.value).toFixed(Math.max(2, places(slide.step)));
    soon();
  }

  function typed(field) {
    const slide = form.querySelector(`[data-for="${field.id}"]`);
    if (slide && Number(field.value) > 0) { slide.value = field.value; }
    soon();
  }

  function wirePrices() {
    if (!form) { return; }
    form.querySelectorAll(".chalk-slide").forEach(function (slide) { slide.hidden = false; });
    form.addEventListener("input", function (event) {
      const part = event.target;
      if (part.matches(".chalk-slide")) { slid(part); }
      if (part.matches(".chalk-price")) { typed(part); }
      if (part.matches("[name=keep], [name=margin]")) { soon(); }
    });
  }

  // The main button says from when.
  function wireTime() {
    const words = document.querySelector("[data-put-words]");
    const time = document.querySelector("[data-put-at]");
    const day = document.querySelector("[data-put-day]");
    if (!words || !time || !day) { return; }
    const say = function () {
      const tomorrow = day.value === "tomorrow" ? " tomorrow" : "";
      words.textContent = "at " + (time.value || words.dataset.now) + tomorrow;
    };
    time.addEventListener("input", say);
    day.addEventListener("input", say);
  }

  let chart = null;

  function colour(name) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  }

  const DAY_S = 86400;

  // Hours as the shop writes them, the day under the first of each day.
  function hours(self, splits, axis, space, step) {
    let day = "";
    return splits.map(function (seconds) {
      const at = new Date(seconds * 1000);
      const date = at.toLocaleDateString("en-GB", {timeZone: "UTC", day: "numeric", month: "short"});
      const hour = at.toISOString().slice(11, 16);
      const isNew = date !== day;
      day = date;
      if (step >= DAY_S) { return date; }
      return isNew ? hour + "\n" + date : hour;
    });
  }

  function drawSteps() {
    const place = document.getElementById("price-chart");
    if (!place || !window.uPlot) { return; }
    const steps = JSON.parse(place.dataset.steps);
    place.hidden = false;
    if (chart) { chart.destroy(); }
    const stepped = window.uPlot.paths.stepped({align: 1});
    const font = "13px sans-serif";
    const axis = {font: font, labelFont: font, stroke: colour("--ink-soft"), labelSize: 20,
      grid: {stroke: colour("--hair"), width: 1}, ticks: {stroke: colour("--edge"), width: 1}};
    const line = {paths: stepped, stroke: colour("--oxblood"), width: 3,
      points: {show: true, size: 8, fill: colour("--paper"), stroke: colour("--oxblood")}};
    const plan = {paths: stepped, stroke: colour("--brass"), width: 3, dash: [8, 5],
      points: {show: true, size: 8, fill: colour("--paper"), stroke: colour("--brass")}};
    chart = new window.uPlot({
      width: Math.max(200, place.clientWidth), height: 240, legend: {show: false},
      tzDate: function (seconds) { return window.uPlot.tzDate(new Date(seconds * 1000), "Etc/UTC"); },
      cursor: {show: false},
      scales: {y: {range: function (self, low, high) {
        const room = Math.max(0.5, (high - low) * 0.25);
        return [Math.max(0, low - room), high + room];
      }}},
      axes: [Object.assign({values: hours}, axis),
        Object.assign({label: "a " + place.dataset.unit, size: 60, values: function (self, splits) {
          return splits.map(function (price) { return price.toFixed(2); });
        }}, axis)],
      series: [{label: "time"}, Object.assign({label: "price"}, line),
        Object.assign({label: "planned"}, plan)],
    }, [steps.times, steps.stands, steps.plans], place);
  }

  wirePrices();
  wireTime();
  drawSteps();
  window.addEventListener("resize", drawSteps);
}());
