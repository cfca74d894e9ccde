// The summary's order and filter. Without this script the table stands as it is; nothing is hidden.
// What is chosen is kept in the address after the #, so that a sorted view can be linked:
// #by=average_gradient&turn=low&find=tern&speed=100
"use strict";
(() => {
  const table = document.getElementById("summary");
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const controls = document.getElementById("controls");
  const [find, speed, by, turn, count] = ["find", "speed", "by", "turn", "count"].map((id) => document.getElementById(id));
  const heads = [...table.tHead.rows[0].cells].filter((head) => head.dataset.column);
  const state = { find: "", speed: "", by: "", turn: "high" };

  const valueOf = (row, column) => {
    const cell = row.querySelector(`td[data-column="${CSS.escape(column)}"]`);
    return cell && cell.dataset.sort !== "" ? Number(cell.dataset.sort) : null;
  };

  // Rows without a value stand last, whichever way the others run.
  const compare = (a, b) => {
    if (state.by === "name") {
      const order = a.dataset.name.localeCompare(b.dataset.name);
      return state.turn === "low" ? -order : order;
    }
    const [x, y] = [valueOf(a, state.by), valueOf(b, state.by)];
    if (x === null || y === null) return (x === null) - (y === null);
    return state.turn === "high" ? y - x : x - y;
  };

  const show = () => {
    const sorted = state.by ? [...rows].sort((a, b) => compare(a, b) || rows.indexOf(a) - rows.indexOf(b)) : rows;
    let shown = 0;
    const words = state.find.toLowerCase().split(/\s+/).filter(Boolean);
    for (const row of sorted) {
      const fits = words.every((word) => row.dataset.words.includes(word)) && (!state.speed || row.dataset.speed === state.speed);
      row.hidden = !fits;
      shown += fits;
      body.append(row);
    }
    for (const cell of table.querySelectorAll(".extra")) cell.classList.toggle("wanted", cell.dataset.column === state.by);
    for (const head of heads) {
      const mine = head.dataset.column === state.by;
      if (mine) head.setAttribute("aria-sort", (state.by === "name") === (state.turn === "high") ? "ascending" : "descending");
      else head.removeAttribute("aria-sort");
    }
    find.value = state.find;
    speed.value = state.speed;
    by.value = state.by;
    turn.hidden = state.by === "";
    turn.setAttribute("aria-pressed", String(state.turn === "low"));
    turn.textContent = state.by === "name" ? (state.turn === "high" ? "A to Z" : "Z to A") : state.turn === "high" ? "Highest first" : "Lowest first";
    count.textContent = shown === rows.length ? "" : `${shown} of ${rows.length}`;
  };

  const keep = () => {
    const kept = new URLSearchParams();
    for (const key of ["by", "turn", "find", "speed"]) {
      if (state[key] && !(key === "turn" && state.turn === "high")) kept.set(key, state[key]);
    }
    const text = kept.toString();
    history.replaceState(null, "", text ? `#${text}` : location.pathname + location.search);
  };

  const read = () => {
    const kept = new URLSearchParams(location.hash.slice(1));
    state.find = kept.get("find") ?? "";
    state.speed = [...speed.options].some((option) => option.value === kept.get("speed")) ? kept.get("speed") : "";
    state.by = heads.some((head) => head.dataset.column === kept.get("by")) ? kept.get("by") : "";
    state.turn = kept.get("turn") === "low" ? "low" : "high";
    show();
  };

  const set = (changes) => {
    Object.assign(state, changes);
    keep();
    show();
  };

  for (const head of heads) {
    const button = document.createElement("button");
    button.type = "button";
    const link = head.querySelector("a");
    button.textContent = (link ?? head).textContent;
    if (link) {
      button.title = link.title;
      link.replaceWith(button);
    } else head.replaceChildren(button);
    button.addEventListener("click", () => {
      const column = head.dataset.column;
      set({ by: column, turn: state.by === column && state.turn === "high" ? "low" : "high" });
    });
  }
  find.addEventListener("input", () => set({ find: find.value }));
  speed.addEventListener("change", () => set({ speed: speed.value }));
  by.addEventListener("change", () => set({ by: by.value }));
  turn.addEventListener("click", () => set({ turn: state.turn === "high" ? "low" : "high" }));
  addEventListener("hashchange", read);
  controls.hidden = false;
  read();
})();
