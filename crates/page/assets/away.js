// What can be taken away from a run, and what can be done with it next.

import * as api from "./api.js";
import { fill, h, words } from "./dom.js";
import { asking } from "./jobs.js";
import { doing, hand, pngOf } from "./save.js";

/**
 * The report, and a panel of all else: bundle, annotated clip, figures, data.
 * @param {string} path @param {import("./findings.js").Run} run @param {import("./clock.js").Clock} clock @param {import("./lanes.js").Lanes} lanes
 */
export function away(path, run, clock, lanes) {
  const panel = h("dialog", { class: "ask takeaway", "aria-labelledby": "takeaway-name" });
  const open = h("button", { type: "button", on: { click: () => {
    if (!panel.firstChild) fill(panel, h("h2", { id: "takeaway-name" }, "Take away"), inside(path, run, clock, lanes), h("p", { class: "buttons" }, h("button", { type: "button", on: { click: () => panel.close() } }, "Close")));
    if (!panel.isConnected) document.body.append(panel);
    panel.showModal();
  } } }, "Take away");
  return h("p", { class: "away" }, h("a", { href: api.file(`${path}/report.html`), target: "_blank", rel: "noopener" }, "Report"), open);
}

/** @param {string} path @param {import("./findings.js").Run} run @param {import("./clock.js").Clock} clock @param {import("./lanes.js").Lanes} lanes */
function inside(path, run, clock, lanes) {
  const name = path.split("/").pop() ?? path;
  const has = (/** @type {string} */ file) => run.files.some(([known]) => known === file);
  const file = (/** @type {string} */ text, /** @type {string} */ inner) => h("a", { href: api.file(`${path}/${inner}`), download: `${name}-${inner.split("/").pop()}` }, text);
  const packed = doing("Bundle", async () => {
    const { body } = await api.send("POST", api.address("/api/bundle", { path }));
    const link = h("a", { href: api.file(body.path), download: body.path.split("/").pop() }, "Bundle (zip)");
    packed.replaceWith(link);
    link.click();
  });
  const remade = doing("Make the report anew", async () => {
    await api.send("POST", api.address("/api/report", { path }));
    location.reload();
  });
  const figure = (/** @type {string} */ one) => h("li", {}, h("span", {}, words(one.replaceAll("-", "_"))), " ", file("SVG", `figures/${one}.svg`), " ",
    doing("PNG", async () => hand(await pngOf(await (await fetch(api.file(`${path}/figures/${one}.svg`))).text(), 2), `${name}-${one}.png`), `${one} as PNG`));
  const table = (/** @type {{name: string, csv: boolean}} */ one) => h("li", {}, h("span", {}, words(one.name.replaceAll("-", "_"))), " ", one.csv && [file("CSV", `tables/${one.name}.csv`), " "], file("Parquet", `series/${one.name}.parquet`));
  return h("div", { class: "takeaway-parts" },
    h("section", {}, h("h3", {}, "Whole"),
      h("p", {}, "The run as one file that a colleague can open, with a checksum of every file in it."), h("p", { class: "buttons" }, packed, file("Findings (JSON)", "findings.json"), file("Experiment file", "experiment.toml"), remade)),
    !run.simulated && h("section", {}, h("h3", {}, "Annotated clip"), film(path, has("overlay.mp4"), clock, lanes)),
    h("section", {}, h("h3", {}, "Figures"), h("ul", { class: "ways" }, run.figures.map(figure))),
    h("section", {}, h("h3", {}, "Data"), h("ul", { class: "ways" }, run.tables.map(table))));
}

