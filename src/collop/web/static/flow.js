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

  const BAR = 14;

  // A filled ribbon, not a thick line: it may carry a pattern, and it keeps its edges in print.
  // It runs level along the lane of each column it passes, where no name lies.
  function ribbon(pieces) {
    const half = Math.max(0.5, pieces[0].width / 2);
    const edge = function (piece, side, back) {
      const from = piece.source.x1, to = piece.target.x0, middle = (from + to) / 2;
      const a = piece.y0 + side, b = piece.y1 + side;
      return back ? `C${middle} ${b} ${middle} ${a} ${from} ${a}` : `C${middle} ${a} ${middle} ${b} ${to} ${b}`;
    };
    const there = pieces.map(function (piece) { return edge(piece, -half, false); });
    const back = pieces.slice().reverse().map(function (piece) { return edge(piece, half, true); });
    const first = pieces[0], last = pieces[pieces.length - 1];
    const on = pieces.slice(1).map(function (piece) { return `H${piece.source.x1}`; });
    const off = pieces.slice(0, -1).reverse().map(function (piece) { return `H${piece.target.x0}`; });
    let path = `M${first.source.x1} ${first.y0 - half}`;
    there.forEach(function (part, place) { path += (place ? on[place - 1] : "") + part; });
    path += `V${last.y1 + half}`;
    back.forEach(function (part, place) { path += (place ? off[place - 1] : "") + part; });
    return path + "Z";
  }

  function drawLink(pieces) {
    const end = pieces[pieces.length - 1].target, kind = end.kind;
    const attributes = {class: "flow-link flow-to-" + kind, d: ribbon(pieces)};
    if (isLoss(end)) { attributes.fill = `url(#flow-${kind})`; }
    return part("path", attributes, part("title", {}, pieces[0].says));
  }

  // A place is a lane with a bar at its head; a loss ends in a point.
  function drawNode(node) {
    const tall = Math.max(2, node.y1 - node.y0);
    const attributes = {class: "flow-node flow-node-" + node.kind};
    if (!isLoss(node)) {
      return part("rect", Object.assign(attributes, {x: node.x0, y: node.y0, width: BAR, height: tall}));
    }
    const middle = (node.y0 + node.y1) / 2, half = Math.max(tall / 2, 5);
    attributes.d = `M${node.x0} ${middle - half}L${node.x0 + BAR} ${middle}L${node.x0} ${middle + half}Z`;
    return part("path", attributes);
  }

  function drawLane(node) {
    return part("rect", {class: "flow-lane", x: node.x0 + BAR, y: node.y0, width: node.x1 - node.x0 - BAR,
      height: Math.max(2, node.y1 - node.y0)});
  }

  function isLast(node) { return !node.sourceLinks.length; }

  // Name and figures: beside a place of the last column, over the lane of any other.
  function drawName(node, stacked, line) {
    const last = isLast(node), x = last ? node.x0 + BAR + 7 : node.x0;
    const y = last ? (node.y0 + node.y1) / 2 : node.y0 - (stacked ? 1.5 : 0.4) * line;
    const made = part("text", {class: "flow-name", x: x, y: y});
    const drop = last ? (stacked ? "-0.2em" : "0.34em") : "0";
    made.append(part("tspan", {class: "flow-name-word", x: x, dy: drop}, node.name));
    made.append(part("tspan", stacked ? {x: x, dy: "1.1em"} : {dx: "0.45em"}, node.says));
    return made;
  }

  // How wide the names are: those of the last column, and the widest of the others.
  function nameWidths(svg, nodes, stacked, line) {
    const widths = {last: 0, others: 0};
    nodes.forEach(function (node) {
      const name = drawName(node, stacked, line);
      svg.append(name);
      const column = isLast(node) ? "last" : "others";
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

  // A link that passes columns gets a lane of its own in each: pieces, all but the last to a way.
  function withWays(flow, layers) {
    const nodes = flow.nodes.map(function (node) { return Object.assign({}, node); }), links = [];
    flow.links.forEach(function (link, chain) {
      let from = link.source;
      for (let layer = layers[link.source] + 1; layer < layers[link.target]; layer += 1) {
        nodes.push({kind: "way"});
        links.push(Object.assign({}, link, {source: from, target: nodes.length - 1, chain: chain}));
        from = nodes.length - 1;
      }
      links.push(Object.assign({}, link, {source: from, chain: chain}));
    });
    return {nodes: nodes, links: links};
  }

  function layOut(flow, box) {
    return window.d3.sankey().nodeWidth(box.lane).nodePadding(box.padding).iterations(24)
      .extent([[1, box.top], [box.right, box.bottom]])(flow);
  }

  // The narrowest picture in which the ribbons still have room to bend between the lanes.
  function needed(widths, steps, line) {
    return steps * (widths.others + 3.5 * line) + widths.last + 2 * line + BAR;
  }

  function draw(place, room) {
    const flow = JSON.parse(place.dataset.flow);
    const svg = part("svg", {class: "flow-svg", role: "img",
      "aria-label": "Picture of the flow. Every figure is in the table below."});
    place.replaceChildren(svg);
    const line = parseFloat(getComputedStyle(svg).fontSize);
    const box = {lane: BAR, padding: line, top: line, right: 1000, bottom: 1000};
    const first = layOut(withWays(flow, []), box).nodes;
    const layers = first.map(function (node) { return node.layer; });
    const steps = Object.keys(columns(first)).length - 1;
    let widths = nameWidths(svg, first, false, line);
    const stacked = needed(widths, steps, line) > room;
    if (stacked) { widths = nameWidths(svg, first, true, line); }
    box.padding = box.top = (stacked ? 3 : 1.9) * line;
    box.lane = Math.max(BAR, widths.others);
    const width = Math.max(room, needed(widths, steps, line));
    const counts = Object.values(columns(layOut(withWays(flow, layers), box).nodes));
    const height = Math.max(20 * line, Math.max.apply(null, counts) * (stacked ? 4.2 : 3.4) * line) + 2 * box.top;
    const graph = layOut(withWays(flow, layers), Object.assign(box,
      {right: width - widths.last - line - BAR + box.lane, bottom: height - line}));
    svg.setAttribute("width", width);
    svg.setAttribute("height", height);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.append(patterns());
    const named = graph.nodes.filter(function (node) { return node.kind !== "way"; });
    named.forEach(function (node) { if (!isLast(node)) { svg.append(drawLane(node)); } });
    flow.links.forEach(function (_link, chain) {
      svg.append(drawLink(graph.links.filter(function (one) { return one.chain === chain; })));
    });
    named.forEach(function (node) { svg.append(drawNode(node)); });
    named.forEach(function (node) { svg.append(drawName(node, stacked, line)); });
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
