// The clip before it is measured: look at it, give scale and time by pointing, try the outline, say what counts.

import * as api from "./api.js";
import { colours, fill, fixed, h, pen } from "./dom.js";
import { Film } from "./film.js";
import { View, paintFrame, paintOutlines, pane } from "./pictures.js";
import { rejectedAt, strip } from "./strip.js";
import { TOOLS, judge, question } from "./tools.js";
import { keys, transport } from "./transport.js";

/** @typedef {[number, number]} Place */

/** Tools by what they are for. @type {[string, string[]][]} */
const GROUPS = [["Length and time", ["length", "circle", "volume", "second", "clock"]], ["What counts", ["mask", "region", "frames"]]];

/**
 * @param {import("./form.js").Draft} draft @param {api.Clip} clip @param {{width: number, height: number, frames: number | null, codec: string, container: string}} about
 * @param {import("./clock.js").Clock} clock
 */
export function pointing(draft, clip, about, clock) {
  const view = new View(about.width, about.height);
  const film = new Film(clip, () => {
    drawn();
    bar.shown();
    if (film.fault && !about.frames) ended();
  });
  // A camera that kept its own times tells them with each frame.
  const byRate = clock.timeOf;
  clock.timeOf = (frame) => film.held.get(frame)?.time ?? byRate(frame);
  // A clip that does not tell its length does so once its end has been seen.
  const ended = async () => {
    about = await api.get("/api/clip", { clip: clip.path, rate: clip.rate, times: clip.times });
    if (!about.frames) return;
    clock.count = about.frames;
    film.fault = "";
    clock.to(clock.end);
  };
  /** @type {any} */
  let tried = null;
  /** @type {Place[]} */
  let points = [];
  /** @type {[number, number] | null} */
  let chosen = null;
  let tool = "";
  const said = h("p", { class: "note", role: "status" });
  const ask = h("div", { class: "tool-ask" });
  const { canvas, drawn } = pane(view, "The clip; choose a tool and point at it, or type the places", () => {
    paintFrame(canvas, view, film.picture(clock.frame), clock.frame);
    drawings(canvas, view, draft, clock.frame);
    if (tried?.frame === clock.frame) {
      paintOutlines(canvas, view, tried.outlines, tried.bodies.map((/** @type {any} */ body) => ({ ...body, amplitudes: new Map() })));
    }
    marks(canvas, view, points, tool === "mask" || tool === "circle" || tool === "region");
    if (film.fault) said.textContent = film.fault;
  });
  canvas.classList.add("large");
  canvas.style.aspectRatio = `${about.width} / ${about.height}`;
  canvas.style.setProperty("--wide", String(about.width / about.height));
  clock.ready = () => film.has(clock.frame) || film.fault !== "";
  const judging = h("div", { class: "judging", role: "group", "aria-label": "What the outline in this frame is", hidden: true });
  const judged = () => {
    judging.hidden = tried?.frame !== clock.frame || tool !== "";
    const rejected = rejectedAt(draft, clock.frame);
    const say = (/** @type {string} */ text) => (said.textContent = text);
    const here = () => /** @type {[number, number]} */ ([clock.frame, clock.frame + 1]);
    fill(judging, "This outline is ",
      h("button", { type: "button", on: { click: () => judge(draft, here(), "accepted").then(() => say(`Frame ${clock.frame} is kept as looked at and right.`)) } }, "right"),
      h("button", { type: "button", on: { click: () => {
        tried.partly = clock.frame;
        choose("mask", true);
        say("Point at what is wrong: that part of the outline is left out in this frame only.");
      } } }, "partly wrong"),
      h("button", { type: "button", on: { click: () => {
        chosen = here();
        choose("frames", true);
      } } }, "wrong"),
      rejected && h("b", {}, "rejected: it will not be measured"));
  };
  clock.heard(() => {
    film.want(clock.frame, clock.moving);
    drawn();
    judged();
  });
  draft.heard(drawn);
  draft.heard(judged);
  film.want(clock.frame, 0);

  const look = async () => {
    clock.stop();
    const begun = performance.now();
    try {
      const { body } = await api.send("POST", "/api/try", { path: draft.path, text: draft.text, frame: clock.frame });
      tried = body;
      const found = body.bodies.map((/** @type {any} */ one) => `a body of radius ${fixed(one.radius, 2)} px, ${fixed(100 * one.coverage, 0)} % of its outline seen`);
      said.textContent = `${found.join("; ") || "no body found"} (${body.lighting}; from this frame alone, in ${fixed(performance.now() - begun, 0)} ms)`;
    } catch (why) {
      said.textContent = /** @type {Error} */ (why).message;
    }
    judged();
    drawn();
  };
  const choose = (/** @type {string} */ name, again = false) => {
    tool = tool === name && !again ? "" : name;
    points = [];
    if (tool !== "frames") chosen = null;
    if (tool && TOOLS[tool].most > 0) canvas.dataset.tool = tool;
    else delete canvas.dataset.tool;
    for (const button of tools.flat()) button.setAttribute("aria-pressed", String(button.value === tool));
    questions();
    judged();
    drawn();
    time.drawn();
  };
  const tools = GROUPS.map(([, names]) => names.map((value) =>
    h("button", { type: "button", value, "aria-pressed": false, on: { click: () => choose(value) } }, TOOLS[value].name)));
  const choosing = (/** @type {[number, number]} */ frames) => {
    chosen = frames;
    questions();
    time.drawn();
  };
  const time = strip(clock, draft, { drawing: () => tool === "frames", chosen: () => chosen, choose: choosing });
  /** @type {import("./tools.js").Bench} */
  const bench = { draft, clock, tried: () => tried, look, points: () => points, chosen: () => chosen, choose: choosing };
  /** Places that were typed in place of those that were pointed at. */
  const repointed = (/** @type {Place[]} */ typed) => {
    points = typed;
    questions();
    drawn();
  };
  const questions = () => {
    const mine = tool;
    // What was typed stays while places are added.
    const typed = new Map([...ask.querySelectorAll("input")].map((input) => [input.id, input.value]));
    const focus = document.activeElement?.id;
    fill(ask, ...question(tool, bench, repointed, (text) => {
      said.textContent = text;
      // Another tool may have been taken up meanwhile.
      if (tool === mine) choose("");
    }));
    if (ask.dataset.tool === tool) {
      for (const input of ask.querySelectorAll("input")) {
        const old = typed.get(input.id);
        if (old !== undefined && !/^(tool-places|tool-only|stretch-)/.test(input.id)) input.value = old;
        if (input.id === focus) input.focus();
      }
    }
    ask.dataset.tool = tool;
  };
  canvas.addEventListener("click", (event) => {
    const most = TOOLS[tool]?.most ?? 0;
    if (most === 0) return;
    if (points.length >= most) points = [];
    const [x, y] = view.back(canvas, event);
    points.push([Math.round(x * 100) / 100, Math.round(y * 100) / 100]);
    questions();
    drawn();
  });
  const bar = transport(clock, film, view, clip.rate, drawn);
  keys(clock, bar, null);
  return [
    h("h2", {}, "The clip"),
    h("div", { class: "tools", role: "group", "aria-label": "Outline and stretch" }, h("button", { type: "button", class: "main", on: { click: look } }, "Try the outline"),
      h("button", { type: "button", on: { click: () => stretch(draft, clock, 0) } }, "Begin here"), h("button", { type: "button", on: { click: () => stretch(draft, clock, 1) } }, "End here")),
    GROUPS.map(([name], i) => h("div", { class: "tools", role: "group", "aria-label": name }, tools[i])),
    canvas,
    time.element,
    ask,
    judging,
    said,
    bar.element,
    h("p", { class: "note" }, `${about.width} × ${about.height} px, ${about.frames ? `${about.frames} frames` : "length not known yet"}, ${about.codec} in ${about.container}`),
  ].flat();
}

