// Characteristic curves of one or two tests, drawn into an empty chart of the page: one scale across and down.
// Marks, with their colours and dashes, are the chart's own groups; what can be read off stands in data attributes.
"use strict";
(() => {
  const TICK = 0.3;
  const [LEFT, TOP, RIGHT, LETTER] = [36, 28, 462, 9.2]; // the plot's edges, of 480 across; a letter on the wide side
  const POINTS = { stock: "h0", reference: "m-5.6 0l5.6 5.6 5.6-5.6-5.6-5.6z", other: "m-4-4h8v8h-8z" };

  // `lines` are { name, kind, x, density, low, high, point }, the speed point's x or none; `label` is what x measures.
  window.drawCurves = (chart, lines, label, number, safe) => {
    const marks = {};
    const put = (kind, mark) => (marks[kind] = (marks[kind] ?? "") + mark);
    const path = (kind, d, more = "") => put(kind, `<path d="${d}"${more}/>`);
    const write = (kind, x, y, text, anchor = "end") => put(kind, `<text x="${x}" y="${y}" text-anchor="${anchor}">${text}</text>`);
    const y1 = TICK * Math.max(2, Math.ceil((Math.max(...lines.flatMap(({ high }) => high)) + 0.02) / TICK));
    const first = Math.floor(Math.min(...lines.map(({ x }) => x[0])) / TICK + 0.02);
    const last = Math.ceil(Math.max(...lines.map(({ x }) => x.at(-1))) / TICK - 0.02);
    const unit = Math.min((RIGHT - LEFT) / TICK / (last - first), 400 / y1);
    const x0 = (TICK * (first + last) - (RIGHT - LEFT) / unit) / 2;
    const across = (x) => +(LEFT + (x - x0) * unit).toFixed(1);
    const down = (y) => +(TOP + (y1 - y) * unit).toFixed(1);
    const bottom = down(0);
    chart.setAttribute("viewBox", `0 0 480 ${bottom + 44}`);
    Object.assign(chart.dataset, { x: `${LEFT} ${x0} ${RIGHT} ${x0 + (RIGHT - LEFT) / unit}`, y: `${bottom} 0 ${TOP} ${y1}`, xName: label });

    // As many figures as fit, zero among them
    const tick = (at, room, ...place) => at % Math.ceil(room / unit / TICK) || write("tick", ...place);
    for (let at = Math.ceil(x0 / TICK), x; (x = across(at * TICK)) <= RIGHT; at++) {
      path("grid", `M${x} ${bottom}V${TOP}`);
      tick(at, 36, x, bottom + 18, number(at * TICK, 1), "middle");
    }
    for (let at = 0, y; (y = down(at * TICK)) >= TOP; at++) {
      path("grid", `M${LEFT} ${y}H${RIGHT}`);
      tick(at, 16, LEFT - 6, y + 4.5, number(at * TICK, 1));
    }
    path("axis", `M${LEFT} ${TOP}V${bottom}H${RIGHT}`);
    write("unit", 4, 16, chart.dataset.yName, "start");
    write("unit", RIGHT, bottom + 36, label);

    const taken = [];
    const curves = lines.map(({ name, kind, x, density, low, high, point }) => {
      const places = (values) => values.map((y, at) => [across(x[at]), down(y)]);
      const curve = places(density);
      path(`${kind}-band`, `M${[...places(high), ...places(low).reverse()].join("L")}z`, ` data-band="${safe(name)}"`);
      path(`${kind}-curve`, `M${curve.join("L")}`, ` data-line="${safe(name)}"`);
      const speed = curve[x.findIndex((x) => x >= point)];
      if (speed) path(`${kind}-level`, `M${speed}V${bottom}`);
      if (speed) path(`${kind}-point`, `M${speed}${POINTS[kind]}`);
      taken.push(...curve);
      return curve;
    });
    // A name stands by its curve, a piece of line before it: from the top down, where nothing lies under it.
    lines.forEach(({ name, kind }, which) => {
      const width = 32 + LETTER * name.length;
      const isFree = ([left, y]) => left > LEFT + 4 && left + width < RIGHT && y > TOP + 14 && y < bottom - 6 && !taken.some(([px, py]) => px > left - 4 && px < left + width + 4 && py > y - 17 && py < y + 8);
      const spots = [8, 16, 30, 50].flatMap((gap) => curves[which].toReversed().flatMap(([x, y]) => [[x - gap - width, y - gap / 2], [x + gap, y + gap / 2 + 14]]));
      const [left, y] = spots.find(isFree) ?? [LEFT + 8, TOP + 18 + 20 * which];
      write(`${kind}-label`, left + 32, y, safe(name), "start");
      path(`${kind}-curve`, `M${left} ${y - 5}h26`);
      for (let at = 0; at < width; at += 8) taken.push([left + at, y - 5]);
    });
    for (const group of chart.querySelectorAll("g")) group.innerHTML = marks[group.getAttribute("class").slice(5)] ?? "";
  };

  // The same curves as a table: densities a tick apart, between two published points on the straight line that joins
  // them, and none where a curve does not reach.
  window.tellCurves = (lines, label, caption, figure, safe) => {
    const densityAt = ({ x, density }, place) => {
      const at = Math.max(1, x.findIndex((x) => x >= place));
      const share = (place - x[at - 1]) / (x[at] - x[at - 1]);
      return place < x[0] || place > x.at(-1) ? "" : figure(density[at - 1] + share * (density[at] - density[at - 1]));
    };
    const cells = (kind, texts) => texts.map((text) => `<${kind}>${text}</${kind.slice(0, 2)}>`).join("");
    // Whole tenths over ten are the decimal numbers themselves; multiples of 0.3 are not.
    const last = Math.floor((Math.max(...lines.map(({ x }) => x.at(-1))) * 10) / 3);
    const rows = [];
    for (let at = Math.ceil((Math.min(...lines.map(({ x }) => x[0])) * 10) / 3); at <= last; at++) {
      const place = (at * 3) / 10;
      rows.push("<tr>" + cells('th scope="row"', [figure(place)]) + cells("td", lines.map((line) => densityAt(line, place))) + "</tr>");
    }
    const head = cells('th scope="col"', [label[0].toUpperCase() + label.slice(1), ...lines.map(({ name }) => safe(name))]);
    return `<caption>${safe(caption)}</caption><thead><tr>${head}</tr></thead><tbody>${rows.join("")}</tbody>`;
  };
})();
