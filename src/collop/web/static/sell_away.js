// The sale on a copied page: lines come from the address, money from the prices of the copy. The
// page of the server shows its own lines, and this does nothing.
"use strict";

(function () {
  const SAID = {
    ticket: "No connection: a ticket cannot be looked up. Weigh the cut and touch its name.",
    cut: "Cut: touch the cut that lies on the scale.",
    gross: "On the scale: write the weight like 1.08 or 0.5 kg, more than its packing.",
    most: "One sale has 40 lines at most; take the money first.",
  };
  const form = document.querySelector("form.sell-form[data-away]");
  const strip = document.querySelector("[data-as-of]");
  if (!form || !strip || strip.hidden) { return; }
  const facts = JSON.parse(form.dataset.away);
  const query = new URLSearchParams(window.location.search);
  const texts = query.getAll("line");

  function make(tag, text, more) {
    const made = document.createElement(tag);
    if (text) { made.textContent = text; }
    return Object.assign(made, more);
  }

  function address(lines) {
    const kept = new URLSearchParams(lines.map(function (line) { return ["line", line]; }));
    ["by", "tare", "name"].forEach(function (name) {
      if (query.get(name)) { kept.set(name, query.get(name)); }
    });
    return "/sell?" + kept;
  }

  function hidden(name, value) {
    form.prepend(make("input", "", {type: "hidden", name: name, value: value}));
  }

  function row(line, at) {
    const made = make("li", "", {className: "sell-line"});
    const acts = make("span", "", {className: "sell-line-acts"});
    const off = make("a", "Take off", {className: "button", href: address(texts.toSpliced(at, 1))});
    off.setAttribute("aria-label", "Take off " + line.name);
    acts.append(off);
    made.append(make("b", line.name, {className: "sell-line-name"}), " ",
      make("b", awaySale.moneyText(line.money, facts), {className: "sell-line-money"}), " ",
      make("span", awaySale.weightText(line) + " at " + line.price + (line.tare ? ", " + line.tare + " taken off" : ""),
        {className: "sell-line-weight"}), acts);
    return made;
  }

  function sumRow(name, money) {
    const made = make("p");
    made.append(make("span", name, {className: "sum-name"}), " ", make("b", awaySale.moneyText(money, facts)));
    return made;
  }

  function payButton(way, text, kind) {
    return make("button", text, {type: "submit", name: "way", value: way, className: kind || ""});
  }

  function show(sum) {
    const slip = form.querySelector(".sell-slip");
    const rows = make("ol", "", {className: "sell-lines"});
    sum.lines.forEach(function (line, at) { rows.append(row(line, at)); });
    slip.querySelectorAll(":scope > p.quiet").forEach(function (part) { part.remove(); });
    slip.append(make("h2", "This sale"), rows,
      make("p", "Prices are those of this copy. What is free is not known here; the sale is kept, its number follows.", {className: "notice loud"}));
    const total = awaySale.moneyText(sum.total, facts);
    hidden("total", total);
    texts.slice().reverse().forEach(function (text) { hidden("line", text); });
    const foot = form.querySelector(".bar-foot");
    const place = foot.querySelector(".sum");
    place.replaceChildren(...sum.taxes.map(function (one) { return sumRow("tax, " + one.name, one.tax); }),
      sumRow(sum.taxes.length ? "total with tax" : "total", sum.total));
    if (facts.cash !== "off") { place.append(sumRow("in cash", sum.cash)); }
    foot.append(payButton("account", "Account"), payButton("other", "Other"), payButton("card", "Card " + total),
      payButton("cash", "Keep the sale: cash " + awaySale.moneyText(sum.cash, facts), "main-action"));
    form.querySelector(".sell-desk").insertBefore(form.querySelector(".sell-pay-part"), form.querySelector(".sell-cuts"));
  }

  ["by", "tare"].forEach(function (name) {
    form.querySelectorAll('input[type="radio"][name="' + name + '"]').forEach(function (field) {
      if (query.get(name)) { field.checked = field.value === query.get(name); }
    });
  });
  ["name", "gross"].forEach(function (name) {
    const field = form.querySelector('input[type="text"][name="' + name + '"]');
    if (field && query.get(name)) { field.value = query.get(name); }
  });
  const find = (query.get("find") || "").toLowerCase();
  if (find) {
    form.querySelectorAll(".sell-tile").forEach(function (tile) {
      tile.hidden = !tile.textContent.toLowerCase().includes(find);
    });
  }
  const sum = texts.length ? awaySale.sumOf(texts, facts) : null;
  if (sum) { show(sum); }
  const said = SAID[query.get("said")] ||
    (texts.length && !sum ? "A line of this sale cannot be read without the server; start the sale again." : "");
  if (said) {
    const note = make("p", said, {className: "notice loud", tabIndex: -1});
    note.setAttribute("role", "alert");
    document.getElementById("main").prepend(note);
    note.focus();
  }
}());
