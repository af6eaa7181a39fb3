// Pictures with axes. Every figure stands in the page, worked out by the shop; here it is only drawn,
// in the colours and the size of type the page has at this moment, and in ink alone for print.
"use strict";

(function () {
  const charts = new Map();
  let printing = false;

  function look() {
    const style = getComputedStyle(document.documentElement);
    const rem = parseFloat(style.fontSize);
    const of = function (name) { return style.getPropertyValue(name).trim(); };
    const small = 0.85 * rem;
    return {
      rem: rem, small: small, font: `${small}px ${of("--sans") || "sans-serif"}`,
      colour: function (name) { return of(printing ? "--print-ink" : name); },
      paper: of(printing ? "--print-paper" : "--paper"),
      hair: of(printing ? "--edge" : "--hair"),
    };
  }

  function axis(own, more) {
    return Object.assign({
      font: own.font, labelFont: own.font, stroke: own.colour("--ink-soft"),
      labelSize: 1.5 * own.small, labelGap: 0.1 * own.small, gap: 0.3 * own.small,
      grid: {stroke: own.hair, width: 1}, ticks: {stroke: own.colour("--edge"), width: 1, size: 5},
    }, more);
  }

  function textWidth(own, text) {
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = own.font;
    return pen.measureText(text).width;
  }

  // The figures beside an axis take as much room as the widest of them.
  function widest(own) {
    return function (chart, values) {
      const texts = (values || []).filter(Boolean);
      return Math.ceil(Math.max(0, ...texts.map(function (one) { return textWidth(own, one); })) +
        5 + 0.6 * own.small);
    };
  }

  // The room of the figures below an axis, without its words.
  function foot(own) { return Math.round(5 + 1.7 * own.small); }

  function options(place, own, more) {
    return Object.assign({
      width: Math.max(120, place.clientWidth), legend: {show: false},
      cursor: {show: false}, padding: [0.7 * own.small, 0.7 * own.small, 0, 0],
    }, more);
  }

  // Writes on the canvas; `x` and `y` are points of the chart's plot, in its own pixels.
  function write(chart, own, marks) {
    const pen = chart.ctx, scale = window.uPlot.pxRatio;
    pen.save();
    pen.font = own.font.replace(/^[0-9.]+px/, `${own.small * scale}px`);
    pen.fillStyle = own.colour("--ink");
    // a ground of paper keeps the words clear of the lines
    pen.strokeStyle = own.paper;
    pen.lineJoin = "round";
    pen.lineWidth = 4 * scale;
    marks.forEach(function (mark) {
      pen.textAlign = mark.align;
      pen.textBaseline = mark.base;
      pen.strokeText(mark.text, mark.x, mark.y);
      pen.fillText(mark.text, mark.x, mark.y);
    });
    pen.restore();
  }

  const LINES = [["--oxblood", []], ["--good", [8, 4]], ["--brass", [2, 3]], ["--ink", [10, 3, 2, 3]],
    ["--alert", [5, 5]]];

  // Names at the ends of the lines, pushed apart where lines end beside each other.
  function endNames(chart, own, picture) {
    const scale = window.uPlot.pxRatio, step = 1.15 * own.small * scale;
    const marks = picture.lines.map(function (line) {
      const last = line.points[line.points.length - 1];
      return {text: line.name, align: "left", base: "middle",
        x: chart.valToPos(last[0], "x", true) + 9 * scale, y: chart.valToPos(last[1], "y", true)};
    });
    marks.sort(function (a, b) { return a.x - b.x || a.y - b.y; });
    const ends = marks.map(function (mark) { return {x: mark.x - 9 * scale, y: mark.y, width: 0}; });
    const placed = [];
    marks.forEach(function (mark, number) {
      const width = textWidth(own, mark.text) * scale;
      const near = placed.concat(ends.filter(function (end) { return end.y !== ends[number].y; }))
        .filter(function (other) { return other.x < mark.x + width && mark.x < other.x + other.width; });
      while (near.some(function (other) { return Math.abs(other.y - mark.y) < step; })) { mark.y += 2; }
      placed.push(Object.assign(mark, {width: width}));
    });
    write(chart, own, placed);
  }

  function columnsOf(lines) {
    const all = Array.from(new Set(lines.flatMap(function (line) {
      return line.points.map(function (point) { return point[0]; });
    }))).sort(function (a, b) { return a - b; });
    return [all].concat(lines.map(function (line) {
      const known = new Map(line.points);
      return all.map(function (x) { return known.has(x) ? known.get(x) : null; });
    }));
  }

  function drawLines(place, picture, own) {
    const room = Math.max(...picture.lines.map(function (line) { return textWidth(own, line.name); }));
    const series = picture.lines.map(function (line, number) {
      const [name, dash] = LINES[number % LINES.length];
      const colour = own.colour(name);
      return {label: line.name, stroke: colour, width: 2, dash: dash, spanGaps: true,
        points: {show: true, size: 8, fill: own.paper, stroke: colour}};
    });
    return new window.uPlot(options(place, own, {
      height: Math.round(Math.max(17 * own.rem, 1.4 * own.small * picture.lines.length)),
      padding: [own.small, room + 14, 0, 0],
      scales: {x: {time: false, range: picture.across}, y: {range: picture.up}},
      axes: [axis(own, {label: picture.x, size: foot(own), incrs: [1, 2, 5, 7, 10, 14, 20, 50, 100]}),
        axis(own, {label: picture.y, size: widest(own)})],
      series: [{label: picture.x}].concat(series),
      hooks: {draw: [function (chart) { endNames(chart, own, picture); }]},
    }), columnsOf(picture.lines), place);
  }

  function drawBars(place, picture, own) {
    const places = picture.values.map(function (_value, number) { return number; });
    const over = function (chart) {
      const scale = window.uPlot.pxRatio;
      write(chart, own, places.map(function (number) {
        return {text: picture.says[number], align: "center", base: "bottom",
          x: chart.valToPos(number, "x", true),
          y: chart.valToPos(picture.values[number] || 0, "y", true) - 3 * scale};
      }));
    };
    const names = function (_chart, splits) { return splits.map(function (at) { return picture.names[at]; }); };
    return new window.uPlot(options(place, own, {
      height: Math.round(15 * own.rem), padding: [1.8 * own.small, 4, 0, 0],
      scales: {x: {time: false, range: [-0.5, places.length - 0.5]}, y: {range: picture.up}},
      axes: [axis(own, {splits: function () { return places; }, values: names, size: foot(own),
        grid: {show: false}}),
        axis(own, {label: picture.y, size: widest(own)})],
      series: [{}, {label: picture.y, stroke: own.colour("--ink"), fill: own.colour("--oxblood"), width: 1,
        points: {show: false}, paths: window.uPlot.paths.bars({size: [0.62, 90]})}],
      hooks: {draw: [over]},
    }), [places, picture.values], place);
  }

  // The scale under and behind bars that the page draws itself; a figure that would be cut is left out.
  function drawAxis(place, picture, own) {
    const bars = place.parentElement.querySelector("ol");
    const side = Math.round(0.5 * own.rem);
    const high = Math.round(bars.offsetHeight + foot(own) + 1.5 * own.small);
    const whole = place.clientWidth, span = picture.high - picture.low;
    const values = function (_chart, splits) {
      return splits.map(function (at) {
        const x = side + (at - picture.low) / span * (whole - 2 * side);
        const text = at.toLocaleString("en-US").replace("-", "\u2212"), half = textWidth(own, text) / 2;
        return x < half || x > whole - half ? null : text;
      });
    };
    return new window.uPlot(options(place, own, {
      height: high, padding: [0, side, 0, side],
      scales: {x: {time: false, range: [picture.low, picture.high]}, y: {range: [0, 1]}},
      axes: [axis(own, Object.assign({label: picture.label, values: values, size: foot(own),
        space: Math.round((picture.incrs ? 2.5 : 6) * own.small)}, picture.incrs ? {incrs: picture.incrs} : {})),
        {show: false}],
      series: [{}, {show: false}],
    }), [[picture.low, picture.high], [null, null]], place);
  }

  const KINDS = {lines: drawLines, bars: drawBars, axis: drawAxis};

  function draw(place) {
    const old = charts.get(place);
    if (old) { old.destroy(); charts.delete(place); }
    place.replaceChildren();
    // what is in a closed box is drawn when the box opens
    if (!window.uPlot || !place.clientWidth || place.closest("details:not([open])")) { return; }
    const picture = JSON.parse(place.dataset.picture);
    charts.set(place, KINDS[picture.kind](place, picture, look()));
  }

  function drawAll() {
    Array.from(charts.keys()).forEach(function (place) {
      if (!place.isConnected) { charts.get(place).destroy(); charts.delete(place); }
    });
    document.querySelectorAll("[data-picture]").forEach(draw);
  }

  let wide = 0;
  window.addEventListener("resize", function () {
    if (document.documentElement.clientWidth !== wide) {
      wide = document.documentElement.clientWidth;
      drawAll();
    }
  });
  document.addEventListener("toggle", function (event) {
    event.target.querySelectorAll("[data-picture]").forEach(draw);
  }, true);
  document.addEventListener("htmx:after:swap", drawAll);
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAll);
  window.addEventListener("beforeprint", function () { printing = true; drawAll(); });
  window.addEventListener("afterprint", function () { printing = false; drawAll(); });
  wide = document.documentElement.clientWidth;
  drawAll();
}());
