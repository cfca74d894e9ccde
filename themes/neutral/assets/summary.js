// The summary in the reader's order, narrowed down, with columns of choice. Without this script the table stands as it
// is and nothing is hidden. The form holds what is chosen; the address keeps it after the #, nothing where it is as at
// first: #sort=gamma&order=up&words=tern&speed=fast&maker=Halse&retested=yes&columns=gamma,mtf50
// (No template literal stands within another: the minifier does not follow that.)
"use strict";
(() => {
  const [form, table, template, block] = document.querySelectorAll("#controls,#summary,#heads,#block");
  const { sort, order, words, speed, maker, retested, told, count, pair, clear } = form.elements;
  const fields = [sort, order, words, speed, maker, retested];
  const boxes = [...form.querySelectorAll("[name=columns]")];
  const chosen = () => boxes.filter(box => box.checked).map(box => box.value), usual = `${chosen()}`;
  const body = table.tBodies[0], rows = [...body.rows], head = table.tHead.rows[0];
  const links = rows.map(row => row.querySelector("a"));
  // The block's lists are in the order of the rows.
  const { columns: cols, stocks } = JSON.parse(block.textContent);

  // A column has a cell a row, and its heading last: the name there sorts, what stands beside it leads to the definition.
  const heads = [...template.content.querySelectorAll("th")];
  const parse = html => {
    template.innerHTML = html;
    return [...template.content.children];
  };
  const places = { cells: [...parse("<td role=cell>".repeat(rows.length)), heads.pop()] };
  cols.forEach((col, k) => {
    if (!col.text) col.cells = [...rows.map(row => row.cells[k]), heads[k]];
    heads[k].firstChild.onclick = () => {
      order.value = sort.value === col.id && !order.value ? "up" : "";
      sort.value = col.id;
      keep();
    };
  });
  let laid = cols.filter(col => col.cells);
  head.replaceChildren(...heads.slice(0, laid.length));
  const fill = ({ id, label, signs, text }) => parse(text.split("|").map((said, i) => {
    const value = said.replace(/[▲▼]/, sign => `<b role=img aria-label=${signs[sign]}>${sign}</b>`).replace(/ ?[±(].*/, "<i>$&</i>");
    return `<td role=cell data-label="${label}"><a href="${links[i].href}#${id}"` + (value ? ">" + value : " class=none>not measured");
  }).join(""));

  // Stocks that have the same places are tied: a line joins them.
  const place = ({ from, to, of }, shown) => {
    let last;
    for (const i of shown) {
      const cell = places.cells[i];
      const [a, b] = order.value ? [of + 1 - to[i], of + 1 - from[i]] : [from[i], to[i]];
      cell.textContent = from[i] ? a + (a < b ? " to " + b : "") : "";
      cell.className = from[i] && cell.textContent === last?.textContent ? "tied on" : "";
      if (cell.className) last.className ||= "tied";
      last = cell;
    }
  };

  let later, was, texts;
  // A few rows are put in their order at once, the others as time allows; all are there all the while.
  const put = list => {
    body.append(...list.splice(0, 50));
    if (list[0]) later = setTimeout(put, 0, list);
  };
  const show = () => {
    const by = cols.find(({ id }) => id === sort.value), up = order.value;
    const wanted = words.value.toLowerCase().split(/\s+/);
    texts ??= links.map((link, i) => (link.parentNode.textContent + stocks.process[i]).toLowerCase());
    const shown = [...rows.keys()].filter(i => !(rows[i].hidden =
      fields.slice(3).some(field => field.value && stocks[field.name][i] !== field.selectedIndex)
      || wanted.some(word => !texts[i].includes(word))));
    const seen = cols.filter((col, k) => k < 2 || col === by || chosen().includes(col.id));
    if (by) {
      // What has no value stands last either way; equals stay as they stood.
      const { rank, from } = by, turn = up ? -1 : 1;
      shown.sort((a, b) => !rank[a] - !rank[b] || turn * (rank[a] - rank[b]));
      if (from) place(by, shown), seen.unshift(places);
    }
    for (const col of laid) if (!seen.includes(col)) col.cells.forEach(cell => cell.remove());
    seen.forEach((col, k) => {
      if (laid.includes(col)) return;
      col.cells ??= [...fill(col), heads[cols.indexOf(col)]];
      col.cells.forEach((cell, i) => k ? seen[k - 1].cells[i].after(cell) : (rows[i] ?? head).prepend(cell));
    });
    laid = seen;
    table.classList.toggle("placed", seen[0] === places);
    table.parentNode.classList.toggle("wide", !!seen[11]);
    for (const col of [was, by]) if (col) {
      col.cells.forEach(cell => cell.classList.toggle("by", col === by));
      col.cells[rows.length].ariaSort = col !== by ? null : col.falls === !up ? "descending" : "ascending";
    }
    was = by;
    clearTimeout(later);
    const list = shown.map(i => rows[i]);
    body.prepend(...list.splice(0, 50));
    later = setTimeout(put, 0, list);
    told.value = !shown.length ? told.dataset.none : by?.note ? `${by.name}, ${order.selectedOptions[0].text}. ${by.note}` : told.defaultValue;
    count.value = shown.length < rows.length ? `${shown.length} of ${rows.length} stocks` : "";
    clear.hidden = !location.hash;
  };

  const keep = typing => {
    const kept = new URLSearchParams();
    for (const { name, value } of fields) if (value) kept.set(name, value);
    if (`${chosen()}` !== usual) kept.set("columns", chosen());
    const hash = `#${kept}`.replaceAll("%2C", ",");
    history[typing ? "replaceState" : "pushState"](0, "", hash[1] ? hash : location.pathname);
    show();
  };
  // An address that leads to a place on the page leaves all as it is.
  const read = () => {
    if (!/^$|=/.test(location.hash)) return;
    const kept = new URLSearchParams(location.hash.slice(1)), asked = kept.get("columns")?.split(",");
    form.reset();
    for (const field of fields) {
      field.value = kept.get(field.name) ?? "";
      if (field.selectedIndex < 0) field.value = "";
    }
    if (asked && (!asked[0] || boxes.some(box => asked.includes(box.value)))) {
      boxes.forEach(box => box.checked = asked.includes(box.value));
    }
    show();
  };

  // Two stocks that are two are each linked to their comparison; a third takes the place of the first.
  links.forEach(({ innerHTML }, i) => cols[1].cells[i]
    .insertAdjacentHTML("beforeend", `<label><input type=checkbox> compare<span class=unseen> ${innerHTML}`));
  let two = [];
  body.onchange = ({ target }) => {
    const row = target.closest("tr");
    for (const one of two) one.querySelector("label + a")?.remove();
    two = target.checked ? [...two, row] : two.filter(one => one !== row);
    if (two[2]) two.shift().querySelector("input").checked = false;
    const [a, b] = two.map(({ id, dataset }) => `${id}/${dataset.test}`);
    if (b) two.forEach((one, i) => one.querySelector("label").insertAdjacentHTML("afterend",
      `<a href="${pair.dataset.to}#a=${a}&b=${b}">with ${two[1 - i].querySelector("a").innerHTML}`));
    pair.value = b ? pair.dataset.said : "";
  };

  clear.onclick = () => {
    form.reset();
    keep();
    words.focus();
  };
  form.onsubmit = () => false;
  form.oninput = ({ target }) => keep(target === words);
  onpopstate = read;
  if (location.hash) read();
})();
