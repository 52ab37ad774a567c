// The queue: what is being done, how far it is, what is seen of it meanwhile, and what came of it. It goes on when the page is closed.

import * as api from "./api.js";
import { fill, fixed, h } from "./dom.js";
import { Glance } from "./glance.js";

/** Jobs that this page asked for; their results open by themselves. @type {Set<number>} */
const mine = new Set();
/** What came of jobs of which this page did not know yet that it had asked for them: one may end before its number is told. @type {Map<number, api.Made>} */
const ended = new Map();

/** Puts a task into the queue; its result opens by itself while this page is open. @param {api.Task} task @returns {Promise<api.Job>} */
export async function ask(task) {
  const { body } = await api.send("POST", "/api/jobs", task);
  const made = ended.get(body.id);
  if (made) open(made);
  else mine.add(body.id);
  return body;
}

/** A button that asks for a task, with what is wrong said beside it. @param {string} text @param {() => api.Task | Promise<api.Task>} task @param {string} [kind] */
export function asking(text, task, kind) {
  const told = h("span", { class: "fault", role: "alert" });
  const button = h("button", { type: "button", class: kind, on: { click: async () => {
    told.textContent = "";
    button.disabled = true;
    try {
      await ask(await task());
    } catch (why) {
      told.textContent = /** @type {Error} */ (why).message;
    }
    button.disabled = false;
  } } }, text);
  return { button, told };
}

/** @param {api.Made} made */
export function opened(made) {
  return made.kind === "file" ? api.file(made.path) : api.address(made.kind === "run" ? "/run" : "/experiment", { path: made.path });
}

/** Opens what was made: a film here, all else in place of this page. @param {api.Made} made */
function open(made) {
  if (!made.path.endsWith(".mp4")) {
    location.assign(opened(made));
    return;
  }
  const name = made.path.split("/").pop() ?? made.path;
  const dialog = h("dialog", { class: "ask film", "aria-labelledby": "film-name" }, h("h2", { id: "film-name" }, name),
    h("video", { src: api.file(made.path), controls: true, autoplay: true, loop: true, muted: true, "aria-label": name }),
    h("p", { class: "buttons" }, h("a", { href: api.file(made.path), download: name }, "Take it away"), h("button", { type: "button", on: { click: () => dialog.close() } }, "Close")));
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

/**
 * The list of jobs; `changed` hears of every change, `about` chooses which are shown, when they are first heard of.
 * @param {(job: api.Job) => void} [changed] @param {(job: api.Job) => boolean} [about]
 */
export function jobs(changed, about = () => true) {
  /** @type {Map<number, api.Job>} */
  const known = new Map();
  /** @type {Map<number, {element: HTMLElement, shown: (job: api.Job) => void}>} */
  const rows = new Map();
  const list = h("ul", {});
  const said = h("p", { class: "hidden-label", role: "status" });
  const trouble = h("p", { class: "fault" });
  const element = h("section", { class: "jobs", hidden: true, "aria-label": "Queue" }, h("h2", {}, "Queue"), trouble, list, said);
  const source = new EventSource("/api/jobs/events");
  addEventListener("pagehide", () => source.close());
  source.addEventListener("trouble", (event) => {
    const text = /** @type {MessageEvent} */ (event).data;
    trouble.textContent = text ? `The queue is not kept: ${text}.` : "";
  });
  source.addEventListener("job", (event) => {
    const job = /** @type {api.Job} */ (JSON.parse(/** @type {MessageEvent} */ (event).data));
    const before = known.get(job.id);
    if (!before && !about(job)) return;
    known.set(job.id, job);
    element.hidden = false;
    let row = rows.get(job.id);
    if (!row) {
      rows.set(job.id, (row = oneRow()));
      list.prepend(row.element);
    }
    row.shown(job);
    if (before && before.state !== job.state) said.textContent = `${job.out}: ${words(job)}`;
    changed?.(job);
    if (job.state === "done" && job.made) {
      if (mine.delete(job.id)) open(job.made);
      else ended.set(job.id, job.made);
    }
  });
  return element;
}

/** What is done, and what is said of it. @type {Record<api.Task["do"], [string, string]>} */
const VERBS = {
  measure: ["is being measured", "measured"],
  simulate: ["is being simulated", "simulated"],
  film: ["is being filmed", "filmed"],
  fit: ["is being fitted", "fitted"],
  plan: ["is being planned", "planned"],
  overlay: ["is being drawn", "drawn"],
};

/** @param {api.Job} job */
function words(job) {
  const [now, then] = VERBS[job.task.do];
  const kept = job.made ? "stopped; what it had is kept" : "stopped; nothing was kept";
  return { waiting: "waits for its turn", running: now, done: then, failed: "failed", stopped: kept }[job.state] ?? job.state;
}

/** A row that stays in place while its job goes on, so that its buttons keep the focus. */
function oneRow() {
  const head = h("span", {});
  const bar = h("progress", { max: 1 });
  const share = h("span", {});
  const stop = h("button", { type: "button" }, "Stop");
  const rest = h("span", {});
  const glance = new Glance();
  const element = h("li", {}, head, bar, share, stop, rest, glance.element);
  let last = "";
  const shown = (/** @type {api.Job} */ job) => {
    const running = job.state === "running";
    bar.hidden = share.hidden = !running;
    stop.hidden = !running && job.state !== "waiting";
    stop.onclick = () => api.send("DELETE", `/api/jobs/${job.id}`).catch(() => {});
    bar.setAttribute("aria-label", `Progress of ${job.out}`);
    if (job.all) {
      bar.max = job.all;
      bar.value = job.done;
    } else bar.removeAttribute("value");
    share.textContent = job.all ? ` ${fixed((100 * job.done) / job.all, 0)}\u00a0% ` : job.done > 0 ? ` ${job.done} ${job.task.do === "fit" ? "motions tried" : "frames"} ` : " ";
    glance.show(running ? job.live : null);
    const key = JSON.stringify([job.state, job.why, job.note, job.made]);
    if (key === last) return;
    last = key;
    const name = job.made ? link(job.made) : job.out;
    const on = job.state === "stopped" && job.made && job.task.do === "simulate" && goOn(job.task, job.out);
    fill(head, h("b", {}, name), " ", words(job), " ");
    fill(rest, on, job.why && h("span", { class: "fault" }, ` ${job.why}`), job.note && h("span", { class: "note" }, ` ${job.note}`));
  };
  return { element, shown };
}

/** @param {api.Made} made */
function link(made) {
  return h("a", { href: opened(made), on: { click: (/** @type {MouseEvent} */ event) => {
    if (!made.path.endsWith(".mp4")) return;
    event.preventDefault();
    open(made);
  } } }, made.path);
}

/** @param {api.Task} task @param {string} from */
function goOn(task, from) {
  const { button, told } = asking("Go on", () => /** @type {api.Task} */ ({ ...task, from }));
  return h("span", {}, button, told);
}
