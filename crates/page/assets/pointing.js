// The clip before it is measured: look at it, give scale by pointing, try the outline, leave out what is in the way.

import * as api from "./api.js";
import { colours, fill, fixed, h, pen } from "./dom.js";
import { Film } from "./film.js";
import { View, paintFrame, paintOutlines, pane } from "./pictures.js";
import { keys, transport } from "./transport.js";

/** @typedef {[number, number]} Place */

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
  let tool = "";
  const said = h("p", { class: "note", role: "status" });
  const ask = h("div", { class: "tool-ask" });
  const { canvas, drawn } = pane(view, "The clip; choose a tool and point at it, or type the places", () => {
    paintFrame(canvas, view, film.picture(clock.frame), clock.frame);
    masks(canvas, view, draft);
    if (tried?.frame === clock.frame) {
      paintOutlines(canvas, view, tried.outlines, tried.bodies.map((/** @type {any} */ body) => ({ ...body, amplitudes: new Map() })));
    }
    marks(canvas, view, points, tool === "mask" || tool === "circle");
    if (film.fault) said.textContent = film.fault;
  });
  canvas.classList.add("large");
  canvas.style.aspectRatio = `${about.width} / ${about.height}`;
  clock.ready = () => film.has(clock.frame) || film.fault !== "";
  clock.heard(() => {
    film.want(clock.frame, clock.moving);
    drawn();
  });
  draft.heard(drawn);
  film.want(0, 0);

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
    drawn();
  };
  const choose = (/** @type {string} */ name) => {
    tool = tool === name ? "" : name;
    points = [];
    if (tool) canvas.dataset.tool = tool;
    else delete canvas.dataset.tool;
    for (const button of tools) button.setAttribute("aria-pressed", String(button.value === tool));
    questions();
    drawn();
  };
  const tools = [["length", "Known length"], ["circle", "Known circle"], ["volume", "Known volume"], ["mask", "Leave out"]].map(([value, text]) =>
    h("button", { type: "button", value, "aria-pressed": false, on: { click: () => choose(value) } }, text));
  /** Places that were typed in place of those that were pointed at. */
  const repointed = (/** @type {Place[]} */ typed) => {
    points = typed;
    questions();
    drawn();
  };
  const questions = () => {
    const mine = tool;
    fill(ask, ...question(tool, points, repointed, draft, clock, () => tried, look, (text) => {
      said.textContent = text;
      // Another tool may have been taken up meanwhile.
      if (tool === mine) choose("");
    }));
  };
  canvas.addEventListener("click", (event) => {
    if (!tool || tool === "volume") return;
    const most = { length: 2, circle: 3, mask: 40 }[tool] ?? 2;
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
    h("div", { class: "tools", role: "group", "aria-label": "Tools" }, h("button", { type: "button", class: "main", on: { click: look } }, "Try the outline"), tools,
      h("button", { type: "button", on: { click: () => stretch(draft, clock, 0) } }, "Begin here"), h("button", { type: "button", on: { click: () => stretch(draft, clock, 1) } }, "End here")),
    ask,
    canvas,
    bar.element,
    said,
    h("p", { class: "note" }, `${about.width} × ${about.height} px, ${about.frames ? `${about.frames} frames` : "length not known yet"}, ${about.codec} in ${about.container}`),
  ];
}

/** Which frames are measured. @param {import("./form.js").Draft} draft @param {import("./clock.js").Clock} clock @param {0 | 1} end */
function stretch(draft, clock, end) {
  const known = draft.value("clip.frames");
  const frames = Array.isArray(known) ? [...known] : [0, clock.end + 1];
  frames[end] = end === 0 ? clock.frame : clock.frame + 1;
  if (frames[0] < frames[1]) draft.alter([{ do: "set", key: "clip.frames", value: frames }]);
}

/** The circle through three places. @param {Place[]} points @returns {{centre: Place, radius: number} | null} */
export function circle([a, b, c]) {
  const d = 2 * (a[0] * (b[1] - c[1]) + b[0] * (c[1] - a[1]) + c[0] * (a[1] - b[1]));
  if (Math.abs(d) < 1e-9) return null;
  const [p, q, r] = [a, b, c].map(([x, y]) => x * x + y * y);
  const centre = /** @type {Place} */ ([(p * (b[1] - c[1]) + q * (c[1] - a[1]) + r * (a[1] - b[1])) / d, (p * (c[0] - b[0]) + q * (a[0] - c[0]) + r * (b[0] - a[0])) / d]);
  return { centre, radius: Math.hypot(a[0] - centre[0], a[1] - centre[1]) };
}

/**
 * What the tool needs to know, and what it then writes into the file.
 * @param {string} tool @param {Place[]} points @param {(points: Place[]) => void} repointed @param {import("./form.js").Draft} draft @param {import("./clock.js").Clock} clock
 * @param {() => any} tried @param {() => Promise<void>} look @param {(text: string) => void} done
 */
