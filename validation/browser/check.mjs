// Opens the report of a run folder in a browser and checks what a reader would stumble over.
//
// Usage: node check.mjs RUN_FOLDER SCREENSHOT_FOLDER
//        node check.mjs SHEET.html SCREENSHOT_FOLDER      the same for a plan sheet, which must print on two pages
//        node check.mjs compared.html SCREENSHOT_FOLDER   the same for a comparison of runs, however long
//
// Checked: no console errors, no requests beyond the file itself, figures visible and not empty, headings in order,
// every picture labelled, no horizontal overflow at 1280 and 800 pixels, contrast of text at least 4.5 in light and dark
// (WCAG 2.2, 1.4.3), keyboard focus visible, overlay.mp4 plays. Screenshots are written for looking at.
// The browser is $CHROMIUM or /usr/bin/chromium. Exit code 0 when all is well, 1 when something is not, 2 for bad input.

import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [runFolder, shotFolder] = process.argv.slice(2);
if (!runFolder || !shotFolder) {
  console.error("usage: node check.mjs RUN_FOLDER|SHEET.html SCREENSHOT_FOLDER");
  process.exit(2);
}
const sheet = runFolder.endsWith(".html");
const run = sheet ? dirname(resolve(runFolder)) : resolve(runFolder);
const shots = resolve(shotFolder);
const report = sheet ? resolve(runFolder) : join(run, "report.html");
const name_of = basename(report, ".html");
if (!existsSync(report)) {
  console.error(`no ${basename(report)} in ${run}`);
  process.exit(2);
}
mkdirSync(shots, { recursive: true });

const faults = [];
const check = (good, text) => {
  if (!good) faults.push(text);
};

const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--autoplay-policy=no-user-gesture-required",
];
const profile = mkdtempSync(join(tmpdir(), "tremolet-browser-"));
const browser = await chromium.launchPersistentContext(profile, {
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  headless: true,
  args: FLAGS,
});

// Everything below runs inside the page.
function inspect() {
  const found = { figures: [], headings: [], unlabelled: [], dim: [], ids: [] };
  for (const picture of document.querySelectorAll("figure svg, figure img")) {
    const box = picture.getBoundingClientRect();
    const marks =
      picture.tagName === "IMG"
        ? picture.complete && picture.naturalWidth > 1
        : [...picture.querySelectorAll("path, circle, rect, line")].some((mark) => {
            const inner = mark.getBoundingClientRect();
            return inner.width > 1 || inner.height > 1;
          });
    found.figures.push({
      name: picture.closest("figure").id || picture.alt || "?",
      width: box.width,
      height: box.height,
      marks,
      caption: picture.closest("figure").querySelector("figcaption")?.textContent.trim().length ?? 0,
    });
  }
  for (const heading of document.querySelectorAll("h1, h2, h3, h4, h5, h6")) {
    found.headings.push({ level: Number(heading.tagName[1]), text: heading.textContent.trim() });
  }
  for (const svg of document.querySelectorAll("svg")) {
    const said = (svg.getAttribute("aria-labelledby") ?? "")
      .split(/\s+/)
      .map((id) => document.getElementById(id)?.textContent.trim() ?? "");
    const good = svg.getAttribute("role") === "img" && said.length >= 2 && said.every((text) => text.length > 0);
    if (!good) found.unlabelled.push(svg.closest("figure")?.id ?? "svg");
  }
  for (const image of document.images) if (!image.alt.trim()) found.unlabelled.push(image.src.slice(0, 60));
  const seen = new Set();
  for (const { id } of document.querySelectorAll("[id]")) {
    if (seen.has(id)) found.ids.push(id);
    seen.add(id);
  }

  const colour = (text) => {
    const [r, g, b, a = 1] = text.match(/[\d.]+/g).map(Number);
    return { r, g, b, a };
  };
  const luminance = ({ r, g, b }) => {
    const [x, y, z] = [r, g, b].map((c) => {
      c /= 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const c = colour(getComputedStyle(at).backgroundColor);
      if (c.a > 0.99) return c;
    }
    return { r: 255, g: 255, b: 255, a: 1 };
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || element.closest("title, desc, style")) continue;
    const style = getComputedStyle(element);
    const ink = element.closest("svg") ? style.fill : style.color;
    const [a, b] = [luminance(colour(ink)), luminance(ground(element))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) found.dim.push(`${ratio.toFixed(2)}: ${walker.currentNode.textContent.trim().slice(0, 40)}`);
  }
  found.overflow = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  return found;
}

