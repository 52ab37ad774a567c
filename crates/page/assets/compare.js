// Several runs beside each other: which runs, what was found of each liquid, every value in a table, courses over each other, modes on the scale of theory.

import * as api from "./api.js";
import { ON_PAPER, draw, palette } from "./chart.js";
import { counted, fill, h, words } from "./dom.js";
import { doing, hand, handTable, pngOf, svgText } from "./save.js";
import { shown } from "./number.js";
import { sheet } from "./sheet.js";

/**
 * @typedef {{value: number, unit: string, standard_uncertainty?: number}} Quantity
 * @typedef {{name: string, folder: string, title: string, kind: string, liquid?: string, calibration?: string, batch?: string, frames: number, cautions: number, radius?: Quantity}} RunRow
 * @typedef {{run: string, body: number, value: number, standard_uncertainty: number, own: number, as_found?: number, route: string, weight?: number, normalised_deviation?: number, disagrees: boolean}} Entry
 * @typedef {{value: number, standard_uncertainty: number, interval_95: [number, number], within: number, between: number, shared: number, between_runs: {standard_deviation: number, interval_95: [number, number], probability: number}, budget: {input: string, share: number, values: number}[], normalised_deviation?: number, of_those_that_agree?: [number, number], reference?: {value: number, standard_uncertainty?: number, source: string}}} Mean
 * @typedef {{quantity: string, unit: string, liquid?: string, entries: Entry[], mean?: Mean, why?: string}} Compared
 * @typedef {{run: string, body: number, degree: number, liquid: string, radius: number, frequency: Quantity, decay_rate: Quantity, capillary_rate: [number, number], viscous_rate?: [number, number], reduced_frequency: [number, number], inviscid: number, expected?: number, expected_decay?: number}} Scaled
 * @typedef {{runs: RunRow[], quantities: Compared[], scaling?: Scaled[], cautions?: {code: string, text: string}[]}} Comparison
 * @typedef {{name: string, degree: number, capillary_rate: number | null, points: [number, number][]}} Course
 */

/** @param {HTMLElement} main */
export async function comparePage(main) {
  document.title = "Compare – tremolet";
  const folder = await api.get("/api/folder");
  const asked = new URLSearchParams(location.search).getAll("path");
  const result = h("div", { class: "compared" });
  const told = h("p", { class: "fault", role: "alert" });
  let turn = 0;
  const changed = async (/** @type {string[]} */ chosen) => {
    const mine = ++turn;
    const query = chosen.map((path) => `path=${encodeURIComponent(path)}`).join("&");
    history.replaceState(null, "", query ? `/compare?${query}` : "/compare");
    told.textContent = "";
    if (chosen.length < 2) {
      fill(result, h("p", { class: "note" }, "Choose two runs or more."));
      return;
    }
    try {
      const { body } = await api.send("POST", "/api/comparison", { runs: chosen });
      if (mine === turn) fill(result, ...compared(body.comparison, body.courses, chosen));
    } catch (why) {
      if (mine === turn) told.textContent = /** @type {Error} */ (why).message;
    }
  };
  main.append(h("div", { class: "compare" }, chooser(folder.runs, asked, changed), h("div", {}, h("h1", {}, "Runs beside each other"), told, result)));
  await changed(asked);
}

/** @param {import("./start.js").Run[]} runs @param {string[]} asked @param {(chosen: string[]) => void} changed */
function chooser(runs, asked, changed) {
  const chosen = new Set(asked);
  const boxes = runs.filter((run) => !run.fault).map((run) => {
    const id = `run-${run.path}`;
    const box = h("input", { type: "checkbox", id, checked: chosen.has(run.path), on: { change: () => {
      if (box.checked) chosen.add(run.path);
      else chosen.delete(run.path);
      changed([...chosen]);
    } } });
    const row = h("li", {}, box, h("label", { for: id }, run.title || run.path, h("span", { class: "note" }, [run.liquid, run.kind, run.path].filter(Boolean).join(", "))));
    return { box, row, path: run.path, text: `${run.title} ${run.path} ${run.kind} ${run.liquid} ${run.calibration} ${run.batch}`.toLowerCase() };
  });
  const sought = h("input", { type: "text", id: "runs-sought", autocomplete: "off", placeholder: "water cal-A", on: { input: () => {
    const parts = sought.value.toLowerCase().split(/\s+/);
    for (const { row, text } of boxes) row.hidden = !parts.every((part) => text.includes(part));
  } } });
  const all = (/** @type {boolean} */ on) => () => {
    for (const { box, row, path } of boxes) {
      if (row.hidden) continue;
      box.checked = on;
      if (on) chosen.add(path);
      else chosen.delete(path);
    }
    changed([...chosen]);
  };
  return h("section", { class: "chooser", "aria-label": "Which runs" }, h("h2", {}, "Which runs"),
    h("div", { class: "field" }, h("label", { for: "runs-sought" }, "Only those with"), sought, h("small", {}, "words of title, liquid, kind, calibration or batch")),
    h("p", { class: "buttons" }, h("button", { type: "button", on: { click: all(true) } }, "All shown"), h("button", { type: "button", on: { click: all(false) } }, "None")),
    h("ul", { class: "files" }, boxes.map(({ row }) => row)));
}

