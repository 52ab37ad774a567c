// Findings as sentences; every number opens how it was found.

import { fill, fixed, formula, h, pen, fit, colours, words } from "./dom.js";
import { outline } from "./shape.js";
import { solid } from "./solid.js";

/**
 * @typedef {{input: string, standard_uncertainty: number, unit: string, sensitivity: number, share: number}} BudgetLine
 * @typedef {{key: string, name: string, body: number, text: string, sentence: string, route: string, budget: BudgetLine[], assumptions: string[], methods: number[]}} Found
 * @typedef {{name: string, text: string[], formulas: string[], symbols: [string, string, string][], sources: string[]}} How
 * @typedef {{title: string, summary: string, simulated: boolean, numbers: Found[], modes: {body: number, degree: number, frequency: string, decay_rate: string, amplitude: string}[], cautions: {code: string, text: string, frames?: [number, number]}[], notes: {code: string, text: string}[], experiment: [string, string][], assumptions: string[], methods: How[], files: [string, string][], figures: string[], tables: {name: string, csv: boolean}[], origin: [string, string][]}} Run
 */

/** @param {Run} run @param {import("./clock.js").Clock} clock @param {import("./lanes.js").Lanes} lanes */
export function findings(run, clock, lanes) {
  const several = run.numbers.some((number) => number.body > 1);
  // Numbers of one quantity that were found in two ways say in which.
  const twice = (/** @type {Found} */ number) => run.numbers.some((other) => other !== number && other.key === number.key && other.body === number.body);
  const numbers = run.numbers.map((number) => finding(number, run.methods, `${several ? `, body ${number.body}` : ""}${twice(number) ? `, by ${number.route}` : ""}`));
  return h("div", { class: "findings" },
    h("h2", {}, "What was found"),
    run.numbers.length === 0 && h("p", {}, run.modes.length === 0
      ? "No mode was found: nothing in this clip rings in a way that can be told from noise. So neither surface tension nor viscosity is given."
      : "Modes were found, but no number of the liquid is given. The cautions say why."),
    numbers,
    run.modes.length > 0 && modes(run, clock, lanes, several),
    solid(lanes, clock),
    run.cautions.length > 0 && cautions(run, clock),
    run.notes.length > 0 && h("section", { class: "hand" }, h("h3", {}, "Drawn, decided and checked by hand"), h("ul", {}, run.notes.map((note) => h("li", {}, note.text)))),
    run.assumptions.length > 0 && h("details", {}, h("summary", {}, "What was taken for granted"), h("ul", {}, run.assumptions.map((text) => h("li", {}, text)))),
    h("details", {}, h("summary", {}, "The experiment and where this comes from"), pairs([...run.experiment, ...run.origin])));
}

/** @param {[string, string][]} rows */
export function pairs(rows) {
  return h("dl", { class: "pairs" }, rows.map(([name, text]) => h("div", {}, h("dt", {}, name), h("dd", {}, text))));
}

/** @param {Found} number @param {How[]} methods @param {string} whose */
function finding(number, methods, whose) {
  const inside = h("div", { class: "how" });
  const details = h("details", { class: "finding" },
    h("summary", {}, h("span", { class: "what" }, `${number.name}${whose}`), h("strong", {}, number.text)), inside);
  // What lies behind is drawn when somebody asks for it.
  details.addEventListener("toggle", () => details.open && !inside.firstChild && fill(inside, behind(number, methods)));
  return details;
}

/** @param {Found} number @param {How[]} methods */
function behind(number, methods) {
  return [
    h("p", {}, number.sentence),
    number.budget.length > 0 && budget(number),
    number.assumptions.map((text) => h("p", { class: "note" }, text)),
    number.methods.map((place) => method(methods[place])),
  ];
}

/** Where the uncertainty comes from, as bars with their shares written out. @param {Found} number */
function budget(number) {
  const shown = number.budget.filter((line) => line.share >= 0.0005);
  const left = number.budget.length - shown.length;
  return h("table", { class: "budget" },
    h("caption", {}, "Where its uncertainty comes from: share of the variance"),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "input"), h("th", { scope: "col" }, "its standard uncertainty"), h("th", { scope: "col", colspan: 2 }, "share"))),
    h("tbody", {}, shown.map((line) => {
      const bar = h("meter", { min: 0, max: 1, value: line.share, "aria-hidden": "true" });
      return h("tr", {}, h("th", { scope: "row" }, line.input), h("td", {}, `${significant(line.standard_uncertainty)} ${line.unit === "1" ? "" : line.unit}`),
        h("td", { class: "n" }, `${fixed(100 * line.share, 1)} %`), h("td", {}, bar));
    })),
    left > 0 && h("tfoot", {}, h("tr", {}, h("td", { colspan: 4 }, `and ${left} more, each less than 0.05 %`))));
}

