// The first page: what the folder holds, and a guided start.

import * as api from "./api.js";
import { counted, fill, fixed, h } from "./dom.js";
import { jobs } from "./jobs.js";

/**
 * @typedef {{path: string, title: string, kind: string, liquid: string, calibration: string, batch: string, found: [string, string][], modes: number, cautions: number, frames: number, begun: string, fault: string}} Run
 * @typedef {{name: string, runs: Run[], experiments: {path: string, title: string, kind: string}[], clips: string[], more: boolean}} Held
 */

export const KINDS = /** @type {const} */ ([
  ["release", "A support goes away and the body rings"],
  ["puff", "A gas pulse or a tap hits one side"],
  ["column", "A thread of liquid breaks into drops"],
  ["shell", "A drop with a bubble inside"],
  ["fizz", "Gas is set free inside a drop"],
]);

/** @param {HTMLElement} main */
export async function startPage(main) {
  const box = h("div", { class: "folder" });
  const held = async () => {
    const folder = /** @type {Held} */ (await api.get("/api/folder"));
    document.title = `${folder.name} – tremolet`;
    fill(box, ...shown(folder));
  };
  main.append(h("div", { class: "start" }, h("div", { class: "start-main" }, begin(held), planning(), jobs((job) => job.made && held())), box));
  await held();
}

/** @param {Held} folder */
function shown(folder) {
  return [
    h("h2", {}, "Runs"),
    folder.runs.length === 0 ? h("p", { class: "note" }, "None yet. Begin with a clip, or measure one of the experiment files.") : runs(folder.runs),
    folder.experiments.length > 0 && [h("h2", {}, "Experiment files"), h("ul", { class: "files" }, folder.experiments.map((file) =>
      h("li", {}, h("a", { href: api.address("/experiment", { path: file.path }) }, file.title || file.path), " ", h("span", { class: "note" }, `${file.kind}, ${file.path}`))))],
    folder.clips.length > 0 && [h("h2", {}, "Clips"), h("ul", { class: "files" }, folder.clips.map((clip) =>
      h("li", {}, h("button", { type: "button", class: "link", on: { click: () => ask(clip) } }, clip))))],
    folder.more && h("p", { class: "note" }, "There is more in this folder than is shown."),
  ];
}

/** The runs; two or more that are marked can be laid side by side. @param {Run[]} list */
function runs(list) {
  const chosen = /** @type {Set<string>} */ (new Set());
  const button = h("button", { type: "button", disabled: true, on: { click: () => location.assign(`/compare?${[...chosen].map((path) => `path=${encodeURIComponent(path)}`).join("&")}`) } }, "Lay side by side");
  const mark = (/** @type {string} */ path, /** @type {boolean} */ on) => {
    if (on) chosen.add(path);
    else chosen.delete(path);
    button.disabled = chosen.size < 2;
  };
  return [h("ul", { class: "cards" }, list.map((one) => run(one, list.length > 1 && mark))), list.length > 1 && h("p", { class: "buttons" }, button, h("span", { class: "note" }, "choose two runs or more"))];
}

/** @param {Run} run @param {false | ((path: string, on: boolean) => void)} mark */
function run(run, mark) {
  const changed = (/** @type {Event} */ event) => mark && mark(run.path, /** @type {HTMLInputElement} */ (event.target).checked);
  const box = mark && h("input", { type: "checkbox", "aria-label": `Compare ${run.path}`, on: { change: changed } });
  return h("li", {}, box, h("a", { href: api.address("/run", { path: run.path }) }, run.title || run.path),
    h("p", { class: "note" }, [run.kind, run.path, counted(run.frames, "frame"), counted(run.modes, "mode"), counted(run.cautions, "caution")].filter(Boolean).join(", ")),
    run.fault ? h("p", { class: "fault" }, run.fault) : h("dl", { class: "pairs" }, run.found.map(([name, text]) => h("div", {}, h("dt", {}, name), h("dd", {}, text)))));
}

/** Where a clip is dropped or chosen. @param {() => void} held */
function begin(held) {
  const told = h("p", { role: "status" });
  const input = h("input", { type: "file", id: "clip-file", accept: "video/*,image/gif,.y4m,.cine,.avi,.mov,.mp4,.mkv", on: { change: () => input.files?.[0] && taken(input.files[0], told, held) } });
  const zone = h("div", { class: "drop-zone" },
    h("h1", {}, "Begin with a clip"),
    h("p", {}, "Drop a film of your drop here, or ", h("label", { for: "clip-file", class: "pick" }, "choose a file"), input, ". It is copied into the served folder and never leaves this machine."),
    h("p", { class: "note" }, "A folder of stills, or a very large film: copy it into the served folder; it then appears under “Clips”."), told);
  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    zone.classList.add("over");
  });
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    const clip = event.dataTransfer?.files[0];
    if (clip) taken(clip, told, held);
  });
  return zone;
}

