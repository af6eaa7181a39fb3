// A find field for every long page: as one types, lines that do not match are hidden. Case and
// accents do not matter, and every word must be there. Pages that search on the server keep theirs.
"use strict";

(function () {
  const MANY = 10;
  const BIG_TABLE = 5;
  const LEAST_KINDS = 3;
  const box = document.getElementById("find-here");
  const main = document.getElementById("main");
  const field = document.getElementById("f-find-here");
  if (!box || !main || !field) { return; }
  const said = document.getElementById("found-here");
  const kinds = "tbody > tr, ul > li, ol > li, [data-find-row]";
  const apart = "nav, .bar, .chips, .problem, [data-no-find], #find-here";

  function plain(text) {
    return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  }

  // a list that only holds tables is no line: the rows of its tables are
  function isLine(part) {
    return part.tagName === "TR" || part.querySelectorAll("tbody > tr").length <= BIG_TABLE;
  }

  function lines() {
    const parts = Array.from(main.querySelectorAll(kinds)).filter(function (part) {
      return !part.closest(apart) && isLine(part);
    });
    const all = new Set(parts);
    return parts.filter(function (part) {
      let above = part.parentElement.closest(kinds);
      while (above && !all.has(above)) { above = above.parentElement.closest(kinds); }
      return !above;
    });
  }

  function textOf(line) {
    const typed = Array.from(line.querySelectorAll("input, textarea")).filter(function (one) {
      return one.type !== "hidden" && one.type !== "radio" && one.type !== "checkbox";
    }).map(function (one) { return one.value; });
    return plain([line.textContent, line.dataset.find || ""].concat(typed).join(" "));
  }

  function unfold(line) {
    for (let fold = line.closest("details"); fold; fold = fold.parentElement.closest("details")) {
      if (!fold.open) { fold.open = true; fold.dataset.unfolded = ""; }
    }
  }

  function foldAgain() {
    main.querySelectorAll("[data-unfolded]").forEach(function (fold) {
      fold.open = false;
      delete fold.dataset.unfolded;
    });
  }

  // by its style: a line that is laid out as a grid does not heed the word hidden
  function show(line, fits) {
    if (fits && "found" in line.dataset) {
      line.style.removeProperty("display");
      delete line.dataset.found;
    }
    if (!fits) {
      line.style.setProperty("display", "none", "important");
      line.dataset.found = "no";
    }
  }

  function say(shown, all) {
    said.textContent = shown === 0 ? box.dataset.none :
      box.dataset.count.replace("{shown}", shown).replace("{all}", all);
  }

  function find() {
    const words = plain(field.value).split(/\s+/).filter(Boolean);
    const all = lines();
    let shown = 0;
    if (!words.length) { foldAgain(); }
    all.forEach(function (line) {
      const text = words.length ? textOf(line) : "";
      const fits = words.every(function (word) { return text.includes(word); });
      if (fits) { shown += 1; }
      if (fits && words.length) { unfold(line); }
      show(line, fits);
    });
    if (words.length) { say(shown, all.length); } else { said.textContent = ""; }
  }

  // a sheet of empty lines to write in holds nothing to find
  function hasMany(all) {
    return all.length > MANY && new Set(all.map(function (line) {
      return textOf(line).replace(/[\s\d]/g, "");
    })).size > LEAST_KINDS;
  }

  // in the row of the title, which wraps where both do not fit
  function place() {
    const title = main.querySelector("h1");
    const row = main.querySelector(".page-head");
    if (row) {
      const before = row.querySelector(":scope > .plan-state") || row.querySelector(":scope > h1");
      if (before) { before.after(box); } else { row.append(box); }
      return;
    }
    if (!title) { return; }
    const head = title.closest("[class*='-head']");
    if (!head) {
      const made = document.createElement("div");
      made.className = "page-head";
      title.replaceWith(made);
      made.append(title, box);
    } else if (head.matches(".bench-head")) {
      head.firstElementChild.after(box);
    } else {
      head.after(box);
    }
  }

  function offer() {
    const own = main.querySelector("input[name=find], input[type=search], [data-find-own]");
    const isLong = !own && hasMany(lines());
    if (isLong && box.hidden) { place(); }
    box.hidden = !isLong && !field.value;
    if (field.value) { find(); }
  }

  field.addEventListener("input", find);
  field.addEventListener("keydown", function (event) {
    if (event.key === "Enter") { event.preventDefault(); }
    if (event.key === "Escape" && field.value) { event.preventDefault(); field.value = ""; find(); }
  });
  document.addEventListener("htmx:after:swap", offer);
  offer();
}());
