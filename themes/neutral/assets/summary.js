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

  // A column has a heading, whose name sorts and beside which its definition stands, and a cell a row: the table's own,
  // or one made when the row first shows it.
  const heads = [...template.content.querySelectorAll("th")];
  const places = { head: heads.pop(), cells: [], make: () => parse("<td role=cell>") };
  const parse = html => {
    template.innerHTML = html;
    return template.content.firstChild;
  };
  cols.forEach((col, k) => {
    const { id, label, signs } = col;
    col.head = heads[k];
    col.cells = [];
    col.make = i => {
      const said = (col.said ??= col.text.split("|"))[i];
      const value = said.replace(/[▲▼]/, sign => `<b role=img aria-label=${signs[sign]}>${sign}</b>`).replace(/ ?[±(].*/, "<i>$&</i>");
      return parse(`<td role=cell data-label="${label}"><a href="${links[i].href}#${id}"` + (value ? ">" + value : " class=none>not measured"));
    };
    col.head.firstChild.onclick = () => {
      order.value = sort.value === id && !order.value ? "up" : "";
      sort.value = id;
      keep();
    };
  });
  const own = cols.filter(col => !col.text);

  // Stocks that have the same places are tied: a line joins them.
  const place = ({ from, to, of }, shown) => {
    places.said = [];
    places.tied = [];
    shown.forEach((i, k) => {
      const [a, b] = order.value ? [of + 1 - to[i], of + 1 - from[i]] : [from[i], to[i]];
      const last = shown[k - 1], said = places.said[i] = from[i] ? a + (a < b ? " to " + b : "") : "";
      if (!said || said !== places.said[last]) return;
      places.tied[i] = "tied on";
      places.tied[last] ||= "tied";
    });
  };

  // Rows are dressed and put in their order a few at a time, those in sight at once: all are there all the while.
  const AT_ONCE = 50;
  const dressed = [], marked = [], hidden = [];
  let later, seen = own, by, texts;
  const dress = i => {
    const row = rows[i];
    if (!dressed[i]) {
      own.forEach((col, k) => col.cells[i] = row.children[k]);
      own[1].cells[i].insertAdjacentHTML("beforeend", `<label><input type=checkbox> compare<span class=unseen> ${links[i].innerHTML}`);
    }
    if ((dressed[i] ?? own) !== seen) row.replaceChildren(...seen.map(col => col.cells[i] ??= col.make(i)));
    dressed[i] = seen;
    if (row.classList.toggle("placed", seen[0] === places)) {
      places.cells[i].textContent = places.said[i];
      places.cells[i].className = places.tied[i] ?? "";
    }
    marked[i]?.classList.remove("by");
    marked[i] = by?.cells[i];
    marked[i]?.classList.add("by");
    return row;
  };
  const put = list => {
    body.append(...list.splice(0, AT_ONCE).map(dress));
    if (list[0] >= 0) later = setTimeout(put, 0, list);
  };
  const show = () => {
    const up = order.value, kept = chosen();
    by = cols.find(({ id }) => id === sort.value);
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean), narrowed = fields.slice(3).filter(field => field.value);
    if (wanted[0]) texts ??= links.map((link, i) => (link.parentNode.textContent + stocks.process[i]).toLowerCase());
    const shown = [...rows.keys()].filter(i => {
      const out = narrowed.some(field => stocks[field.name][i] !== field.selectedIndex)
        || wanted.some(word => !texts[i].includes(word));
      if (out !== !!hidden[i]) rows[i].hidden = hidden[i] = out;
      return !out;
    });
    const now = cols.filter((col, k) => k < 2 || col === by || kept.includes(col.id));
    if (by) {
      // What has no value stands last either way; equals stay as they stood.
      const { rank, from } = by, turn = up ? -1 : 1;
      shown.sort((a, b) => (rank[a] && rank[b] ? turn * (rank[a] - rank[b]) : !rank[a] - !rank[b]));
      if (from) place(by, shown), now.unshift(places);
    }
    // The same list as before where the columns are: rows then keep the cells that they have.
    seen = [seen, own].find(list => `${list.map(col => col.id)}` === `${now.map(col => col.id)}`) ?? now;
    // One by one, so that the button just pressed keeps the focus.
    const shownHeads = seen.map(col => col.head);
    for (const one of [...head.children]) if (!shownHeads.includes(one)) one.remove();
    shownHeads.forEach((one, k) => one === head.children[k] || head.insertBefore(one, head.children[k] ?? null));
    for (const col of cols) {
      col.head.classList.toggle("by", col === by);
      col.head.ariaSort = col !== by ? null : col.falls === !up ? "descending" : "ascending";
    }
    head.classList.toggle("placed", seen[0] === places);
    table.parentNode.classList.toggle("wide", !!seen[11]);
    clearTimeout(later);
    told.value = !shown.length ? told.dataset.none : by?.note ? `${by.name}, ${order.selectedOptions[0].text}. ${by.note}` : told.defaultValue;
    count.value = shown.length < rows.length ? `${shown.length} of ${rows.length} stocks` : "";
    clear.hidden = !location.hash;
    body.prepend(...shown.splice(0, AT_ONCE).map(dress));
    later = setTimeout(put, 0, shown);
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
  let two = [];
  body.onchange = ({ target }) => {
    const row = target.closest("tr");
    for (const one of two) one.querySelector("label + a")?.remove();
    two = target.checked ? [...two, row] : two.filter(one => one !== row);
    if (two[2]) two.shift().querySelector("input").checked = false;
    const [a, b] = two.map(({ id }) => id);
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
  if (location.hash.includes("=")) read();
  else show();
})();
