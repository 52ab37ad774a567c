// Drives the local page as a person would, from a clip to a report, and checks what would make that person stumble.
//
// Usage: node page.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER      the folder is that of the demo; it is copied first
//
// Checked: every activity end to end, no console errors, no requests beyond the page's own server, no violations by axe-core
// in light and dark, a step within 50 ms, the outline on one frame within 200 ms, the weight of the page. Exit code 0 when all is well.

import { spawn } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";

const [binary, demo, shotFolder] = process.argv.slice(2);
if (!binary || !demo || !shotFolder) {
  console.error("usage: node page.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER");
  process.exit(2);
}
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const shots = resolve(shotFolder);
mkdirSync(shots, { recursive: true });
const place = mkdtempSync(join(tmpdir(), "tremolet-page-"));
const folder = join(place, "heron");
cpSync(demo, folder, { recursive: true });

const faults = [];
const check = (good, text) => {
  if (!good) faults.push(text);
};

const server = spawn(resolve(binary), ["serve", folder], { stdio: ["ignore", "pipe", "inherit"] });
const first = await new Promise((done) => server.stdout.once("data", (data) => done(/open (\S+)/.exec(String(data))[1])));
const origin = new URL(first).origin;
const browser = await chromium.launchPersistentContext(join(place, "profile"), {
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  headless: true,
  viewport: { width: 1280, height: 720 },
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
browser.setDefaultTimeout(60_000);

async function opened(path, name) {
  const page = await browser.newPage();
  page.on("console", (message) => check(message.type() !== "error" || /status of 4/.test(message.text()), `${name}: console: ${message.text()}`));
  page.on("pageerror", (error) => check(false, `${name}: page error: ${error.message}`));
  page.on("request", (request) => check(request.url().startsWith(origin) || request.url().startsWith("blob:"), `${name}: asks for ${request.url()}`));
  await page.goto(path.startsWith("http") ? path : origin + path, { waitUntil: "load" });
  return page;
}

async function audited(page, name) {
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    await page.evaluate(axe);
    const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
    for (const one of found.violations) {
      check(false, `${name}, ${colorScheme}: axe ${one.id}: ${one.nodes.slice(0, 3).map((node) => node.target.join(" ")).join(" | ")}`);
    }
    await page.screenshot({ path: join(shots, `page-${name}-${colorScheme}.png`) });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    const wide = over > 0 ? await page.evaluate(() => [...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > innerWidth).slice(-1).map((e) => e.outerHTML.slice(0, 120))) : [];
    check(over <= 0, `${name}, ${colorScheme}: ${over} px too wide: ${wide}`);
  }
  await page.emulateMedia({ colorScheme: "light" });
}

const painted = (page, index) => page.waitForFunction((i) => {
  const canvas = document.querySelectorAll("canvas.pane")[i];
  if (!canvas) return false;
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let [low, high] = [255, 0];
  for (let k = 0; k < data.length; k += 404) [low, high] = [Math.min(low, data[k]), Math.max(high, data[k])];
  return high - low > 60;
}, index);
const told = (page) => page.locator(".transport .frame").inputValue().then(Number);

async function start() {
  const page = await opened(first, "start");
  await page.getByRole("link", { name: /Split-cup release/ }).first().waitFor();
  check(page.url() === `${origin}/`, `the key stays in the address: ${page.url()}`);
  check(/69\.\d+\s±\s0\.\d+\smN\/m/.test(await page.locator(".cards").textContent()), "start: no surface tension beside the run");
  const told = await page.evaluate(() => ({
    paint: performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0,
    weight: performance.getEntriesByType("resource").filter((r) => r.name.includes("/assets/")).reduce((sum, r) => sum + r.encodedBodySize, 0),
  }));
  check(told.paint < 3000, `start: first paint after ${told.paint} ms`);
  await audited(page, "start");
  await page.close();
  return told;
}

async function run() {
  const page = await opened("/run?path=run", "run");
  for (const i of [0, 1, 2]) await painted(page, i);
  await audited(page, "run");
  // Step, play both ways, loop, drag along a lane: every picture and every lane follows.
  for (let i = 0; i < 12; i++) await page.keyboard.press("ArrowRight");
  check((await told(page)) === 12, `run: twelve steps lead to frame ${await told(page)}`);
  await page.keyboard.press("ArrowLeft");
  check((await told(page)) === 11, "run: a step back");
  await page.keyboard.press("End");
  check((await told(page)) === 527, "run: the end");
  await page.keyboard.press("Home");
  await page.keyboard.press("Space");
  await page.waitForFunction(() => Number(document.querySelector(".transport .frame").value) > 4);
  await page.keyboard.press("Space");
  const stopped = await told(page);
  await page.keyboard.press("Shift+Space");
  await page.waitForFunction((from) => Number(document.querySelector(".transport .frame").value) < from, stopped);
  await page.keyboard.press("Shift+Space");
  const lanes = page.locator(".lanes");
  const box = await page.locator(".lane-box").boundingBox();
  await page.mouse.click(box.x + box.width / 2, box.y + 30);
  const middle = await told(page);
  check(Math.abs(middle - 263) < 4, `run: the middle of a lane is frame ${middle}`);
  check(/1\.0\d+ seconds, frame 26\d/.test(await lanes.getAttribute("aria-valuetext")), "run: the lanes do not say where they are");
  await page.keyboard.press("l");
  for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowRight");
  await page.keyboard.press("l");
  await page.keyboard.press("Space");
  for (let i = 0; i < 10; i++) {
    await page.waitForTimeout(60);
    const at = await told(page);
    check(at >= middle && at <= middle + 5, `run: the loop leads to frame ${at}`);
  }
  await page.keyboard.press("Space");
  await page.keyboard.press("l");
  // Time of a step within what is decoded.
  for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowRight");
  await page.waitForTimeout(400);
  const step = await page.evaluate(async () => {
    const canvas = document.querySelector("canvas.pane");
    const times = [];
    for (let i = 0; i < 24; i++) {
      const due = String(Number(canvas.dataset.frame) + (i < 12 ? 1 : -1));
      const begun = performance.now();
      document.body.dispatchEvent(new KeyboardEvent("keydown", { key: i < 12 ? "ArrowRight" : "ArrowLeft", bubbles: true }));
      while (canvas.dataset.frame !== due && performance.now() - begun < 2000) await new Promise((next) => setTimeout(next, 1));
      times.push(performance.now() - begun);
      await new Promise((next) => setTimeout(next, 60));
    }
    return times.sort((a, b) => a - b)[12];
  });
  check(step <= 50, `run: a step takes ${step} ms`);
  // A number opens what is behind it.
  const finding = page.locator("details.finding").first();
  await finding.locator("summary").first().click();
  // What lies behind is drawn once the browser has told that it was opened.
  await finding.locator("table.budget").waitFor();
  check(/95.% interval/.test(await finding.textContent()), "run: no sentence behind a number");
  check((await finding.locator("table.budget tbody tr").count()) >= 3, "run: no budget behind a number");
  await finding.locator("details.method summary").first().click();
  check((await finding.locator(".formula var").count()) > 3, "run: no formula behind a number");
  await audited(page, "finding");
  await page.screenshot({ path: join(shots, "page-run-whole.png"), fullPage: true });
  // The body in the round turns under the hand and stays in step.
  const round = page.locator("canvas.solid");
  await round.scrollIntoViewIfNeeded();
  const looks = [];
  for (const key of ["", "d", "w"]) {
    await round.focus();
    if (key) await round.press(key);
    looks.push(await round.evaluate((canvas) => canvas.toDataURL()));
  }
  await page.keyboard.press("End");
  looks.push(await round.evaluate((canvas) => canvas.toDataURL()));
  check(new Set(looks).size === 4, "run: the body in the round does not turn or move");
  await page.screenshot({ path: join(shots, "page-round.png") });
  const report = await browser.request.get(`${origin}/files/run/report.html`);
  check(report.status() === 200 && (await report.text()).includes("<h1>"), "run: the report does not open");
  await page.close();
  return step;
}

async function experiment() {
  const file = join(folder, "experiment.toml");
  const page = await opened("/experiment?path=experiment.toml", "experiment");
  await painted(page, 0);
  // A fault shows at the field and in the file; mended, it is saved.
  const mass = page.getByLabel("Mass", { exact: true });
  await mass.fill("2.360");
  await mass.press("Tab");
  await page.locator(".faults .wrong", { hasText: "body.mass" }).waitFor();
  check((await mass.getAttribute("aria-invalid")) === "true", "experiment: the field does not show its fault");
  await page.locator(".faults .wrong button").click();
  check(/^mass = "2.360"/.test(await page.evaluate(() => {
    const area = document.querySelector("textarea");
    return area.value.slice(area.selectionStart, area.selectionEnd);
  })), "experiment: the fault does not lead to its line");
  await page.screenshot({ path: join(shots, "page-fault.png") });
  await mass.fill("2.360 +- 0.015 g");
  await mass.press("Tab");
  await page.waitForFunction(() => document.querySelectorAll(".faults .wrong").length === 0);
  await page.getByText("Saved", { exact: true }).waitFor();
  check(readFileSync(file, "utf8").includes("# weighed syringe"), "experiment: the form lost a comment");
  // The outline on one frame.
  const times = [];
  for (let i = 0; i < 6; i++) {
    await page.getByRole("button", { name: "Try the outline" }).click();
    await page.locator(".stage [role=status]", { hasText: "a body of radius" }).waitFor();
    times.push(Number(/in (\d+) ms/.exec(await page.locator(".stage [role=status]").textContent())[1]));
    await page.keyboard.press("ArrowRight");
  }
  const trial = Math.min(...times);
  check(trial <= 200, `experiment: the outline takes ${trial} ms`);
  await audited(page, "experiment");
  // What is in the way is left out; a known length gives the scale; both stand in the file.
  const at = async (x, y) => {
    const box = await page.locator("canvas.pane").boundingBox();
    await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
  };
  await page.getByRole("button", { name: "Leave out" }).click();
  for (const [x, y] of [[0.16, 0.04], [0.22, 0.04], [0.22, 0.1]]) await at(x, y);
  await page.getByLabel("What is there?").fill("corner");
  await page.getByRole("button", { name: "Write into the file" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("[[clip.mask]]"));
  await page.getByRole("button", { name: "Leave out" }).click();
  await page.getByRole("button", { name: "Take back mask 1" }).click();
  await page.waitForFunction(() => !document.querySelector("textarea").value.includes("[[clip.mask]]"));
  await page.getByRole("button", { name: "Known length" }).click();
  await at(0.3, 0.5);
  const places = page.getByLabel(/Places in the picture/);
  check(/^\d+(\.\d+)?, \d+(\.\d+)?$/.test(await places.inputValue()), `experiment: pointed at ${await places.inputValue()}`);
  await places.fill("90, 191.5; 292, 191.5");
  await places.press("Tab");
  await page.getByLabel("Its length").fill("10.0 +- 0.05 mm");
  await page.screenshot({ path: join(shots, "page-length.png") });
  await page.getByRole("button", { name: "Write into the file" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("[camera.reference]"));
  check(!(await page.locator("textarea").inputValue()).includes('scale = "0.0600'), "experiment: two scales at once");
  // The plan answers while a slider moves.
  await page.locator("details.plan > summary").click();
  await page.locator(".groups table").first().waitFor();
  await page.getByLabel("Capture rate").last().focus();
  for (let i = 0; i < 6; i++) await page.keyboard.press("ArrowLeft");
  await page.locator(".groups td small", { hasText: "was" }).first().waitFor();
  await page.locator("details.plan").scrollIntoViewIfNeeded();
  await audited(page, "plan");
  await page.locator("details.plan > summary").click();
  // Somebody else changes the file: nothing is overwritten.
  await page.getByText("Saved", { exact: true }).waitFor();
  const theirs = readFileSync(file, "utf8").replace("parabola 11", "parabola 12");
  writeFileSync(file, theirs);
  await page.getByLabel("Title").fill("Mine");
  await page.getByLabel("Title").press("Tab");
  await page.getByRole("button", { name: "Take theirs" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("parabola 12"));
  check(readFileSync(file, "utf8") === theirs, "experiment: theirs was overwritten");
  // A short stretch is measured; the page may be closed meanwhile.
  await page.locator(".transport .frame").fill("150");
  await page.locator(".transport .frame").press("Tab");
  await page.getByRole("button", { name: "End here" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("frames = [0, 151]"));
  await page.getByRole("button", { name: "Measure", exact: true }).click();
  await page.locator(".jobs li", { hasText: "is being measured" }).waitFor();
  await page.screenshot({ path: join(shots, "page-measuring.png") });
  await page.close();
  const again = await opened("/", "again");
  const done = again.locator(".jobs li", { hasText: /Z measured/ });
  await done.waitFor({ timeout: 120_000 });
  await done.getByRole("link").click();
  await painted(again, 1);
  check(/150/.test(await again.locator(".beside .note").first().textContent()) || /151 frames/.test(await again.locator(".beside .note").first().textContent()), "measured: another stretch");
  await again.goto(`${origin}/`);
  // Two runs side by side.
  await again.locator(".cards input").nth(1).waitFor();
  for (const box of await again.locator(".cards input").all()) await box.check();
  await again.getByRole("button", { name: "Lay side by side" }).click();
  await again.waitForURL(/comparison\.html$/);
  check(/surface tension/i.test(await again.locator("body").textContent()), "compared: nothing about surface tension");
  await again.screenshot({ path: join(shots, "page-compared.png") });
  await again.close();
  return trial;
}

// From a clip alone, by the guided start.
async function guided() {
  const page = await opened("/", "guided");
  await page.locator("#clip-file").setInputFiles({ name: "dropped.mp4", mimeType: "video/mp4", buffer: readFileSync(join(folder, "run", "overlay.mp4")) });
  await page.getByRole("dialog").waitFor();
  await page.getByLabel("What is it called?").fill("A dropped clip");
  await page.getByLabel("Which liquid?").selectOption("water");
  await page.getByLabel("How fast was it filmed?").fill("240 fps");
  await audited(page, "ask");
  await page.getByRole("button", { name: "Write the experiment file" }).click();
  await page.waitForURL(/experiment\?path=dropped.toml/);
  await painted(page, 0);
  await page.locator(".faults .lacking", { hasText: "camera.scale" }).waitFor();
  await audited(page, "begun");
  check(existsSync(join(folder, "dropped.toml")) && existsSync(join(folder, "dropped.mp4")), "guided: no file was written");
  check(!readdirSync(folder).some((name) => name.startsWith(".")), "guided: something hidden is left");
  await page.close();
}

const notes = {};
try {
  notes.start = await start();
  notes.step = await run();
  notes.trial = await experiment();
  await guided();
} catch (why) {
  check(false, `broke off: ${why.message}`);
  for (const page of browser.pages()) await page.screenshot({ path: join(shots, "page-broken.png") }).catch(() => {});
} finally {
  await browser.close();
  server.kill();
  rmSync(place, { recursive: true, force: true });
}
for (const fault of faults) console.error(`not good: ${fault}`);
console.log(`page: ${notes.start?.weight} bytes, first paint ${Math.round(notes.start?.paint ?? 0)} ms, step ${Math.round(notes.step ?? 0)} ms, outline ${notes.trial} ms; ${faults.length} faults`);
process.exit(faults.length === 0 ? 0 : 1);
