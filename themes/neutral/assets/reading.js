/* Values are read off a chart's lines: by pointer, touch or keyboard. What is read is what is drawn, so that any chart
   whose axes and lines are named can be read, whoever drew it; the figure keeps an output for the values. */
(() => {
  "use strict";

  /* An axis in its own units, logarithms where it is logarithmic: where a value stands, which value stands there, and how
     it is written. */
  const axisOf = (data, name) => {
    const log = data.log?.includes(name),
      [from, low, to, high] = data[name].split(" ").map((part, i) => log && i % 2 ? Math.log10(part) : +part),
      digits = high - low > 20 ? 1 : 2,
      figure = v => log ? `${+(10 ** v).toPrecision(3)}` : (+v.toFixed(digits) + 0).toFixed(digits);
    return {
      from, to,
      step: log ? 0.02 : digits > 1 ? 0.05 : 1,
      at: v => from + (v - low) / (high - low) * (to - from),
      of: at => low + (at - from) / (to - from) * (high - low),
      round: v => log ? Math.log10(figure(v)) : +figure(v),
      say: v => figure(v).replace("-", "−"),
    };
  };

  /* How far from near to far something holds. */
  const reach = (near, far, holds) => {
    for (let turn = 24; turn; turn--) {
      const middle = (near + far) / 2;
      if (holds(middle)) near = middle;
      else far = middle;
    }
    return near;
  };

  const wire = chart => {
    const data = chart.dataset,
      out = chart.parentNode.querySelector("output"),
      lines = [...chart.querySelectorAll("[data-line]")].reverse();
    if (!out || !lines[0] || !chart.tabIndex) return;
    const x = axisOf(data, "x"),
      y = axisOf(data, "y"),
      endsOf = line => {
        const box = line.getBBox();
        return [box.x, box.x + box.width];
      },
      ends = lines.flatMap(endsOf),
      first = x.round(x.of(Math.min(...ends))),
      last = x.round(x.of(Math.max(...ends))),
      add = (parent, name, values) => {
        const made = document.createElementNS(parent.namespaceURI, name);
        for (const key in values) made.setAttribute(key, values[key]);
        return parent.appendChild(made);
      },
      marks = add(chart, "g", { class: "mark-reading" }),
      write = (...texts) => {
        for (const text of texts) add(out, "span").textContent = text;
        return texts.join(" ");
      };
    let read;

    const show = v => {
      read = v;
      marks.textContent = "";
      out.textContent = v == null ? out.dataset.hint : "";
      if (v == null) return;
      read = x.round(Math.min(last, Math.max(first, v)));
      const at = x.at(read);
      add(marks, "path", { d: `M${at} ${y.from}V${y.to}` });
      let told = write(data.xName, x.say(read), "");
      write(data.yName, "", "");
      for (const line of lines) {
        const name = line.dataset.line,
          [start, end] = endsOf(line);
        let value = "–",
          range = "";
        // A line may seem to end a hair before the last value that is read, for both are rounded.
        if (at > start - 1 && at < end + 1) {
          const there = length => line.getPointAtLength(length),
            cy = there(reach(0, line.getTotalLength(), length => there(length).x < at)).y,
            band = [...chart.querySelectorAll("[data-band]")].find(one => one.dataset.band == name);
          value = y.say(y.of(cy));
          if (band) range = [y.from, y.to].map(edge =>
            y.say(y.of(reach(cy, edge, to => band.isPointInFill(new DOMPoint(at, to)))))).join(" to ");
          add(marks, "circle", { cx: at, cy, r: 4 });
        }
        told += "; " + write(name, value, range);
      }
      chart.ariaValueNow = read;
      chart.ariaValueText = told;
    };
    const isHeld = () => document.activeElement == chart;

    chart.onpointermove = e => {
      const grid = chart.getScreenCTM();
      if (e.buttons || !isHeld()) show(x.of((e.clientX - grid.e) / grid.a));
    };
    chart.onpointerdown = e => {
      chart.onpointermove(e);
      chart.focus({ preventScroll: true });
    };
    // A mouse that only passes leaves nothing behind.
    chart.onpointerleave = () => isHeld() || show();
    chart.onfocus = () => show(read ?? (first + last) / 2);
    chart.onkeydown = e => {
      const { key } = e,
        way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 6, PageDown: -6 }[key],
        to = { Home: first, End: last, Escape: null };
      // With these two held, the same keys are the browser's.
      if (e.altKey || e.metaKey || !way && !(key in to)) return;
      show(way ? (Math.round(read / x.step) + (e.shiftKey ? 6 * Math.sign(way) : way)) * x.step : to[key]);
      if (read == null) chart.blur();
      e.preventDefault();
    };

    // A slider is what screen readers step through and whose value they tell as it changes.
    chart.role = "slider";
    chart.tabIndex = 0;
    chart.ariaValueMin = chart.ariaValueNow = first;
    chart.ariaValueMax = last;
    show();
  };

  const wireAll = ({ target }) => target.querySelectorAll("svg[data-x]").forEach(wire);
  document.addEventListener("added", wireAll);
  wireAll({ target: document });
})();