/** @param {Comparison} comparison @param {Course[]} courses @param {string[]} chosen */
function compared(comparison, courses, chosen) {
  const keep = doing("Keep as a report", async () => {
    const { body } = await api.send("POST", "/api/compare", { runs: chosen });
    location.assign(api.file(`${body.path}/comparison.html`));
  });
  const means = comparison.quantities.map(mean).filter(Boolean);
  const cautions = comparison.cautions ?? [];
  return [
    h("p", { class: "buttons" }, h("span", { class: "note" }, `${counted(comparison.runs.length, "run")} read`), keep),
    h("div", { class: "means" }, means),
    cautions.length > 0 && h("section", { class: "cautions" }, h("h2", {}, `Bear in mind (${cautions.length})`), h("ul", {}, cautions.map((one) => h("li", {}, one.text, " ", h("span", { class: "note" }, words(one.code)))))),
    h("h2", {}, "Every value"),
    values(comparison),
    courses.length > 1 && over(courses),
    (comparison.scaling ?? []).length > 0 && scales(comparison.scaling ?? []),
  ];
}

/** What was found of one quantity, in words, with the parts of its uncertainty told apart. @param {Compared} one */
function mean(one) {
  const title = `${words(one.quantity)}${one.liquid ? ` of ${one.liquid}` : ""}`;
  // What belongs to each run is in the table.
  if (!one.mean) return one.liquid && one.entries.length > 1 && h("section", { class: "mean" }, h("h2", {}, title), h("p", { class: "note" }, one.why || "No mean is taken."));
  const m = one.mean;
  const whole = m.standard_uncertainty ** 2;
  const part = (/** @type {string} */ name, /** @type {number} */ u, /** @type {string} */ what) => {
    const share = whole > 0 ? u ** 2 / whole : 0;
    return h("tr", {}, h("th", { scope: "row" }, name, h("small", {}, what)), h("td", { class: "n" }, shown(u, null, one.unit)), h("td", { class: "n" }, `${Math.round(100 * share)} %`), h("td", {}, h("meter", { min: 0, max: 1, value: share, "aria-hidden": "true" })));
  };
  const apart = one.entries.filter((entry) => entry.disagrees).map((entry) => entry.run);
  return h("section", { class: "mean" }, h("h2", {}, title), h("strong", {}, shown(m.value, m.standard_uncertainty, one.unit)),
    h("p", {}, `95 % interval ${shown(m.interval_95[0], null, one.unit, m.standard_uncertainty)} to ${shown(m.interval_95[1], null, one.unit, m.standard_uncertainty)}, of ${counted(one.entries.length, "value")}. `,
      m.between_runs.probability < 0.05 || apart.length > 0 ? "The runs differ by more than their budgets tell." : "The runs differ no more than their budgets tell.",
      apart.length > 0 && ` Apart from the others: ${apart.join(", ")}.`,
      m.reference && m.normalised_deviation !== undefined && ` Expected: ${shown(m.reference.value, m.reference.standard_uncertainty ?? null, one.unit)}; the mean lies ${Math.abs(m.normalised_deviation).toFixed(1)} standard uncertainties away.`),
    h("table", { class: "budget" }, h("caption", {}, "Its standard uncertainty, told apart"), h("tbody", {},
      part("each run alone", m.within, "falls with more runs"), part("from run to run", m.between, "what the budgets do not tell"), part("shared", m.shared, "more runs do not lower it"))));
}

