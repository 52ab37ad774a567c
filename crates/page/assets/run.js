// A run: three pictures of one instant over common lanes, and what was found beside them.

import * as api from "./api.js";
import { away, next } from "./away.js";
import { Clock } from "./clock.js";
import { along, centred } from "./computed.js";
import { h } from "./dom.js";
import { Film } from "./film.js";
import { findings } from "./findings.js";
import { jobs } from "./jobs.js";
import * as lane from "./lanes.js";
import { View, paintExpected, paintFrame, paintOutlines, pane } from "./pictures.js";
import { expected, nearest } from "./shape.js";
import { keys, transport } from "./transport.js";

/** @param {HTMLElement} main @param {string} path */
export async function runPage(main, path) {
  const [{ run, clip }, /** @type {lane.Lanes} */ lanes] = await Promise.all([api.get("/api/run", { path }), api.get("/api/lanes", { path })]);
  document.title = `${run.title} – tremolet`;
  const shift = run.simulated ? centred(lanes) : null;
  const clock = new Clock(lanes.first, Math.max(1, lanes.times.length), (frame) => lanes.times[frame - lanes.first] ?? null);
  const seen = clip?.path ? await api.get("/api/clip", { clip: clip.path, rate: clip.rate, times: clip.times }).catch(() => null) : null;
  const three = pictures(path, clock, lanes, seen ? clip : null, seen, shift);
  const span = new lane.Span(lanes.times[0] ?? 0, lanes.times[lanes.times.length - 1] ?? 1);
  const stack = lane.laneStack(clock, span, chosen(lanes), lanes.left_out);
  const bar = transport(clock, three.film, three.view, clip?.rate ?? null, three.draw);
  keys(clock, bar, span);
  main.append(
    h("div", { class: "run" },
      h("div", { class: "run-head" }, h("h1", {}, run.title), away(path, run, clock, lanes), next(path, run, clock)),
      jobs(undefined, (job) => job.state !== "done" || job.out === path),
      h("div", { class: "run-body" },
        h("div", { class: "instants" }, three.element, bar.element, stack.element),
        h("div", { class: "beside" }, h("p", { class: "note" }, run.summary), findings(run, clock, lanes)))));
  three.drawn(bar.shown);
}

/** The lanes that this run has. @param {lane.Lanes} lanes */
function chosen(lanes) {
  /** @type {(lane.Lane | null)[]} */
  const list = [];
  if (lanes.events.length > 0) list.push(lane.eventsLane(lanes));
  const several = lanes.bodies.length > 1;
  if (several) list.push(lane.tracksLane(lanes), lane.countsLane(lanes));
  for (const body of lanes.bodies.slice(0, 6)) list.push(lane.sizeLane(lanes, body, several), lane.centreLane(lanes, body, several));
  for (const body of lanes.bodies.slice(0, 3)) {
    const modes = lanes.modes.filter((mode) => mode.body === body.body);
    const told = modes.filter((mode) => mode.degree <= 5 && mode.fitted.some((v) => v !== null));
    const first = told.length > 0 ? told : modes.slice(0, 2);
    list.push(...first.map((mode) => lane.modeLane(mode, several)));
    if (modes.length > 0) list.push(lane.waveLane(modes, several));
    list.push(...first.slice(0, 2).map((mode) => lane.differenceLane(mode, several)));
  }
  return list.filter((one) => one !== null);
}

/**
 * The three pictures.
 * @param {string} path @param {Clock} clock @param {lane.Lanes} lanes @param {api.Clip | null} clip @param {{width: number, height: number} | null} seen @param {[number, number] | null} shift
 */
