// Drives looking at clips on the local page as a person would: stepping, scale and time by pointing, outlines accepted, corrected and rejected, on a
// film of a real camera; and checks how long clips take to open and how much memory their readers hold.
//
// Usage: node look.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER [REAL_FOLDER]
//
// The folder is that of the demo; it is copied first. Without REAL_FOLDER the part on real pictures is skipped, which is said. Exit code 0 when
// all is well.

import { spawn } from "node:child_process";
import { closeSync, cpSync, existsSync, ftruncateSync, mkdirSync, mkdtempSync, openSync, readFileSync, readdirSync, rmSync, writeFileSync, writeSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";

const [binary, demo, shotFolder, real] = process.argv.slice(2);
if (!binary || !demo || !shotFolder) {
  console.error("usage: node look.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER [REAL_FOLDER]");
  process.exit(2);
}
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const shots = resolve(shotFolder);
mkdirSync(shots, { recursive: true });
const place = mkdtempSync(join(tmpdir(), "tremolet-look-"));
const folder = join(place, "kestrel");
cpSync(demo, folder, { recursive: true });

const faults = [];
const check = (good, text) => {
  if (!good) faults.push(text);
};

/** An uncompressed film of so many frames, with a dark square that wanders; of large ones most is a hole in the file. */
function film(name, width, height, count) {
  const file = openSync(join(folder, name), "w");
  const head = Buffer.from(`YUV4MPEG2 W${width} H${height} F25:1 Ip A1:1 Cmono\n`);
  writeSync(file, head, 0, head.length, 0);
  const size = width * height;
  const mark = Buffer.from("FRAME\n");
  if (size < 4096) {
    const all = Buffer.alloc(count * (mark.length + size), 200);
    for (let frame = 0; frame < count; frame++) {
      const at = frame * (mark.length + size);
      mark.copy(all, at);
      all[at + mark.length + (frame % size)] = 20;
    }
    writeSync(file, all, 0, all.length, head.length);
  } else {
    for (let frame = 0; frame < count; frame++) {
      const at = head.length + frame * (mark.length + size);
      writeSync(file, mark, 0, mark.length, at);
      writeSync(file, Buffer.alloc(4 * width, 200), 0, 4 * width, at + mark.length + (frame % (height - 4)) * width);
    }
    ftruncateSync(file, head.length + count * (mark.length + size));
  }
  closeSync(file);
  writeFileSync(join(folder, `${name}.toml`), `format = 1\nkind = "release"\n\n[camera]\ncapture_rate = "250 fps"\n\n[clip]\npath = "${name}"\n`);
}

film("long.y4m", 32, 24, 100_000);
film("large.y4m", 1920, 1080, 300);

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
    await page.screenshot({ path: join(shots, `look-${name}-${colorScheme}.png`) });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    check(over <= 0, `${name}, ${colorScheme}: ${over} px too wide`);
  }
  await page.emulateMedia({ colorScheme: "light" });
}

/** On a projector, with larger letters, and on paper. */
async function shown(page, name) {
  await page.setViewportSize({ width: 1920, height: 1080 });
  await page.screenshot({ path: join(shots, `look-${name}-projector.png`) });
  await page.evaluate(() => (document.documentElement.style.fontSize = "150%"));
  await page.waitForTimeout(200);
  await page.screenshot({ path: join(shots, `look-${name}-letters.png`) });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  check(over <= 0, `${name}, larger letters: ${over} px too wide`);
  await page.evaluate(() => (document.documentElement.style.fontSize = ""));
  await page.setViewportSize({ width: 1280, height: 720 });
  await page.emulateMedia({ media: "print" });
  await page.waitForTimeout(200);
  await page.screenshot({ path: join(shots, `look-${name}-print.png`), fullPage: true });
  await page.emulateMedia({ media: "screen" });
}

