// What is asked beside the picture while a tool is in the hand, and what goes into the file.

import * as api from "./api.js";
import { h } from "./dom.js";

/** @typedef {[number, number]} Place */
/** @typedef {{draft: import("./form.js").Draft, clock: import("./clock.js").Clock, tried: () => any, look: () => Promise<void>, points: () => Place[], chosen: () => [number, number] | null, choose: (frames: [number, number]) => void}} Bench */
/** @typedef {{name: string, told: string, due: number, most: number, ask: [string, string, string, string][], write: (values: string[], bench: Bench) => Promise<string>}} Tool */

const ENDS = /** @type {[string, string, string, string]} */ (["tool-ends", "Each end is known to", "0.5 px", "0.5 px"]);

/** Names, and what each tool asks: id, label, example, what stands there at first. @type {Record<string, Tool>} */
export const TOOLS = {
  length: {
    name: "Known length", told: "Point at both ends of something of known length.", due: 2, most: 2,
    ask: [["tool-value", "Its length", "50.0 +- 0.1 mm", ""], ENDS],
    write: ([length, ends], bench) => scaled(bench, length, bench.points()[0], bench.points()[1], ends),
  },
  circle: {
    name: "Known circle", told: "Point at three places on the edge of a circle of known diameter.", due: 3, most: 3,
    ask: [["tool-value", "Its diameter", "10.00 +- 0.05 mm", ""], ENDS],
    write: ([diameter, ends], bench) => {
      const found = circle(bench.points());
      if (!found) return Promise.resolve("These three places lie on one line.");
      return scaled(bench, diameter, ...across(found.centre, found.radius), ends);
    },
  },
  volume: {
    name: "Known volume", told: "The drop's own volume gives the scale: its outline is tried on this frame.", due: 0, most: 0,
    ask: [["tool-value", "Its volume", "2.15 +- 0.03 mL", ""]],
    write: async ([volume], bench) => {
      if (bench.tried()?.frame !== bench.clock.frame) await bench.look();
      const body = bench.tried()?.bodies[0];
      if (!body) return "No body was found in this frame, so its volume gives no scale.";
      const { diameter } = await api.get("/api/diameter", { volume });
      return scaled(bench, diameter, ...across(body.centre, body.radius), "0.1 px");
    },
  },
  second: {
    name: "Second length", told: "Point at both ends of something else of known length: the scale is checked against it, and stays as it is.", due: 2, most: 2,
    ask: [["tool-value", "Its length", "20.0 +- 0.1 mm", ""], ENDS],
    write: async ([length, ends], { draft, points }) => {
      const [from, to] = points();
      await draft.alter(lines("camera.second_reference", { length, from, to, end_uncertainty: ends }));
      return checkedAgainst(draft, "scales");
    },
  },
  clock: {
    name: "Clock in view", told: "Go to two frames, far apart, in which a clock can be read, and type what it reads: 12:03:41.27 or 41.27 s.", due: 0, most: 0,
    ask: [["tool-value", "It can be read to", "0.005 s", "0.005 s"]],
    write: async ([each], { draft }) => {
      const taken = [0, 1].map((end) => [`clock-frame-${end}`, `clock-reading-${end}`].map((id) => /** @type {HTMLInputElement} */ (document.getElementById(id)).value));
      const readings = taken.map(([, text]) => seconds(text));
      if (readings.includes(null)) return "Both readings are needed, such as 12:03:41.27.";
      const rate = draft.value("camera.capture_rate");
      await draft.alter(lines("camera.clock", {
        first_frame: Number(taken[0][0]), first_reading: readings[0], last_frame: Number(taken[1][0]), last_reading: readings[1], reading_uncertainty: each,
      }));
      return rate === undefined ? "The capture rate is that of the clock in the picture; it stands in the file." : checkedAgainst(draft, "rates");
    },
  },
  mask: {
    name: "Leave out", told: "Point at the corners of what is in the way, three or more; or along a wire, with its width.", due: 2, most: 40,
    ask: [["tool-value", "What is there?", "wire", ""], ["tool-width", "Width of a line, px", "open: an area", ""]],
    write: async ([what, width], { draft, points }) => {
      if (!width && points().length < 3) return "Two places are a line: type its width, or point at a third corner.";
      const only = /** @type {HTMLInputElement | null} */ (document.getElementById("tool-only"));
      const frame = Number(only?.value);
      await draft.alter([{ do: "add", table: "clip.mask", values: [
        ["corners", points()], ...(width ? [pair("width", /px/.test(width) ? width : `${width} px`)] : []),
        ...(only?.checked ? [pair("frames", [frame, frame + 1])] : []), ...(what ? [pair("what", what)] : []),
      ] }]);
      return "Left out from now on; it stands in the file.";
    },
  },
  region: {
    name: "Only a region", told: "Point at the corners of the part of the picture that is to be looked at, three or more.", due: 3, most: 40, ask: [],
    write: async (_, { draft, points }) => {
      await draft.alter([{ do: "set", key: "clip.region", value: points() }]);
      return "Only the region is looked at from now on; it stands in the file.";
    },
  },
  frames: {
    name: "Skip frames", told: "Draw along the time below the picture, or type the frames: they will not be measured.", due: 0, most: 0,
    ask: [["tool-value", "Why?", "hand in view", ""]],
    write: async ([why], { draft, chosen }) => {
      const stretch = chosen();
      if (!stretch) return "Which frames? Draw along the time below the picture, or type them.";
      await judge(draft, stretch, "rejected", why);
      return "Those frames are not measured; it stands in the file.";
    },
  },
};