/** What of the clip is drawn, which stretch, how fast it plays. @param {string} path @param {boolean} made @param {import("./clock.js").Clock} clock @param {import("./lanes.js").Lanes} lanes */
function film(path, made, clock, lanes) {
  const [first, last] = clock.loop ?? [clock.first, clock.end];
  const whole = h("input", { id: "film-first", type: "number", min: clock.first, max: clock.end, value: first, on: { input: () => say() } });
  const end = h("input", { id: "film-last", type: "number", min: clock.first, max: clock.end, value: last, on: { input: () => say() } });
  const every = h("input", { id: "film-every", type: "number", min: 1, max: 1000, value: 1, on: { input: () => say() } });
  const rate = h("input", { id: "film-rate", type: "number", min: 1, max: 240, value: 30, on: { input: () => say() } });
  /** @type {[string, string, boolean][]} */
  const things = [["outline", "outline as found", true], ["centre", "centre", true], ["axis", "axis", true], ["expected", "outline as theory expects it, dashed", false], ["close", "cut to the bodies", false]];
  const boxes = things.filter(([name]) => name !== "expected" || lanes.expected_from).map(([name, text, on]) => {
    const box = h("input", { type: "checkbox", id: `film-${name}-shown`, checked: on });
    return { name, box, row: h("span", { class: "tick" }, box, h("label", { for: `film-${name}-shown` }, text)) };
  });
  const told = h("p", { class: "note", role: "status" });
  const say = () => {
    const [from, to] = [Number(whole.value), Number(end.value)];
    const real = (lanes.times[to - clock.first] ?? NaN) - (lanes.times[from - clock.first] ?? NaN);
    const played = (Math.floor((to - from) / Number(every.value)) + 1) / Number(rate.value);
    const slower = played / real;
    told.textContent = Number.isFinite(slower) && slower > 0 ? `Plays for ${played.toFixed(1)} s: ${slower >= 1 ? `${slower.toFixed(1)} times slower` : `${(1 / slower).toFixed(1)} times faster`} than it was.` : "";
  };
  say();
  const { button, told: fault } = asking("Make this film", () => ({
    do: "overlay", run: path, show: boxes.filter(({ box }) => box.checked).map(({ name }) => name),
    first: Number(whole.value), last: Number(end.value), every: Number(every.value), rate: Number(rate.value),
  }));
  // The film opens by itself when it is made; the queue stands behind this panel.
  button.addEventListener("click", () => button.closest("dialog")?.close());
  const field = (/** @type {string} */ label, /** @type {HTMLInputElement} */ input) => h("div", { class: "field" }, h("label", { for: input.id }, label), input);
  return h("div", {}, made && h("p", {}, h("a", { href: api.file(`${path}/overlay.mp4`), target: "_blank", rel: "noopener" }, "The one made while measuring"), ", or one of your choice:"),
    h("p", { class: "ticks" }, boxes.map(({ row }) => row)),
    h("div", { class: "row four" }, field("First frame", whole), field("Last frame", end), field("One of", every), field("A second", rate)), told,
    h("p", { class: "buttons" }, button, fault));
}

/** What can be done with a run next: correct it, change it, film it, fit it. @param {string} path @param {import("./findings.js").Run} run @param {import("./clock.js").Clock} clock */
export function next(path, run, clock) {
  const again = h("button", { type: "button", on: { click: () => takeOver(path, again, 0) } }, "Change and measure again");
  const correct = h("button", { type: "button", title: "Accept, correct or reject the outline in this frame, in a changed copy of the experiment", on: { click: () => takeOver(path, correct, clock.frame) } }, "Correct this outline");
  const steps = [];
  if (run.simulated) {
    const look = h("select", { id: "film-look", "aria-label": "How the film looks" }, h("option", { value: "" }, "dark before a light"), h("option", { value: "clear" }, "clear, in a room"));
    const { button, told } = asking("Film it", () => ({ do: "film", run: path, clear: look.value === "clear" }));
    steps.push(button, look, told);
  } else if (run.modes.length > 0) {
    const { button, told } = asking("Fit the simulation to it", () => ({ do: "fit", run: path }));
    steps.push(button, told);
  }
  return h("p", { class: "away", role: "group", "aria-label": "What next" }, steps, !run.simulated && [correct, again]);
}

/** Takes the experiment of a run over into a new file beside it, and goes there to a frame. @param {string} path @param {HTMLButtonElement} button @param {number} frame */
async function takeOver(path, button, frame) {
  button.disabled = true;
  for (let number = 2; number < 1000; number++) {
    const name = `${path}-changed${number === 2 ? "" : `-${number}`}.toml`;
    try {
      await api.send("POST", "/api/experiment", { path: name, kind: "", run: path });
      location.assign(api.address("/experiment", { path: name, frame: frame || null }));
      return;
    } catch (why) {
      if (/** @type {api.Refused} */ (why).status !== 409) {
        button.replaceWith(/** @type {Error} */ (why).message);
        return;
      }
    }
  }
}