/** Most memory that a reader of a clip has held, MiB. */
function reader(name) {
  for (const id of readdirSync("/proc").filter((entry) => /^\d+$/.test(entry))) {
    try {
      const words = readFileSync(`/proc/${id}/cmdline`, "utf8").split("\0");
      const mine = readFileSync(`/proc/${id}/stat`, "utf8").split(") ").pop().split(" ")[1] === String(server.pid);
      if (mine && words.includes("look") && words.some((word) => word.endsWith(name))) {
        return Number(/VmHWM:\s*(\d+)/.exec(readFileSync(`/proc/${id}/status`, "utf8"))[1]) / 1024;
      }
    } catch {
      // It ended meanwhile.
    }
  }
  return NaN;
}

const told = (page) => page.locator(".transport .frame").inputValue().then(Number);
const drawn = (page, frame) => page.waitForFunction((due) => document.querySelector("canvas.pane")?.dataset.frame === String(due), frame);
const text = (page) => page.locator("textarea").inputValue();
const inFile = (page, part) => page.waitForFunction((due) => document.querySelector("textarea").value.includes(due), part);
const status = (page, part) => page.locator(".stage [role=status]", { hasText: part }).waitFor();

/** Steps from where the clip stands, with time to rest in between; the median and the longest, ms. */
async function stepped(page, keys) {
  const times = await page.evaluate(async (keys) => {
    const canvas = document.querySelector("canvas.pane");
    const times = [];
    for (const key of keys) {
      const due = String(Number(canvas.dataset.frame) + (key === "ArrowRight" ? 1 : -1));
      const begun = performance.now();
      document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
      while (canvas.dataset.frame !== due && performance.now() - begun < 5000) await new Promise((next) => setTimeout(next, 1));
      times.push(performance.now() - begun);
      await new Promise((next) => setTimeout(next, 80));
    }
    return times;
  }, keys);
  const sorted = [...times].sort((a, b) => a - b);
  return { first: times[0], median: sorted[sorted.length >> 1], most: sorted[sorted.length - 1] };
}

/** A jump, a rest, and steps both ways. */
async function jumped(page, frame) {
  const field = page.locator(".transport .frame");
  const begun = Date.now();
  await field.fill(String(frame));
  await field.press("Tab");
  await drawn(page, frame);
  const jump = Date.now() - begun;
  await page.waitForTimeout(800);
  await page.locator("h1").click();
  const back = await stepped(page, Array(8).fill("ArrowLeft"));
  const on = await stepped(page, Array(12).fill("ArrowRight"));
  return { jump, back, on };
}

/** A clip of a hundred thousand frames, and one of large frames. */
async function sizes() {
  const figures = {};
  for (const [name, last] of [["long.y4m", 99_999], ["large.y4m", 299]]) {
    // A busy machine may be late once; the clip itself is no slower for it.
    let [page, open] = [null, Infinity];
    for (let tries = 0; tries < 3 && open > 2000; tries++) {
      await page?.close();
      const begun = Date.now();
      page = await opened(`/experiment?path=${name}.toml`, name);
      await drawn(page, 0);
      open = Date.now() - begun;
    }
    check(open <= 2000, `${name}: opens in ${open} ms`);
    const found = await jumped(page, name === "long.y4m" ? 77_000 : 150);
    check(found.back.median <= 50 && found.on.median <= 50, `${name}: a step takes ${found.back.median} and ${found.on.median} ms`);
    // Through the clip and back.
    for (const frame of [last, 10, last >> 1, last - 50, 40]) {
      await page.locator(".transport .frame").fill(String(frame));
      await page.locator(".transport .frame").press("Tab");
      await drawn(page, frame);
    }
    await page.keyboard.press("Space");
    await page.waitForTimeout(1500);
    await page.keyboard.press("Space");
    const memory = reader(name);
    const most = name === "long.y4m" ? 192 : 256;
    check(memory <= most, `${name}: its reader holds ${memory} MiB`);
    figures[name] = { open, jump: found.jump, back: found.back, on: found.on, memory };
    await page.close();
  }
  return figures;
}

