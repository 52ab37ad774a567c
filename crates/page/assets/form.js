// One experiment text that the form, the pointing tools and the text area all change; and the form.

import * as api from "./api.js";
import { h, settled } from "./dom.js";
import { KINDS } from "./start.js";

/**
 * @typedef {{do: "set", key: string, value: any} | {do: "remove", key: string} | {do: "add", table: string, values: [string, any][]} | {do: "drop", table: string, place: number}} Change
 * @typedef {{lacking: api.Fault[], expected: {degree: number, frequency: number, decay_rate: number}[], cautions: {code: string, text: string}[], notes: {code: string, text: string}[], given: {key: string, text: string}[]}} Checked
 */

export class Draft {
  /** @param {string} path @param {string} text @param {string} tag */
  constructor(path, text, tag) {
    this.path = path;
    this.text = text;
    this.tag = tag;
    this.saved = true;
    /** Whether the file was changed elsewhere. */
    this.changed = false;
    this.trouble = "";
    /** @type {{key: string, value: any, line: number}[]} */
    this.fields = [];
    /** @type {api.Fault[]} */
    this.faults = [];
    this.why = "";
    /** Whether the motion can be computed from it. */
    this.simulates = false;
    /** @type {Checked | null} */
    this.checked = null;
    /** @type {api.Clip | null} */
    this.clip = null;
    /** @type {Set<() => void>} */
    this.listeners = new Set();
    this.later = settled(700, () => this.save().catch(() => {}));
    this.soon = settled(200, () => this.check());
    this.turn = 0;
  }

  /** @param {() => void} listener */
  heard(listener) {
    this.listeners.add(listener);
  }

  tell() {
    for (const listener of this.listeners) listener();
  }

  /** @param {string} key */
  value(key) {
    return this.fields.find((field) => field.key === key)?.value;
  }

  /** A text from the keyboard. @param {string} text */
  typed(text) {
    this.text = text;
    this.saved = false;
    this.tell();
    this.soon();
    this.later();
  }

  /** Single values changed by the form or by pointing; every other byte stays. @param {Change[]} changes */
  async alter(changes) {
    try {
      const { body } = await api.send("POST", "/api/alter", { text: this.text, changes });
      this.trouble = "";
      this.text = body.text;
      this.saved = false;
      this.later();
      await this.check();
    } catch (why) {
      this.trouble = /** @type {Error} */ (why).message;
      this.tell();
    }
  }

  async check() {
    const turn = ++this.turn;
    try {
      const { body } = await api.send("POST", "/api/check", { path: this.path, text: this.text });
      if (turn !== this.turn) return;
      Object.assign(this, { fields: body.fields, faults: body.faults, why: body.why, checked: body.checked, simulates: body.simulates });
      if (body.faults.length === 0) this.clip = body.clip;
    } catch (why) {
      if (turn !== this.turn) return;
      this.why = /** @type {Error} */ (why).message;
    }
    this.tell();
  }

  async save() {
    if (this.saved || this.changed) return;
    const text = this.text;
    try {
      const { tag } = await api.send("PUT", api.address("/api/experiment", { path: this.path }), { text }, { "if-match": this.tag });
      this.tag = tag ?? this.tag;
      this.saved = text === this.text;
      this.trouble = "";
    } catch (why) {
      this.changed = /** @type {api.Refused} */ (why).status === 412;
      if (!this.changed) this.trouble = /** @type {Error} */ (why).message;
      this.tell();
      throw why;
    }
    this.tell();
  }

  /** Theirs in place of mine. */
  async take() {
    const { text, tag } = await api.readExperiment(this.path);
    Object.assign(this, { text, tag, saved: true, changed: false });
    await this.check();
  }

  /** Mine in place of theirs, knowing that. */
  async insist() {
    const { tag } = await api.readExperiment(this.path);
    Object.assign(this, { tag, saved: false, changed: false });
    await this.save().catch(() => {});
  }
}

