// What to expect of the run, and what would change if it were larger, of another liquid, filmed faster, swung harder.

import * as api from "./api.js";
import { fill, h, settled } from "./dom.js";
import { asking } from "./jobs.js";

/**
 * @typedef {{key: string, quantity: string, value?: number, text: string, formula: string, source: string, holds: boolean, why?: string, mark?: string, mostly?: string}} Row
 * @typedef {{alarms: {text: string}[], assumptions: string[], groups: {title: string, rows: Row[]}[], procedure: {when: string, what: string}[], cautions: {text: string}[]}} Sheet
 */

/** Key, label, unit, least, most. @typedef {[string, string, string, number, number]} Trial */

/** What every run has. @type {Trial[]} */
const ANY = [
  ["body.diameter", "Diameter", "mm", 2, 60],
  ["camera.capture_rate", "Capture rate", "fps", 15, 4000],
];
/** What a kind has besides. @type {Record<string, Trial[]>} */
const OF_KIND = {
  release: [["release.aspect_ratio", "Length over width at the start", "", 1.02, 1.8], ["release.removal_time", "Time until the support is gone: how fast the front runs", "ms", 1, 200]],
  puff: [["puff.volume", "Gas given off", "mL", 0.1, 20], ["puff.duration", "How long the puff lasts: a shorter one hits harder", "ms", 3, 300], ["puff.distance", "Nozzle to the surface", "mm", 3, 100]],
  column: [["column.length", "Length of the column", "mm", 5, 300], ["column.diameter", "Its diameter", "mm", 0.5, 30], ["column.disturbance", "Half height of the waves on it", "mm", 0.001, 1]],
  shell: [["shell.bubble", "Diameter of the bubble: a larger one leaves a thinner shell", "mm", 2, 58], ["shell.speed", "Speed of the droplet", "m/s", 0.01, 1], ["shell.droplet", "Diameter of the droplet", "mm", 0.5, 10]],
  fizz: [["fizz.bicarbonate", "Bicarbonate", "mg", 5, 1000], ["fizz.acid", "Acid", "mg", 5, 1000], ["fizz.bubbles", "Bubbles that are born", "", 5, 5000]],
};
const PLACES = [["orbit", "orbit"], ["sounding-rocket", "sounding rocket"], ["parabolic-flight", "parabolic flight"], ["drop-tower", "drop tower"], ["ground", "ground"]];

