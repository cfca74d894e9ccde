// Two prints on a bench under one lamp: enlarged and moved together, or one laid over the other and lifted.
// Without this script a pair is two plain pictures. Nothing listens to the wheel or to a finger before the pair is
// taken in hand (clicked, tapped, focused, or by its button), so that the page always scrolls past it.
"use strict";
(() => {
  const STEPS = [1, 2, 3, 4, 6, 8];
  const MOST_TONE = 4; // beyond this the widest file of a tone view shows nothing more
  const HOLD_MS = 350; // a longer press of "Lift" is a look: the print comes back when it is let go
  const WHEEL_STEP = 60; // a trackpad tells many small turns: one step is as much as one notch of a wheel, or less
  const SLACK = 3; // a picture that sticks out by less is as good as whole
  const NUDGE = 0.15; // how far an arrow moves, as a share of the window
  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

  // The length 1, 2 or 5 times a power of ten that comes nearest to `aim`, as the publisher chooses a scale bar's.
  const roundLength = (aim) => {
    const decade = 10 ** Math.floor(Math.log10(aim));
    const off = (length) => Math.abs(Math.log(length / aim));
    return [1, 2, 5, 10].map((digit) => digit * decade).reduce((best, length) => (off(length) < off(best) ? length : best));
  };
  const sayLength = (mm) => (mm >= 1 ? `${+mm.toPrecision(3)} mm` : `${+(1000 * mm).toPrecision(3)} µm`);

  const readPrint = (figure) => {
    const [frame, image, scale, words] = [".frame", "img", ".scale", ".scale-words"].map((name) => figure.querySelector(name));
    const bar = scale && scale.firstElementChild;
    const [width, height] = ["width", "height"].map((name) => Number(image.getAttribute(name)));
    const mm = bar ? Number(bar.dataset.mm) : 0;
    const rest = bar && { box: scale.getAttribute("viewBox"), bar: bar.getAttribute("width"), words: words.textContent };
    return { figure, frame, image, scale, bar, words, width, height, mm, rest, name: figure.querySelector("figcaption").textContent, unit: 1 };
  };

  const setUp = (pair) => {
    const area = pair.querySelector(".prints");
    const tools = pair.querySelector(".tools");
    const prints = [...area.querySelectorAll(".view-picture")].map(readPrint);
    const exact = pair.classList.contains("exact");
    const most = exact ? STEPS.at(-1) : MOST_TONE;
    const state = { times: 1, x: 0, y: 0, laid: false, seen: 0, inHand: false };
    const isOpen = () => state.times > 1;

    // Drawing: at rest a pair stands as the page has it; in use each frame is a window of one size, with the picture's
    // point (x, y), as shares of its sides, in the middle.
    const draw = () => {
      const open = isOpen();
      pair.style.setProperty("--density", devicePixelRatio);
      pair.style.setProperty("--shape", `${prints[0].width} / ${prints[0].height}`);
      pair.classList.toggle("open", open);
      pair.classList.toggle("laid", state.laid);
      prints.forEach((print, at) => print.figure.classList.toggle("under", state.laid && at !== state.seen));
      for (const print of prints) (open || exact ? place : putBack)(print, open);
      keepWithin();
      showTools();
    };
    const putBack = (print) => {
      const { image, scale, bar, words, rest } = print;
      print.unit = 0;
      image.style.width = image.style.height = image.style.transform = "";
      if (state.laid) image.sizes = `${print.width}px`; // it may be larger now: asks for the widest file
      if (!bar) return;
      if (state.laid) {
        print.unit = image.getBoundingClientRect().width / print.width;
        drawBar(print, scale.parentElement.clientWidth, false);
        print.unit = 0;
        return;
      }
      scale.setAttribute("viewBox", rest.box);
      bar.setAttribute("width", rest.bar);
      words.textContent = rest.words;
    };
    const place = (print, open) => {
      const { frame, image, width, height } = print;
      const whole = exact ? 1 / devicePixelRatio : Math.min(1, frame.clientWidth / width, frame.clientHeight / height);
      print.unit = state.times * whole;
      const [w, h] = [width * print.unit, height * print.unit];
      if (!exact) image.sizes = `${width}px`; // asks for the widest file
      image.style.width = `${w}px`;
      image.style.height = `${h}px`;
      const [wide, high] = [frame.clientWidth, frame.clientHeight];
      const corner = frame.getBoundingClientRect();
      // On whole pixels of the screen, else every pixel of the picture would be smeared over two.
      const start = (room, size, middle, edge) => {
        const free = size > room ? clamp(room / 2 - middle * size, room - size, 0) : open ? (room - size) / 2 : 0;
        return Math.round((edge + free) * devicePixelRatio) / devicePixelRatio - edge;
      };
      image.style.transform = `translate(${start(wide, w, state.x, corner.left)}px, ${start(high, h, state.y, corner.top)}px)`;
      if (print.bar) drawBar(print, wide, open);
    };
    // The bar is drawn in pixels of the picture, like the picture itself: what it says stays true.
    const drawBar = ({ scale, bar, words, mm, rest, unit }, wide, open) => {
      const pixelsPerMm = Number(rest.bar) / mm;
      const length = open ? roundLength(wide / 4 / (unit * pixelsPerMm)) : mm;
      scale.setAttribute("viewBox", `0 0 ${wide / unit} 10`);
      bar.setAttribute("width", length * pixelsPerMm);
      words.textContent = open ? rest.words.replace(/^\S+ \S+/, sayLength(length)) : rest.words;
    };

    // Acts
    const canMove = () => prints.some(({ frame, width, height, unit }) => width * unit > frame.clientWidth + SLACK || height * unit > frame.clientHeight + SLACK);
    const keepWithin = () => {
      const least = (room, size) => Math.min(0.5, ...prints.map((print) => print.frame[room] / (2 * print[size] * print.unit)));
      const [x, y] = [least("clientWidth", "width"), least("clientHeight", "height")];
      state.x = clamp(state.x, x, 1 - x);
      state.y = clamp(state.y, y, 1 - y);
    };
    const move = (right, down, print = prints[state.seen]) => {
      state.x += right / (print.width * print.unit);
      state.y += down / (print.height * print.unit);
      keepWithin();
      draw();
    };
    const look = (across, down) => {
      const { clientWidth, clientHeight } = prints[state.seen].frame;
      move(across * NUDGE * clientWidth, down * NUDGE * clientHeight);
    };
    // Whole times for grain, whose pixels would blur at others. What lies under `point` stays there.
    const enlarge = (times, point) => {
      const wanted = clamp(exact ? Math.round(times) : times, 1, most);
      if (wanted === state.times) return;
      const print = point && printAt(point);
      const before = print && print.image.getBoundingClientRect();
      state.times = wanted;
      draw();
      if (print && wanted > 1) {
        const window = print.frame.getBoundingClientRect();
        const under = (at, start, size, corner, room, middle) => (at - start) / size + (corner + room / 2 - at) / middle;
        state.x = under(point.x, before.left, before.width, window.left, window.width, print.width * print.unit);
        state.y = under(point.y, before.top, before.height, window.top, window.height, print.height * print.unit);
      }
      if (state.times === 1) state.x = state.y = 0;
      keepWithin();
      draw();
      tell();
    };
    const printAt = ({ x, y }) =>
      prints.find(({ figure, frame }, at) => {
        const box = frame.getBoundingClientRect();
        return (!state.laid || at === state.seen) && x >= box.left && x <= box.right && y >= box.top && y <= box.bottom;
      });
    const step = (turn, point) => {
      const next = turn > 0 ? STEPS.find((times) => times > state.times) : STEPS.findLast((times) => times < state.times);
      if (next) enlarge(next, point);
    };
    const layOver = (laid) => {
      if (prints.length < 2) return;
      state.laid = laid;
      state.seen = 0;
      draw();
      draw(); // once more, for what the new size of the windows lets be seen
      tell();
    };
    const exchange = () => {
      if (!state.laid) return layOver(true);
      state.seen = 1 - state.seen;
      draw();
      tell();
    };
    const take = (inHand) => {
      state.inHand = inHand;
      pair.classList.toggle("in-hand", inHand);
      hand.textContent = inHand ? "Put down" : "Take in hand";
      showTools();
    };
    const tell = () => {
      const rest = exact ? "Pixel for pixel" : "Whole view";
      const size = state.times > 1 ? `Enlarged ${+state.times.toFixed(1)} times` : rest;
      status.textContent = state.laid ? `${prints[state.seen].name} seen. ${size}` : size;
    };

    // Tools
    const tool = (label, name, act) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = label;
      if (name) button.setAttribute("aria-label", name);
      if (act) button.addEventListener("click", () => steadily(act));
      return button;
    };
    // The bench grows and shrinks above its tools; they stay where the hand is.
    const steadily = (act) => {
      const before = tools.getBoundingClientRect().top;
      act();
      scrollBy({ top: tools.getBoundingClientRect().top - before, behavior: "instant" });
    };
    const hand = tool("Take in hand", "", () => (state.inHand ? take(false) : area.focus({ preventScroll: true })));
    const less = tool("−", "Make smaller", () => step(-1));
    const more = tool("+", "Enlarge", () => step(1));
    const over = tool("Lay over", "", () => layOver(!state.laid));
    const lift = tool("Lift", "Lift the upper print");
    const back = tool(exact ? "1:1" : "Whole", exact ? "Back to pixel for pixel" : "Back to the whole view", () => enlarge(1));
    const reach = document.createElement("span");
    const arrows = [["←", "left", -1, 0], ["→", "right", 1, 0], ["↑", "up", 0, -1], ["↓", "down", 0, 1]];
    reach.append(...arrows.map(([sign, way, across, down]) => tool(sign, `Look further ${way}`, () => look(across, down))));
    reach.className = "reach";
    const status = document.createElement("p");
    status.setAttribute("role", "status");
    const showTools = () => {
      const active = document.activeElement;
      const wasIn = (element) => element === active || element.contains(active);
      const hides = [[back, state.times > 1], [reach, canMove() && (state.inHand || isOpen())], [lift, state.laid]].filter(([element, shown]) => (element.hidden = !shown));
      // A tool that goes away hands the keyboard on to the prints.
      if (hides.some(([element]) => wasIn(element))) area.focus({ preventScroll: true });
      less.setAttribute("aria-disabled", String(state.times <= 1));
      more.setAttribute("aria-disabled", String(state.times >= most));
      over.textContent = state.laid ? "Side by side" : "Lay over";
      lift.setAttribute("aria-pressed", String(state.seen === 1));
    };
    let pressed = 0;
    const release = (event) => {
      if (pressed && event.timeStamp - pressed > HOLD_MS) steadily(exchange);
      pressed = 0;
    };
    lift.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      pressed = event.timeStamp;
      steadily(exchange);
    });
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) lift.addEventListener(end, release);
    lift.addEventListener("contextmenu", (event) => event.preventDefault());
    lift.addEventListener("click", (event) => {
      if (event.detail === 0) steadily(exchange); // by keyboard, or by what reads the page aloud
    });

    // Pointers: one moves, two enlarge.
    const pointers = new Map();
    let pinch = null;
    const spread = () => {
      const [a, b] = [...pointers.values()];
      return { size: Math.hypot(a.x - b.x, a.y - b.y), x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
    };
    area.addEventListener("pointerdown", (event) => {
      if (event.button || (event.pointerType !== "mouse" && !state.inHand)) return;
      pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      area.setPointerCapture(event.pointerId);
      pair.classList.add("moving");
      pinch = pointers.size === 2 ? { size: spread().size, times: state.times } : null;
    });
    area.addEventListener("pointermove", (event) => {
      const last = pointers.get(event.pointerId);
      if (!last) return;
      pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (pinch && pointers.size === 2) {
        const now = spread();
        enlarge((pinch.times * now.size) / pinch.size, now);
      }
      if (canMove()) {
        const share = 1 / pointers.size;
        move((last.x - event.clientX) * share, (last.y - event.clientY) * share, printAt(last));
      }
    });
    const letGo = (event) => {
      pointers.delete(event.pointerId);
      pinch = null;
      if (!pointers.size) pair.classList.remove("moving");
    };
    for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) area.addEventListener(end, letGo);
    area.addEventListener("dragstart", (event) => event.preventDefault());
    let turned = 0;
    const turnWheel = (event) => {
      if (!state.inHand) return;
      event.preventDefault();
      turned += event.deltaY * (event.deltaMode ? WHEEL_STEP : 1) * (event.ctrlKey ? 8 : 1);
      if (Math.abs(turned) < WHEEL_STEP) return;
      step(-turned, { x: event.clientX, y: event.clientY });
      turned = 0;
    };
    area.addEventListener("wheel", turnWheel, { passive: false });

    // Keys, while the keyboard is within this pair
    const keys = { "+": () => step(1), "=": () => step(1), "-": () => step(-1), "−": () => step(-1), _: () => step(-1), 0: () => enlarge(1), x: exchange };
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    pair.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const act = keys[event.key.toLowerCase()];
      if (act) steadily(act);
      else if (ways[event.key] && canMove()) look(...ways[event.key]);
      else if (event.key === "Escape" && state.inHand) {
        hand.focus({ preventScroll: true });
        take(false);
      } else return;
      event.preventDefault();
    });
    area.addEventListener("focusin", () => take(true));
    pair.addEventListener("focusout", (event) => {
      if (!pair.contains(event.relatedTarget)) take(false);
    });

    for (const { frame } of prints) for (const name of ["tabindex", "role", "aria-label"]) frame.removeAttribute(name);
    area.tabIndex = 0;
    area.setAttribute("role", "group");
    area.setAttribute("aria-label", `${pair.dataset.name}: ${prints.map(({ name }) => name).join(" beside ")}`);
    tools.append(hand, less, more, ...(prints.length > 1 ? [over, lift] : []), back, reach, status);
    pair.classList.add("bench");
    draw();
    // A pair that another has taken the place of listens no longer.
    const gone = new AbortController();
    const listen = (what, act) => addEventListener(what, () => (pair.isConnected ? act() : gone.abort()), { signal: gone.signal });
    listen("resize", draw);
    // Paper gets the pair at rest, whatever was looked at.
    listen("beforeprint", () => {
      Object.assign(state, { times: 1, laid: false, x: 0, y: 0 });
      draw();
    });
  };

  const wire = (root) => root.querySelectorAll(".pair:not(.bench)").forEach(setUp);
  document.addEventListener("added", ({ target }) => wire(target));
  wire(document);
})();