/** @type {[string, [string, string, string, string][]][]} Heading; key, label, example, hint. */
const FIELDS = [
  ["What it is", [
    ["title", "Title", "Cup release, run 7", ""],
    ["kind", "What happens", "", ""],
  ]],
  ["Liquid", [
    ["liquid.name", "Liquid", "", "properties of a named liquid are looked up"],
    ["liquid.mass_fraction", "Mass fraction", "0.40 +- 0.005", "of what is dissolved"],
    ["liquid.temperature", "Temperature", "22 +- 0.5 degC", ""],
  ]],
  ["Size", [
    ["body.mass", "Mass", "2.36 +- 0.015 g", "weighed: makes surface tension much surer"],
    ["body.diameter", "Diameter", "16 +- 0.2 mm", "of the sphere of equal volume"],
  ]],
  ["Length and time", [
    ["camera.scale", "Scale", "0.060 +- 0.0002 mm/px", "or point at a known length, circle or volume"],
    ["camera.capture_rate", "Capture rate", "240 fps", "real frames per second of real time; or read a clock in view"],
    ["camera.distance", "Lens to body", "0.60 +- 0.01 m", "corrects the perspective"],
    ["camera.depth", "Depth", "0 +- 3 mm", "of the body behind the plane of the scale"],
    ["camera.exposure", "Exposure", "0.3 ms", ""],
    ["camera.calibration", "Calibration", "cal-A", "runs that share it share its error"],
  ]],
  ["Where", [
    ["surroundings.residual_acceleration", "Residual acceleration", "0.0002 m/s^2", ""],
    ["surroundings.available_time", "Time of weightlessness", "2.2 s", ""],
    ["clip.path", "Clip", "run7.mp4", "seen from the file"],
  ]],
];

/** What begins the codes of what is told of a field. @type {Record<string, string>} */
const TOLD = { "camera.scale": "scales_", "camera.capture_rate": "rates_" };

/** What is seen in the picture of a scale or a rate, and whether two of them disagree. @param {Draft} draft @param {string} key */
function seen(draft, key) {
  const about = (/** @type {{code: string}} */ one) => TOLD[key] !== undefined && one.code.startsWith(TOLD[key]);
  const caution = draft.checked?.cautions.find(about);
  const texts = [draft.checked?.given.find((one) => one.key === key)?.text, caution?.text ?? draft.checked?.notes.find(about)?.text];
  const text = texts.filter(Boolean).join(". ");
  return text === "" ? null : { text, caution: Boolean(caution) };
}

/** @param {Draft} draft @param {string[]} liquids */
export function form(draft, liquids) {
  /** @type {(() => void)[]} */
  const shown = [];
  const set = (/** @type {string} */ key, /** @type {string} */ text) => {
    if (String(draft.value(key) ?? "") === text) return;
    draft.alter([text.trim() === "" ? { do: "remove", key } : { do: "set", key, value: text.trim() }]);
  };
  const options = (/** @type {string} */ key) =>
    key === "kind" ? KINDS.map(([name, what]) => h("option", { value: name }, what))
      : [h("option", { value: "" }, "not named"), ...liquids.map((name) => h("option", { value: name }, name))];
  const field = ([key, label, example, hint]) => {
    const id = `field-${key.replace(".", "-")}`;
    const chosen = key === "kind" || key === "liquid.name";
    const input = chosen
      ? h("select", { id, "aria-describedby": `${id}-note`, on: { change: () => set(key, input.value) } }, options(key))
      : h("input", { id, type: "text", placeholder: example, autocomplete: "off", spellcheck: false, "aria-describedby": `${id}-note`, on: { change: () => set(key, input.value) } });
    const note = h("small", { id: `${id}-note` }, hint);
    shown.push(() => {
      const value = draft.value(key);
      if (document.activeElement !== input || draft.saved) input.value = value === undefined ? "" : String(value);
      const fault = draft.faults.find((one) => one.key === key) ?? draft.checked?.lacking.find((one) => one.key === key);
      const told = fault ? null : seen(draft, key);
      note.textContent = fault ? `found ${fault.found}; expected ${fault.expected}` : told?.text ?? hint;
      note.className = fault || told?.caution ? "fault" : "";
      input.setAttribute("aria-invalid", String(draft.faults.includes(/** @type {api.Fault} */ (fault))));
    });
    return h("div", { class: "field" }, h("label", { for: id }, label), input, note);
  };
  const element = h("section", { class: "form" }, h("h2", {}, "What is known"),
    FIELDS.map(([name, list]) => h("fieldset", {}, h("legend", {}, name), list.map(field))));
  draft.heard(() => shown.forEach((one) => one()));
  return element;
}
