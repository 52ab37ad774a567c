// The three pictures of one instant: seen, measured, expected. One zoom and one place for all of them.

import { colours, fit, h, pen } from "./dom.js";
import { outline } from "./shape.js";

/**
 * @typedef {{points: [number, number][], closed: boolean}} Stretch
 * @typedef {{body: number, stretches: Stretch[], simulated: [number, number][], left: number | null}} Outline
 * @typedef {{centre: [number, number], radius: number, axis: number, amplitudes: Map<number, number>}} Body
 */

/** What is in view: a place of the clip in the middle, and screen pixels for each of its pixels. */
export class View {
  /** @param {number} width @param {number} height Of the clip, px. */
  constructor(width, height) {
    /** @type {[number, number]} */
    this.size = [width, height];
    /** @type {[number, number]} */
    this.middle = [(width - 1) / 2, (height - 1) / 2];
    this.zoom = 1;
    /** @type {Set<() => void>} */
    this.listeners = new Set();
  }

  whole() {
    this.middle = [(this.size[0] - 1) / 2, (this.size[1] - 1) / 2];
    this.zoom = 1;
    this.tell();
  }

  tell() {
    for (const listener of this.listeners) listener();
  }

  /** Screen pixels for each pixel of the clip. @param {HTMLCanvasElement} canvas */
  scale(canvas) {
    return this.zoom * Math.min(canvas.width / this.size[0], canvas.height / this.size[1]);
  }

  /** From the clip to the canvas. @param {HTMLCanvasElement} canvas @param {[number, number]} place @returns {[number, number]} */
  out(canvas, [x, y]) {
    const s = this.scale(canvas);
    return [canvas.width / 2 + s * (x - this.middle[0]), canvas.height / 2 + s * (y - this.middle[1])];
  }

  /** From a pointer to the clip. @param {HTMLCanvasElement} canvas @param {{offsetX: number, offsetY: number}} event @returns {[number, number]} */
  back(canvas, event) {
    const ratio = canvas.width / Math.max(1, canvas.clientWidth);
    const s = this.scale(canvas);
    return [
      this.middle[0] + (event.offsetX * ratio - canvas.width / 2) / s,
      this.middle[1] + (event.offsetY * ratio - canvas.height / 2) / s,
    ];
  }

  /** @param {number} factor @param {[number, number]} [about] */
  magnify(factor, about = this.middle) {
    const zoom = Math.min(40, Math.max(1, this.zoom * factor));
    const share = this.zoom / zoom;
    this.middle = [about[0] + (this.middle[0] - about[0]) * share, about[1] + (this.middle[1] - about[1]) * share];
    this.zoom = zoom;
    this.inside();
    this.tell();
  }

  /** @param {number} x @param {number} y px of the clip. */
  move(x, y) {
    this.middle = [this.middle[0] + x, this.middle[1] + y];
    this.inside();
    this.tell();
  }

  inside() {
    for (const side of /** @type {(0 | 1)[]} */ ([0, 1])) {
      const half = this.size[side] / 2 / this.zoom;
      const [low, high] = [half - 0.5, this.size[side] - 0.5 - half];
      this.middle[side] = Math.min(Math.max(this.middle[side], Math.min(low, high)), Math.max(low, high));
    }
  }
}

/**
 * A canvas over the clip: wheel and drag move the view, keys do so too.
 * @param {View} view @param {string} label @param {(canvas: HTMLCanvasElement) => void} draw
 */
export function pane(view, label, draw) {
  const canvas = h("canvas", { class: "pane", tabindex: 0, role: "img", "aria-label": label });
  const drawn = () => {
    fit(canvas);
    draw(canvas);
  };
  view.listeners.add(drawn);
  new ResizeObserver(drawn).observe(canvas);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawn);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    view.magnify(Math.exp(-event.deltaY / 400), view.back(canvas, event));
  }, { passive: false });
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || canvas.dataset.tool) return;
    canvas.setPointerCapture(event.pointerId);
    let last = view.back(canvas, event);
    const move = (/** @type {PointerEvent} */ later) => {
      const now = view.back(canvas, later);
      view.move(last[0] - now[0], last[1] - now[1]);
      last = view.back(canvas, later);
    };
    canvas.addEventListener("pointermove", move);
    canvas.addEventListener("pointerup", () => canvas.removeEventListener("pointermove", move), { once: true });
  });
  canvas.addEventListener("dblclick", () => !canvas.dataset.tool && view.whole());
  canvas.addEventListener("keydown", (event) => {
    const step = view.size[0] / view.zoom / 12;
    /** @type {Record<string, () => void>} */
    const keys = {
      "+": () => view.magnify(1.25), "=": () => view.magnify(1.25), "-": () => view.magnify(0.8), 0: () => view.whole(),
      w: () => view.move(0, -step), s: () => view.move(0, step), a: () => view.move(-step, 0), d: () => view.move(step, 0),
    };
    const done = keys[event.key];
    if (!done || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    done();
  });
  return { canvas, drawn };
}

