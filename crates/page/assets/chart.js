// A chart as SVG: axes, lines, dots with bars, lines of theory. Drawn with the colours it is given, so that what is saved stands on paper.

/**
 * @typedef {{label: string, points: {x: number, y: number, u?: number, said: string}[]}} Dots
 * @typedef {{label: string, points: [number, number][]}} Line
 * @typedef {{name: string, title: string, x: string, y: string, dots?: Dots[], lines?: Line[], theory?: Line[], zero?: boolean, nil?: boolean}} Chart
 * @typedef {{paper: string, ink: string, soft: string, hair: string, guide: string, series: string[]}} Palette
 */

const NS = "http://www.w3.org/2000/svg";
const WIDTH = 760;
const HEIGHT = 400;
const LEFT = 74;
const RIGHT = 18;
const TOP = 40;
const BOTTOM = 50;
/** Lines are told apart by dashes too, dots by shape. */
const DASHES = ["", "7 3", "2 3", "9 3 2 3", "12 4"];

/** Colours on paper, whatever the page looks like. @type {Palette} */
export const ON_PAPER = { paper: "#ffffff", ink: "#1c2126", soft: "#555d66", hair: "#d9dcde", guide: "#6b737b", series: ["#0b6177", "#b3461b", "#76397a", "#5a6a10", "#1c2126"] };

/** The colours of the page as they are now. @returns {Palette} */
export function palette() {
  const style = getComputedStyle(document.documentElement);
  const of = (/** @type {string} */ name) => style.getPropertyValue(`--${name}`).trim();
  return { paper: of("paper"), ink: of("ink"), soft: of("soft"), hair: of("hair"), guide: of("guide"), series: ["measured", "fitted", "residual", "reference", "ink"].map(of) };
}

/** @param {string} tag @param {Record<string, string | number>} attributes @param {...(Node | string)} children */
function s(tag, attributes, ...children) {
  const element = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/** Round numbers between two ends. @param {number} low @param {number} high @param {number} about */
export function ticks(low, high, about) {
  const raw = (high - low) / Math.max(1, about);
  const ten = 10 ** Math.floor(Math.log10(raw));
  const step = ten * (raw / ten >= 5 ? 10 : raw / ten >= 2 ? 5 : raw / ten >= 1 ? 2 : 1);
  const all = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) all.push(Number((k * step).toPrecision(12)));
  return all;
}

/** @param {number[]} values */
function ends(values) {
  const good = values.filter(Number.isFinite);
  let [low, high] = [Infinity, -Infinity];
  for (const v of good) [low, high] = [Math.min(low, v), Math.max(high, v)];
  if (!(high > low)) return good.length === 0 ? [0, 1] : [low - (Math.abs(low) || 1) * 0.1, high + (Math.abs(high) || 1) * 0.1];
  return [low - 0.06 * (high - low), high + 0.06 * (high - low)];
}