/** A film in H.264: after a jump the first step back is there at once. */
async function coded() {
  writeFileSync(join(folder, "coded.toml"), 'format = 1\nkind = "release"\n\n[camera]\ncapture_rate = "30 fps"\n\n[clip]\npath = "run/overlay.mp4"\n');
  const page = await opened("/experiment?path=coded.toml", "coded");
  await drawn(page, 0);
  const found = await jumped(page, 400);
  check(found.back.first <= 50 && found.back.median <= 50, `coded: the first step back takes ${found.back.first} ms, the middle one ${found.back.median} ms`);
  check(found.on.median <= 50, `coded: a step on takes ${found.on.median} ms`);
  const memory = reader("overlay.mp4");
  await page.close();
  return { ...found, memory };
}

/** Everything that a person does to a clip before it is measured, on a film of a real camera, and what becomes of it. */
async function bubbles() {
  cpSync(join(real, "bubble-coalescence-9kfps", "cine_781.cine"), join(folder, "bubbles.cine"));
  const page = await opened("/", "bubbles");
  await page.getByRole("button", { name: "bubbles.cine" }).click();
  await page.getByLabel("What is it called?").fill("Two bubbles at a needle");
  await page.getByLabel("Which liquid?").selectOption("water");
  await page.getByLabel("How warm?").fill("21 +- 1 degC");
  await page.screenshot({ path: join(shots, "look-ask.png") });
  await page.getByRole("button", { name: "Write the experiment file" }).click();
  await page.waitForURL(/\/experiment/);
  await drawn(page, 0);
  // Look: step, zoom, contrast, and the time that the camera kept.
  for (let i = 0; i < 3; i++) await page.keyboard.press("ArrowRight");
  await drawn(page, 3);
  await page.waitForFunction(() => /0\.0003\d* s/.test(document.querySelector(".transport .time").textContent));
  const canvas = page.locator("canvas.pane");
  const looks = [await canvas.evaluate((c) => c.toDataURL())];
  await canvas.focus();
  await canvas.press("+");
  looks.push(await canvas.evaluate((c) => c.toDataURL()));
  await canvas.press("0");
  await page.getByLabel("Dark end").focus();
  for (let i = 0; i < 20; i++) await page.keyboard.press("ArrowRight");
  looks.push(await canvas.evaluate((c) => c.toDataURL()));
  for (let i = 0; i < 20; i++) await page.keyboard.press("ArrowLeft");
  check(new Set(looks).size === 3, "bubbles: zoom or contrast changes nothing");
  // Scale, a second length that agrees and one that does not; a clock in view.
  const tool = async (name, places) => {
    await page.getByRole("button", { name, exact: true }).click();
    if (places) {
      await page.getByLabel(/Places in the picture/).fill(places);
      await page.getByLabel(/Places in the picture/).press("Tab");
    }
  };
  const write = () => page.getByRole("button", { name: "Write into the file" }).click();
  await tool("Known length", "100, 20; 156, 20");
  await page.getByLabel("Its length").fill("1.00 +- 0.02 mm");
  await page.screenshot({ path: join(shots, "look-length.png") });
  await write();
  await inFile(page, "[camera.reference]");
  check((await text(page)).includes('end_uncertainty = "0.5 px"'), "bubbles: the ends of the reference are taken as exact");
  await tool("Second length", "40, 100; 40, 212");
  await page.getByLabel("Its length").fill("2.01 +- 0.02 mm");
  await write();
  await status(page, "so they agree");
  await tool("Second length", "40, 100; 40, 212");
  await page.getByLabel("Its length").fill("2.60 +- 0.02 mm");
  await write();
  await status(page, "times the standard uncertainty");
  const apart = page.locator("#field-camera-scale-note.fault", { hasText: "% apart" });
  check(await apart.waitFor({ timeout: 15_000 }).then(() => true, () => false), "bubbles: two scales that disagree are no fault at the field");
  await page.screenshot({ path: join(shots, "look-scales.png") });
  await tool("Second length");
  await page.getByRole("button", { name: "Take back the second length" }).click();
  await page.waitForFunction(() => !/second_reference\.?\w*\]?\nlength/.test(document.querySelector("textarea").value) && !document.querySelector("textarea").value.includes("2.60"));
  await tool("Clock in view");
  await page.getByLabel("First frame", { exact: true }).fill("2");
  await page.getByLabel("reads in the first frame").fill("0:00:07.0002");
  await page.getByLabel("Last frame", { exact: true }).fill("11");
  await page.getByLabel("reads in the last frame").fill("0:00:07.0012");
  await page.getByLabel("It can be read to").fill("0.00001 s");
  await page.screenshot({ path: join(shots, "look-clock.png") });
  await write();
  await inFile(page, "[camera.clock]");
  await page.locator("#field-camera-capture_rate-note", { hasText: "by the clock in the picture" }).waitFor();
  check(/9000|9\.00/.test(await page.locator("#field-camera-capture_rate-note").textContent()), "bubbles: the clock gives another rate");
  // The picture is set up anew with the rate.
  await page.waitForFunction(() => /real time/.test(document.querySelector('select[aria-label="How fast"]')?.textContent ?? ""));
  await drawn(page, 3);
  // The outline: try it, accept it, correct it, reject it.
  await page.getByRole("button", { name: "Try the outline" }).click();
  await status(page, "body of radius");
  await page.locator(".judging").getByRole("button", { name: "right", exact: true }).click();
  await inFile(page, 'outline = "accepted"');
  await page.screenshot({ path: join(shots, "look-outline.png") });
  await page.locator(".judging").getByRole("button", { name: "partly wrong" }).click();
  await page.getByLabel(/Places in the picture/).fill("128, 215; 128, 255");
  await page.getByLabel(/Places in the picture/).press("Tab");
  await page.getByLabel("What is there?").fill("needle");
  await page.getByLabel("Width of a line, px").fill("24");
  check(await page.getByLabel(/only in frame 3/).isChecked(), "bubbles: a correction is not of its frame alone");
  await write();
  await inFile(page, 'width = "24 px"');
  check((await text(page)).includes("frames = [3, 4]"), "bubbles: the correction does not name its frame");
  await audited(page, "outline");
  await page.keyboard.press("End");
  await drawn(page, 14);
  await page.getByRole("button", { name: "Try the outline" }).click();
  await page.locator(".judging").getByRole("button", { name: "wrong", exact: true }).click();
  await page.getByLabel("Why?").fill("the neck is gone");
  await write();
  await inFile(page, "the neck is gone");
  check((await text(page)).includes("frames = [14, 15]"), "bubbles: the rejected frame is another");
  await page.locator(".judging b", { hasText: "rejected" }).waitFor();
  // A stretch drawn on the time below the picture, and a region.
  await page.getByRole("button", { name: "Skip frames" }).click();
  await page.locator("canvas.strip").scrollIntoViewIfNeeded();
  const time = await page.locator("canvas.strip").boundingBox();
  await page.mouse.move(time.x + (time.width * 10.5) / 15, time.y + 13);
  await page.mouse.down();
  await page.mouse.move(time.x + (time.width * 11.5) / 15, time.y + 13, { steps: 4 });
  await page.mouse.up();
  await page.screenshot({ path: join(shots, "look-stretch.png") });
  await page.getByLabel("Why?").fill("glint");
  await write();
  await inFile(page, "frames = [10, 12]");
  await tool("Only a region", "10, 10; 245, 10; 245, 250; 10, 250");
  await write();
  await inFile(page, "region = [[10, 10]");
  await audited(page, "region");
  await shown(page, "region");
  // Every correction is in the file, and measuring keeps to it and says so.
  await page.getByText("Saved", { exact: true }).waitFor();
  await page.getByRole("button", { name: "Measure", exact: true }).click();
  const done = page.locator(".jobs li", { hasText: /Z measured/ });
  await done.waitFor({ timeout: 120_000 });
  await done.getByRole("link").click();
  await page.waitForURL(/\/run\?/);
  await drawn(page, 0);
  const run = new URL(page.url()).searchParams.get("path");
  const findings = await (await browser.request.get(`${origin}/files/${run}/findings.json`)).json();
  const notes = findings.notes.map((note) => note.text).join("\n");
  for (const due of ["only a region", "needle was left out", "2 frames was rejected and left out: glint", "1 frame was rejected and left out: the neck is gone", "1 frame was looked at and accepted"]) {
    check(notes.includes(due), `bubbles: the findings do not say: ${due}`);
  }
  const report = await (await browser.request.get(`${origin}/files/${run}/report.html`)).text();
  for (const due of ["by hand", "glint", "the neck is gone", "needle"]) check(report.includes(due), `bubbles: the report does not say: ${due}`);
  const table = await (await browser.request.get(`${origin}/files/${run}/tables/shapes.csv`)).text();
  const [head, ...rows] = table.trim().split("\n").map((line) => line.split(","));
  const frames = new Set(rows.map((row) => Number(row[head.indexOf("frame")])));
  check(frames.size > 8 && ![10, 11, 14].some((frame) => frames.has(frame)), `bubbles: measured in frames ${[...frames]}`);
  // The run: pictures and lanes move together, a loop keeps to its stretch, frames left out are hatched.
  check((await page.locator(".lane-box .left-out").count()) === 2, "bubbles: the lanes do not show what was left out");
  const lane = await page.locator(".lane-box").boundingBox();
  await page.mouse.click(lane.x + lane.width * 0.3, lane.y + 20);
  const at = await told(page);
  check(at > 2 && at < 6, `bubbles: the lane leads to frame ${at}`);
  await drawn(page, at);
  await page.keyboard.press("l");
  for (let i = 0; i < 3; i++) await page.keyboard.press("ArrowRight");
  await page.keyboard.press("l");
  await page.keyboard.press("Space");
  for (let i = 0; i < 8; i++) {
    await page.waitForTimeout(60);
    const now = await told(page);
    check(now >= at && now <= at + 3, `bubbles: the loop leads to frame ${now}`);
  }
  await page.keyboard.press("Space");
  await page.keyboard.press("l");
  await audited(page, "run");
  await shown(page, "run");
  // From the run back to the frame in a changed copy of its file.
  await page.locator(".transport .frame").fill("4");
  await page.locator(".transport .frame").press("Tab");
  await page.getByRole("button", { name: "Correct this outline" }).click();
  await page.waitForURL(/frame=4/);
  await drawn(page, 4);
  check((await text(page)).includes("the neck is gone"), "bubbles: the changed copy lost what was decided");
  await page.close();
}

let figures = {};
try {
  // The first address carries the key of this start.
  await (await opened(first, "first")).close();
  figures = { ...(await sizes()), "overlay.mp4": await coded() };
  if (real && existsSync(join(real, "bubble-coalescence-9kfps"))) await bubbles();
  else console.log("look: no real film beside the repository, so nothing is driven on one");
} catch (why) {
  faults.push(String(why.stack ?? why));
  for (const page of browser.pages()) await page.screenshot({ path: join(shots, "look-failed.png") }).catch(() => {});
} finally {
  await browser.close();
  server.kill("SIGTERM");
  rmSync(place, { recursive: true, force: true });
}
for (const [name, { open, jump, back, on, memory }] of Object.entries(figures)) {
  const ms = (value) => `${value.toFixed(0)} ms`;
  console.log(`${name}: ${open === undefined ? "" : `opened in ${open} ms, `}jump ${jump} ms, first step back ${ms(back.first)}, back ${ms(back.median)} (most ${ms(back.most)}), on ${ms(on.median)} (most ${ms(on.most)}), reader ${memory.toFixed(0)} MiB`);
}
console.log(`look: ${faults.length} faults`);
for (const fault of faults) console.error(fault);
process.exit(faults.length === 0 ? 0 : 1);