/** @param {Comparison} comparison */
function values(comparison) {
  const runs = new Map(comparison.runs.map((run) => [run.name, run]));
  const rows = comparison.quantities.flatMap((one) => one.entries.map((entry) => ({ one, entry, run: runs.get(entry.run) })));
  /** @type {import("./sheet.js").Field<typeof rows[0]>[]} */
  const fields = [
    { name: "quantity", label: "Quantity", of: (r) => words(r.one.quantity) },
    { name: "liquid", label: "Liquid", of: (r) => r.one.liquid ?? r.run?.liquid ?? "" },
    { name: "run", label: "Run", of: (r) => r.entry.run, node: (r) => (r.run ? h("a", { href: api.address("/run", { path: r.run.folder }) }, r.entry.run) : r.entry.run) },
    { name: "body", label: "Body", of: (r) => r.entry.body },
    { name: "value", label: "Value", of: (r) => r.entry.value, node: (r) => shown(r.entry.value, r.entry.standard_uncertainty, r.one.unit), description: "the value, SI, in the unit of the row" },
    { name: "standard_uncertainty", label: "u", of: (r) => r.entry.standard_uncertainty, node: (r) => shown(r.entry.standard_uncertainty, null, r.one.unit), description: "its standard uncertainty, SI" },
    { name: "own", label: "of it, own", of: (r) => r.entry.own, node: (r) => shown(r.entry.own, null, r.one.unit), description: "the part that no other run shares, SI" },
    { name: "normalised_deviation", label: "Away from the others", of: (r) => r.entry.normalised_deviation ?? null, node: (r) => (r.entry.normalised_deviation === undefined ? "" : `${r.entry.normalised_deviation.toFixed(2)}${r.entry.disagrees ? " apart" : ""}`), description: "difference from the mean of the others over its standard uncertainty" },
    { name: "weight", label: "Weight", of: (r) => r.entry.weight ?? null, node: (r) => (r.entry.weight === undefined ? "" : `${(100 * r.entry.weight).toFixed(1)} %`), description: "weight in the mean" },
    { name: "unit", label: "", of: (r) => r.one.unit, hidden: true },
    { name: "calibration", label: "Calibration", of: (r) => r.run?.calibration ?? "" },
    { name: "route", label: "How", of: (r) => r.entry.route },
  ];
  const table = sheet("values", "Every value of the chosen runs", rows, fields);
  const away = (/** @type {boolean} */ parquet) => () => handTable("values", "Values of runs as chosen on the page, SI, in the unit of their row.", table.columns(), parquet);
  return h("div", {}, h("p", { class: "buttons" }, table.said, doing("CSV", away(false), "What is shown, as CSV"), doing("Parquet", away(true), "What is shown, as Parquet")), table.element);
}

/** A chart with its ways out. @param {HTMLElement} box @param {import("./chart.js").Chart} chart */
function put(box, chart) {
  const onPaper = () => svgText(draw(chart, ON_PAPER));
  fill(box, draw(chart, palette()), h("p", { class: "buttons" },
    doing("SVG", () => hand(new Blob([onPaper()], { type: "image/svg+xml" }), `${chart.name}.svg`), `${chart.title} as SVG`),
    doing("PNG", async () => hand(await pngOf(onPaper(), 2), `${chart.name}.png`), `${chart.title} as PNG`)));
}

/** @param {() => void} again */
function redrawn(again) {
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
  again();
}

/** Amplitudes of one degree of all runs over each other. @param {Course[]} courses */
function over(courses) {
  const degrees = [...new Set(courses.map((one) => one.degree))].sort((a, b) => a - b);
  const degree = h("select", { id: "over-degree", on: { change: () => again() } }, degrees.map((n) => h("option", { value: n }, String(n))));
  const clock = h("select", { id: "over-clock", on: { change: () => again() } }, h("option", { value: "seconds" }, "seconds"), h("option", { value: "capillary" }, "capillary times of each drop"));
  const box = h("div", { class: "chart" });
  const again = () => {
    const scaled = clock.value === "capillary";
    const own = courses.filter((one) => one.degree === Number(degree.value) && (!scaled || one.capillary_rate !== null));
    const lines = own.map((one) => ({ label: one.name, points: /** @type {[number, number][]} */ (one.points.map(([t, a]) => [scaled ? t * (one.capillary_rate ?? 1) : t, a])) }));
    put(box, { name: `courses-${clock.value}-degree-${degree.value}`, title: `Amplitude of degree ${degree.value}`, x: scaled ? "time × √(σ/ρR³)" : "time from the first free frame / s", y: `amplitude a${degree.value} / R`, lines });
  };
  redrawn(again);
  return h("section", {}, h("h2", {}, "Over each other"),
    h("p", { class: "buttons" }, h("label", { for: "over-degree" }, "Degree "), degree, h("label", { for: "over-clock" }, " Clock "), clock),
    h("p", { class: "note" }, "On the clock of each drop, drops of all sizes swing in step; what differs is how they began and how fast they die away."), box);
}

/** Modes against what theory scales them with. @param {Scaled[]} modes */
function scales(modes) {
  const degrees = [...new Set(modes.map((mode) => mode.degree))].sort((a, b) => a - b);
  const which = h("select", { id: "scale-which", on: { change: () => again() } },
    h("option", { value: "size" }, "frequency against size"), h("option", { value: "rate" }, "all sizes and liquids on one line"), h("option", { value: "left" }, "what is left of the frequency"), h("option", { value: "decay" }, "decay against viscosity over size squared"));
  const degree = h("select", { id: "scale-degree", on: { change: () => again() } }, h("option", { value: "" }, "all"), degrees.map((n) => h("option", { value: n }, String(n))));
  const box = h("div", { class: "chart" });
  const again = () => put(box, scaling(which.value, modes.filter((mode) => degree.value === "" || mode.degree === Number(degree.value))));
  redrawn(again);
  return h("section", {}, h("h2", {}, "On the scale of theory"),
    h("p", { class: "buttons" }, h("label", { for: "scale-which" }, "Show "), which, h("label", { for: "scale-degree" }, " Degree "), degree), box);
}