/** @param {Chart} chart @param {Palette} colours */
export function draw(chart, colours) {
  const dots = chart.dots ?? [];
  const lines = chart.lines ?? [];
  const theory = chart.theory ?? [];
  const all = [...dots.flatMap((d) => d.points.map((p) => [p.x, p.y - 2 * (p.u ?? 0), p.y + 2 * (p.u ?? 0)])), ...lines.flatMap((l) => l.points.map(([x, y]) => [x, y, y]))];
  let [x0, x1] = ends(all.map((p) => p[0]));
  let [y0, y1] = ends(all.flatMap((p) => p.slice(1)));
  if (lines.length > 0 && dots.length === 0) [x0, x1] = [Math.min(...all.map((p) => p[0])), Math.max(...all.map((p) => p[0]))];
  if (chart.nil) [y0, y1] = [Math.min(y0, 0), Math.max(y1, 0)];
  if (chart.zero) [x0, y0] = [0, 0];
  const px = (/** @type {number} */ x) => LEFT + ((x - x0) / (x1 - x0)) * (WIDTH - LEFT - RIGHT);
  const py = (/** @type {number} */ y) => HEIGHT - BOTTOM - ((y - y0) / (y1 - y0)) * (HEIGHT - TOP - BOTTOM);
  const svg = s("svg", { xmlns: NS, viewBox: `0 0 ${WIDTH} ${HEIGHT}`, width: WIDTH, height: HEIGHT, role: "img", "aria-label": described(chart), "font-family": "Helvetica Neue, Helvetica, Arial, Liberation Sans, sans-serif", "font-size": 12 });
  svg.append(s("rect", { width: WIDTH, height: HEIGHT, fill: colours.paper }));
  for (const y of ticks(y0, y1, 5)) {
    svg.append(s("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: py(y), y2: py(y), stroke: colours.hair }),
      s("text", { x: LEFT - 8, y: py(y) + 4, "text-anchor": "end", fill: colours.ink }, number(y)));
  }
  for (const x of ticks(x0, x1, 8)) {
    svg.append(s("line", { x1: px(x), x2: px(x), y1: HEIGHT - BOTTOM, y2: HEIGHT - BOTTOM + 5, stroke: colours.ink }),
      s("text", { x: px(x), y: HEIGHT - BOTTOM + 19, "text-anchor": "middle", fill: colours.ink }, number(x)));
  }
  svg.append(s("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: HEIGHT - BOTTOM, y2: HEIGHT - BOTTOM, stroke: colours.ink }),
    s("text", { x: (LEFT + WIDTH - RIGHT) / 2, y: HEIGHT - 12, "text-anchor": "middle", fill: colours.soft }, chart.x),
    s("text", { x: 16, y: (TOP + HEIGHT - BOTTOM) / 2, "text-anchor": "middle", fill: colours.soft, transform: `rotate(-90 16 ${(TOP + HEIGHT - BOTTOM) / 2})` }, chart.y));
  const id = `cut-${chart.name}`;
  svg.append(s("clipPath", { id }, s("rect", { x: LEFT, y: TOP - 4, width: WIDTH - LEFT - RIGHT, height: HEIGHT - TOP - BOTTOM + 4 })));
  const inside = s("g", { "clip-path": `url(#${id})` });
  svg.append(inside);
  const path = (/** @type {[number, number][]} */ points) => points.filter(([x, y]) => Number.isFinite(x) && Number.isFinite(y)).map(([x, y], k) => `${k === 0 ? "M" : "L"}${px(x).toFixed(1)} ${py(y).toFixed(1)}`).join("");
  for (const line of theory) {
    inside.append(s("path", { d: path(line.points), fill: "none", stroke: colours.guide, "stroke-width": 1.2 }));
    const last = [...line.points].reverse().find(([x, y]) => x <= x1 && y <= y1 && y >= y0);
    if (last && line.label) inside.append(s("text", { x: px(last[0]) - 6, y: py(last[1]) - 6, "text-anchor": "end", fill: colours.soft }, line.label));
  }
  lines.forEach((line, k) => inside.append(s("path", { d: path(line.points), fill: "none", stroke: colours.series[k % colours.series.length], "stroke-width": 1.6, "stroke-dasharray": DASHES[Math.floor(k / colours.series.length) % DASHES.length] || "none" }, s("title", {}, line.label))));
  dots.forEach((set, k) => set.points.forEach((point) => {
    const colour = colours.series[k % colours.series.length];
    const [x, y] = [px(point.x), py(point.y)];
    if (point.u) inside.append(s("line", { x1: x, x2: x, y1: py(point.y - 1.96 * point.u), y2: py(point.y + 1.96 * point.u), stroke: colour, "stroke-width": 1.4 }));
    inside.append(s("path", { d: shape(k, x, y), fill: k % 2 === 0 ? colour : colours.paper, stroke: colour, "stroke-width": 1.4 }, s("title", {}, point.said)));
  }));
  legend(svg, colours, [...dots.map((d, k) => ({ label: d.label, dot: k })), ...lines.map((l, k) => ({ label: l.label, line: k }))]);
  return /** @type {SVGSVGElement} */ (svg);
}

/** Circle, square, triangle, diamond. @param {number} kind @param {number} x @param {number} y */
function shape(kind, x, y) {
  const r = 4.5;
  switch (kind % 4) {
    case 0: return `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
    case 1: return `M${x - r} ${y - r}h${2 * r}v${2 * r}h${-2 * r}Z`;
    case 2: return `M${x} ${y - r - 1}l${r + 1} ${2 * r}h${-2 * r - 2}Z`;
    default: return `M${x} ${y - r - 1.5}l${r + 1.5} ${r + 1.5}l${-r - 1.5} ${r + 1.5}l${-r - 1.5} ${-r - 1.5}Z`;
  }
}

/** @param {Element} svg @param {Palette} colours @param {{label: string, dot?: number, line?: number}[]} rows */
function legend(svg, colours, rows) {
  let x = LEFT;
  for (const row of rows) {
    const k = row.dot ?? row.line ?? 0;
    const colour = colours.series[k % colours.series.length];
    const wide = 34 + 6.4 * row.label.length;
    if (x + wide > WIDTH - RIGHT + 40) {
      svg.append(s("text", { x, y: 22, fill: colours.soft }, "…"));
      return;
    }
    if (row.dot !== undefined) svg.append(s("path", { d: shape(k, x + 8, 18), fill: k % 2 === 0 ? colour : colours.paper, stroke: colour, "stroke-width": 1.4 }));
    else svg.append(s("line", { x1: x, x2: x + 18, y1: 18, y2: 18, stroke: colour, "stroke-width": 2, "stroke-dasharray": DASHES[Math.floor(k / colours.series.length) % DASHES.length] || "none" }));
    svg.append(s("text", { x: x + 23, y: 22, fill: colours.ink }, row.label));
    x += wide;
  }
}

/** @param {Chart} chart */
function described(chart) {
  const count = (chart.dots ?? []).reduce((sum, d) => sum + d.points.length, 0);
  return `${chart.title}: ${chart.y} against ${chart.x}; ${count > 0 ? `${count} points` : `${(chart.lines ?? []).length} curves`}`;
}

/** @param {number} x */
function number(x) {
  const text = Math.abs(x) >= 1e5 || (x !== 0 && Math.abs(x) < 1e-4) ? x.toExponential(1) : String(Number(x.toPrecision(6)));
  return text.replace("-", "\u2212");
}
