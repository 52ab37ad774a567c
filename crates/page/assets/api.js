// What the page asks of the server.

/** An answer that says no. */
export class Refused extends Error {
  /** @param {number} status @param {any} body */
  constructor(status, body) {
    super(body?.error ?? `the server answered ${status}`);
    this.status = status;
    /** @type {Fault[]} */
    this.faults = body?.faults ?? [];
  }
}

/**
 * @typedef {{file: string, line: number, column: number, key: string, found: string, expected: string}} Fault
 * @typedef {{path: string | null, rate: number | null, times: string | null, written: string, first: number}} Clip
 * @typedef {{do: "measure", experiment: string} | {do: "simulate", experiment: string, from?: string} | {do: "film", run: string, clear: boolean} | {do: "fit", run: string} | {do: "plan", experiment: string} | {do: "overlay", run: string, show: string[], first?: number, last?: number, every: number, rate: number}} Task
 * @typedef {{kind: "run" | "experiment" | "file", path: string}} Made
 * @typedef {{id: number, task: Task, out: string, state: string, done: number, all: number | null, why: string, note: string, made: Made | null, live: import("./glance.js").Live | null}} Job
 */

/** @param {string} path @param {Record<string, string | number | null | undefined>} [query] */
export function address(path, query = {}) {
  const pairs = Object.entries(query).filter(([, value]) => value !== null && value !== undefined && value !== "");
  const text = new URLSearchParams(pairs.map(([name, value]) => [name, String(value)])).toString();
  return text ? `${path}?${text}` : path;
}

/** A file of the served folder. @param {string} path */
export function file(path) {
  return `/files/${path.split("/").map(encodeURIComponent).join("/")}`;
}

/** @param {Response} response */
async function checked(response) {
  if (response.ok) return response;
  let body = null;
  try {
    body = await response.json();
  } catch {
    // Not every refusal is JSON.
  }
  throw new Refused(response.status, body);
}

/** @param {string} path @param {Record<string, any>} [query] */
export async function get(path, query) {
  return (await checked(await fetch(address(path, query)))).json();
}

/** @param {string} method @param {string} path @param {any} [body] @param {Record<string, string>} [headers] */
export async function send(method, path, body, headers = {}) {
  const response = await fetch(path, {
    method,
    headers: { "content-type": "application/json", ...headers },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  const answer = await checked(response);
  return { body: await answer.json(), tag: answer.headers.get("etag") };
}

/** An experiment file and its tag. @param {string} path */
export async function readExperiment(path) {
  const response = await checked(await fetch(address("/api/experiment", { path })));
  return { text: /** @type {string} */ ((await response.json()).text), tag: response.headers.get("etag") ?? "" };
}

/**
 * The levels of a frame.
 * @param {Clip} clip @param {number} frame @param {AbortSignal} [signal]
 * @returns {Promise<Levels>}
 */
export async function frame(clip, frame, signal) {
  const query = { clip: clip.path, rate: clip.rate, times: clip.times, frame };
  const response = await checked(await fetch(address("/api/frame", query), { signal }));
  const head = JSON.parse(response.headers.get("x-frame") ?? "{}");
  const bytes = await response.arrayBuffer();
  return { ...head, levels: head.bits > 8 ? new Uint16Array(bytes) : new Uint8Array(bytes) };
}

/** @typedef {{frame: number, time: number | null, width: number, height: number, bits: number, levels: Uint8Array | Uint16Array}} Levels */

/** Sends a clip, telling how far it is. @param {File} clip @param {string} path @param {(share: number) => void} told */
export function sendClip(clip, path, told) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("PUT", address("/api/clip", { path }));
    request.upload.addEventListener("progress", (event) => told(event.loaded / Math.max(1, event.total)));
    request.addEventListener("error", () => reject(new Error("the clip broke off on its way")));
    request.addEventListener("load", () => {
      const body = JSON.parse(request.responseText || "null");
      if (request.status === 200) resolve(body);
      else reject(new Refused(request.status, body));
    });
    request.send(clip);
  });
}
