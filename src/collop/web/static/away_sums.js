// What a sale comes to while the server is away, from the prices of the page: whole numbers only,
// rounded by the shop's own rule. Read by the offline script and by the page; the server counts
// again when the sale is sent, and says so if it comes to something else.
"use strict";

// eslint-disable-next-line no-unused-vars
const awaySale = (function () {
  const COUNT = {lb: 45359237000n, kg: 100000000000n, g: 100000000n};
  const MOST_LINES = 40;

  // Facts stand in one attribute of the sale's form, as JSON.
  function factsOf(html) {
    const found = /data-away="([^"]*)"/.exec(html);
    if (!found) { return null; }
    const signs = {"&#34;": "\"", "&quot;": "\"", "&#39;": "'", "&lt;": "<", "&gt;": ">", "&amp;": "&"};
    return JSON.parse(found[1].replace(/&(?:#34|quot|#39|lt|gt|amp);/g, function (sign) {
      return signs[sign];
    }));
  }

  // A weight as it is typed or read off the scale; null for anything else.
  function countOf(text, unit) {
    const found = /^([0-9]{1,6})(?:[.,]([0-9]{1,3}))?(?: ?(lb|kg|g))?$/i.exec((text || "").trim());
    if (!found) { return null; }
    const used = (found[3] || unit || "lb").toLowerCase();
    const places = found[2] ? found[2].length : 0;
    const whole = BigInt(found[1] + (found[2] || "")) * COUNT[used];
    const scale = 10n ** BigInt(places);
    return whole % scale || whole === 0n ? null : {count: whole / scale, unit: used};
  }

  // The query of the page with one line more, or with the name of what cannot be read.
  function next(fields, facts) {
    const lines = fields.getAll("line");
    const query = new URLSearchParams(lines.map(function (line) { return ["line", line]; }));
    ["by", "name"].forEach(function (name) {
      if (fields.get(name)) { query.set(name, fields.get(name)); }
    });
    const cut = fields.get("cut") || fields.get("chosen") || "";
    const gross = countOf(fields.get("gross"), fields.get("unit"));
    const tare = BigInt(facts.tares[fields.get("tare")] || 0);
    let said = "";
    if (fields.get("ticket")) { said = "ticket"; }
    else if (!facts.cuts[cut]) { said = "cut"; }
    else if (gross === null || gross.count <= tare) { said = "gross"; }
    else if (lines.length >= MOST_LINES) { said = "most"; }
    if (said) {
      query.set("said", said);
      if (fields.get("gross")) { query.set("gross", fields.get("gross")); }
      return query.toString();
    }
    const line = new URLSearchParams({cut: cut});
    const packing = facts.tares[fields.get("tare")] ? fields.get("tare") : "";
    if (packing) { line.set("tare", packing); query.set("tare", packing); }
    line.set("net", String(gross.count - tare) + gross.unit);
    query.append("line", line.toString());
    return query.toString();
  }

  function rounded(over, under, rule) {
    const whole = over / under;
    const twice = 2n * (over % under);
    const isUp = twice > under || (twice === under && (rule !== "half-even" || whole % 2n === 1n));
    return isUp ? whole + 1n : whole;
  }

  function lineOf(text, facts) {
    const told = new URLSearchParams(text);
    const cut = facts.cuts[told.get("cut")];
    const found = /^([0-9]{1,18})(lb|kg|g|oz)$/.exec(told.get("net") || "");
    if (!cut || !found || told.get("ticket")) { return null; }
    const count = BigInt(found[1]);
    return {text: text, id: told.get("cut"), name: cut.name, tax: cut.tax, count: count, unit: found[2],
      tare: told.get("tare") || "", price: cut.price,
      money: rounded(count * BigInt(cut.over), BigInt(cut.under), facts.rule)};
  }

  function taxOn(base, tax, rule) {
    return tax ? rounded(base * BigInt(tax.over), BigInt(tax.under), rule) : 0n;
  }

  function cashOf(total, facts) {
    const step = BigInt(facts.step);
    if (facts.cash === "off" || step <= 1n) { return total; }
    if (facts.cash === "down-5") { return total / step * step; }
    const near = rounded(total, step, "half-up") * step;
    return near === 0n && total > 0n ? step : near;
  }

  // Lines, taxes by class and total, in minor units; null if a line cannot be read here.
  function sumOf(texts, facts) {
    const lines = texts.map(function (text) { return lineOf(text, facts); });
    if (lines.includes(null)) { return null; }
    const classes = {};
    lines.forEach(function (line) {
      if (line.tax && line.money) { (classes[line.tax] = classes[line.tax] || []).push(line.money); }
    });
    const add = function (parts) { return parts.reduce(function (sum, one) { return sum + one; }, 0n); };
    const taxes = Object.keys(classes).sort().map(function (name) {
      const parts = facts.per === "item" ? classes[name] : [add(classes[name])];
      const each = parts.map(function (base) { return taxOn(base, facts.taxes[name], facts.rule); });
      return {name: name, tax: add(each)};
    });
    const total = add(lines.map(function (line) { return line.money; })) +
      add(taxes.map(function (one) { return one.tax; }));
    return {lines: lines, taxes: taxes, total: total, cash: cashOf(total, facts)};
  }

  function moneyText(minor, facts) {
    const text = String(minor).padStart(facts.places + 1, "0");
    const at = text.length - facts.places;
    return facts.places ? text.slice(0, at) + "." + text.slice(at) : text;
  }

  function weightText(line) {
    const unit = line.unit === "oz" || !COUNT[line.unit] ? "lb" : line.unit;
    const places = unit === "lb" ? 2 : 3;
    const shown = rounded(line.count * 10n ** BigInt(places), COUNT[unit], "half-up");
    return moneyText(shown, {places: places}) + " " + unit;
  }

  return {factsOf: factsOf, next: next, sumOf: sumOf, moneyText: moneyText, weightText: weightText};
}());
