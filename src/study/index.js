// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
(() => {
  "use strict";
  const body = document.querySelector("tbody");
  const heads = [...document.querySelectorAll("thead th")];
  const form = document.querySelector(".filters");
  const status = form.querySelector("[role=status]");
  // Every text is read once: ten thousand rows are sorted and filtered without asking the page again.
  const rows = [...body.rows].map((element) => {
    const cells = [...element.cells].map((cell) => cell.dataset.is ?? cell.textContent);
    return { element, cells, text: (cells[1] + " " + cells[2]).toLowerCase() };
  });

  const order = (column) => (a, b) => {
    const x = a.cells[column], y = b.cells[column];
    if (!x || !y) return (x ? 0 : 1) - (y ? 0 : 1); // nothing known stands last
    const n = Number(x) - Number(y);
    return Number.isNaN(n) ? (x < y ? -1 : x > y ? 1 : 0) : n;
  };

  const sort = (column, head) => {
    const down = head.getAttribute("aria-sort") === "ascending";
    heads.forEach((other) => other.removeAttribute("aria-sort"));
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    const compare = order(column);
    rows.sort((a, b) => (down && a.cells[column] && b.cells[column] ? -compare(a, b) : compare(a, b)));
    const all = document.createDocumentFragment();
    rows.forEach((row) => all.append(row.element));
    body.append(all);
    show();
  };

  // On a narrow screen the table is laid out as lines, and some browsers then no longer tell that it is one. Said here and not ten times in
  // each of ten thousand rows.
  const ROLES = { table: "table", thead: "rowgroup", tbody: "rowgroup", tr: "row", td: "cell", "thead th": "columnheader", "tbody th": "rowheader" };
  for (const [which, role] of Object.entries(ROLES)) document.querySelectorAll(which).forEach((element) => element.setAttribute("role", role));

  heads.forEach((head, column) => {
    if (head.className === "picture") return;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    button.addEventListener("click", () => sort(column, head));
    head.replaceChildren(button);
  });

  // Laying out ten thousand rows takes seconds: they are shown by the hundred.
  const STEP = 300;
  let most = STEP;
  const more = document.createElement("button");
  more.type = "button";
  more.textContent = `Show ${STEP} more`;
  more.addEventListener("click", () => {
    most += STEP;
    show();
  });
  body.parentElement.after(more);

  const inputs = [...form.querySelectorAll("[data-filter]")];
  const show = () => {
    let fitting = 0;
    const wanted = inputs.map((input) => [input.dataset.filter, input.value]).filter(([, value]) => value);
    for (const row of rows) {
      const fits = wanted.every(([key, value]) => (key === "text" ? row.text.includes(value.toLowerCase()) : row.cells[key] === value));
      fitting += fits;
      row.element.hidden = !fits || fitting > most;
    }
    more.hidden = fitting <= most;
    status.textContent = `${fitting} of ${rows.length}` + (fitting > most ? `, the first ${most} shown` : "");
  };
  inputs.forEach((input) => {
    if (input.tagName === "SELECT") {
      const values = [...new Set(rows.map((row) => row.cells[input.dataset.filter]))].filter(Boolean).sort();
      input.append(new Option("all", ""), ...values.map((value) => new Option(value, value)));
    }
    input.addEventListener("input", () => {
      most = STEP;
      show();
    });
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.hidden = false;
  show();
})();