/** A file to plan a run with, before there is a clip. */
function planning() {
  const told = h("span", { class: "fault", role: "alert" });
  const kind = h("select", { id: "plan-kind" }, KINDS.map(([name, what]) => h("option", { value: name }, what)));
  const write = async () => {
    told.textContent = "";
    for (let number = 1; number < 1000; number++) {
      const path = `${kind.value}${number === 1 ? "" : `-${number}`}.toml`;
      try {
        await api.send("POST", "/api/experiment", { path, kind: kind.value, commented: true });
        location.assign(`${api.address("/experiment", { path })}#plan`);
        return;
      } catch (why) {
        if (/** @type {api.Refused} */ (why).status === 409) continue;
        told.textContent = /** @type {Error} */ (why).message;
        return;
      }
    }
  };
  return h("section", { class: "planning", "aria-labelledby": "planning-name" }, h("h2", { id: "planning-name" }, "Or plan a run first"),
    h("p", { class: "note" }, "What to expect, what the camera will see, how well the answer will be known; and the motion, computed and filmed."),
    h("p", { class: "buttons" }, h("label", { for: "plan-kind", class: "hidden-label" }, "What happens to the liquid"), kind, h("button", { type: "button", on: { click: write } }, "Begin a plan"), told));
}

/** @param {File} clip @param {HTMLElement} told @param {() => void} held */
async function taken(clip, told, held) {
  const name = clip.name.replace(/[^\p{L}\p{N}._ -]/gu, "-").replace(/^\.+/, "");
  try {
    await api.sendClip(clip, name, (share) => (told.textContent = `${name}: ${fixed(100 * share, 0)} % copied`));
    told.textContent = `${name} is in the folder`;
    held();
    ask(name);
  } catch (why) {
    if (/** @type {api.Refused} */ (why).status === 409) {
      told.textContent = `A clip named ${name} is there already; it is taken.`;
      ask(name);
    } else told.textContent = /** @type {Error} */ (why).message;
  }
}

/** What cannot be found out from the clip is asked; then the experiment file is written. @param {string} clip */
async function ask(clip) {
  const [about, liquids] = await Promise.all([api.get("/api/suggestion", { path: clip }), api.get("/api/liquids")]);
  const fault = h("p", { class: "fault", role: "alert" });
  const field = (/** @type {string} */ id, /** @type {string} */ label, /** @type {Node} */ input, /** @type {string} */ hint) =>
    h("div", { class: "field" }, h("label", { for: id }, label), input, h("small", { id: `${id}-hint` }, hint));
  const text = (/** @type {string} */ id, /** @type {string} */ example) => h("input", { id, type: "text", placeholder: example, autocomplete: "off", "aria-describedby": `${id}-hint` });
  const title = text("ask-title", "Cup release, run 7");
  const kind = h("select", { id: "ask-kind" }, KINDS.map(([name, what]) => h("option", { value: name }, what)));
  const names = /** @type {string[]} */ (liquids);
  const liquid = h("select", { id: "ask-liquid" }, h("option", { value: "" }, "not known, or not listed"), names.map((name) => h("option", { value: name }, name)));
  const share = text("ask-share", "0.40 +- 0.005");
  const warmth = text("ask-warmth", "22 +- 0.5 degC");
  const scale = text("ask-scale", "0.060 +- 0.0002 mm/px");
  const rate = text("ask-rate", "240 fps");
  const mass = text("ask-mass", "2.36 +- 0.015 g");
  /** A number without its unit would be refused on the next page; it is said here, where it was written. */
  const whole = () => {
    const lacks = [warmth, rate, scale, mass].filter((input) => {
      const bare = input.value.trim() !== "" && !/[^\d.,eE+\-\s]/.test(input.value);
      input.setAttribute("aria-invalid", String(bare));
      return bare;
    });
    fault.textContent = lacks.map((input) => `${input.labels?.[0]?.textContent} A unit is missing, as in ${input.placeholder.replace(/ \+- \S+/, "")}.`).join(" ");
    lacks[0]?.focus();
    return lacks.length === 0;
  };
  const write = async () => {
    if (!whole()) return;
    const values = [["title", title.value], ["liquid.name", liquid.value], ["liquid.mass_fraction", liquid.value && share.value], ["liquid.temperature", liquid.value && warmth.value],
      ["body.mass", mass.value], ["camera.capture_rate", rate.value], ["camera.scale", scale.value], ["clip.path", about.clip]].filter(([, value]) => value);
    try {
      await api.send("POST", "/api/experiment", { path: about.path, kind: kind.value, values });
      location.assign(api.address("/experiment", { path: about.path }));
    } catch (why) {
      fault.textContent = /** @type {Error} */ (why).message;
    }
  };
  const dialog = h("dialog", { class: "ask", "aria-labelledby": "ask-name" }, h("form", { method: "dialog", on: { submit: (/** @type {SubmitEvent} */ event) => {
    if (/** @type {HTMLButtonElement} */ (event.submitter)?.value === "write") {
      event.preventDefault();
      write();
    }
  } } },
  h("h2", { id: "ask-name" }, clip),
  h("p", {}, "Only what the clip cannot tell is asked. Leave open what you do not know; it can be added later, by hand or by pointing at the picture."),
  field("ask-title", "What is it called?", title, "for you and the report"),
  field("ask-kind", "What happens to the liquid?", kind, ""),
  h("div", { class: "row" }, field("ask-liquid", "Which liquid?", liquid, ""), field("ask-share", "How much is dissolved?", share, "mass fraction, for mixtures"), field("ask-warmth", "How warm?", warmth, "")),
  h("div", { class: "row" }, field("ask-rate", "How fast was it filmed?", rate, about.timed ? "the clip carries its own times" : "real frames per second of real time, not those of playback"),
    field("ask-scale", "How long is a pixel?", scale, "or point at something of known length on the next page"), field("ask-mass", "How heavy is it?", mass, "if it was weighed")),
  fault,
  h("p", { class: "buttons" }, h("button", { value: "write", class: "main" }, "Write the experiment file"), h("button", { value: "no", formnovalidate: true }, "Not now"))));
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
