// What to expect of the run, and what would change if it were larger, of another liquid, filmed faster, swung harder.

import * as api from "./api.js";
import { fill, h, settled } from "./dom.js";

/**
 * @typedef {{key: string, quantity: string, value?: number, text: string, formula: string, source: string, holds: boolean, why?: string, mark?: string, mostly?: string}} Row
 * @typedef {{alarms: {text: string}[], assumptions: string[], groups: {title: string, rows: Row[]}[], procedure: {when: string, what: string}[], cautions: {text: string}[]}} Sheet
 */

/** Key, label, unit, least, most. @type {[string, string, string, number, number][]} */
const TRIALS = [
  ["body.diameter", "Diameter", "mm", 2, 60],
  ["camera.capture_rate", "Capture rate", "fps", 15, 2000],
  ["release.aspect_ratio", "Length over width at the start", "", 1.02, 1.6],
];

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
  const reset = [];
  const slider = ([key, label, unit, low, high]) => {
    const id = `plan-${key.replace(".", "-")}`;
    const said = h("output", { for: id }, "as in the file");
    const input = h("input", { type: "range", id, min: 0, max: 200, value: 100, on: { input: () => {
      const value = low * (high / low) ** (Number(input.value) / 200);
      const text = `${Number(value.toPrecision(3))}${unit && ` ${unit}`}`;
      said.textContent = text;
      set(key, text);
    } } });
    reset.push(() => {
      input.value = "100";
      said.textContent = "as in the file";
    });
    return h("div", { class: "field" }, h("label", { for: id }, label), input, said);
  };
  const liquid = h("select", { id: "plan-liquid", on: { change: () => set("liquid.name", liquid.value) } },
    h("option", { value: "" }, "as in the file"), liquids.map((name) => h("option", { value: name }, name)));
  reset.push(() => (liquid.value = ""));
  const clear = () => {
    other.clear();
    reset.forEach((one) => one());
    soon();
  };
  const details = h("details", { class: "plan", on: { toggle: () => soon() } },
    h("summary", {}, h("h2", {}, "Plan: what to expect, and what would change it")),
    h("div", { class: "tries", role: "group", "aria-label": "Try another value" }, TRIALS.map(slider),
      h("div", { class: "field" }, h("label", { for: "plan-liquid" }, "Liquid"), liquid),
      h("button", { type: "button", on: { click: clear } }, "Back to the file")),
    told, sheet);
  draft.heard(() => draft.faults.length === 0 && soon());
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
