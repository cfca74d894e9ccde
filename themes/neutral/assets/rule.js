// The rule by which two figures are compared, and how figures are written: what the publisher itself does
// (judge/sides.py, judge/compare.py, judge/any_two.py, publish/pages/quantities.py), on the published parts.
"use strict";
(() => {
  // Half widths are so many standard uncertainties.
  const FACTOR = 1.959963984540054;
  const sum = (numbers) => numbers.reduce((all, one) => all + one, 0);
  const not = (why) => ({ verdict: "not measured", why });
  // What both share cancels, `covariance` of it at most; nothing shared exceeds either part.
  const left = (one, two, covariance) => Math.max(0, one + two - 2 * Math.min(covariance, one, two));

  // A figure on the scale of its measure. The parts of a speed are given as what they come to at the speed itself and
  // compared in its logarithm.
  const sideOf = (q, log) => {
    const unit = q.exact ? q.exact * Math.LN10 : 1;
    const part = (half = 0) => (half / FACTOR / unit) ** 2;
    const at = q.exact ?? q.value;
    const tests = q.tests ?? 1;
    // Of each batch its share in the mean; a test whose batch isn't known stands for itself.
    const shares = new Map();
    for (const batch of q.batches ?? Array(tests).fill(null)) {
      const key = batch ?? Symbol();
      shares.set(key, (shares.get(key) ?? 0) + 1 / tests);
    }
    return { at: log ? Math.log10(at) : at, unit, tests, shares, part, read: part(q.from_readings), scatter: (q.scatter ?? 0) / unit, wedge: part(q.from_wedge?.half), lamp: part(q.from_lamp?.half) };
  };
  // The variance of a difference, and all of it that there was before what both share cancelled.
  const varianceOf = (a, b, { source, log, wedges }) => {
    const [one, two] = [a, b].map((q) => sideOf(q, log));
    // What of a batch both took is the same error in both.
    const common = source === "batches" && a.scatter != null && b.scatter != null;
    const own = (side, other) => side.read + side.scatter ** 2 * (common ? sum([...side.shares].map(([batch, share]) => (share - Math.min(share, other.shares.get(batch) ?? 0)) ** 2)) : 1 / side.tests);
    const [w, v] = [a.from_wedge, b.from_wedge];
    const steps = w && w.id === v?.id ? Object.keys(w.by_step).filter((step) => step in v.by_step) : [];
    const covariance = sum(steps.map((step) => w.by_step[step] * v.by_step[step] * wedges[w.id][step] ** 2)) / one.unit / two.unit;
    const [lamp, other] = [a.from_lamp, b.from_lamp];
    const alike = lamp && lamp.lux_s === other?.lux_s && lamp.u_lux_s === other.u_lux_s;
    const alone = own(one, two) + own(two, one);
    return {
      whole: alone + left(one.wedge, two.wedge, covariance) + left(one.lamp, two.lamp, alike ? Infinity : 0),
      gross: alone + one.wedge + two.wedge + one.lamp + two.lamp,
    };
  };
  // `a` less `b`, two quantities of tests' JSON. The rule: `student` and `firm` times the standard uncertainty are half
  // the interval and what a firm difference is beyond; `source` told the scatter; `log` where logarithms are compared,
  // and the difference told in stops; `never` and `apart` say why there is no difference of any two, of these two;
  // `wedges` are the standard uncertainties of their steps. `close` says that what rounding took from the published
  // numbers could turn the verdict.
  const compare = (a, b, rule) => {
    const { student, firm, log, never, apart } = rule;
    if (never) return not(never);
    if (a.value == null) return not(a.why ?? "it was not measured here");
    if (b.value == null) return not(`not on the other test: ${b.why ?? "it was not measured there"}`);
    if (a.from_readings == null || b.from_readings == null) return not("the error of one of the two is not known");
    if (apart) return not(apart);
    const { whole, gross } = varianceOf(a, b, rule);
    const per = log ? 1 / Math.log10(2) : 1;
    const error = whole ** 0.5 * per;
    const half = student * error;
    const difference = (sideOf(a, log).at - sideOf(b, log).at) * per;
    const [low, high] = [difference - half, difference + half];
    const verdict = low > 0 ? "higher" : high < 0 ? "lower" : "no measurable difference";
    if (a.bound ? b.bound || verdict !== "higher" : b.bound && verdict !== "lower")
      return not(`${a.bound ? (b.bound ? "both tests give" : "this test gives") : "the other test gives"} only a lower bound`);
    const size = Math.abs(difference);
    const slack = sum([a, b].map((q) => (q.exact ? 0 : 10 ** -decimalsFor(halfOf(q)) / 2))) + (whole && (1e-3 * half * gross) / whole);
    return {
      verdict, difference, low, high, half,
      firm: !verdict.startsWith("no") && size > firm * error,
      close: Math.min(Math.abs(size - half), Math.abs(size - firm * error)) < slack,
      counts: ["reading", (a.from_wedge || b.from_wedge) && "wedge", (a.from_lamp || b.from_lamp) && "lamp", (a.scatter ?? b.scatter) != null && rule.source].filter(Boolean),
    };
  };
  const turn = ({ difference, low, high, verdict, ...rest }) => ({
    ...rest,
    verdict: { higher: "lower", lower: "higher" }[verdict] ?? verdict,
    ...(difference == null ? {} : { difference: -difference, low: -high, high: -low }),
    turned: true,
  });
  // A verdict as it was published; `close` where its rounded ends hide it.
  const publish = (found) => {
    const { low, high, could_see, verdict } = found;
    return { ...found, half: could_see, close: low != null && (low > 0 ? "higher" : high < 0 ? "lower" : "no measurable difference") !== verdict };
  };
  // A stock's figure, over all its repeats, or the test's own. One side is a test's data, and whether its own figures
  // are meant; `isReference` where it is the reference's current test.
  const figureOf = ({ own, data }, id, unread) => {
    const { stops_from_grey: value, ...patch } = data.patches[id] ?? { why: unread };
    return (!own && data.pooled?.[id]) || (data.measures[id] ?? { ...patch, value });
  };
  // The first side less the second. Beside the reference's figure the published verdict stands, or, for what has none
  // (the own figure of a test of several), one by the same rule: of a measure that is itself a difference to the
  // reference, its own part of the reference's error counts. `dunnett` is the rule's `firm` there, `relative` says that
  // the scatter is a share of the value.
  const judge = (two, id, rule, unread) => {
    const pair = two.map((one) => figureOf(one, id, unread));
    const at = two[0].data.stock === two[1].data.stock ? -1 : two.findIndex(({ isReference, own, data }) => isReference && !(own && data.pooled));
    if (rule.never || at < 0) return compare(...pair, rule);
    const { own, data } = two[1 - at];
    const [a, b] = [pair[1 - at], pair[at]];
    const published = !(own && data.pooled) && (data.against_reference[id] ?? data.patches[id]?.against_reference);
    const part = a.of_reference && { ...b, ...a.of_reference, scatter: rule.relative ? a.scatter : b.scatter };
    const found = published ? publish(published) : compare(a, part ?? b, { ...rule, firm: rule.dunnett });
    return at ? found : turn(found);
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
  const halfOf = ({ low, high, half }) => half ?? (low != null && (high - low) / 2);
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
  const signOf = (low, high) => (low > 1e-12 ? 1 : high < -1e-12 ? -1 : 0);
  // A quantity or a difference: value and spread; both ends where it leans, and digits enough that what is shown lies
  // on the same side of zero. A step of the standard scale tells what it was rounded from.
  const write = (q, signed, isStep) => {
    const value = q.exact ?? q.value ?? q.difference;
    const half = halfOf(q);
    const [text, spread] = hasWidth(half) ? spreadOf(value, half, q, signed) : [bare(number(value, 3, signed)), ""];
    return [text, spread, isStep && q.exact && q.exact !== q.value ? `rounds to ${q.value}` : ""];
  };
  const spreadOf = (value, half, q, signed) => {
    const least = decimalsFor(half);
    let told;
    for (const byEnds of settled(Math.abs((q.high + q.low) / 2 - value) / half, 3) > 0.15 ? [true] : [false, true])
      for (let places = least; places < least + 3; places++) {
        const [text, low, high] = [value, q.low, q.high].map((x) => number(x, places, signed));
        const [middle, width, ...ends] = [value, half, q.low, q.high].map((x) => +round(x, places));
        told = [text, byEnds ? `(${low} to ${high})` : `± ${number(half, places)}`];
        if (signOf(...(byEnds ? ends : [middle - width, middle + width])) === signOf(q.low, q.high)) return told;
      }
    return told;
  };
  const writeHalf = (half) => number(half, decimalsFor(half));

  window.rule = { compare, judge, figureOf, axes, decimalsFor, halfOf, number, write, writeHalf };
})();
