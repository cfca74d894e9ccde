// The rule by which two tests are compared, and how its figures are written: what the publisher itself does
// (measure/intervals.py, measure/verdicts.py, publish/pages/quantities.py), on the published numbers.
"use strict";
(() => {
  // Comparing. Quantities are those of a test's JSON; `variance` is what the series' test-to-test scatter adds.
  const not = (why) => ({ verdict: "not measured", why });
  const settle = (difference, down, up) => {
    const [low, high] = [difference - down ** 0.5, difference + up ** 0.5];
    const verdict = low > 0 ? "higher" : high < 0 ? "lower" : "no measurable difference";
    return { verdict, difference, low, high, could_see: (high - low) / 2 };
  };
  // `a` less `b`, by square-and-add.
  const compare = (a, b, variance = 0) => {
    if (a.low == null || b.low == null) return not(a.value == null ? a.why : `not on the other test: ${b.why}`);
    const down = (a.value - a.low) ** 2 + (b.high - b.value) ** 2;
    const found = settle(a.value - b.value, down + variance, (a.high - a.value) ** 2 + (b.value - b.low) ** 2 + variance);
    if (a.bound ? b.bound || found.verdict !== "higher" : b.bound && found.verdict !== "lower")
      return not(`${a.bound ? (b.bound ? "both tests give" : "this test gives") : "the other test gives"} only a lower bound`);
    return found;
  };
  // As `compare`, or not at all where `never` says why two values are not subtracted.
  const compareMeasure = (a, b, variance, never) => (never && a.value != null && b.value != null ? not(never) : compare(a, b, variance));
  // Whether what rounding took from the published numbers could turn the verdict.
  const isClose = ({ low, high }, ...pair) => Math.min(Math.abs(low), Math.abs(high)) < pair.reduce((sum, q) => sum + 10 ** -decimalsFor(halfOf(q)) / 2, 0);
  // Stops by which `a` is faster than `b`, from their speed points.
  const compareSpeed = (a, b, variance, never) => {
    const { difference, low, high, why } = compare(a, b);
    const stops = (x) => x / Math.log10(2);
    if (why || never) return not(why || never);
    return settle(-stops(difference), stops(high - difference) ** 2 + variance, stops(difference - low) ** 2 + variance);
  };
  // Which sentence says why the log exposures of two curves can't be compared: none, `mixed`, `metered` or `wedges`.
  const axes = (a, b) => {
    if (!a.axis || !b.axis || (a.absolute && b.absolute)) return "";
    return a.absolute !== b.absolute ? "mixed" : [a.axis, b.axis].includes("bracket") ? "metered" : a.axis === b.axis ? "" : "wedges";
  };

  // Writing: rounded by the uncertainty, halves to the even digit; settled first, so that the last bits of a sum turn
  // nothing.
  const settled = (value, decimals) => +value.toFixed(decimals + 5);
  const hasWidth = (half) => +round(half, 9) > 0;
  const decimalsFor = (half) => (hasWidth(half) ? Math.max(0, Math.min(9, 1 - (+half.toExponential(6)).toExponential(1).split("e")[1])) : 3);
  // The decimals of figures that stand in one row, by the least sure of them, or in one column, by the middle one.
  const decimalsOf = (quantities, share = 1) => {
    const halves = quantities.map(halfOf).filter(hasWidth).sort((a, b) => a - b);
    const { length } = halves;
    if (length) return Math.max(decimalsFor(halves[Math.min(length - 1, Math.floor(length * share))]), decimalsFor(halves[0]) - 1);
  };
  const halfOf = ({ low, high }) => low != null && (high - low) / 2;
  const round = (value, decimals) => {
    const size = settled(Math.abs(value), decimals);
    let text = size.toFixed(decimals);
    if (text.at(-1) % 2 && /^50*$/.test(size.toFixed(60).split(".")[1].slice(decimals))) text = (text - 10 ** -decimals).toFixed(decimals);
    return (+text && value < 0 ? "-" : "") + text;
  };
  const number = (value, decimals, signed) => {
    const text = round(value, decimals);
    return (signed && text > 0 ? "+" : "") + text.replace("-", "−");
  };
  const bare = (text) => (text.includes(".") ? text.replace(/\.?0+$/, "") : text);
  const sideOf = (low, high) => (low > 1e-12 ? 1 : high < -1e-12 ? -1 : 0);
  // A quantity or a difference: value and spread; both ends where it leans, and digits enough that what is shown lies
  // on the same side of zero.
  const write = (q, signed, decimals) => {
    const value = q.value ?? q.difference;
    const half = halfOf(q);
    if (!hasWidth(half)) return [bare(number(value, 3, signed)), ""];
    const least = decimals ?? decimalsFor(half);
    let told;
    for (const byEnds of settled(Math.abs((q.high + q.low) / 2 - value) / half, 3) > 0.15 ? [true] : [false, true])
      for (let places = least; places < least + 3; places++) {
        const [text, low, high] = [value, q.low, q.high].map((x) => number(x, places, signed));
        const [middle, width, ...ends] = [value, half, q.low, q.high].map((x) => +round(x, places));
        told = [text, byEnds ? `(${low} to ${high})` : `± ${number(half, places)}`];
        if (sideOf(...(byEnds ? ends : [middle - width, middle + width])) === sideOf(q.low, q.high)) return told;
      }
    return told;
  };
  // A step of the standard scale, and what it was rounded from.
  const writeSpeed = ({ value, low, high }) => {
    const [from, to] = [low, high].map((x) => number(x, low < 10 ? 1 : 0));
    return [`${value}`, low && `(0.80/H lies between ${from} and ${to})`];
  };
  // Rounded up, so that it never claims too much.
  const writeSeen = (seen, decimals) => {
    const places = decimals ?? decimalsFor(seen);
    const text = number(seen, places);
    const up = text < settled(seen, places) ? number(seen + 10 ** -places, places) : text;
    return decimals == null ? bare(up) : up;
  };

  window.rule = { compare, compareMeasure, compareSpeed, axes, decimalsOf, isClose, number, write, writeSpeed, writeSeen };
})();