function question(tool, points, repointed, draft, clock, tried, look, done) {
  const input = h("input", { type: "text", id: "tool-value", autocomplete: "off", placeholder: { length: "50.0 +- 0.1 mm", circle: "10.00 +- 0.05 mm", volume: "2.15 +- 0.03 mL", mask: "wire" }[tool] ?? "" });
  const label = { length: "Its length", circle: "Its diameter", volume: "Its volume", mask: "What is there?" }[tool];
  const told = { length: "Point at both ends of something of known length.", circle: "Point at three places on the edge of a circle of known diameter.", volume: "The drop's own volume gives the scale: its outline is tried on this frame.", mask: "Point at the corners of what is in the way; three or more." }[tool];
  const due = { length: 2, circle: 3, volume: 0, mask: 3 }[tool] ?? 0;
  const reference = (/** @type {string} */ length, /** @type {Place} */ from, /** @type {Place} */ to) => draft.alter([
    { do: "remove", key: "camera.scale" }, { do: "set", key: "camera.reference.length", value: length },
    { do: "set", key: "camera.reference.from", value: from }, { do: "set", key: "camera.reference.to", value: to }]);
  const rounded = (/** @type {number} */ v) => Math.round(v * 100) / 100;
  const write = async () => {
    const text = input.value.trim();
    if (tool === "mask") {
      await draft.alter([{ do: "add", table: "clip.mask", values: [["corners", points], ...(text ? [/** @type {[string, string]} */ (["what", text])] : [])] }]);
      return done("Left out from now on; it stands in the file.");
    }
    if (!text) return input.focus();
    if (tool === "length") await reference(text, points[0], points[1]);
    if (tool === "circle") {
      const found = circle(points);
      if (!found) return done("These three places lie on one line.");
      await reference(text, [rounded(found.centre[0] - found.radius), rounded(found.centre[1])], [rounded(found.centre[0] + found.radius), rounded(found.centre[1])]);
    }
    if (tool === "volume") {
      if (tried()?.frame !== clock.frame) await look();
      const body = tried()?.bodies[0];
      if (!body) return done("No body was found in this frame, so its volume gives no scale.");
      try {
        const { diameter } = await api.get("/api/diameter", { volume: text });
        await reference(diameter, [rounded(body.centre[0] - body.radius), rounded(body.centre[1])], [rounded(body.centre[0] + body.radius), rounded(body.centre[1])]);
      } catch (why) {
        return done(/** @type {Error} */ (why).message);
      }
    }
    done("The scale stands in the file as a reference length.");
  };
  const kept = /** @type {{key: string, value: any}[]} */ (draft.fields).filter((field) => /^clip\.mask\.\d+\.corners$/.test(field.key));
  if (!tool) return [];
  const places = h("input", { type: "text", id: "tool-places", autocomplete: "off", value: points.map((point) => point.join(", ")).join("; "), on: { change: () => repointed(typed(places.value)) } });
  return [h("p", {}, told),
    due > 0 && h("p", {}, h("label", { for: "tool-places" }, "Places in the picture, px (x, y; x, y) "), places),
    points.length >= due && [h("label", { for: "tool-value" }, `${label} `), input, " ", h("button", { type: "button", class: "main", on: { click: write } }, "Write into the file")],
    tool === "mask" && kept.map((_, place) => h("button", { type: "button", on: { click: () => draft.alter([{ do: "drop", table: "clip.mask", place }]).then(() => done("Taken back.")) } }, `Take back mask ${place + 1}`))];
}

/** Places from a text such as `1, 2; 3.5, 4`. @param {string} text @returns {Place[]} */
export function typed(text) {
  const pairs = text.split(";").map((pair) => pair.split(",").map((number) => Number.parseFloat(number)));
  return /** @type {Place[]} */ (pairs.filter((pair) => pair.length === 2 && pair.every(Number.isFinite)));
}

/** What is left out, hatched. @param {HTMLCanvasElement} canvas @param {View} view @param {import("./form.js").Draft} draft */
function masks(canvas, view, draft) {
  const context = pen(canvas);
  const ink = colours();
  for (const { key, value } of draft.fields) {
    if (!/^clip\.mask\.\d+\.corners$/.test(key) || !Array.isArray(value)) continue;
    context.beginPath();
    value.forEach((/** @type {Place} */ corner, /** @type {number} */ i) => {
      const [x, y] = view.out(canvas, corner);
      if (i === 0) context.moveTo(x, y);
      else context.lineTo(x, y);
    });
    context.closePath();
    context.globalAlpha = 0.35;
    context.fillStyle = ink.residual;
    context.fill();
    context.globalAlpha = 1;
    context.strokeStyle = ink.residual;
    context.lineWidth = 1.5 * (devicePixelRatio || 1);
    context.setLineDash([4, 3]);
    context.stroke();
    context.setLineDash([]);
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
