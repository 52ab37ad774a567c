// Lanes over one clock: everything that was measured against time, one below the other. Moving along any of them moves all.

import { colours, fit, fixed, h, pen, words } from "./dom.js";
import { expected, legendre, nearest } from "./shape.js";

/**
 * @typedef {{start: number, cosine: number, sine: number, angular_frequency: number, decay: number}} Begun
 * @typedef {{body: number, degree: number, time: number[], measured: (number | null)[], u: (number | null)[], fitted: (number | null)[], expected: Begun | null}} Mode
 * @typedef {{body: number, frame: number[], time: number[], x: number[], y: number[], axis: number[], radius: number[], free: boolean[]}} Body
 * @typedef {{name: string, time: {value: number}, frames: [number, number]}} Event
 * @typedef {{first: number, times: number[], scale: number | null, bodies: Body[], modes: Mode[], events: Event[], expected_from: string, counts: number[], left_out: [number, number][]}} Lanes
 * @typedef {{ink: ReturnType<typeof colours>, context: CanvasRenderingContext2D, width: number, height: number, ratio: number, at: (time: number) => number, span: [number, number]}} Ground
 * @typedef {{name: string, note: string, tall: number, draw: (ground: Ground) => void, said: (time: number) => string, marks?: () => [string, string][]}} Lane
 */

/** The stretch of time that is shown, the same for all lanes. */
export class Span {
  /** @param {number} from @param {number} to */
  constructor(from, to) {
    /** @type {[number, number]} */
    this.all = [from, to > from ? to : from + 1];
    /** @type {[number, number]} */
    this.shown = [this.all[0], this.all[1]];
    /** @type {Set<() => void>} */
    this.listeners = new Set();
  }

  /** @param {number} factor @param {number} about */
  magnify(factor, about) {
    const [from, to] = this.shown;
    const length = Math.min(this.all[1] - this.all[0], (to - from) / factor);
    const share = (about - from) / (to - from);
    this.set(about - share * length, length);
  }

  /** @param {number} from @param {number} length */
  set(from, length) {
    const least = (this.all[1] - this.all[0]) / 5000;
    const size = Math.min(this.all[1] - this.all[0], Math.max(least, length));
    const start = Math.min(Math.max(from, this.all[0]), this.all[1] - size);
    this.shown = [start, start + size];
    for (const listener of this.listeners) listener();
  }

  /** Keeps a time in view. @param {number} time */
  follow(time) {
    const [from, to] = this.shown;
    if (time < from || time > to) this.set(time - (to - from) * (time < from ? 0.8 : 0.2), to - from);
  }
}

/** Round steps that divide a range into a few. @param {number} low @param {number} high @param {number} most */
export function ticks(low, high, most) {
  const rough = (high - low) / Math.max(1, most);
  const size = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((k) => k * size).find((k) => k >= rough) ?? 10 * size;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const list = [];
  for (let k = Math.ceil(low / step); k * step <= high + 1e-12; k++) list.push(k * step);
  return { list, decimals };
}