/** @param {string} key @param {any} value @returns {[string, any]} */
function pair(key, value) {
  return [key, value];
}

/** One change for each line of a table; an empty one takes its line away. @param {string} table @param {Record<string, any>} values @returns {import("./form.js").Change[]} */
function lines(table, values) {
  return Object.entries(values).map(([key, value]) => (value === "" ? { do: "remove", key: `${table}.${key}` } : { do: "set", key: `${table}.${key}`, value }));
}

/** @param {Bench} bench @param {string} length @param {Place} from @param {Place} to @param {string} ends */
async function scaled({ draft }, length, from, to, ends) {
  await draft.alter([{ do: "remove", key: "camera.scale" }, ...lines("camera.reference", { length, from, to, end_uncertainty: ends })]);
  return "The scale stands in the file as a reference length.";
}

/** What came of a second scale or rate. @param {import("./form.js").Draft} draft @param {string} what */
function checkedAgainst(draft, what) {
  const told = [...(draft.checked?.notes ?? []), ...(draft.checked?.cautions ?? [])].find(({ code }) => code.startsWith(what));
  return told ? told.text : "It stands in the file.";
}

/** What a person says of the outlines of some frames. @param {import("./form.js").Draft} draft @param {[number, number]} frames First, and one past the last. @param {string} outline @param {string} [why] */
export function judge(draft, frames, outline, why) {
  return draft.alter([{ do: "add", table: "clip.judged", values: [pair("frames", frames), pair("outline", outline), ...(why ? [pair("why", why)] : [])] }]);
}

/** Ends of the level line across a circle. @param {Place} centre @param {number} radius @returns {[Place, Place]} */
function across([x, y], radius) {
  const rounded = (/** @type {number} */ v) => Math.round(v * 100) / 100;
  return [[rounded(x - radius), rounded(y)], [rounded(x + radius), rounded(y)]];
}

/** A reading of a clock in seconds, with its decimals: `12:03:41.27` is `43421.27 s`. @param {string} text */
export function seconds(text) {
  const parts = text.trim().replace(",", ".").replace(/\s*s$/, "").split(":");
  const last = parts[parts.length - 1];
  if (parts.length > 3 || !parts.every((part) => /^\d+(\.\d+)?$/.test(part))) return null;
  const whole = parts.reduce((sum, part) => 60 * sum + Number(part), 0);
  return `${whole.toFixed(last.split(".")[1]?.length ?? 0)} s`;
}

/** The circle through three places. @param {Place[]} points @returns {{centre: Place, radius: number} | null} */
export function circle([a, b, c]) {
  const d = 2 * (a[0] * (b[1] - c[1]) + b[0] * (c[1] - a[1]) + c[0] * (a[1] - b[1]));
  if (Math.abs(d) < 1e-9) return null;
  const square = ([x, y]) => x * x + y * y;
  const x = (square(a) * (b[1] - c[1]) + square(b) * (c[1] - a[1]) + square(c) * (a[1] - b[1])) / d;
  const y = (square(a) * (c[0] - b[0]) + square(b) * (a[0] - c[0]) + square(c) * (b[0] - a[0])) / d;
  return { centre: [x, y], radius: Math.hypot(a[0] - x, a[1] - y) };
}

/** Places from a text such as `1, 2; 3.5, 4`. @param {string} text @returns {Place[]} */
export function typed(text) {
  const pairs = text.split(";").map((pair) => pair.split(",").map((number) => Number.parseFloat(number)));
  return /** @type {Place[]} */ (pairs.filter((pair) => pair.length === 2 && pair.every(Number.isFinite)));
}

/**
 * The fields of a tool.
 * @param {string} name @param {Bench} bench @param {(points: Place[]) => void} repointed @param {(text: string) => void} done
 */