/** Which frames are measured. @param {import("./form.js").Draft} draft @param {import("./clock.js").Clock} clock @param {0 | 1} end */
function stretch(draft, clock, end) {
  const known = draft.value("clip.frames");
  const frames = Array.isArray(known) ? [...known] : [0, clock.end + 1];
  frames[end] = end === 0 ? clock.frame : clock.frame + 1;
  if (frames[0] < frames[1]) draft.alter([{ do: "set", key: "clip.frames", value: frames }]);
}

/** What is left out in a frame, hatched lightly, and the region. @param {HTMLCanvasElement} canvas @param {View} view @param {import("./form.js").Draft} draft @param {number} frame */
function drawings(canvas, view, draft, frame) {
  const context = pen(canvas);
  const ink = colours();
  const ratio = devicePixelRatio || 1;
  const path = (/** @type {Place[]} */ corners, /** @type {boolean} */ closed) => {
    const path = new Path2D();
    corners.forEach((corner, i) => {
      const [x, y] = view.out(canvas, corner);
      if (i === 0) path.moveTo(x, y);
      else path.lineTo(x, y);
    });
    if (closed) path.closePath();
    return path;
  };
  context.lineJoin = "round";
  context.lineCap = "round";
  for (const { key, value } of draft.fields) {
    const mask = /^(clip\.mask\.\d+)\.corners$/.exec(key);
    if (!mask || !Array.isArray(value)) continue;
    const when = draft.value(`${mask[1]}.frames`);
    if (Array.isArray(when) && (frame < when[0] || frame >= when[1])) continue;
    const width = Number.parseFloat(draft.value(`${mask[1]}.width`) ?? "");
    context.globalAlpha = 0.35;
    context.fillStyle = context.strokeStyle = ink.residual;
    if (Number.isFinite(width)) {
      context.lineWidth = width * view.scale(canvas);
      context.stroke(path(value, false));
      context.globalAlpha = 1;
      continue;
    }
    context.fill(path(value, true));
    context.globalAlpha = 1;
    context.lineWidth = 1.5 * ratio;
    context.setLineDash([4 * ratio, 3 * ratio]);
    context.stroke(path(value, true));
    context.setLineDash([]);
  }
  const region = draft.value("clip.region");
  if (Array.isArray(region)) {
    const around = path(region, true);
    const all = new Path2D();
    all.rect(0, 0, canvas.width, canvas.height);
    all.addPath(around);
    context.globalAlpha = 0.5;
    context.fillStyle = ink.paper;
    context.fill(all, "evenodd");
    context.globalAlpha = 1;
    context.strokeStyle = ink.measured;
    context.lineWidth = 1.5 * ratio;
    context.stroke(around);
  }
}

/** Places that were pointed at. @param {HTMLCanvasElement} canvas @param {View} view @param {Place[]} points @param {boolean} ring */
function marks(canvas, view, points, ring) {
  const context = pen(canvas);
  const ink = colours();
  const ratio = devicePixelRatio || 1;
  const places = points.map((point) => view.out(canvas, point));
  for (const [colour, width] of /** @type {[string, number][]} */ ([[ink.paper, 4], [ink.fitted, 1.8]])) {
    context.strokeStyle = colour;
    context.lineWidth = width * ratio;
    context.beginPath();
    places.forEach(([x, y], i) => (i === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
    if (ring && places.length > 2) context.closePath();
    for (const [x, y] of places) {
      context.moveTo(x - 6 * ratio, y);
      context.lineTo(x + 6 * ratio, y);
      context.moveTo(x, y - 6 * ratio);
      context.lineTo(x, y + 6 * ratio);
    }
    context.stroke();
  }
}
