// An experiment file: the clip to point at, a form, the file itself, and the plan; all of one text.

import * as api from "./api.js";
import { Clock } from "./clock.js";
import { fill, h, settled } from "./dom.js";
import { Draft, form } from "./form.js";
import { jobs } from "./jobs.js";
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
  const measure = h("button", { type: "button", class: "main", on: { click: () => run() } }, "Measure");
  const told = h("p", { class: "fault", role: "alert" });
  const run = async () => {
    told.textContent = "";
    try {
      await draft.save();
      await api.send("POST", "/api/jobs", { experiment: path });
    } catch (why) {
      told.textContent = /** @type {Error} */ (why).message;
    }
  };
  const stage = h("div", { class: "stage" });
  const fields = form(draft, liquids);
  const plan = planned(draft, liquids);
  const queue = jobs((job) => job.state === "done" && job.experiment === path && (told.textContent = ""));
  const clips = watch(draft, stage);
  draft.heard(() => {
    if (area.value !== draft.text) area.value = draft.text;
    fill(faults, problems(draft, area));
    fill(saved, state(draft));
    measure.disabled = draft.faults.length > 0;
    clips();
  });
  main.append(h("div", { class: "experiment" },
    h("div", { class: "experiment-head" }, h("h1", {}, path), saved, h("div", { class: "buttons" }, measure, told)),
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
