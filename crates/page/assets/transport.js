// How the clip is moved: stepping, playing either way at any rate, a loop, contrast, zoom.

import { fixed, h } from "./dom.js";

/** Frames shown for each second that passes. */
const PACES = [1, 2, 4, 8, 12, 24, 30, 60, 120, 240];

/**
 * @param {import("./clock.js").Clock} clock
 * @param {import("./film.js").Film | null} film
 * @param {import("./pictures.js").View | null} view
 * @param {number | null} rate Frames per second of real time.
 * @param {() => void} redraw
 */
export function transport(clock, film, view, rate, redraw) {
  const time = h("output", { class: "time" });
  const number = h("input", { class: "frame", type: "number", min: clock.first, max: clock.end, "aria-label": "Frame", on: { change: () => clock.to(Number(number.value)) } });
  const back = h("button", { type: "button", title: "Play backwards (Shift + space)", on: { click: () => clock.play(-1) } });
  const on = h("button", { type: "button", title: "Play forwards (space)", on: { click: () => clock.play(1) } });
  const step = (/** @type {number} */ frames, /** @type {string} */ text, /** @type {string} */ title) =>
    h("button", { type: "button", title, on: { click: () => clock.step(frames) } }, text);
  const paces = rate && !PACES.includes(rate) ? [...PACES, rate].sort((a, b) => a - b) : PACES;
  const said = (/** @type {number} */ pace) => (rate ? `${pace}/s (${speed(pace / rate)})` : `${pace} frames/s`);
  const pace = h("select", { "aria-label": "How fast", on: { change: () => (clock.pace = Number(pace.value)) } },
    paces.map((p) => h("option", { value: p, selected: p === clock.pace }, said(p))));
  pace.value = String(clock.pace);
  const loop = h("button", { type: "button", title: "Loop: first press marks its beginning, second its end, third ends it (L)", on: { click: () => marked() } }, "Loop");
  /** @type {number | null} */
  let begun = null;
  const marked = () => {
    if (clock.loop) clock.round(null);
    else if (begun === null) begun = clock.frame;
    else {
      if (begun !== clock.frame) clock.round([begun, clock.frame]);
      begun = null;
    }
    shown();
  };
  const ends = /** @type {HTMLInputElement[]} */ (["Dark end", "Bright end"].map((label, i) =>
    h("input", { type: "range", min: 0, max: 1, step: 0.005, "aria-label": label, title: label, on: { input: () => contrast(i) } })));
  const contrast = (/** @type {number} */ i) => {
    if (!film) return;
    const [low, high] = ends.map((input) => Number(input.value));
    film.ends = i === 0 ? [Math.min(low, high - 0.01), high] : [low, Math.max(high, low + 0.01)];
    redraw();
  };
  const shown = () => {
    time.textContent = clock.time === null ? "no time known" : `${fixed(clock.time, 4)} s`;
    if (document.activeElement !== number) number.value = String(clock.frame);
    number.max = String(clock.end);
    back.textContent = clock.moving < 0 ? "Stop" : "◀ Play";
    on.textContent = clock.moving > 0 ? "Stop" : "Play ▶";
    loop.textContent = clock.loop ? "End loop" : begun === null ? "Loop from" : "Loop to";
    loop.setAttribute("aria-pressed", String(Boolean(clock.loop)));
    // A camera of twelve bits in sixteen uses the lowest part of the scale.
    if (film?.ends && !ends[0].dataset.fits) {
      const most = Math.min(1, film.ends[1] * 1.5);
      for (const input of ends) Object.assign(input, { max: String(most), step: String(most / 200) }).dataset.fits = "yes";
    }
    if (film?.ends) ends.forEach((input, i) => document.activeElement !== input && (input.value = String(film.ends?.[i] ?? 0)));
  };
  clock.heard(shown);
  shown();
  const zoom = view && [
    h("button", { type: "button", title: "Closer (+)", on: { click: () => view.magnify(1.4) } }, "Closer"),
    h("button", { type: "button", title: "Whole picture (0)", on: { click: () => view.whole() } }, "Whole"),
  ];
  const element = h("div", { class: "transport", role: "group", "aria-label": "Move through the clip" },
    back, step(-1, "−1", "One frame back (left arrow)"), step(1, "+1", "One frame on (right arrow)"), on,
    time, h("label", {}, "frame ", number), pace, loop, zoom,
    film && h("label", { class: "ends" }, "dark ", ends[0], " bright ", ends[1]));
  return { element, shown, marked };
}

/** How fast against real time. @param {number} share */
function speed(share) {
  if (Math.abs(share - 1) < 0.01) return "real time";
  if (share > 1) return `${fixed(share, share < 10 ? 1 : 0)} × real time`;
  return `1/${fixed(1 / share, 1 / share < 10 && (1 / share) % 1 > 0.05 ? 1 : 0)} real time`;
}

/**
 * The keys of the clip, wherever the focus is, except while something is typed.
 * @param {import("./clock.js").Clock} clock @param {{marked: () => void}} bar @param {import("./lanes.js").Span | null} span
 */
export function keys(clock, bar, span) {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const at = event.target;
    if (!(at instanceof Element) || at.closest("input, textarea, select, dialog[open], [contenteditable]")) return;
    if (event.key === " " && at.closest("button, summary, a")) return;
    /** @type {Record<string, () => void>} */
    const known = {
      ArrowRight: () => clock.step(event.shiftKey ? 10 : 1), ArrowLeft: () => clock.step(event.shiftKey ? -10 : -1),
      PageDown: () => clock.step(10), PageUp: () => clock.step(-10),
      Home: () => clock.step(-Infinity), End: () => clock.step(Infinity),
      " ": () => clock.play(event.shiftKey ? -1 : 1), l: () => bar.marked(), L: () => bar.marked(),
    };
    if (span) {
      known["+"] = known["="] = () => span.magnify(1.5, clock.time ?? 0);
      known["-"] = () => span.magnify(1 / 1.5, clock.time ?? 0);
    }
    const done = known[event.key];
    if (!done) return;
    event.preventDefault();
    done();
  });
}