export function question(name, bench, repointed, done) {
  const tool = TOOLS[name];
  if (!tool) return [];
  const { clock, draft } = bench;
  const points = bench.points();
  const inputs = tool.ask.map(([id, , example, first]) => h("input", { type: "text", id, autocomplete: "off", placeholder: example, value: first }));
  const write = async () => {
    const values = inputs.map((input) => input.value.trim());
    const empty = inputs.findIndex((input, i) => values[i] === "" && ["Its length", "Its diameter", "Its volume"].includes(tool.ask[i][1]));
    if (empty >= 0) return inputs[empty].focus();
    try {
      done(await tool.write(values, bench));
    } catch (why) {
      done(/** @type {Error} */ (why).message);
    }
  };
  const places = h("input", { type: "text", id: "tool-places", autocomplete: "off", value: points.map((point) => point.join(", ")).join("; "), on: { change: () => repointed(typed(places.value)) } });
  const ready = points.length >= tool.due;
  return [h("p", {}, tool.told),
    tool.due > 0 && h("p", {}, h("label", { for: "tool-places" }, "Places in the picture, px (x, y; x, y) "), places),
    name === "clock" && readings(clock),
    name === "frames" && frames(bench),
    ready && inputs.map((input, i) => h("span", { class: "asked" }, h("label", { for: tool.ask[i][0] }, tool.ask[i][1]), input)),
    ready && name === "mask" && h("label", {}, h("input", { type: "checkbox", id: "tool-only", value: clock.frame, checked: tool === TOOLS.mask && bench.tried()?.partly === clock.frame }), ` only in frame ${clock.frame}`),
    ready && h("button", { type: "button", class: "main", on: { click: write } }, "Write into the file"),
    name === "mask" && kept(draft, /^clip\.mask\.\d+\.corners$/).map((_, place) => back(draft, "clip.mask", place, `Take back mask ${place + 1}`, done)),
    name === "frames" && kept(draft, /^clip\.judged\.\d+\.frames$/).map(({ value }, place) => back(draft, "clip.judged", place, value[1] - value[0] === 1 ? `Take back frame ${value[0]}` : `Take back frames ${value[0]} to ${value[1] - 1}`, done)),
    name === "region" && draft.value("clip.region") !== undefined && h("button", { type: "button", on: { click: () => draft.alter([{ do: "remove", key: "clip.region" }]).then(() => done("The whole picture is looked at again.")) } }, "Take back the region"),
    name === "second" && draft.value("camera.second_reference.length") !== undefined && h("button", { type: "button", on: { click: () => draft.alter([{ do: "remove", key: "camera.second_reference" }]).then(() => done("Taken back.")) } }, "Take back the second length"),
    name === "clock" && draft.value("camera.clock.first_frame") !== undefined && h("button", { type: "button", on: { click: () => draft.alter([{ do: "remove", key: "camera.clock" }]).then(() => done("Taken back.")) } }, "Take back the clock")];
}

/** @param {import("./form.js").Draft} draft @param {RegExp} key */
function kept(draft, key) {
  return /** @type {{key: string, value: any}[]} */ (draft.fields).filter((field) => key.test(field.key));
}

/** @param {import("./form.js").Draft} draft @param {string} table @param {number} place @param {string} text @param {(text: string) => void} done */
function back(draft, table, place, text, done) {
  return h("button", { type: "button", on: { click: () => draft.alter([{ do: "drop", table, place }]).then(() => done("Taken back.")) } }, text);
}

/** Two frames and what the clock reads in them. @param {import("./clock.js").Clock} clock */
function readings(clock) {
  return [0, 1].map((end) => {
    const frame = h("input", { type: "number", id: `clock-frame-${end}`, min: clock.first, value: end === 0 ? clock.frame : "" });
    const take = h("button", { type: "button", on: { click: () => (frame.value = String(clock.frame)) } }, "Take this frame");
    const what = end === 0 ? "First frame" : "Last frame";
    return h("p", { class: "asked" }, h("label", { for: frame.id }, what), frame, take,
      h("label", { for: `clock-reading-${end}` }, `reads in the ${what.toLowerCase()}`), h("input", { type: "text", id: `clock-reading-${end}`, autocomplete: "off", placeholder: end === 0 ? "12:03:41.27" : "12:03:43.22" }));
  });
}

/** A stretch of frames. @param {Bench} bench */
function frames({ clock, chosen, choose }) {
  const now = chosen();
  const ends = [0, 1].map((end) => h("input", { type: "number", id: `stretch-${end}`, min: clock.first, value: now ? now[end] - end : "", on: { change: () => changed() } }));
  const changed = () => {
    const [from, to] = ends.map((input) => Number.parseInt(input.value, 10));
    if (Number.isFinite(from) && Number.isFinite(to)) choose([Math.min(from, to), Math.max(from, to) + 1]);
  };
  return h("p", { class: "asked" }, ["From frame", "to frame"].map((text, end) => [h("label", { for: `stretch-${end}` }, text), ends[end],
    h("button", { type: "button", "aria-label": `${text}: this one`, on: { click: () => {
      ends[end].value = String(clock.frame);
      changed();
    } } }, "This one")]).flat());
}
