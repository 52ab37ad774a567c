// Files made in the page and handed over: texts, tables, pictures.

import * as api from "./api.js";
import { h } from "./dom.js";

/** @param {Blob} blob @param {string} name */
export function hand(blob, name) {
  const link = h("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** @param {SVGElement} svg */
export function svgText(svg) {
  return `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(svg)}`;
}

/** A drawing as a picture, so many times its size. @param {string} text @param {number} [times] @returns {Promise<Blob>} */
export async function pngOf(text, times = 2) {
  const picture = new Image();
  const address = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
  try {
    await new Promise((done, fail) => {
      picture.onload = done;
      picture.onerror = () => fail(new Error("this browser cannot draw the figure"));
      picture.src = address;
    });
    const canvas = h("canvas", { width: Math.round(times * picture.naturalWidth), height: Math.round(times * picture.naturalHeight) });
    const context = canvas.getContext("2d");
    if (!context) throw new Error("this browser draws no canvas");
    context.fillStyle = "#ffffff";
    context.fillRect(0, 0, canvas.width, canvas.height);
    context.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((done, fail) => canvas.toBlob((blob) => (blob ? done(blob) : fail(new Error("this browser makes no PNG"))), "image/png"));
  } finally {
    URL.revokeObjectURL(address);
  }
}

/**
 * @typedef {{name: string, unit: string, description: string, values: (number | null)[] | string[]}} Column
 * @param {string} name @param {string} description @param {Column[]} columns @param {boolean} parquet
 */
export async function handTable(name, description, columns, parquet) {
  const response = await fetch("/api/table", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ name, description, parquet, columns }) });
  if (!response.ok) throw new api.Refused(response.status, await response.json().catch(() => null));
  hand(await response.blob(), `${name}.${parquet ? "parquet" : "csv"}`);
}

/** A button that does something which may fail; what is wrong stands beside it. @param {string} text @param {() => Promise<void> | void} work @param {string} [label] */
export function doing(text, work, label) {
  const told = h("span", { class: "fault", role: "alert" });
  const button = h("button", { type: "button", "aria-label": label, on: { click: async () => {
    told.textContent = "";
    try {
      await work();
    } catch (why) {
      told.textContent = ` ${/** @type {Error} */ (why).message}`;
    }
  } } }, text);
  return h("span", { class: "doing" }, button, told);
}