/** @param {string} which @param {Scaled[]} modes @returns {import("./chart.js").Chart} */
function scaling(which, modes) {
  const liquids = [...new Set(modes.map((mode) => mode.liquid))];
  const degrees = [...new Set(modes.map((mode) => mode.degree))].sort((a, b) => a - b);
  const dots = (/** @type {(mode: Scaled) => {x: number, y: number, u: number} | null} */ place) => liquids.map((liquid) => ({
    label: liquid,
    points: modes.filter((mode) => mode.liquid === liquid).flatMap((mode) => {
      const at = place(mode);
      return at ? [{ ...at, said: `${mode.run}, degree ${mode.degree}: ${shown(mode.frequency.value, mode.frequency.standard_uncertainty ?? null, "Hz")}, decay ${shown(mode.decay_rate.value, mode.decay_rate.standard_uncertainty ?? null, "1/s")}` }] : [];
    }),
  }));
  const u = (/** @type {Quantity} */ q) => q.standard_uncertainty ?? 0;
  const reach = (/** @type {(mode: Scaled) => number} */ of) => {
    const all = modes.map(of).filter(Number.isFinite);
    return /** @type {[number, number]} */ ([0.94 * Math.min(...all), 1.06 * Math.max(...all)]);
  };
  const along = (/** @type {[number, number]} */ [low, high], /** @type {(x: number) => number} */ of) => Array.from({ length: 61 }, (_, k) => {
    const x = low + ((high - low) * k) / 60;
    return /** @type {[number, number]} */ ([x, of(x)]);
  });
  if (which === "size") {
    const ends = reach((mode) => 1e3 * mode.radius);
    const theory = liquids.flatMap((liquid) => degrees.flatMap((n) => {
      const own = modes.filter((mode) => mode.liquid === liquid && mode.degree === n);
      if (own.length === 0) return [];
      const over = own.reduce((sum, mode) => sum + mode.capillary_rate[0] ** 2 * mode.radius ** 3, 0) / own.length;
      return [{ label: liquid === liquids[0] ? `n = ${n}` : "", points: along(ends, (x) => (own[0].inviscid * Math.sqrt(over / (x / 1e3) ** 3)) / (2 * Math.PI)) }];
    }));
    return { name: "frequency-against-size", title: "Frequency against size", x: "radius / mm", y: "frequency / Hz", theory, dots: dots((mode) => ({ x: 1e3 * mode.radius, y: mode.frequency.value, u: u(mode.frequency) })) };
  }
  if (which === "rate") {
    const ends = reach((mode) => mode.capillary_rate[0]);
    const theory = degrees.map((n) => ({ label: `n = ${n}`, points: along(ends, (x) => (modes.find((mode) => mode.degree === n)?.inviscid ?? NaN) * x) }));
    return { name: "frequency-against-capillary-rate", title: "All sizes and liquids on one line for each degree", x: "√(σ/ρR³) / (1/s)", y: "angular frequency / (rad/s)", theory, dots: dots((mode) => ({ x: mode.capillary_rate[0], y: 2 * Math.PI * mode.frequency.value, u: 2 * Math.PI * u(mode.frequency) })) };
  }
  if (which === "left") {
    const due = (/** @type {Scaled} */ mode) => mode.expected ?? mode.inviscid;
    return { name: "frequency-less-expected", title: "What is left of the frequency", x: "radius / mm", y: "off what is expected / %", nil: true, theory: [{ label: "as expected", points: along(reach((mode) => 1e3 * mode.radius), () => 0) }], dots: dots((mode) => ({ x: 1e3 * mode.radius, y: 100 * (mode.reduced_frequency[0] / due(mode) - 1), u: (100 * mode.reduced_frequency[1]) / due(mode) })) };
  }
  const rate = (/** @type {Scaled} */ mode) => mode.viscous_rate?.[0] ?? NaN;
  const ends = reach(rate);
  const theory = degrees.map((n) => ({ label: `n = ${n}`, points: along(ends, (x) => (n - 1) * (2 * n + 1) * x) }));
  return { name: "decay-against-viscous-rate", title: "Decay against ν/R²", x: "ν/R² / (1/s)", y: "decay rate / (1/s)", theory, dots: dots((mode) => (mode.viscous_rate ? { x: rate(mode), y: mode.decay_rate.value, u: u(mode.decay_rate) } : null)) };
}