/** @param {(number | null | undefined)[]} values @returns {[number, number]} */
function range(values) {
  let [low, high] = [Infinity, -Infinity];
  for (const value of values) {
    if (value === null || value === undefined || !Number.isFinite(value)) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (!(high >= low)) return [-1, 1];
  const room = (high - low) * 0.08 || Math.abs(high) * 0.01 || 1;
  return [low - room, high + room];
}

/** The height of a value. @param {Ground} ground @param {[number, number]} range */
function height({ height: tall, ratio }, [low, high]) {
  return (/** @type {number} */ value) => tall - 3 * ratio - ((value - low) / (high - low)) * (tall - 6 * ratio);
}

/** Grid and numbers of a lane. @param {Ground} ground @param {[number, number]} range @param {(value: number, decimals: number) => string} said */
function scale(ground, range, said) {
  const { context, ink, width, ratio } = ground;
  const up = height(ground, range);
  const { list, decimals } = ticks(range[0], range[1], Math.max(1, Math.floor(ground.height / ground.ratio / 24)));
  context.font = `${11 * ratio}px "Segoe UI", "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif`;
  context.textBaseline = "middle";
  for (const value of list) {
    context.strokeStyle = ink.hair;
    context.lineWidth = ratio;
    context.beginPath();
    context.moveTo(0, up(value));
    context.lineTo(width, up(value));
    context.stroke();
    context.fillStyle = ink.soft;
    const text = said(value, decimals);
    const y = Math.min(Math.max(up(value), 7 * ratio), ground.height - 7 * ratio);
    context.lineWidth = 4 * ratio;
    context.strokeStyle = ink.paper;
    context.strokeText(text, 4 * ratio, y);
    context.fillText(text, 4 * ratio, y);
  }
  return up;
}

/** A line through values; null lifts the pen. @param {Ground} ground @param {number[]} time @param {(number | null)[]} value @param {(value: number) => number} up @param {{colour: string, width: number, dash?: number[], alpha?: number}} look */
function curve({ context, at, ratio, span }, time, value, up, look) {
  context.strokeStyle = look.colour;
  context.lineWidth = look.width * ratio;
  context.lineJoin = "round";
  context.globalAlpha = look.alpha ?? 1;
  context.setLineDash((look.dash ?? []).map((length) => length * ratio));
  context.beginPath();
  let down = false;
  const [from, to] = [Math.max(0, nearest(time, span[0]) - 1), Math.min(time.length - 1, nearest(time, span[1]) + 1)];
  for (let i = from; i <= to; i++) {
    const v = value[i];
    if (v === null || v === undefined) {
      down = false;
      continue;
    }
    if (down) context.lineTo(at(time[i]), up(v));
    else context.moveTo(at(time[i]), up(v));
    down = true;
  }
  context.stroke();
  context.setLineDash([]);
  context.globalAlpha = 1;
}

/** Dots, as many as there is room for; a line where there are more. @param {Ground} ground @param {number[]} time @param {(number | null)[]} value @param {(value: number) => number} up @param {string} colour */
function dots(ground, time, value, up, colour) {
  const { context, at, ratio, span, width } = ground;
  const [from, to] = [nearest(time, span[0]), nearest(time, span[1])];
  if (to - from > width / ratio / 3) return curve(ground, time, value, up, { colour, width: 1 });
  context.fillStyle = colour;
  for (let i = from; i <= to; i++) {
    const v = value[i];
    if (v === null || v === undefined) continue;
    context.beginPath();
    context.arc(at(time[i]), up(v), 1.7 * ratio, 0, 2 * Math.PI);
    context.fill();
  }
}

/** @param {(number | null)[]} list @param {number} i */
function value(list, i) {
  const v = list[i];
  return v === null || v === undefined ? null : v;
}

/** @param {number} v */
function amplitude(v) {
  return fixed(v, 4);
}

/** What happened, as flags. @param {Lanes} lanes @returns {Lane} */
export function eventsLane(lanes) {
  const near = (/** @type {number} */ time) => lanes.events.filter((event) => Math.abs(event.time.value - time) < 0.02 * (lanes.times[lanes.times.length - 1] - lanes.times[0] || 1));
  return {
    name: "Events",
    note: "what happened, and when",
    tall: 26,
    said: (time) => near(time).map((event) => words(event.name)).join(", ") || "nothing here",
    draw({ context, ink, at, ratio, height: tall }) {
      context.font = `600 ${11 * ratio}px "Segoe UI", "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif`;
      context.textBaseline = "middle";
      for (const event of lanes.events) {
        const x = at(event.time.value);
        context.fillStyle = ink.fitted;
        context.beginPath();
        context.moveTo(x, 3 * ratio);
        context.lineTo(x + 8 * ratio, tall / 2);
        context.lineTo(x, tall - 3 * ratio);
        context.fill();
        context.fillStyle = ink.ink;
        context.fillText(words(event.name), x + 12 * ratio, tall / 2);
      }
    },
  };
}

/** Size of a body. @param {Lanes} lanes @param {Body} body @param {boolean} several @returns {Lane} */
export function sizeLane(lanes, body, several) {
  const factor = lanes.scale ? 1000 * lanes.scale : 1;
  const unit = lanes.scale ? "mm" : "px";
  const radius = body.radius.map((r) => r * factor);
  const all = range(radius);
  return {
    name: several ? `Size, body ${body.body}` : "Size",
    note: `radius of the sphere of equal volume, ${unit}`,
    tall: 46,
    said: (time) => `${fixed(radius[nearest(body.time, time)], 4)} ${unit}`,
    draw(ground) {
      const up = scale(ground, all, (v, d) => fixed(v, d));
      dots(ground, body.time, radius, up, ground.ink.measured);
    },
  };
}

/** Where all bodies are, each along its own line; a number stands where a line begins. @param {Lanes} lanes @returns {Lane} */
export function tracksLane(lanes) {
  const factor = lanes.scale ? 1000 * lanes.scale : 1;
  const unit = lanes.scale ? "mm" : "px";
  const ways = lanes.bodies.map((body) => ({ body, x: body.x.map((v) => v * factor), y: body.y.map((v) => v * factor) }));
  const all = range(ways.flatMap(({ x, y }) => [...x, ...y]));
  const last = (/** @type {number[]} */ time) => time[time.length - 1] ?? -1;
  return {
    name: "Tracks",
    note: `places of all bodies, ${unit}: from the left (solid), from the top (dashed)`,
    tall: 84,
    said: (time) => {
      const there = ways.filter(({ body }) => body.time[0] <= time && last(body.time) >= time).map(({ body }) => body.body);
      return there.length === 0 ? "no body" : `${there.length === 1 ? "body" : "bodies"} ${there.slice(0, 6).join(", ")}${there.length > 6 ? " …" : ""}`;
    },
    draw(ground) {
      const up = scale(ground, all, (v, d) => fixed(v, d));
      const { context, ink, ratio, at } = ground;
      for (const { body, x, y } of ways) {
        curve(ground, body.time, x, up, { colour: ink.measured, width: 1.6 });
        curve(ground, body.time, y, up, { colour: ink.measured, width: 1.6, dash: [5, 4] });
      }
      // Numbers beside the beginnings, as long as they can be told apart.
      if (ways.length > 12) return;
      context.font = `600 ${11 * ratio}px "Segoe UI", "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif`;
      for (const { body, x } of ways) {
        const i = nearest(body.time, Math.max(ground.span[0], body.time[0]));
        const place = /** @type {[number, number]} */ ([Math.max(30 * ratio, at(body.time[i]) + 4 * ratio), up(x[i]) - 7 * ratio]);
        context.lineWidth = 4 * ratio;
        context.strokeStyle = ink.paper;
        context.strokeText(String(body.body), ...place);
        context.fillStyle = ink.ink;
        context.fillText(String(body.body), ...place);
      }
    },
  };
}

/** How many bodies each frame shows, as steps. @param {Lanes} lanes @returns {Lane} */
export function countsLane(lanes) {
  const { times, counts } = lanes;
  /** @type {[number, number]} */
  const all = [-0.3, Math.max(1, ...counts) + 0.4];
  return {
    name: "Count",
    note: "how many bodies a frame shows",
    tall: 54,
    said: (time) => String(counts[nearest(times, time)] ?? 0),
    draw(ground) {
      const up = scale(ground, all, (v) => (Number.isInteger(v) ? fixed(v, 0) : ""));
      /** @type {number[]} */
      const when = [];
      /** @type {number[]} */
      const many = [];
      counts.forEach((count, i) => {
        if (i > 0 && count === counts[i - 1] && i < counts.length - 1) return;
        if (i > 0) {
          when.push(times[i]);
          many.push(counts[i - 1]);
        }
        when.push(times[i]);
        many.push(count);
      });
      curve(ground, when, many, up, { colour: ground.ink.measured, width: 2 });
    },
  };
}

/** Path of the centre. @param {Lanes} lanes @param {Body} body @param {boolean} several @returns {Lane} */
export function centreLane(lanes, body, several) {
  const factor = lanes.scale ? 1000 * lanes.scale : 1;
  const unit = lanes.scale ? "mm" : "px";
  const from = (/** @type {number[]} */ list) => list.map((v) => (v - list[0]) * factor);
  const [x, y] = [from(body.x), from(body.y)];
  const all = range([...x, ...y]);
  return {
    name: several ? `Centre, body ${body.body}` : "Centre",
    note: `way from its first place, ${unit}: right (solid), down (dashed)`,
    tall: 46,
    said: (time) => {
      const i = nearest(body.time, time);
      return `right ${fixed(x[i], 3)}, down ${fixed(y[i], 3)} ${unit}`;
    },
    draw(ground) {
      const up = scale(ground, all, (v, d) => fixed(v, d));
      curve(ground, body.time, x, up, { colour: ground.ink.measured, width: 1.6 });
      curve(ground, body.time, y, up, { colour: ground.ink.measured, width: 1.6, dash: [5, 4] });
    },
  };
}

/** Amplitude of a degree, with its fit and what is expected. @param {Mode} mode @param {boolean} several @returns {Lane} */
export function modeLane(mode, several) {
  const all = range(mode.measured);
  const begun = mode.expected;
  return {
    name: `Mode ${mode.degree}${several ? `, body ${mode.body}` : ""}`,
    note: "in units of R: measured dots, fitted broad, expected dashed",
    tall: 72,
    said: (time) => {
      const i = nearest(mode.time, time);
      const [m, f] = [value(mode.measured, i), value(mode.fitted, i)];
      if (m === null) return "not measured";
      const other = begun ? `, expected ${amplitude(expected(begun, mode.time[i]))}` : f === null ? "" : `, fitted ${amplitude(f)}`;
      return `${amplitude(m)}${other}`;
    },
    draw(ground) {
      const up = scale(ground, all, (v, d) => fixed(v, d));
      curve(ground, mode.time, mode.fitted, up, { colour: ground.ink.fitted, width: 5, alpha: 0.45 });
      if (begun) {
        const { time, list } = fine(ground, begun);
        curve(ground, time, list, up, { colour: ground.ink.reference, width: 1.5, dash: [7, 4] });
      }
      dots(ground, mode.time, mode.measured, up, ground.ink.measured);
    },
  };
}

/** The expected swing at every other pixel. @param {Ground} ground @param {Begun} begun */
function fine({ span, width, ratio }, begun) {
  const count = Math.max(2, Math.round(width / ratio / 2));
  const time = Array.from({ length: count + 1 }, (_, i) => span[0] + ((span[1] - span[0]) * i) / count);
  return { time, list: time.map((t) => (t < begun.start ? null : expected(begun, t))) };
}

/** Measured less expected. @param {Mode} mode @param {boolean} several @returns {Lane | null} */
export function differenceLane(mode, several) {
  const begun = mode.expected;
  if (!begun) return null;
  const list = mode.measured.map((v, i) => (v === null ? null : v - expected(begun, mode.time[i])));
  const all = range([...list, 0]);
  return {
    name: `Difference ${mode.degree}${several ? `, body ${mode.body}` : ""}`,
    note: "measured less expected, in units of R",
    tall: 46,
    said: (time) => {
      const v = value(list, nearest(mode.time, time));
      return v === null ? "not measured" : amplitude(v);
    },
    draw(ground) {
      const up = scale(ground, all, (v, d) => fixed(v, d));
      dots(ground, mode.time, list, up, ground.ink.residual);
    },
  };
}

/** Angle against time: how far the surface stands out from the sphere, from the measured amplitudes. @param {Mode[]} modes @param {boolean} several @returns {Lane} */
export function waveLane(modes, several) {
  const time = modes[0].time;
  const degrees = modes.map((mode) => mode.degree);
  const most = Math.max(...degrees);
  const rows = 46;
  const p = Array.from({ length: rows }, (_, row) => legendre(most, Math.cos((Math.PI * (row + 0.5)) / rows)));
  const at = (/** @type {number} */ i, /** @type {number} */ row) =>
    modes.reduce((sum, mode) => sum + (value(mode.measured, i) ?? 0) * p[row][mode.degree], 0);
  let reach = 0;
  for (let i = 0; i < time.length; i += Math.max(1, Math.floor(time.length / 300))) {
    for (let row = 0; row < rows; row += 3) reach = Math.max(reach, Math.abs(at(i, row)));
  }
  return {
    name: several ? `Waves, body ${modes[0].body}` : "Waves",
    note: "angle from the axis, 0° at the top; light stands out, dark is sunk in",
    tall: 66,
    said: (when) => {
      const i = nearest(time, when);
      return `pole ${amplitude(at(i, 0))}, equator ${amplitude(at(i, rows >> 1))}`;
    },
    draw({ context, span, width, height: tall, ratio, ink }) {
      const columns = Math.max(1, Math.round(width / ratio));
      const map = new ImageData(columns, rows);
      for (let x = 0; x < columns; x++) {
        const i = nearest(time, span[0] + ((span[1] - span[0]) * (x + 0.5)) / columns);
        for (let row = 0; row < rows; row++) map.data.set(tint(at(i, row) / (reach || 1)), 4 * (row * columns + x));
      }
      const small = document.createElement("canvas");
      [small.width, small.height] = [columns, rows];
      small.getContext("2d")?.putImageData(map, 0, 0);
      context.imageSmoothingEnabled = true;
      context.drawImage(small, 0, 0, width, tall);
      context.strokeStyle = ink.guide;
      context.lineWidth = ratio;
      context.strokeRect(ratio / 2, ratio / 2, width - ratio, tall - ratio);
    },
  };
}

/** From sunk in (dark blue-green) by grey to standing out (pale straw): lightness alone tells. @param {number} v */
export function tint(v) {
  const t = Math.min(1, Math.max(0, 0.5 + v / 2));
  const stops = [[9, 38, 50], [11, 97, 119], [128, 140, 138], [222, 190, 140], [252, 243, 222]];
  const k = Math.min(3, Math.floor(t * 4));
  const f = t * 4 - k;
  return [0, 1, 2].map((c) => stops[k][c] + f * (stops[k + 1][c] - stops[k][c])).concat(255);
}

/**
 * The lanes on the page, with the instant drawn through all of them; frames that were left out are hatched.
 * @param {import("./clock.js").Clock} clock @param {Span} span @param {Lane[]} list @param {[number, number][]} [leftOut] First frame, and one past the last.
 */
export function laneStack(clock, span, list, leftOut = []) {
  const label = "Time: arrow keys step a frame, page keys ten, home and end; plus and minus stretch";
  const now = h("div", { class: "now", "aria-hidden": "true" });
  const looped = h("div", { class: "looped", "aria-hidden": "true", hidden: true });
  const axis = h("canvas", { class: "axis", "aria-hidden": "true" });
  const stack = h("div", { class: "lanes", role: "slider", tabindex: 0, "aria-label": label });
  /** @type {{lane: Lane, canvas: HTMLCanvasElement, said: HTMLElement}[]} */
  const rows = list.map((lane) => {
    const canvas = h("canvas", { class: "lane", "aria-hidden": "true" });
    canvas.style.height = `${lane.tall}px`;
    const said = h("span", { class: "said" });
    const name = h("div", { class: "lane-name", title: lane.note }, h("b", {}, lane.name), said, lane.tall > 60 && h("small", {}, lane.note));
    stack.append(h("div", { class: "lane-row" }, name, canvas));
    return { lane, canvas, said };
  });
  stack.append(h("div", { class: "lane-row" }, h("div", { class: "lane-name" }, h("small", {}, "real time, s")), axis));
  const outs = leftOut.map(([from, end]) => ({ from, end, bar: h("div", { class: "left-out", "aria-hidden": "true" }) }));
  const box = h("div", { class: "lane-box" }, outs.map(({ bar }) => bar), looped, now);
  stack.append(box);

  const ground = (/** @type {HTMLCanvasElement} */ canvas) => {
    fit(canvas);
    const context = pen(canvas);
    const { width, height: tall } = canvas;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, width, tall);
    const [from, to] = span.shown;
    const at = (/** @type {number} */ time) => ((time - from) / (to - from)) * width;
    return { ink: colours(), context, width, height: tall, ratio: devicePixelRatio || 1, at, span: span.shown };
  };
  const drawAxis = () => {
    const g = ground(axis);
    const { list: marks, decimals } = ticks(span.shown[0], span.shown[1], 8);
    g.context.font = `${11 * g.ratio}px "Segoe UI", "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif`;
    g.context.textBaseline = "top";
    g.context.textAlign = "center";
    for (const mark of marks) {
      g.context.strokeStyle = g.ink.guide;
      g.context.lineWidth = g.ratio;
      g.context.beginPath();
      g.context.moveTo(g.at(mark), 0);
      g.context.lineTo(g.at(mark), 4 * g.ratio);
      g.context.stroke();
      g.context.fillStyle = g.ink.soft;
      const text = fixed(mark, decimals);
      const room = g.context.measureText(text).width / 2;
      g.context.fillText(text, Math.min(Math.max(g.at(mark), room), g.width - room), 6 * g.ratio);
    }
  };
  const drawNow = () => {
    const time = clock.time ?? 0;
    const [from, to] = span.shown;
    const place = (/** @type {number} */ t) => `${(100 * (t - from)) / (to - from)}%`;
    now.style.left = place(time);
    now.hidden = time < from || time > to;
    for (const { from: first, end, bar } of outs) {
      const ends = [first, end].map((frame) => Math.min(to, Math.max(from, clock.timeOf(Math.min(frame, clock.end)) ?? 0)));
      bar.hidden = ends[1] <= from || ends[0] >= to;
      bar.style.left = place(ends[0]);
      bar.style.width = `max(3px, ${(100 * (ends[1] - ends[0])) / (to - from)}%)`;
    }
    looped.hidden = !clock.loop;
    if (clock.loop) {
      const ends = clock.loop.map((frame) => Math.min(to, Math.max(from, clock.timeOf(frame) ?? 0)));
      looped.style.left = place(ends[0]);
      looped.style.width = `${(100 * (ends[1] - ends[0])) / (to - from)}%`;
    }
    for (const { lane, said } of rows) said.textContent = lane.said(time);
    stack.setAttribute("aria-valuemin", String(clock.first));
    stack.setAttribute("aria-valuemax", String(clock.end));
    stack.setAttribute("aria-valuenow", String(clock.frame));
    const out = leftOut.some(([first, end]) => clock.frame >= first && clock.frame < end) ? ", left out by hand" : "";
    stack.setAttribute("aria-valuetext", `${fixed(time, 4)} seconds, frame ${clock.frame}${out}`);
  };
  const draw = () => {
    for (const { lane, canvas } of rows) lane.draw(ground(canvas));
    drawAxis();
    drawNow();
  };
  span.listeners.add(draw);
  clock.heard(() => {
    if (clock.time !== null) span.follow(clock.time);
    drawNow();
  });
  new ResizeObserver(draw).observe(stack);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);

  const timeAt = (/** @type {PointerEvent | WheelEvent} */ event) => {
    const edge = box.getBoundingClientRect();
    const share = (event.clientX - edge.left) / Math.max(1, edge.width);
    return span.shown[0] + share * (span.shown[1] - span.shown[0]);
  };
  let held = false;
  stack.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.clientX < box.getBoundingClientRect().left) return;
    held = true;
    stack.setPointerCapture(event.pointerId);
    clock.stop();
    clock.toTime(timeAt(event));
  });
  stack.addEventListener("pointermove", (event) => held && clock.toTime(timeAt(event)));
  for (const name of /** @type {const} */ (["pointerup", "pointercancel"])) stack.addEventListener(name, () => (held = false));
  stack.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.shiftKey) return;
    event.preventDefault();
    span.magnify(Math.exp(-(event.deltaY || event.deltaX) / 400), timeAt(event));
  }, { passive: false });
  return { element: stack, draw };
}
