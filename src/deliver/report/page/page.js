// Makes the page handier; nothing on it needs this. Puts text in as text only.
(function () {
  "use strict";
  var root = document.documentElement;
  function all(what, within) { return Array.prototype.slice.call((within || document).querySelectorAll(what)); }
  all(".tools").forEach(function (tools) { tools.hidden = false; });

  all("[data-theme-switch]").forEach(function (button) {
    button.addEventListener("click", function () {
      var dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
      root.dataset.theme = dark ? "light" : "dark";
    });
  });

  all("[data-paper-choice]").forEach(function (choice) {
    choice.addEventListener("change", function () { root.dataset.paper = choice.value; });
  });
  all("[data-print]").forEach(function (button) {
    button.addEventListener("click", function () {
      var paper = button.dataset.print, style = document.createElement("style");
      style.textContent = "@page{size:" + paper + ";margin:10mm}@page across{size:" + paper + " landscape;margin:10mm}";
      document.head.appendChild(style);
      print();
      style.remove();
    });
  });
  all("[data-large]").forEach(function (box) {
    box.addEventListener("change", function () {
      all(".sheet").forEach(function (sheet) { sheet.classList.toggle("large", box.checked); });
    });
  });
  all("[data-only]").forEach(function (choice) {
    choice.addEventListener("change", function () {
      all(".sheet [data-s]").forEach(function (part) {
        part.classList.toggle("off", choice.value !== "" && part.dataset.s !== choice.value);
      });
    });
  });

  function value(row, column) {
    var text = row.cells[column] ? row.cells[column].textContent.trim() : "";
    var number = parseFloat(text.replace(/\u202f/g, ""));
    return { text: text, number: isFinite(number) ? number : null };
  }
  function compare(a, b) {
    if (a.number !== null && b.number !== null && a.number !== b.number) { return a.number - b.number; }
    if ((a.number === null) !== (b.number === null)) { return a.number === null ? 1 : -1; }
    return a.text.localeCompare(b.text);
  }
  function sorted(table, column, down) {
    var body = table.tBodies[0], rows = Array.prototype.slice.call(body.rows);
    rows.map(function (row, place) { return { row: row, key: value(row, column), place: place }; })
      .sort(function (a, b) { return (down ? -compare(a.key, b.key) : compare(a.key, b.key)) || a.place - b.place; })
      .forEach(function (entry) { body.appendChild(entry.row); });
  }
  all("table[data-sort]").forEach(function (table) {
    all("thead th", table).forEach(function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      button.title = "Sort";
      while (head.firstChild) { button.appendChild(head.firstChild); }
      head.appendChild(button);
      button.addEventListener("click", function () {
        var down = head.getAttribute("aria-sort") === "ascending";
        all("thead th", table).forEach(function (other) { other.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        sorted(table, column, down);
      });
    });
  });

  all("[data-filter]").forEach(function (input) {
    var tools = input.closest(".tools"), table = tools.nextElementSibling.querySelector("table");
    input.addEventListener("input", function () {
      var wanted = input.value.trim().toLowerCase(), shown = 0, rows = all("tbody tr", table);
      rows.forEach(function (row) {
        row.hidden = row.textContent.toLowerCase().indexOf(wanted) < 0;
        shown += row.hidden ? 0 : 1;
      });
      all("[data-count]", tools).forEach(function (count) { count.textContent = shown + " of " + rows.length; });
    });
  });

  // What is folded prints open, also where the style sheet cannot say so.
  var folded = [];
  addEventListener("beforeprint", function () {
    folded = all("details:not([open])");
    folded.forEach(function (part) { part.open = true; });
  });
  addEventListener("afterprint", function () { folded.forEach(function (part) { part.open = false; }); });
}());
