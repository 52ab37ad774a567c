// What the activities share: a server over a copy of the demo, a browser, and the checks that every page has to pass.

import { spawn } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

export class Bench {
  /** @param {string} binary @param {string} demo The folder of the demo, which is copied. @param {string} shots Where pictures go. */
  constructor(binary, demo, shots) {
    this.binary = resolve(binary);
    this.shots = resolve(shots);
    mkdirSync(this.shots, { recursive: true });
    this.place = mkdtempSync(join(tmpdir(), "tremolet-page-"));
    this.folder = join(this.place, "heron");
    cpSync(demo, this.folder, { recursive: true });
    this.faults = [];
    this.notes = {};
  }

  check(good, text) {
    if (!good) this.faults.push(text);
  }

  async begin() {
    await this.serve();
    this.browser = await chromium.launchPersistentContext(join(this.place, "profile"), {
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      headless: true,
      viewport: { width: 1280, height: 720 },
      args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
    });
    this.browser.setDefaultTimeout(90_000);
  }

  /** Starts the server; `first` is the address it prints. */
  async serve() {
    this.server = spawn(this.binary, ["serve", this.folder], { stdio: ["ignore", "pipe", "inherit"] });
    this.first = await new Promise((done) => this.server.stdout.once("data", (data) => done(/open (\S+)/.exec(String(data))[1])));
    this.origin = new URL(this.first).origin;
  }

  /** The server dies without a word, and another is started. */
  async died() {
    const gone = new Promise((done) => this.server.once("exit", done));
    this.server.kill("SIGKILL");
    await gone;
    await this.serve();
  }

  async end() {
    await this.browser?.close();
    this.server?.kill();
    rmSync(this.place, { recursive: true, force: true });
  }

  /** A new page that is watched: nothing is complained of, nothing asked for elsewhere. */
  async opened(path, name) {
    const page = await this.browser.newPage();
    page.on("console", (message) => this.check(message.type() !== "error" || /status of 4/.test(message.text()), `${name}: console: ${message.text()}`));
    page.on("pageerror", (error) => this.check(false, `${name}: page error: ${error.message}`));
    page.on("request", (request) => this.check(request.url().startsWith(this.origin) || request.url().startsWith("blob:"), `${name}: asks for ${request.url()}`));
    if (process.env.ASSETS) await page.route("**/assets/*", (route) => route.fulfill({ path: join(process.env.ASSETS, new URL(route.request().url()).pathname.split("/").pop()) }));
    await page.goto(path.startsWith("http") ? path : this.origin + path, { waitUntil: "load" });
    return page;
  }

  shot(page, name, options = {}) {
    return page.screenshot({ path: join(this.shots, `page-${name}.png`), ...options });
  }

  /** No violations by axe-core and nothing too wide, in light and dark. */
  async audited(page, name) {
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      await page.evaluate(axe);
      const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
      for (const one of found.violations) {
        this.check(false, `${name}, ${colorScheme}: axe ${one.id}: ${one.nodes.slice(0, 3).map((node) => node.target.join(" ")).join(" | ")}`);
      }
      await this.shot(page, `${name}-${colorScheme}`);
      await this.fits(page, `${name}, ${colorScheme}`);
    }
    await page.emulateMedia({ colorScheme: "light" });
  }

  /** Nothing is wider than the page. */
  async fits(page, name) {
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    const wide = over > 0 ? await page.evaluate(() => [...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > innerWidth).slice(-1).map((e) => e.outerHTML.slice(0, 120))) : [];
    this.check(over <= 0, `${name}: ${over} px too wide: ${wide}`);
  }

  /** Waits until a picture shows something. */
  painted(page, index) {
    return page.waitForFunction((i) => {
      const canvas = document.querySelectorAll("canvas.pane")[i];
      if (!canvas) return false;
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      let [low, high] = [255, 0];
      for (let k = 0; k < data.length; k += 404) [low, high] = [Math.min(low, data[k]), Math.max(high, data[k])];
      return high - low > 60;
    }, index);
  }

  /** The frame that is shown. */
  told(page) {
    return page.locator(".transport .frame").inputValue().then(Number);
  }

  /** The bytes of a file that a click hands over. */
  async taken(page, button) {
    const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
    return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
  }
}
