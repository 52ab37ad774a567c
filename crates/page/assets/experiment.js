// An experiment file: the clip to point at, a form, the file itself, and the plan; all of one text.

import * as api from "./api.js";
import { Clock } from "./clock.js";
import { fill, h, settled } from "./dom.js";
import { Draft, form } from "./form.js";
import { asking, jobs } from "./jobs.js";
import { planned } from "./plan.js";
import { pointing } from "./pointing.js";

/** @param {HTMLElement} main @param {string} path */
export async function experimentPage(main, path) {
  const { text, tag } = await api.readExperiment(path);
  const liquids = await api.get("/api/liquids");
  document.title = `${path} – tremolet`;
  const draft = new Draft(path, text, tag);
  const area = h("textarea", { id: "file-text", spellcheck: false, autocomplete: "off", wrap: "off", value: text, on: { input: () => draft.typed(area.value) } });
  const faults = h("ul", { class: "faults" });
  const saved = h("p", { class: "saved", role: "status" });
  const written = async (/** @type {"measure" | "simulate"} */ what) => {
    await draft.save();
    return /** @type {api.Task} */ ({ do: what, experiment: path });
  };
  const measure = asking("Measure", () => written("measure"), "main");
  const held = h("span", { class: "note", role: "status" });
  const simulate = asking("Simulate", () => written("simulate"));
  const stage = h("div", { class: "stage" });
  const fields = form(draft, liquids);
  const plan = planned(draft, liquids);
  const queue = jobs();
  const clips = watch(draft, stage);
  draft.heard(() => {
    if (area.value !== draft.text) area.value = draft.text;
    fill(faults, problems(draft, area));
    fill(saved, state(draft));
    fill(held, draft.faults.length > 0 && "Mend what is marked as wrong; then it can be measured. ");
    measure.button.disabled = simulate.button.disabled = draft.faults.length > 0;
    simulate.button.hidden = !draft.simulates;
    clips();
  });
  main.append(h("div", { class: "experiment" },
    h("div", { class: "experiment-head" }, h("h1", {}, path), saved, h("div", { class: "buttons" }, held, measure.told, simulate.told, simulate.button, measure.button)),
    queue,
    h("div", { class: "bench" }, stage, fields,
      h("section", { class: "file" }, h("h2", {}, h("label", { for: "file-text" }, "The file")), area, h("div", { role: "status", "aria-label": "What is wrong in the file, and what is open" }, faults))),
    plan));
  await draft.check();
}

/** What the file lacks or has wrong, each leading to its line. @param {Draft} draft @param {HTMLTextAreaElement} area */
function problems(draft, area) {
  const go = (/** @type {number} */ line) => {
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
    area.scrollTop = Math.max(0, (line - 4) * (area.scrollHeight / Math.max(1, lines.length)));
  };
  const one = (/** @type {api.Fault} */ fault, /** @type {string} */ kind) => h("li", { class: kind },
    fault.line > 0 && [h("button", { type: "button", class: "link", on: { click: () => go(fault.line) } }, `line ${fault.line}`), " "],
    h("b", {}, fault.key), `: found ${fault.found}; expected ${fault.expected}`);
  const notes = draft.checked?.cautions ?? [];
  const hand = draft.checked?.notes ?? [];
  return [
    ...draft.faults.map((fault) => one(fault, "wrong")),
    draft.why && h("li", { class: "wrong" }, draft.why),
    ...(draft.checked?.lacking ?? []).map((fault) => one(fault, "lacking")),
    ...notes.map((caution) => h("li", { class: "mind" }, caution.text)),
    ...hand.map((note) => h("li", { class: "hand" }, note.text)),
  ].filter((item) => item !== "" && item !== null);
}

/** @param {Draft} draft */
function state(draft) {
  if (draft.changed) {
    return [h("span", { class: "fault" }, "Somebody changed this file meanwhile. "),
      h("button", { type: "button", on: { click: () => draft.take() } }, "Take theirs"), " ",
      h("button", { type: "button", on: { click: () => draft.insist() } }, "Keep mine")];
  }
  if (draft.trouble) return [h("span", { class: "fault" }, draft.trouble)];
  return [draft.saved ? "Saved" : "Not saved yet"];
}

/** The clip beside the form, opened anew when the file names another. @param {Draft} draft @param {HTMLElement} stage */
function watch(draft, stage) {
  let shown = "none";
  // Another page may lead to a frame.
  let at = Number.parseInt(new URLSearchParams(location.search).get("frame") ?? "0", 10) || 0;
  let path = draft.clip?.path ?? null;
  return settled(50, async () => {
    const clip = draft.clip;
    const key = JSON.stringify(clip && [clip.path, clip.rate, clip.times]);
    if (draft.faults.length > 0 && shown === "none") fill(stage, h("p", { class: "note" }, "The clip is shown as soon as nothing in the file is wrong."));
    if (key === shown || draft.faults.length > 0) return;
    shown = key;
    if (!clip?.path) {
      fill(stage, h("p", { class: "note" }, clip ? `${clip.written} is not in the served folder.` : "The file names no clip yet."));
      return;
    }
    try {
      const about = await api.get("/api/clip", { clip: clip.path, rate: clip.rate, times: clip.times });
      const clock = new Clock(0, about.frames ?? 100000, (frame) => (clip.rate ? frame / clip.rate : null));
      if (path !== null && path !== clip.path) at = 0;
      path = clip.path;
      clock.to(at);
      // Where the clip stands stays when its rate is changed.
      clock.heard(() => (at = clock.frame));
      fill(stage, pointing(draft, clip, about, clock));
    } catch (why) {
      fill(stage, h("p", { class: "fault" }, /** @type {Error} */ (why).message));
    }
  });
}
