// The time of the clip below its picture: where it stands, what is measured, which frames were rejected or accepted; frames are drawn on it.

import { colours, fit, h, pen } from "./dom.js";

/** @typedef {{frames: [number, number], rejected: boolean}} Judged */

/** What a file says of its frames. @param {import("./form.js").Draft} draft @returns {Judged[]} */
export function judged(draft) {
  const value = (/** @type {string} */ key) => draft.value(key);
  const places = draft.fields.map((field) => /^clip\.judged\.(\d+)\.frames$/.exec(field.key)).filter((found) => found !== null);
  return places.map((found) => ({ frames: value(found[0]), rejected: value(`clip.judged.${found[1]}.outline`) === "rejected" }))
    .filter(({ frames }) => Array.isArray(frames));
}

/**
 * @param {import("./clock.js").Clock} clock @param {import("./form.js").Draft} draft
 * @param {{drawing: () => boolean, chosen: () => [number, number] | null, choose: (frames: [number, number]) => void}} hand
 */
export function strip(clock, draft, hand) {
  const canvas = h("canvas", { class: "strip", role: "slider", tabindex: 0, "aria-label": "Time of the clip: arrow keys step a frame, page keys ten, home and end" });
  const at = (/** @type {number} */ frame) => ((frame - clock.first) / Math.max(1, clock.count)) * canvas.width;
  const frameAt = (/** @type {PointerEvent} */ event) => Math.min(clock.end, Math.max(clock.first, clock.first + Math.floor((event.offsetX / Math.max(1, canvas.clientWidth)) * clock.count)));
  const drawn = () => {
    fit(canvas);
    const context = pen(canvas);
    const ink = colours();
    const { width, height: tall } = canvas;
    const ratio = devicePixelRatio || 1;
    context.clearRect(0, 0, width, tall);
    context.fillStyle = ink.hair;
    context.fillRect(0, tall * 0.35, width, tall * 0.3);
    const used = draft.value("clip.frames");
    const [from, to] = Array.isArray(used) ? used : [clock.first, clock.end + 1];
    context.fillStyle = ink.measured;
    context.fillRect(at(from), tall * 0.35, Math.max(ratio, at(to) - at(from)), tall * 0.3);
    for (const { frames, rejected } of judged(draft)) {
      const [x, wide] = [at(frames[0]), Math.max(2 * ratio, at(frames[1]) - at(frames[0]))];
      if (rejected) hatched(context, x, wide, tall, ink, ratio);
      else {
        context.fillStyle = ink.measured;
        context.beginPath();
        context.arc(x + wide / 2, tall * 0.82, 2.5 * ratio, 0, 2 * Math.PI);
        context.fill();
      }
    }
    const chosen = hand.chosen();
    if (chosen) {
      context.strokeStyle = ink.fitted;
      context.lineWidth = 2 * ratio;
      context.strokeRect(at(chosen[0]), ratio, Math.max(2 * ratio, at(chosen[1]) - at(chosen[0])), tall - 2 * ratio);
    }
    context.fillStyle = ink.ink;
    context.fillRect(at(clock.frame + 0.5) - ratio, 0, 2 * ratio, tall);
    canvas.setAttribute("aria-valuemin", String(clock.first));
    canvas.setAttribute("aria-valuemax", String(clock.end));
    canvas.setAttribute("aria-valuenow", String(clock.frame));
    canvas.setAttribute("aria-valuetext", `frame ${clock.frame}${rejectedAt(draft, clock.frame) ? ", rejected" : ""}`);
  };
  /** @type {number | null} */
  let begun = null;
  const moved = (/** @type {PointerEvent} */ event) => {
    const frame = frameAt(event);
    if (hand.drawing() && begun !== null) hand.choose([Math.min(begun, frame), Math.max(begun, frame) + 1]);
    clock.stop();
    clock.to(frame);
  };
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    canvas.setPointerCapture(event.pointerId);
    begun = frameAt(event);
    moved(event);
  });
  canvas.addEventListener("pointermove", (event) => begun !== null && moved(event));
  for (const name of /** @type {const} */ (["pointerup", "pointercancel"])) canvas.addEventListener(name, () => (begun = null));
  clock.heard(drawn);
  draft.heard(drawn);
  new ResizeObserver(drawn).observe(canvas);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawn);
  const legend = h("p", { class: "note legend" }, h("span", { class: "key used" }), "measured ", h("span", { class: "key out" }), "rejected ", h("span", { class: "key good" }), "accepted by hand");
  return { element: h("div", { class: "strip-box" }, canvas, legend), drawn };
}

/** Whether the outline of a frame was rejected. @param {import("./form.js").Draft} draft @param {number} frame */
export function rejectedAt(draft, frame) {
  return judged(draft).some(({ frames, rejected }) => rejected && frame >= frames[0] && frame < frames[1]);
}

/** @param {CanvasRenderingContext2D} context @param {number} x @param {number} wide @param {number} tall @param {ReturnType<typeof colours>} ink @param {number} ratio */
function hatched(context, x, wide, tall, ink, ratio) {
  context.save();
  context.beginPath();
  context.rect(x, tall * 0.2, wide, tall * 0.6);
  context.fillStyle = ink.paper;
  context.fill();
  context.clip();
  context.strokeStyle = ink.residual;
  context.lineWidth = 1.5 * ratio;
  for (let line = x - tall; line < x + wide + tall; line += 5 * ratio) {
    context.beginPath();
    context.moveTo(line, tall);
    context.lineTo(line + tall, 0);
    context.stroke();
  }
  context.restore();
  context.strokeStyle = ink.residual;
  context.lineWidth = ratio;
  context.strokeRect(x, tall * 0.2, wide, tall * 0.6);
}
