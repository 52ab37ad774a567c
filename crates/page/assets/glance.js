// What is being found while a clip is measured: the outline that was seen last, and how the body has swung so far.

import { colours, fit, fixed, h, pen } from "./dom.js";

/** @typedef {{size: [number, number], frame: number, outlines: [number, number][][], swing: [number, number][]}} Live */

export class Glance {
  constructor() {
    this.outline = h("canvas", { class: "glance-outline", role: "img", "aria-label": "The outline that was found last" });
    this.swing = h("canvas", { class: "glance-swing", role: "img", "aria-label": "How far the body has swung so far" });
    this.said = h("p", { class: "note" });
    this.element = h("div", { class: "glance", hidden: true }, this.outline, this.swing, this.said);
  }

  /** @param {Live | null | undefined} live */
  show(live) {
    this.element.hidden = !live;
    if (!live) return;
    const most = Math.max(0, ...live.swing.map(([, a]) => Math.abs(a)));
    this.said.textContent = live.outlines.length === 0 ? `Frame ${live.frame}: no body is seen` : `Frame ${live.frame}. It has swung by up to ${fixed(100 * most, most < 0.01 ? 2 : 1)} % of its radius. A first look; the run holds what was found.`;
    this.drawOutline(live);
    this.drawSwing(live.swing, most);
  }

  /** @param {Live} live */
  drawOutline(live) {
    const canvas = this.outline;
    fit(canvas);
    const context = pen(canvas);
    const scale = Math.min(canvas.width / live.size[0], canvas.height / live.size[1]);
    const [left, top] = [(canvas.width - scale * live.size[0]) / 2, (canvas.height - scale * live.size[1]) / 2];
    context.clearRect(0, 0, canvas.width, canvas.height);
    context.strokeStyle = colours().guide;
    context.strokeRect(left + 0.5, top + 0.5, scale * live.size[0] - 1, scale * live.size[1] - 1);
    context.strokeStyle = colours().measured;
    context.lineWidth = 2 * (devicePixelRatio || 1);
    for (const points of live.outlines) {
      context.beginPath();
      for (const [x, y] of points) context.lineTo(left + scale * (x + 0.5), top + scale * (y + 0.5));
      context.closePath();
      context.stroke();
    }
  }

  /** @param {[number, number][]} swing @param {number} most */
  drawSwing(swing, most) {
    const canvas = this.swing;
    fit(canvas);
    const context = pen(canvas);
    const { width, height } = canvas;
    context.clearRect(0, 0, width, height);
    context.lineWidth = devicePixelRatio || 1;
    context.strokeStyle = colours().hair;
    context.strokeRect(0.5, 0.5, width - 1, height - 1);
    context.beginPath();
    context.moveTo(0, height / 2);
    context.lineTo(width, height / 2);
    context.stroke();
    if (swing.length < 2 || most === 0) return;
    const [first, last] = [swing[0][0], swing[swing.length - 1][0]];
    context.strokeStyle = colours().measured;
    context.lineWidth = 1.5 * (devicePixelRatio || 1);
    context.beginPath();
    for (const [frame, a] of swing) context.lineTo((width * (frame - first)) / Math.max(1, last - first), height / 2 - (0.44 * height * a) / most);
    context.stroke();
  }
}
