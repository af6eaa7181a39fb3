// What the pages need beyond plain forms: focus on a problem, true controls after a change of the
// page, the curve, and word of a lost connection.
"use strict";

(function () {
  const charts = new WeakMap();
  let failed = false, libraryAsked = false;

  // After a morph the attributes are new but a touched control keeps its old state; the server's
  // answer is the truth, except for the text a person is typing at this moment.
  function trueControls(root) {
    root.querySelectorAll("input, select").forEach(function (control) {
      if (control.type === "radio" || control.type === "checkbox") {
        control.checked = control.defaultChecked;
      } else if (control.tagName === "SELECT") {
        Array.from(control.options).forEach(function (option) {
          option.selected = option.defaultSelected;
        });
      } else if (control !== document.activeElement) {
        control.value = control.defaultValue;
      }
    });
  }

  function openFaulty(root) {
    root.querySelectorAll("details").forEach(function (box) {
      if (box.querySelector("[aria-invalid], .fault")) { box.open = true; }
    });
  }

  function focusProblem() {
    const problem = document.querySelector("[data-focus]");
    if (problem) { problem.focus(); }
  }

  function readCurve(table) {
    const rows = Array.from(table.tBodies[0].rows);
    return rows.map(function (row) {
      return {row: row, money: Number(row.dataset.total), eating: 100 * Number(row.dataset.point)};
    });
  }

  function markNow(table, points) {
    points.forEach(function (point) {
      const here = Math.abs(point.money - Number(table.dataset.now)) < 0.005;
      point.row.classList.toggle("is-now", here);
    });
  }

  function tapNearest(chart, points) {
    return function (event) {
      const box = chart.over.getBoundingClientRect();
      const money = chart.posToVal(event.clientX - box.left, "x");
      const nearest = points.reduce(function (best, point) {
        return Math.abs(point.money - money) < Math.abs(best.money - money) ? point : best;
      });
      nearest.row.querySelector("button").click();
    };
  }

  // The library of charts comes with the first curve: an empty ask does without.
  function fetchLibrary(place) {
    if (libraryAsked) { return; }
    libraryAsked = true;
    const sheet = document.createElement("link"), script = document.createElement("script");
    Object.assign(sheet, {rel: "stylesheet", href: place.dataset.sheet});
    Object.assign(script, {src: place.dataset.script, onload: drawCurve});
    document.head.append(sheet, script);
  }

  function drawCurve() {
    const place = document.getElementById("curve-chart");
    const table = document.getElementById("curve-table");
    if (!place || !table) { return; }
    if (!window.uPlot) { fetchLibrary(place); return; }
    const old = charts.get(place);
    if (old) { old.destroy(); }
    place.replaceChildren();
    const points = readCurve(table);
    markNow(table, points);
    const now = Number(table.dataset.now);
    const all = points.map(function (point) { return [point.money, point.eating, null]; });
    all.push([now, null, 100 * Number(table.dataset.eating)]);
    all.sort(function (a, b) { return a[0] - b[0]; });
    const columns = [0, 1, 2].map(function (place) {
      return all.map(function (row) { return row[place]; });
    });
    const style = getComputedStyle(document.documentElement);
    const colour = function (name) { return style.getPropertyValue(name).trim(); };
    const rem = parseFloat(style.fontSize);
    const font = `${0.82 * rem}px sans-serif`;
    const names = Array.from(table.tHead.rows[0].cells).map(function (cell) { return cell.textContent; });
    const axis = {font: font, labelFont: font, stroke: colour("--ink-soft"), labelSize: 1.3 * rem,
      size: 2.6 * rem,
      grid: {stroke: colour("--hair"), width: 1}, ticks: {stroke: colour("--edge"), width: 1}};
    const line = {label: "eating", stroke: colour("--oxblood"), width: 2, spanGaps: true,
      points: {show: true, size: 11, fill: colour("--paper"), stroke: colour("--oxblood")}};
    const here = {label: "now", stroke: colour("--brass"), width: 0,
      points: {show: true, size: 15, fill: colour("--brass"), stroke: colour("--brass")}};
    const chart = new window.uPlot({
      width: Math.max(200, place.clientWidth), height: 12 * rem, legend: {show: false},
      scales: {x: {time: false}}, cursor: {drag: {x: false, y: false}},
      axes: [Object.assign({label: names[0]}, axis), Object.assign({label: names[2]}, axis)],
      series: [{label: "money"}, line, here],
    }, columns, place);
    chart.over.addEventListener("click", tapNearest(chart, points));
    charts.set(place, chart);
  }

  // The words stand on the page, in its language.
  function lost(name) {
    const strip = document.getElementById("lost");
    strip.textContent = name ? strip.dataset[name] : "";
    strip.hidden = !name;
  }

  document.addEventListener("htmx:after:swap", function () {
    const desk = document.getElementById("desk");
    if (!desk || failed) { return; }
    trueControls(desk);
    openFaulty(desk);
    drawCurve();
    focusProblem();
    lost("");
  });
  document.addEventListener("htmx:before:request", function () { failed = false; });
  document.addEventListener("htmx:response:error", function (event) {
    failed = event.detail.ctx.response.status !== 422;
    if (failed) {
      lost("refused");
    }
  });
  document.addEventListener("htmx:error", function () {
    lost("unsent");
  });
  window.addEventListener("online", function () { lost(""); });
  window.addEventListener("offline", function () {
    lost("offline");
  });

  // Quick taps on - and + must all count: the number changes here at once, and the form is sent
  // with the number that is then on the screen.
  function countTap(event) {
    const button = event.target.closest(".stepper button");
    if (!button) { return; }
    const field = button.closest(".stepper").querySelector("input");
    if (!/^[0-9]+$/.test(field.value)) { return; }
    event.preventDefault();
    const count = function (name) { return Number(document.getElementById("f-" + name).value) || 0; };
    const kinds = count("child") + count("big") + count("meat_free");
    const step = button.value.endsWith("+") ? 1 : -1;
    const next = Number(field.value) + step;
    const heads = field.name === "heads";
    const fits = heads ? next >= Math.max(1, kinds) : next >= 0 && kinds + step <= count("heads");
    if (!fits) { return; }
    field.value = String(next);
    field.dispatchEvent(new Event("change", {bubbles: true}));
  }

  // On a phone the other screens are behind one button.
  function openScreens(isOpen) {
    const button = document.querySelector(".screens-button");
    if (!button) { return; }
    document.getElementById("screens").classList.toggle("is-open", isOpen);
    button.setAttribute("aria-expanded", String(isOpen));
  }

  document.addEventListener("click", function (event) {
    const button = event.target.closest(".screens-button");
    if (button) { openScreens(button.getAttribute("aria-expanded") === "false"); }
  });
  document.addEventListener("keydown", function (event) {
    const nav = document.querySelector("#screens.is-open");
    if (event.key === "Escape" && nav) {
      openScreens(false);
      document.querySelector(".screens-button").focus();
    }
  });

  document.addEventListener("click", countTap);
  document.addEventListener("change", function (event) {
    const form = event.target.closest("form[data-send-on-change]");
    if (form) { form.requestSubmit(); }
  });
  document.addEventListener("focusin", function (event) {
    if (event.target.matches("input[inputmode]")) { event.target.select(); }
  });
  window.addEventListener("resize", drawCurve);
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawCurve);

  drawCurve();
  openFaulty(document);
  focusProblem();
  // a server that is away, or a page that is left meanwhile, is no fault of the page
  if ("serviceWorker" in navigator) { navigator.serviceWorker.register("/sw.js").catch(function () { return null; }); }
}());
