// The queue: what is being measured, how far it is, and what came of it. It goes on when the page is closed.

import * as api from "./api.js";
import { fill, fixed, h } from "./dom.js";

/** @param {(job: api.Job) => void} [changed] */
export function jobs(changed) {
  /** @type {Map<number, api.Job>} */
  const known = new Map();
  const list = h("ul", {});
  const said = h("p", { class: "hidden-label", role: "status" });
  const element = h("section", { class: "jobs", hidden: true, "aria-label": "Measurements" }, h("h2", {}, "Measurements"), list, said);
  const source = new EventSource("/api/jobs/events");
  source.addEventListener("job", (event) => {
    const job = /** @type {api.Job} */ (JSON.parse(/** @type {MessageEvent} */ (event).data));
    const before = known.get(job.id);
    known.set(job.id, job);
    element.hidden = false;
    fill(list, [...known.values()].reverse().map(row));
    if (before && before.state !== job.state) said.textContent = `${job.run}: ${words(job)}`;
    changed?.(job);
  });
  return element;
}

/** @param {api.Job} job */
function words(job) {
  /** @type {Record<string, string>} */
  const state = { waiting: "waits for its turn", running: "is being measured", done: "measured", failed: "failed", stopped: "stopped; nothing was kept" };
  return state[job.state] ?? job.state;
}

/** @param {api.Job} job */
function row(job) {
  const open = job.state === "waiting" || job.state === "running";
  const name = job.state === "done" ? h("a", { href: api.address("/run", { path: job.run }) }, job.run) : job.run;
  return h("li", {}, h("b", {}, name), " ", words(job),
    job.state === "running" && [" ", h("progress", { max: job.all ?? 1, value: job.all ? job.done : null, "aria-label": `Progress of ${job.run}` }),
      job.all ? ` ${fixed((100 * job.done) / job.all, 0)} %` : ` ${job.done} frames`],
    job.why && h("span", { class: "fault" }, ` ${job.why}`),
    open && [" ", h("button", { type: "button", on: { click: () => api.send("DELETE", `/api/jobs/${job.id}`) } }, "Stop")]);
}
