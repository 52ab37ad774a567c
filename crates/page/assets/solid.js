// The body in the round, from its measured amplitudes: turned by hand, in step with the clip, lighter where it stands out.

import { colours, fit, h, pen } from "./dom.js";
import { tint } from "./lanes.js";
import { nearest, reach } from "./shape.js";

/** Parts from pole to pole, and around. */
const ALONG = 30;
const AROUND = 44;

/**
 * @param {import("./lanes.js").Lanes} lanes @param {import("./clock.js").Clock} clock
 * @returns {HTMLElement | null}
 */
export function solid(lanes, clock) {
  const body = lanes.bodies[0];
  const modes = lanes.modes.filter((mode) => mode.body === body?.body);
  if (!body || modes.length === 0) return null;
  const most = Math.max(1e-9, ...modes.map((mode) => Math.max(...mode.measured.map((v) => Math.abs(v ?? 0)))));
  let [turn, nod] = [0.5, 0.45];
  const canvas = h("canvas", { class: "solid", tabindex: 0, role: "img", "aria-label": "The body in the round, from its measured amplitudes; drag it, or press a, d, w, s to turn it" });
  const draw = () => {
    fit(canvas);
    const i = nearest(modes[0].time, clock.time ?? 0);
    const amplitudes = new Map(modes.map((mode) => [mode.degree, mode.measured[i] ?? 0]));
    paint(canvas, amplitudes, body.axis[0] ?? 0, turn, nod, most);
  };
  clock.heard(draw);
  new ResizeObserver(draw).observe(canvas);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
  const by = (/** @type {number} */ x, /** @type {number} */ y) => {
    turn += x;
    nod = Math.min(1.5, Math.max(-1.5, nod + y));
    draw();
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    let [x, y] = [event.clientX, event.clientY];
    const move = (/** @type {PointerEvent} */ later) => {
      by((later.clientX - x) / 90, (later.clientY - y) / 90);
      [x, y] = [later.clientX, later.clientY];
    };
    canvas.addEventListener("pointermove", move);
    canvas.addEventListener("pointerup", () => canvas.removeEventListener("pointermove", move), { once: true });
  });
  canvas.addEventListener("keydown", (event) => {
    /** @type {Record<string, [number, number]>} */
    const keys = { a: [-0.15, 0], d: [0.15, 0], w: [0, -0.15], s: [0, 0.15] };
    const step = keys[event.key];
    if (!step || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    by(...step);
  });
  return h("figure", { class: "round" }, canvas,
    h("figcaption", {}, h("b", {}, "In the round"), ` as measured, swing ${enlarged(most)}; light stands out, dark is sunk in. Taken as a body of revolution.`));
}

/** How much the swing is enlarged, so that it is seen. @param {number} most */
function factor(most) {
  return Math.min(20, Math.max(1, 0.18 / most));
}

/** @param {number} most */
function enlarged(most) {
  const times = factor(most);
  return times > 1.05 ? `enlarged ${times.toFixed(times < 10 ? 1 : 0)} times` : "not enlarged";
}

/**
 * @param {HTMLCanvasElement} canvas @param {Map<number, number>} amplitudes @param {number} axis @param {number} turn @param {number} nod @param {number} most
 */
function paint(canvas, amplitudes, axis, turn, nod, most) {
  const context = pen(canvas);
  const ink = colours();
  const { width, height } = canvas;
  const large = new Map([...amplitudes].map(([n, a]) => [n, a * factor(most)]));
  const size = 0.36 * Math.min(width, height);
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.clearRect(0, 0, width, height);
  context.lineJoin = "round";
  const rows = Array.from({ length: ALONG + 1 }, (_, i) => {
    const theta = (Math.PI * i) / ALONG;
    const r = reach(large, theta);
    return { z: r * Math.cos(theta), rho: r * Math.sin(theta), out: reach(amplitudes, theta) - 1 };
  });
  // The axis lies in the picture as it was filmed; then the body is turned about the upright and nodded.
  const place = (/** @type {number} */ rho, /** @type {number} */ z, /** @type {number} */ phi) => {
    const [x0, y0, z0] = [rho * Math.cos(phi), rho * Math.sin(phi), z];
    const [x1, z1] = [x0 * Math.cos(axis) + z0 * Math.sin(axis), -x0 * Math.sin(axis) + z0 * Math.cos(axis)];
    const [x2, y2] = [x1 * Math.cos(turn) - y0 * Math.sin(turn), x1 * Math.sin(turn) + y0 * Math.cos(turn)];
    return [x2, y2 * Math.cos(nod) - z1 * Math.sin(nod), y2 * Math.sin(nod) + z1 * Math.cos(nod)];
  };
  /** @type {{depth: number, corners: number[][], light: number, out: number}[]} */
  const faces = [];
  for (let i = 0; i < ALONG; i++) {
    for (let j = 0; j < AROUND; j++) {
      const [p, q] = [(2 * Math.PI * j) / AROUND, (2 * Math.PI * (j + 1)) / AROUND];
      const [a, b] = [rows[i], rows[i + 1]];
      const corners = [place(a.rho, a.z, p), place(a.rho, a.z, q), place(b.rho, b.z, q), place(b.rho, b.z, p)];
      const [u, v] = [corners[2].map((c, k) => c - corners[0][k]), corners[3].map((c, k) => c - corners[1][k])];
      const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const middle = [0, 1, 2].map((k) => (corners[0][k] + corners[2][k]) / 2);
      // Outwards is away from the middle of the body; the eye looks along +y.
      const sense = Math.sign(n[0] * middle[0] + n[1] * middle[1] + n[2] * middle[2]) || 1;
      const length = Math.hypot(...n) || 1;
      const [nx, ny, nz] = n.map((c) => (c * sense) / length);
      if (ny > 0.02) continue;
      faces.push({ depth: middle[1], corners, light: Math.max(0, -0.72 * ny + 0.55 * nz - 0.35 * nx), out: (a.out + b.out) / 2 });
    }
  }
  faces.sort((a, b) => b.depth - a.depth);
  // An end of the axis that is turned away is drawn before the body, and so behind it.
  const ends = (/** @type {boolean} */ near) => {
    context.strokeStyle = ink.fitted;
    context.lineWidth = 1.5 * (devicePixelRatio || 1);
    context.setLineDash([7, 4]);
    for (const pole of [rows[0].z, rows[ALONG].z]) {
      const [a, b] = [place(0, 1.02 * pole, 0), place(0, 1.3 * pole, 0)];
      if (b[1] < 0 !== near) continue;
      context.beginPath();
      context.moveTo(width / 2 + size * a[0], height / 2 - size * a[2]);
      context.lineTo(width / 2 + size * b[0], height / 2 - size * b[2]);
      context.stroke();
    }
    context.setLineDash([]);
  };
  ends(false);
  for (const face of faces) {
    const shade = 0.4 + 0.6 * Math.min(1, face.light);
    const [r, g, b] = tint(face.out / most).map((c) => Math.round(c * shade));
    context.beginPath();
    face.corners.forEach(([x, , z], k) => {
      const [px, py] = [width / 2 + size * x, height / 2 - size * z];
      if (k === 0) context.moveTo(px, py);
      else context.lineTo(px, py);
    });
    context.closePath();
    context.fillStyle = context.strokeStyle = `rgb(${r} ${g} ${b})`;
    context.fill();
    context.stroke();
  }
  ends(true);
}