function pictures(path, clock, lanes, clip, seen, shift) {
  const reach = (/** @type {"x" | "y"} */ side) => Math.max(1, ...lanes.bodies.flatMap((body) => body[side].map((v, i) => v + 1.5 * body.radius[i])));
  const view = new View(seen?.width ?? Math.ceil(reach("x")), seen?.height ?? Math.ceil(reach("y")));
  /** @type {Map<number, import("./pictures.js").Outline[]>} */
  const outlines = new Map();
  /** @type {Set<number>} */
  const asked = new Set();
  let late = () => {};
  const film = clip && new Film(clip, () => draw());
  clock.ready = () => outlines.has(clock.frame) && (!film || film.has(clock.frame) || film.fault !== "");

  const bodies = (/** @type {boolean} */ theory) => lanes.bodies.flatMap((body) => {
    const time = clock.time ?? 0;
    const i = nearest(body.frame, clock.frame);
    if (Math.abs((body.frame[i] ?? -1e9) - clock.frame) > 2 + lanes.times.length / Math.max(1, body.frame.length)) return [];
    const modes = lanes.modes.filter((mode) => mode.body === body.body && (theory ? mode.expected : true));
    if (theory && modes.length === 0) return [];
    const amplitudes = new Map(modes.map((mode) => [mode.degree, mode.expected ? expected(mode.expected, time) : 0]));
    return [{ centre: /** @type {[number, number]} */ ([body.x[i], body.y[i]]), radius: body.radius[i], axis: body.axis[i], amplitudes }];
  });
  const one = pane(view, "Seen: the frame as filmed", (canvas) => paintFrame(canvas, view, film?.picture(clock.frame) ?? null, clock.frame));
  const two = pane(view, "Measured: the outline that was found, on the frame", (canvas) => {
    paintFrame(canvas, view, film?.picture(clock.frame) ?? null, clock.frame, 0.45);
    paintOutlines(canvas, view, outlines.get(clock.frame) ?? [], bodies(false));
  });
  const three = pane(view, "Expected: the simulated shape, or that by theory, with the measured outline thin beside it", (canvas) =>
    paintExpected(canvas, view, bodies(true), outlines.get(clock.frame) ?? []));
  const fault = h("span", { class: "fault" });
  const theory = h("span", {}, "by theory; thin line: measured");
  /** @type {HTMLElement | null} */
  let third = null;
  const draw = () => {
    for (const { drawn } of [one, two, three]) drawn();
    fault.textContent = film?.fault ?? "";
    const left = (outlines.get(clock.frame) ?? []).flatMap((found) => (found.simulated.length ? [found.left ?? 0] : []));
    if (third?.hidden && left.length) {
      third.hidden = false;
      third.parentElement?.classList.remove("two");
    }
    theory.textContent = left.length
      ? `the simulation fitted to the clip; thin line: measured, ${left.map((px) => px.toFixed(3)).join(" and ")} px from it`
      : "by theory; thin line: measured";
    late();
  };
  const fetchOutline = async (/** @type {number} */ frame) => {
    asked.add(frame);
    const found = along(await api.get("/api/outline", { path, frame }).catch(() => []), shift ?? [0, 0]);
    asked.delete(frame);
    if (outlines.size > 600) outlines.clear();
    outlines.set(frame, found);
    if (frame === clock.frame) draw();
    nextOutlines();
  };
  /** The outline of this frame, then of those that come next. */
  const nextOutlines = () => {
    const direction = clock.moving || 1;
    for (let i = 0; i <= 6 && asked.size < 2; i++) {
      const frame = clock.frame + i * direction;
      if (frame < clock.first || frame > clock.end || outlines.has(frame) || asked.has(frame)) continue;
      fetchOutline(frame);
    }
  };
  const heard = () => {
    film?.want(clock.frame, clock.moving);
    nextOutlines();
    draw();
  };
  clock.heard(heard);
  film?.want(clock.frame, 0);
  nextOutlines();
  const caption = (/** @type {string} */ name, /** @type {string | Node} */ text, /** @type {Node | null} */ more = null) => h("figcaption", {}, h("b", {}, name), " ", text, " ", more);
  const expectation = lanes.expected_from;
  // Without a mode or a simulation there is no shape to expect.
  const waits = !lanes.modes.some((mode) => mode.expected);
  third = expectation ? h("figure", { hidden: waits }, three.canvas, caption("Expected", theory, h("details", {}, h("summary", {}, "From what?"), h("p", {}, expectation)))) : null;
  const element = h("div", { class: expectation && !waits ? "three" : "three two" },
    h("figure", {}, one.canvas, caption("Seen", clip ? "the frame as filmed" : shift ? "nothing: this motion was computed, not filmed" : "the clip is not in the served folder", fault)),
    h("figure", {}, two.canvas, caption("Measured", "outline, axis and centre as found")),
    third);
  return { element, film, view, draw, drawn: (/** @type {() => void} */ listener) => (late = listener) };
}
