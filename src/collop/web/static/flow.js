// Draws where every pound went: ribbons as wide as the weight, losses by pattern and word.
"use strict";

(function () {
  const SVG = "http://www.w3.org/2000/svg";
  const PATTERNS = {
    air: "M2 2h2v2h-2z M6 6h2v2h-2z",
    drip: "M-2 2l4 -4 M0 8l8 -8 M6 10l4 -4",
    bin: "M0 8l8 -8 M0 0l8 8",
  };

  function part(name, attributes, inside) {
    const made = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    if (inside) { made.append(inside); }
    return made;
  }

  function patterns() {
    const all = part("defs", {});
    Object.keys(PATTERNS).forEach(function (kind) {
      const tile = part("pattern", {id: "flow-" + kind, width: 8, height: 8, patternUnits: "userSpaceOnUse"});
      tile.append(part("rect", {class: "flow-ground", width: 8, height: 8}));
      tile.append(part("path", {class: "flow-mark flow-mark-" + kind, d: PATTERNS[kind]}));
      all.append(tile);
    });
    return all;
  }

  function isLoss(node) { return node.kind in PATTERNS; }

  // A filled ribbon, not a thick line: it may carry a pattern, and it keeps its edges in print.
  function ribbon(link) {
    const half = Math.max(0.5, link.width / 2);
    const from = link.source.x1, to = link.target.x0, middle = (from + to) / 2;
    const a = link.y0, b = link.y1;
    return `M${from} ${a - half}C${middle} ${a - half} ${middle} ${b - half} ${to} ${b - half}` +
      `V${b + half}C${middle} ${b + half} ${middle} ${a + half} ${from} ${a + half}Z`;
  }

  function drawLink(link) {
    const kind = link.target.kind;
    const attributes = {class: "flow-link flow-to-" + kind, d: ribbon(link)};
    if (isLoss(link.target)) { attributes.fill = `url(#flow-${kind})`; }
    return part("path", attributes, part("title", {}, link.says));
  }

  // A place is a bar; a loss ends in a point.
  function drawNode(node) {
    const tall = Math.max(2, node.y1 - node.y0);
    const attributes = {class: "flow-node flow-node-" + node.kind};
    if (!isLoss(node)) {
      return part("rect", Object.assign(attributes, {x: node.x0, y: node.y0, width: node.x1 - node.x0, height: tall}));
    }
    const middle = (node.y0 + node.y1) / 2, half = Math.max(tall / 2, 5);
    attributes.d = `M${node.x0} ${middle - half}L${node.x1} ${middle}L${node.x0} ${middle + half}Z`;
    return part("path", attributes);
  }

  // Name and figures in one line, or in two where the screen is narrow.
  function drawName(node, stacked) {
    const x = node.x1 + 7;
    const made = part("text", {class: "flow-name", x: x, y: (node.y0 + node.y1) / 2});
    made.append(part("tspan", {class: "flow-name-word", x: x, dy: stacked ? "-0.2em" : "0.34em"}, node.name));
    made.append(part("tspan", stacked ? {x: x, dy: "1.1em"} : {dx: "0.45em"}, node.says));
    return made;
  }

  // Ribbons run under the names of the middle places: a ground keeps the words clear of their edges.
  function addName(svg, node, stacked) {
    const name = drawName(node, stacked);
    svg.append(name);
    if (!node.sourceLinks.length) { return; }
    const box = name.getBBox();
    name.before(part("rect", {class: "flow-name-ground", x: box.x - 3, y: box.y, width: box.width + 6,
      height: box.height, rx: 3}));
  }

  // How wide the names are: those of the last column, and the widest of the others.
  function nameWidths(svg, nodes, stacked) {
    const last = Math.max.apply(null, nodes.map(function (node) { return node.layer; }));
    const widths = {last: 0, others: 0};
    nodes.forEach(function (node) {
      const name = drawName(node, stacked);
      svg.append(name);
      const column = node.layer === last ? "last" : "others";
      widths[column] = Math.max(widths[column], name.getBBox().width);
      name.remove();
    });
    return widths;
  }

  function columns(nodes) {
    const counts = {};
    nodes.forEach(function (node) { counts[node.layer] = (counts[node.layer] || 0) + 1; });
    return counts;
  }

  function layOut(flow, box) {
    const copy = {
      nodes: flow.nodes.map(function (node) { return Object.assign({}, node); }),
      links: flow.links.map(function (link) { return Object.assign({}, link); }),
    };
    return window.d3.sankey().nodeWidth(14).nodePadding(box.padding).iterations(24)
      .extent([[1, box.top], [box.right, box.bottom]])(copy);
  }

  // The narrowest picture in which no name reaches the next column.
  function needed(widths, steps, line) {
    return steps * (widths.others + 1.6 * line) + widths.last + 2 * line;
  }

  function draw(place, room) {
    const flow = JSON.parse(place.dataset.flow);
    const svg = part("svg", {class: "flow-svg", role: "img",
      "aria-label": "Picture of the flow. Every figure is in the table below."});
    place.replaceChildren(svg);
    const line = parseFloat(getComputedStyle(svg).fontSize);
    const box = {padding: 1.7 * line, top: line, right: 1000, bottom: 1000};
    const first = layOut(flow, box).nodes;
    const counts = Object.values(columns(first));
    const steps = counts.length - 1;
    let widths = nameWidths(svg, first, false);
    const stacked = needed(widths, steps, line) > room;
    if (stacked) { widths = nameWidths(svg, first, true); }
    box.padding = (stacked ? 2.6 : 1.7) * line;
    box.top = (stacked ? 1.7 : 1) * line;
    const width = Math.max(room, needed(widths, steps, line));
    const height = Math.max(20 * line, Math.max.apply(null, counts) * (stacked ? 4 : 3.3) * line) + 2 * box.top;
    const graph = layOut(flow, Object.assign(box, {right: width - widths.last - line, bottom: height - box.top}));
    svg.setAttribute("width", width);
    svg.setAttribute("height", height);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.append(patterns());
    graph.links.forEach(function (link) { svg.append(drawLink(link)); });
    graph.nodes.forEach(function (node) { svg.append(drawNode(node)); });
    graph.nodes.forEach(function (node) { addName(svg, node, stacked); });
  }

  function drawOrSay(room) {
    const place = document.getElementById("flow-chart");
    if (!place || !window.d3 || !window.d3.sankey) { return; }
    const figure = document.getElementById("flow-figure");
    figure.hidden = false;
    try {
      draw(place, room || place.parentElement.clientWidth - 2);
    } catch (error) {
      // the library refuses circles; the table says it all
      if (!/circular/.test(String(error))) { throw error; }
      figure.hidden = true;
      document.getElementById("flow-not-drawn").hidden = false;
    }
  }

  const PAPER = 700;
  window.addEventListener("resize", function () { drawOrSay(); });
  window.addEventListener("beforeprint", function () { drawOrSay(PAPER); });
  window.addEventListener("afterprint", function () { drawOrSay(); });
  drawOrSay();
}());