async function look(scheme, width) {
  const page = await browser.newPage();
  const name = `${scheme} ${width}`;
  page.on("console", (message) => check(message.type() !== "error", `${name}: console: ${message.text()}`));
  page.on("pageerror", (error) => check(false, `${name}: page error: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    const own = url.startsWith("data:") || url === pathToFileURL(report).href;
    check(own, `${name}: asks for ${url.slice(0, 100)}`);
  });
  await page.setViewportSize({ width, height: 720 });
  await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
  await page.goto(pathToFileURL(report).href, { waitUntil: "load" });
  const found = await page.evaluate(inspect);
  for (const figure of found.figures) {
    const where = `${name}: figure ${figure.name}`;
    check(figure.width >= 200 && figure.height >= 80, `${where} is ${figure.width} x ${figure.height}`);
    check(figure.marks, `${where} is empty`);
    check(figure.caption > 20, `${where} has no words below it`);
  }
  check(found.headings[0]?.level === 1, `${name}: the first heading is not of level 1`);
  check(found.headings.filter((h) => h.level === 1).length === 1, `${name}: not one heading of level 1`);
  found.headings.slice(1).forEach((heading, i) => {
    check(heading.level <= found.headings[i].level + 1, `${name}: heading "${heading.text}" skips a level`);
    check(heading.text.length > 0, `${name}: an empty heading`);
  });
  check(found.unlabelled.length === 0, `${name}: not labelled: ${found.unlabelled.join(", ")}`);
  check(found.ids.length === 0, `${name}: the same id twice: ${found.ids.join(", ")}`);
  check(found.dim.length === 0, `${name}: too little contrast: ${found.dim.slice(0, 5).join(" | ")}`);
  check(found.overflow <= 0, `${name}: ${found.overflow} px too wide`);
  if (width === 1280) {
    await focus(page, name);
    await page.evaluate(() => scrollTo(0, 0));
    await page.screenshot({ path: join(shots, `${name_of}-${scheme}-first.png`) });
  }
  await page.screenshot({ path: join(shots, `${name_of}-${scheme}-${width}.png`), fullPage: true });
  await page.close();
  return found.figures.length;
}

// The first link reached by the keyboard must show that it has the focus.
async function focus(page, name) {
  await page.keyboard.press("Tab");
  const shown = await page.evaluate(() => {
    const at = document.activeElement;
    const style = getComputedStyle(at);
    return { tag: at.tagName, outline: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2 };
  });
  check(shown.tag === "A" && shown.outline, `${name}: no visible focus on the first link`);
}

async function print() {
  const page = await browser.newPage();
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  await page.setViewportSize({ width: 680, height: 960 });
  await page.goto(pathToFileURL(report).href, { waitUntil: "load" });
  const paper = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  check(paper === "rgb(255, 255, 255)", `print: the paper is ${paper}`);
  const pdf = await page.pdf({ path: join(shots, `${name_of}.pdf`), format: "A4", preferCSSPageSize: true });
  const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  if (sheet && name_of !== "compared") check(pages <= 2, `print: ${pages} pages, at most two`);
  await page.close();
}

// A drawing as a file of its own must be well-formed and draw something.
async function ownFigures() {
  const folder = join(run, "figures");
  const names = existsSync(folder) ? readdirSync(folder).filter((name) => name.endsWith(".svg")) : [];
  const page = await browser.newPage();
  for (const name of names) {
    await page.goto(pathToFileURL(join(folder, name)).href);
    const fault = await page.evaluate(() => {
      if (document.documentElement.tagName !== "svg") return "is not SVG";
      if (document.querySelector("parsererror")) return "is not well-formed";
      const box = document.documentElement.getBBox();
      return box.width > 100 && box.height > 40 ? "" : "is empty";
    });
    check(!fault, `figures/${name} ${fault}`);
  }
  await page.close();
  return names.length;
}

// Served with ranges, because a browser seeks that way.
function serve(bytes) {
  const server = createServer((request, response) => {
    if (!request.url.endsWith(".mp4")) {
      response.writeHead(200, { "content-type": "text/html" });
      response.end('<!doctype html><link rel="icon" href="data:,"><video src="overlay.mp4" muted></video>');
      return;
    }
    const range = /bytes=(\d+)-(\d*)/.exec(request.headers.range ?? "");
    const from = range ? Number(range[1]) : 0;
    const to = range?.[2] ? Number(range[2]) : bytes.length - 1;
    response.writeHead(range ? 206 : 200, {
      "content-type": "video/mp4",
      "accept-ranges": "bytes",
      "content-length": to - from + 1,
      ...(range && { "content-range": `bytes ${from}-${to}/${bytes.length}` }),
    });
    response.end(bytes.subarray(from, to + 1));
  });
  return new Promise((done) => server.listen(0, "127.0.0.1", () => done(server)));
}

async function play() {
  const path = join(run, "overlay.mp4");
  if (!existsSync(path)) return "no overlay.mp4";
  const server = await serve(readFileSync(path));
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const told = await page.evaluate(async () => {
    const video = document.querySelector("video");
    const wait = (ms) => new Promise((done) => setTimeout(done, ms));
    for (let i = 0; i < 100 && video.readyState < 2 && !video.error; i++) await wait(100);
    if (video.error) return { error: video.error.message };
    const { videoWidth: width, videoHeight: height, duration } = video;
    video.currentTime = 0;
    await video.play().catch(() => {});
    const start = video.currentTime;
    for (let i = 0; i < 50 && video.currentTime === start; i++) await wait(100);
    const advanced = video.currentTime - start;
    video.pause();
    const middle = duration / 2;
    video.currentTime = middle;
    for (let i = 0; i < 50 && video.seeking; i++) await wait(100);
    return { width, height, duration, advanced, missed: Math.abs(video.currentTime - middle) };
  });
  await page.screenshot({ path: join(shots, "overlay.png") });
  await page.close();
  server.close();
  check(!told.error, `overlay.mp4 does not play: ${told.error}`);
  if (!told.error) {
    check(told.width > 0 && told.height > 0, `overlay.mp4 is ${told.width} x ${told.height}`);
    check(told.duration > 0 && Number.isFinite(told.duration), `overlay.mp4 lasts ${told.duration} s`);
    check(told.advanced > 0, "overlay.mp4: the clock does not advance");
    check(told.missed < 0.1, `overlay.mp4: a seek to the middle misses by ${told.missed} s`);
  }
  return `overlay.mp4 ${told.width} x ${told.height}, ${Number(told.duration).toFixed(2)} s`;
}

let figures = 0;
let files = 0;
let film = "";
try {
  for (const scheme of ["light", "dark"]) {
    for (const width of [1280, 800]) figures = await look(scheme, width);
  }
  await print();
  if (!sheet) {
    files = await ownFigures();
    film = await play();
  }
} finally {
  await browser.close();
  rmSync(profile, { recursive: true, force: true });
}

for (const fault of faults) console.error(`not good: ${fault}`);
const rest = sheet ? "a sheet" : `${files} as files, ${film}`;
console.log(`${name_of}: ${figures} figures in the page, ${rest}; ${faults.length} faults`);
process.exit(faults.length === 0 ? 0 : 1);
