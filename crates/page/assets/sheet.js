// A table that can be sorted by its heads and filtered by column; what is shown can be handed on.

import { fill, h } from "./dom.js";

/**
 * @template Row
 * @typedef {{name: string, label: string, of: (row: Row) => string | number | null, node?: (row: Row) => any, description?: string, hidden?: boolean}} Field
 */

/** Whether a value passes a filter: words for texts; `> 3`, `< 3`, `3..5` or a beginning for numbers. @param {string | number | null} value @param {string} filter @param {string} said */
export function passes(value, filter, said) {
  const text = filter.trim().toLowerCase();
  if (text === "") return true;
  const range = /^([-+.\de]+)\s*\.\.\s*([-+.\de]+)$/.exec(text);
  const compare = /^([<>])\s*([-+.\de]+)$/.exec(text);
  if (typeof value === "number" && (range || compare)) {
    // Numbers are compared as they are written, in the unit that is shown.
    const seen = Number(said.replace("\u2212", "-").split(/\s|\u00a0/)[0]);
    if (range) return seen >= Number(range[1]) && seen <= Number(range[2]);
    if (compare) return compare[1] === ">" ? seen > Number(compare[2]) : seen < Number(compare[2]);
  }
  return text.split(/\s+/).every((part) => said.toLowerCase().includes(part));
}

/**
 * @template Row
 * @param {string} id @param {string} caption @param {Row[]} rows @param {Field<Row>[]} fields
 */
export function sheet(id, caption, rows, fields) {
  const seen = fields.filter((field) => !field.hidden);
  const cells = rows.map((row) => ({ row, nodes: seen.map((field) => h("td", { class: typeof field.of(row) === "number" ? "n" : null }, field.node ? field.node(row) : String(field.of(row) ?? ""))) }));
  const drawn = cells.map(({ row, nodes }) => ({ row, said: nodes.map((node) => node.textContent ?? ""), element: h("tr", {}, nodes) }));
  /** @type {{place: number, up: boolean} | null} */
  let order = null;
  let now = drawn;
  const said = h("span", { class: "note", role: "status" });
  const body = h("tbody", {});
  const filters = seen.map((field) => h("input", { type: "text", "aria-label": `Only rows whose ${field.label} has`, autocomplete: "off", on: { input: () => show() } }));
  const heads = seen.map((field, place) => h("th", { scope: "col", "aria-sort": "none" }, h("button", { type: "button", class: "link", on: { click: () => {
    order = order?.place === place ? (order.up ? { place, up: false } : null) : { place, up: true };
    show();
  } } }, field.label)));
  const show = () => {
    now = drawn.filter(({ row, said: texts }) => seen.every((field, k) => passes(field.of(row), filters[k].value, texts[k])));
    if (order) {
      const { place, up } = order;
      const of = (/** @type {{row: Row}} */ one) => seen[place].of(one.row);
      now = [...now].sort((a, b) => {
        const [x, y] = [of(a), of(b)];
        if (x === null || y === null) return x === y ? 0 : x === null ? 1 : -1;
        const difference = typeof x === "number" && typeof y === "number" ? x - y : String(x).localeCompare(String(y), "en", { numeric: true });
        return up ? difference : -difference;
      });
    }
    heads.forEach((head, k) => head.setAttribute("aria-sort", order?.place === k ? (order.up ? "ascending" : "descending") : "none"));
    fill(body, now.map(({ element }) => element));
    said.textContent = now.length === drawn.length ? `${drawn.length} rows` : `${now.length} of ${drawn.length} rows`;
  };
  const element = h("div", { class: "sheet-box", tabindex: 0, role: "region", "aria-label": caption }, h("table", { class: "sheet-table", id }, h("caption", { class: "hidden-label" }, caption),
    h("thead", {}, h("tr", {}, heads), h("tr", { class: "filters" }, filters.map((input) => h("td", {}, input)))), body));
  show();
  /** What is shown, as columns. */
  const columns = () => fields.map((field) => {
    const values = now.map(({ row }) => field.of(row));
    const numbers = values.every((value) => typeof value === "number" || value === null);
    return { name: field.name, unit: "1", description: field.description ?? field.label, values: numbers ? /** @type {(number | null)[]} */ (values) : values.map((value) => String(value ?? "")) };
  });
  return { element, said, columns };
}