/** The frame as filmed. @param {HTMLCanvasElement} canvas @param {View} view @param {CanvasImageSource | null} picture @param {number} frame Its number. @param {number} [strength] */
export function paintFrame(canvas, view, picture, frame, strength = 1) {
  const context = pen(canvas);
  const ink = colours();
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.globalAlpha = 1;
  context.fillStyle = ink.hair;
  context.fillRect(0, 0, canvas.width, canvas.height);
  if (!picture) return;
  canvas.dataset.frame = String(frame);
  const [x, y] = view.out(canvas, [-0.5, -0.5]);
  const s = view.scale(canvas);
  context.imageSmoothingEnabled = s < 3;
  if (strength < 1) {
    context.fillStyle = ink.paper;
    context.fillRect(x, y, s * view.size[0], s * view.size[1]);
    context.globalAlpha = strength;
  }
  context.drawImage(picture, x, y, s * view.size[0], s * view.size[1]);
  context.globalAlpha = 1;
}

/** @param {HTMLCanvasElement} canvas @param {View} view @param {[number, number][]} points @param {boolean} closed */
function traced(canvas, view, points, closed) {
  const path = new Path2D();
  points.forEach((point, i) => {
    const [x, y] = view.out(canvas, point);
    if (i === 0) path.moveTo(x, y);
    else path.lineTo(x, y);
  });
  if (closed) path.closePath();
  return path;
}

/** A line with a halo, so that it is seen on dark and on light. @param {CanvasRenderingContext2D} context @param {Path2D} path @param {string} colour @param {string} halo @param {number} width @param {number[]} dash */
function line(context, path, colour, halo, width, dash) {
  const ratio = devicePixelRatio || 1;
  context.lineJoin = "round";
  context.setLineDash([]);
  context.strokeStyle = halo;
  context.lineWidth = (width + 2) * ratio;
  context.stroke(path);
  context.setLineDash(dash.map((length) => length * ratio));
  context.strokeStyle = colour;
  context.lineWidth = width * ratio;
  context.stroke(path);
  context.setLineDash([]);
}

/** Outlines as found, the axis and the centre. @param {HTMLCanvasElement} canvas @param {View} view @param {Outline[]} outlines @param {Body[]} bodies */
export function paintOutlines(canvas, view, outlines, bodies) {
  const context = pen(canvas);
  const ink = colours();
  for (const { stretches } of outlines) {
    for (const { points, closed } of stretches) {
      line(context, traced(canvas, view, points, closed), ink.measured, ink.paper, 1.8, []);
    }
  }
  for (const { centre, radius, axis } of bodies) {
    const along = [Math.sin(axis) * radius * 1.18, -Math.cos(axis) * radius * 1.18];
    const ends = /** @type {[number, number][]} */ ([
      [centre[0] - along[0], centre[1] - along[1]], [centre[0] + along[0], centre[1] + along[1]],
    ]);
    line(context, traced(canvas, view, ends, false), ink.fitted, ink.paper, 1.2, [9, 4, 2, 4]);
    const [x, y] = view.out(canvas, centre);
    const size = 5 * (devicePixelRatio || 1);
    const cross = new Path2D(`M${x - size} ${y}H${x + size}M${x} ${y - size}V${y + size}`);
    line(context, cross, ink.fitted, ink.paper, 1.2, []);
  }
}

/**
 * What is expected, as a body of its own, with the measured outline thin beside it: the fitted simulation where there is one, theory elsewhere.
 * @param {HTMLCanvasElement} canvas @param {View} view @param {Body[]} bodies @param {Outline[]} measured
 */
export function paintExpected(canvas, view, bodies, measured) {
  const simulated = measured.flatMap((one) => (one.simulated.length ? [one.simulated] : []));
  const shapes = simulated.length ? simulated : bodies.map(({ centre, radius, axis, amplitudes }) => outline(amplitudes, centre, radius, axis));
  const context = pen(canvas);
  const ink = colours();
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.fillStyle = ink.paper;
  context.fillRect(0, 0, canvas.width, canvas.height);
  /** @type {Path2D[]} */
  const paths = [];
  for (const shape of shapes) {
    const path = traced(canvas, view, shape, true);
    context.globalAlpha = 0.16;
    context.fillStyle = ink.reference;
    context.fill(path);
    context.globalAlpha = 1;
    paths.push(path);
  }
  for (const { stretches } of measured) {
    for (const { points, closed } of stretches) line(context, traced(canvas, view, points, closed), ink.measured, ink.paper, 1, []);
  }
  for (const path of paths) {
    context.setLineDash([9, 5].map((length) => length * (devicePixelRatio || 1)));
    context.strokeStyle = ink.reference;
    context.lineWidth = 2.4 * (devicePixelRatio || 1);
    context.stroke(path);
    context.setLineDash([]);
  }
}
