// Any two tests side by side, from the published data. The address names both: #a=stock&b=stock for
// the stocks' figures, stock/test for a test's own, then align=speed where the curves start at their speed points, then at=gamma
// where one row is meant, whose id is at-gamma. Words stand in the page, the rule in rule.js.
"use strict";
(() => {
  const { rule, drawCurves, tellCurves } = window;
  const { number } = rule;
  const find = (id) => document.getElementById(id);
  const safe = (text) => `${text ?? ""}`.replace(/[<&"]/g, (sign) => `&#${sign.charCodeAt()};`);
  // No template stands within another: the publisher's minifier would take blanks out of it.
  const span = (name, inside, more = "") => (inside ? `<span class="${name}"${more}>${inside}</span>` : "");
  const words = find("any-two").dataset;
  const wedges = JSON.parse(words.calibrations);
  const head = find("head");
  const heading = head.textContent;
  const tail = document.title.slice(heading.length);
  const sides = ["a", "b"].map((id) => [find(id), find(`${id}-test`)]);
  const options = [...sides[0][0].options];
  sides[1][0].append(...options.map((option) => option.cloneNode(true)));
  const testsOf = (option) => option.dataset.tests.split(";").map((test) => test.split("="));
  const asked = () => new URLSearchParams(location.hash.slice(1));
  const addressOf = (keys, align = asked().get("align")) => "#" + keys.map((key, at) => `${"ab"[at]}=${key}`).join("&") + (align ? "&align=speed" : "");
  const go = (...state) => (location.hash = addressOf(...state));

  // What the address names: a stock's figure by its slug, which is kept on its current test, or a test's own; or a
  // sentence that says what there is instead
  const named = (text) => {
    const [slug, day] = text.split("/");
    const option = options.find(({ value, dataset }) => value === slug || dataset.former?.split(" ").includes(slug));
    if (!option) throw `${words.stock} ${slug}. ${words.are} ${options.slice(0, 20).map(({ text }) => text).join(", ")}${options[20] ? "…" : "."}`;
    const tests = testsOf(option);
    const [id, label] = (day ? tests.find(([id]) => id === day) : tests[0]) ?? [];
    if (id == null) throw `${words.test} ${text}. ${words.are} ${tests.filter(([id]) => id).map(([, label]) => label).join("; ")}.`;
    const file = `${option.value}/${id || option.dataset.current}`;
    return { option, id, label, file, own: !!id, isReference: file === words.reference, stock: option.text, key: id ? file : option.value };
  };

  // A test's data: from a host its JSON; from disk, where a browser fetches nothing, the same as a script
  const kept = {};
  const takers = {};
  window.takeTest = (data) => takers[`${data.stock}/${data.test}`](data);
  const fromDisk = (key) =>
    new Promise((take, onerror) => {
      takers[key] = take;
      document.head.append(Object.assign(document.createElement("script"), { src: `from-disk/${key}.js`, onerror }));
    });
  const fromHost = (key) => fetch(`../data/${key}.json`).then((answer) => answer.json());
  const load = (key) => (kept[key] ??= (location.protocol === "file:" ? fromDisk : fromHost)(key));

  // Measures and patches, a row each; what they tell is gathered: apart, alike, not compared, on neither test
  const figure = (text) => text.replace(/[^.]*/, (whole) => span("int", whole));
  const quantity = ([value, spread, rounds], least = "") => span("quantity", span("value", figure(least + value)) + " " + (spread[0] === "(" ? span("spread ends", spread) : spread && span("spread", figure(spread))) + span("rounds", rounds && ", " + rounds));
  const counted = Object.fromEntries(words.counts.split("|").map((text) => text.split("=")));
  const listed = (names) => [names.slice(0, -1).join(", "), names.at(-1)].filter(Boolean).join(" and ");
  const fill = (row, pair, found, told, by = "") => {
    const { cells, dataset } = row;
    const [subject, ...clauses] = dataset.words.split("|");
    const at = ["higher", "lower", "no measurable difference"].indexOf(found.verdict);
    pair.forEach((q, side) => {
      const notes = [q.note, q.at_density && `${q.as_read ? `read as ${number(q.as_read, rule.decimalsFor(rule.halfOf(q)))} ` : ""}at net density ${number(q.at_density, 2)}`, q.tests > 1 && `mean of ${q.tests} tests`, q.relative_to_average && `${number(q.relative_to_average, 2)} × the average`].filter(Boolean);
      cells[side + 1].innerHTML = q.value == null ? span("none", "not measured") : quantity(rule.write(q, dataset.signed, dataset.iso), q.bound && "≥ ") + " " + span("note", safe(notes.join("; ")));
    });
    row.hidden = pair.every(({ value }) => value == null);
    if (row.hidden) told[3].push([subject, pair[0].why]);
    cells[3].innerHTML = cells[4].innerHTML = "";
    if (at < 0) {
      cells[4].innerHTML = span("verdict unknown", "not measured") + span("note", safe(found.why));
      if (dataset.said && !row.hidden) told[2].push([subject, found.why]);
      return;
    }
    const unit = dataset.log ? " stops" : dataset.unit;
    const sure = at < 2 && found.firm === false ? "probably " : "";
    const side = dataset.sides.split("|")[at] ?? found.verdict;
    // Faster points up, whichever way its measure is counted.
    const mark = at > 1 ? at : +(side === "slower" || (at && side !== "faster"));
    const [text, spread] = rule.write(found, true);
    const limit = rule.writeHalf(found.half) + unit;
    cells[3].innerHTML = quantity([text, spread]) + (dataset.log ? unit : "");
    const inside = [span("mark", "▲▼="[mark], ' aria-hidden="true"'), sure + side, at > 1 && span("seen", `95 % limit ${limit}`), found.counts && span("seen", "counts " + found.counts.map((source) => counted[source]).join(", "))];
    cells[4].innerHTML = span("verdict " + ["higher", "lower", "same"][mark], inside.filter(Boolean).join(" ")) + span("note", found.close && words.close);
    if (dataset.said) told[at > 1 ? 1 : 0][dataset.said] = (at > 1 ? `${subject}${by} (${limit})` : `${clauses[at].replace("# ", sure)} by ${text.slice(1)} ${spread}${unit}${by}`).replace(/ (?=±)|(?<=[\d±]) /g, "\u00a0");
  };
  const compare = (two, never) => {
    const told = [[], [], [], []];
    // Words of what both tests tell: a row's pair, what came of it, in whose reasons the tests have their names.
    const judged = (row) => {
      const { dataset, id: anchor } = row;
      const id = anchor.slice(3);
      const { student, firm, dunnett, ...rest } = dataset;
      const found = rule.judge(two, id, { ...rest, student: +student, firm: +firm, dunnett: +dunnett, apart: dataset.axis && never, wedges }, words.unread);
      const [one, other] = found.turned ? two.toReversed() : two;
      const pair = two.map((one) => rule.figureOf(one, id, words.unread));
      const lacks = pair[found.turned ? 1 : 0].value == null && !dataset.never;
      const why = found.why && ((lacks ? "not on this test: " : "") + found.why).replace("the other test", other.name).replace("this test", one.name);
      return [row, pair, { ...found, why }];
    };
    const all = (id) => [...find(id).querySelectorAll("tbody tr")].map(judged);
    const measures = all("measures");
    const patches = all("patches");
    // Speed by the speed point and for equal shadows: both are told where they disagree, else the one there is.
    const speeds = ["speed_from_reference", "shadow_match"].map((id) => measures.find(([row]) => row.id === `at-${id}`));
    const [wedge, match] = speeds.map(([, , found]) => found);
    const known = [wedge, match].map(({ difference }) => difference != null);
    const apart = known[0] && known[1] && Math.abs(wedge.difference + match.difference) > Math.hypot(wedge.half, match.half);
    for (const [row, pair, found] of [...measures, ...patches]) {
      const speed = speeds.findIndex(([one]) => one === row);
      const isSaid = speed < 0 || apart || (speed ? known[1] && !known[0] : known[0] || !known[1]);
      fill(row, pair, found, isSaid ? told : [[], [], [], told[3]], apart && row.dataset.by ? ` ${row.dataset.by}` : "");
    }
    find("patches").hidden = patches.every(([row]) => row.hidden);
    return told;
  };
  const byReason = (pairs) => {
    const subjects = {};
    for (const [subject, why] of pairs) (subjects[why] ??= []).push(subject);
    return Object.entries(subjects).map(([why, all]) => all.join(", ") + ": " + why);
  };
  const say = ([a, b], [apart, alike, unknown, neither]) => {
    const sentence = (kind, lead, texts) => (texts.length ? `<p class="${kind}">${safe(lead)}: ${safe(Object.values(texts).join("; "))}.</p>` : "");
    find("told").innerHTML = sentence("lead", `${a.name} beside ${b.name}`, apart.length ? apart : [words.nothing]) + sentence("", words.alike, alike) + sentence("aside", words.unknown, byReason(unknown));
    find("neither").innerHTML = byReason(neither).map((text) => `<li>${safe(text)}.</li>`).join("");
    find("neither").parentElement.hidden = !neither[0];
  };

  // The curves, as exposed or from their speed points: the latter alone where the two have no exposure scale in common
  const added = (to) => to.dispatchEvent(new CustomEvent("added", { bubbles: true }));
  const align = (two, never) => {
    const points = two.map(({ data }) => data.measures.speed_point.value);
    const [exposed, speed] = document.getElementsByName("align");
    speed.disabled = points.includes(null);
    exposed.disabled = !!never && !speed.disabled;
    const shifted = !speed.disabled && (!!never || asked().get("align") === "speed");
    (shifted ? speed : exposed).checked = true;
    const lines = two.flatMap(({ name, kind, data: { curve } }, at) => {
      const shift = shifted ? points[at] : 0;
      return curve.axis && !(at && never && !shifted) ? { ...curve, name, kind, x: curve.log_exposure.map((x) => x - shift), point: points[at] - shift } : [];
    });
    const why = two.flatMap(({ name, data: { curve } }) => (curve.axis ? [] : `${name}: ${curve.why}.`));
    find("curve-note").textContent = [never && `${words.apart} ${never}.`, ...why].filter(Boolean).join(" ");
    const drawn = find("drawn");
    drawn.hidden = !lines[0];
    if (!lines[0]) return;
    const label = shifted ? words.speed : lines[0].absolute ? words.absolute : words.relative;
    const chart = drawn.querySelector("svg");
    chart.ariaLabel = `${words.curves} ${lines.map(({ name }) => name).join(words.and)}`;
    drawCurves(chart, lines, label, number, safe);
    find("densities").innerHTML = tellCurves(lines, label, chart.ariaLabel, (x) => figure(number(x, 2)), safe);
    added(drawn);
  };

  // Views that both tests have, live; those that one has are named
  const print = ({ file, name }, id, { files, lossless, shows, of, name: title, scale_bar_mm: mm, pixels_per_mm: scale }) => {
    const [{ width_px: width, height_px: height }] = files;
    const urls = files.map(({ path }) => new URL(`../data/${file}/../${path}`, location).href);
    const sources = `srcset="${urls.map((url, at) => url + " " + files[at].width_px + "w").join(", ")}" sizes="(min-width: 48rem) 26rem, ${height > width ? 45 : 90}vw"`;
    const bar = `<div class="measure"><svg class="scale" viewBox="0 0 ${width} 10" width="${width}" height="10" preserveAspectRatio="none" aria-hidden="true"><rect y="3" height="4" width="${mm * scale}" data-mm="${mm}"/></svg><p class="scale-words">${+(mm < 1 ? 1000 * mm : mm).toPrecision(6)} ${mm < 1 ? "µm" : "mm"} on the ${of === "print" ? of : "film"}</p></div>`;
    return `<figure class="view-picture"><figcaption>${safe(name)}</figcaption><div class="frame${lossless ? " exact" : ""}"><img src="${urls[0]}" ${urls[1] ? sources : ""} width="${width}" height="${height}" alt="${safe(title)} on ${safe(name)}: ${shows === "tone" ? "tones" : shows} of the ${of}" data-view="${id}" data-test="${file}"></div>${mm && scale ? bar : ""}</figure>`;
  };
  const show = (two) => {
    const [first, second] = two.map(({ data }) => data.views ?? {});
    const lone = {};
    const pairs = Object.keys({ ...first, ...second }).map((id) => {
      const { name, lossless, files } = first[id] ?? second[id];
      if (first[id] && second[id])
        return `<div class="view"><h3>${safe(name)}</h3><div class="pair${lossless ? " exact" : ""}${files[0].height_px > files[0].width_px ? " upright" : ""}" data-name="${safe(name)}"><div class="prints">${print(two[0], id, first[id])}${print(two[1], id, second[id])}</div><div class="tools"></div></div></div>`;
      const [has, lacks] = first[id] ? two : two.toReversed();
      (lone[`${has.name} alone has # ${lacks.name}: ${lacks.data.missing_views?.[id]}.`] ??= []).push(name);
      return "";
    });
    const named = Object.entries(lone).map(([why, names]) => `<p class="absent">${safe(why.replace("#", names.join(", ") + "."))}</p>`);
    find("shown").innerHTML = [...pairs, ...named].join("");
    find("views").hidden = !find("shown").firstChild;
    added(find("shown"));
  };
  const link = (to, text) => `<li><a href="${to}">${safe(text)}</a></li>`;
  const links = ({ key, file, stock, label, option: { value, dataset } }) => link(`../stocks/${key}/index.html`, `${stock}, ${label}`) + link(`../data/${file}.json`, `${stock}, ${label} (JSON)`) + (dataset.against && file === `${value}/${dataset.current}` ? link(`${value}/index.html`, `${stock} ${words.against}`) : "");

  // Each row's whole address; the row that the page's own address names is marked and brought into sight. A row that
  // neither test has stands in the list below.
  const lead = (address, at) => {
    const rows = [...document.querySelectorAll("tr[id]")];
    for (const row of rows) {
      row.querySelector(".handles a").href = `${address}&at=${row.id.slice(3)}`;
      row.removeAttribute("aria-current");
    }
    const row = rows.find(({ id }) => id === `at-${at}`);
    row?.setAttribute("aria-current", "location");
    (row?.hidden ? find("neither") : row)?.scrollIntoView();
  };

  // What the address alone tells comes first, so that little moves when the data arrive.
  let turn = 0;
  let shown;
  const update = async () => {
    const mine = ++turn;
    const { dataset } = find("any-two");
    const texts = ["a", "b"].map((name) => asked().get(name));
    const fail = (why) => {
      find("trouble").textContent = why.big ? why : words.silent;
      dataset.state = "none";
      head.textContent = heading;
      shown = "";
    };
    let two;
    try {
      two = (texts.some(Boolean) ? texts : [""]).map((text) => text || words.reference.split("/")[0]).filter(Boolean).map(named);
    } catch (why) {
      return fail(why);
    }
    if (two[1]?.file === two[0]?.file) two.splice(1);
    const [a, b] = two;
    find("trouble").textContent = texts[1] && !b ? words.same : "";
    two.forEach((one, at) => {
      one.name = b && a.stock === b.stock ? one.label.split(",")[0].replaceAll(" ", "\u00a0") : one.stock;
      one.kind = one.isReference ? "reference" : at && !a.isReference ? "other" : "stock";
    });
    sides.forEach(([stock, test], at) => {
      const { option, id } = two[at] ?? {};
      stock.value = option?.value ?? "";
      test.replaceChildren(...(option ? testsOf(option) : []).map(([own, label]) => new Option(label, own, false, own === id)));
      test.disabled = test.options.length < 2;
    });
    head.textContent = b ? (a.name === a.stock ? "" : `${a.stock}: `) + `${a.name} and ${b.name}` : heading;
    document.title = head.textContent + tail;
    if (b) dataset.state ??= "soon";
    try {
      for (const one of two) one.data = await load(one.file);
    } catch (why) {
      return fail(why);
    }
    if (mine !== turn) return;
    dataset.state = b ? "pair" : "one";
    const never = b ? words[rule.axes(a.data.curve, b.data.curve)] : "";
    if (a) align(two, never);
    if (b && shown !== a.key + b.key) {
      shown = a.key + b.key;
      for (const cell of document.querySelectorAll("[data-side]")) cell.textContent = cell.dataset.label = two[cell.dataset.side].name;
      say(two, compare(two, never));
      show(two);
      find("links").innerHTML = two.map(links).join("");
    }
    if (b) lead(addressOf([a.key, b.key]), asked().get("at"));
  };

  const chosen = () => sides.map(([stock, test]) => stock.value + (test.value && `/${test.value}`)).filter(Boolean);
  for (const [stock, test] of sides) {
    stock.onchange = () => {
      test.replaceChildren(new Option("", testsOf(stock.selectedOptions[0])[0][0]));
      go(chosen());
    };
    test.onchange = () => go(chosen());
  }
  find("exchange").onclick = () => go(chosen().reverse());
  for (const radio of document.getElementsByName("align")) radio.onchange = () => go(chosen(), radio.value);
  find("against").onsubmit = (event) => {
    event.preventDefault();
    go([event.submitter.value]);
  };
  addEventListener("hashchange", update);
  update();
})();