/** @param {import("./form.js").Draft} draft @param {string[]} liquids */
export function planned(draft, liquids) {
  /** @type {Map<string, string>} */
  const other = new Map();
  /** @type {Map<string, string>} */
  let before = new Map();
  const sheet = h("div", { class: "sheet", "aria-live": "off" });
  const told = h("p", { class: "note", role: "status" });
  let turn = 0;
  /** The sheet of the file itself, and the text that it is of. @type {Sheet | null} */
  let plain = null;
  let of = "";
  const ask = async () => {
    if (!details.open) return;
    const mine = ++turn;
    const begun = performance.now();
    try {
      if (of !== draft.text) {
        const text = draft.text;
        plain = /** @type {Sheet} */ ((await api.send("POST", "/api/plan", { path: draft.path, text })).body);
        of = text;
        before = new Map(plain.groups.flatMap((group) => group.rows.map((row) => [row.key, row.text])));
      }
      let shown = /** @type {Sheet} */ (plain);
      if (other.size > 0) {
        /** @type {import("./form.js").Change[]} */
        const changes = [...other].map(([key, value]) => ({ do: "set", key, value }));
        // One size at a time: what is tried takes the place of what is stated.
        if (other.has("body.diameter")) for (const key of ["body.mass", "body.volume"]) changes.push({ do: "remove", key });
        if (other.has("liquid.name")) changes.push({ do: "remove", key: "liquid.mass_fraction" });
        const { body } = await api.send("POST", "/api/alter", { text: draft.text, changes });
        shown = (await api.send("POST", "/api/plan", { path: draft.path, text: body.text })).body;
      }
      if (mine !== turn) return;
      told.textContent = other.size > 0 ? `Tried, not written: ${[...other].map(([key, value]) => `${key} = ${value}`).join(", ")} (${Math.round(performance.now() - begun)} ms)` : "";
      fill(sheet, drawn(shown, before, other.size > 0));
    } catch (why) {
      if (mine !== turn) return;
      told.textContent = /** @type {Error} */ (why).message;
    }
  };
  const soon = settled(60, ask);
  const set = (/** @type {string} */ key, /** @type {string} */ value) => {
    if (value) other.set(key, value);
    else other.delete(key);
    soon();
  };
  /** @type {(() => void)[]} */
  let reset = [];
  const slider = (/** @type {Trial} */ [key, label, unit, low, high]) => {
    const id = `plan-${key.replace(".", "-")}`;
    const said = h("output", { for: id });
    const input = h("input", { type: "range", id, min: 0, max: 200, on: { input: () => {
      const value = low * (high / low) ** (Number(input.value) / 200);
      const text = `${Number(value.toPrecision(3))}${unit && ` ${unit}`}`;
      said.textContent = text;
      input.setAttribute("aria-valuetext", text);
      set(key, text);
    } } });
    // The slider stands where the file does, where the file says it in the same unit.
    const back = () => {
      const written = String(draft.value(key) ?? "");
      const [, number, of] = /^\s*([\d.eE+-]+)(?:\s*\+-\s*[\d.eE+-]+)?\s*(.*?)\s*$/.exec(written) ?? [];
      const share = Number(number) > 0 && of === unit ? Math.log(Number(number) / low) / Math.log(high / low) : 0.5;
      input.value = String(Math.round(200 * Math.min(1, Math.max(0, share))));
      said.textContent = written ? `as in the file: ${written}` : "not in the file";
      input.setAttribute("aria-valuetext", said.textContent);
    };
    reset.push(back);
    back();
    return h("div", { class: "field" }, h("label", { for: id }, label), input, said);
  };
  const chosen = (/** @type {string} */ key, /** @type {string} */ id, /** @type {string} */ label, /** @type {(string | string[])[]} */ options) => {
    const input = h("select", { id, on: { change: () => set(key, input.value) } }, h("option", { value: "" }, "as in the file"), options.map((one) => (typeof one === "string" ? h("option", { value: one }, one) : h("option", { value: one[0] }, one[1]))));
    reset.push(() => (input.value = ""));
    return h("div", { class: "field" }, h("label", { for: id }, label), input);
  };
  const clear = () => {
    other.clear();
    reset.forEach((one) => one());
    soon();
  };
  const printed = asking("As a sheet to print", async () => {
    await draft.save();
    return { do: "plan", experiment: draft.path };
  });
  const tries = h("div", { class: "tries", role: "group", "aria-label": "Try another value" });
  const details = h("details", { class: "plan", id: "plan", open: location.hash === "#plan", on: { toggle: () => soon() } },
    h("summary", {}, h("h2", {}, "Plan: what to expect, and what would change it")), tries, told, sheet);
  let kind = "";
  draft.heard(() => {
    if (draft.faults.length > 0) return;
    if (kind !== draft.value("kind")) {
      // Another kind of run has other things to try.
      kind = draft.value("kind");
      reset = [];
      other.clear();
      fill(tries, [...ANY, ...(OF_KIND[kind] ?? [])].map(slider), chosen("liquid.name", "plan-liquid", "Liquid", liquids), chosen("surroundings.place", "plan-place", "Where", PLACES),
        h("p", { class: "buttons" }, h("button", { type: "button", on: { click: clear } }, "Back to the file"), printed.button, printed.told));
    } else if (other.size === 0) reset.forEach((one) => one());
    soon();
  });
  return details;
}

/** Plain signs as they are printed. @param {string} text */
function signs(text) {
  return text.replace("+-", "±").replace("^2", "²").replace("^3", "³").replace(/(\d) (?=[^±\d])/, "$1\u00a0");
}

/** @param {Sheet} sheet @param {Map<string, string>} before @param {boolean} other */
function drawn(sheet, before, other) {
  const mark = { good: "", marginal: "marginal", impossible: "cannot work" };
  const row = (/** @type {Row} */ one) => {
    const was = before.get(one.key);
    const changed = other && was !== undefined && was !== one.text;
    const sign = mark[/** @type {"good"} */ (one.mark)] || (one.holds ? "" : one.value === undefined ? "no number" : "outside its range");
    return h("tr", { class: sign ? "marked" : "" }, h("th", { scope: "row" }, h("details", {}, h("summary", {}, one.quantity), h("p", { class: "note" }, one.formula), h("p", { class: "note" }, one.source), one.mostly && h("p", { class: "note" }, `mostly from ${one.mostly}`))),
      h("td", { class: "n" }, signs(one.text), changed && h("small", {}, `was ${signs(was)}`)), h("td", {}, sign && h("b", {}, sign), one.why && ` ${one.why}`));
  };
  return [
    sheet.alarms.length > 0 && h("ul", { class: "alarms" }, sheet.alarms.map((alarm) => h("li", {}, h("b", {}, "Breaks: "), alarm.text))),
    h("div", { class: "groups" }, sheet.groups.filter((group) => group.rows.length > 0).map((group) => h("table", {}, h("caption", {}, group.title), h("tbody", {}, group.rows.map(row))))),
  ];
}