/** Two significant digits. @param {number} x */
function significant(x) {
  return x === 0 ? "0" : x >= 0.001 && x < 1000 ? String(Number(x.toPrecision(2))) : x.toExponential(1).replace("-", "−");
}

/** @param {How} how */
function method(how) {
  return h("details", { class: "method" }, h("summary", {}, how.name),
    how.text.map((text) => h("p", {}, text)),
    how.formulas.map((text) => h("p", { class: "formula" }, formula(text))),
    how.symbols.length > 0 && h("dl", { class: "pairs narrow" }, how.symbols.map(([sign, meaning, unit]) =>
      h("div", {}, h("dt", {}, formula(sign)), h("dd", {}, `${meaning}${unit && unit !== "1" ? `, ${unit}` : ""}`)))),
    how.sources.map((text) => h("p", { class: "note" }, `Source: ${text}`)));
}

/** The modes with a small shape of each, in step with the clip. @param {Run} run @param {import("./clock.js").Clock} clock @param {import("./lanes.js").Lanes} lanes @param {boolean} several */
function modes(run, clock, lanes, several) {
  /** @type {(() => void)[]} */
  const drawings = [];
  const rows = run.modes.map((mode) => {
    const canvas = h("canvas", { class: "mode", role: "img", "aria-label": `Shape of mode ${mode.degree} at this instant, much enlarged` });
    drawings.push(() => moving(canvas, mode, lanes, clock));
    return h("tr", {}, h("td", {}, canvas), h("th", { scope: "row" }, `${mode.degree}${several ? `, body ${mode.body}` : ""}`),
      h("td", {}, mode.frequency, h("br"), "decay ", mode.decay_rate));
  });
  const draw = () => drawings.forEach((one) => one());
  clock.heard(draw);
  const table = h("table", { class: "modes" },
    h("caption", {}, "Modes: each a way of swinging, drawn much enlarged in step with the clip"),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "now"), h("th", { scope: "col" }, "degree"), h("th", { scope: "col" }, "frequency and decay rate"))),
    h("tbody", {}, rows));
  new ResizeObserver(draw).observe(table);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
  return table;
}

/** @param {HTMLCanvasElement} canvas @param {{body: number, degree: number}} mode @param {import("./lanes.js").Lanes} lanes @param {import("./clock.js").Clock} clock */
function moving(canvas, mode, lanes, clock) {
  const lane = lanes.modes.find((m) => m.body === mode.body && m.degree === mode.degree);
  if (!lane || clock.time === null) return;
  fit(canvas);
  const context = pen(canvas);
  const ink = colours();
  const { width, height } = canvas;
  const most = Math.max(...lane.measured.map((v) => Math.abs(v ?? 0))) || 1;
  const i = lane.time.findIndex((t) => t >= /** @type {number} */ (clock.time));
  const now = (lane.measured[i < 0 ? lane.time.length - 1 : i] ?? 0) / most;
  const radius = 0.34 * Math.min(width, height);
  context.clearRect(0, 0, width, height);
  const ring = (/** @type {number} */ a, /** @type {string} */ colour, /** @type {number[]} */ dash) => {
    const points = outline(new Map([[mode.degree, 0.28 * a]]), [width / 2, height / 2], radius, 0);
    context.beginPath();
    points.forEach(([x, y], k) => (k === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
    context.closePath();
    context.setLineDash(dash);
    context.strokeStyle = colour;
    context.lineWidth = 1.6 * (devicePixelRatio || 1);
    context.stroke();
  };
  ring(0, ink.guide, [2, 3]);
  ring(now, ink.measured, []);
}

/** @param {Run} run @param {import("./clock.js").Clock} clock */
function cautions(run, clock) {
  return h("section", { class: "cautions" }, h("h3", {}, `Bear in mind (${run.cautions.length})`),
    h("ul", {}, run.cautions.map((caution) => {
      const frames = caution.frames;
      const go = frames && h("button", { type: "button", class: "link", on: { click: () => clock.step(frames[0] - clock.frame) } }, frames[0] === frames[1] ? `frame ${frames[0]}` : `frames ${frames[0]} to ${frames[1]}`);
      return h("li", {}, caution.text, " ", h("span", { class: "note" }, words(caution.code)), go && [" ", go]);
    })));
}
