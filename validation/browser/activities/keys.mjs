// From a clip to its report with the keyboard alone; what has the focus is always seen.

import { cpSync, mkdirSync, readdirSync } from "node:fs";
import { join } from "node:path";

export default async function keys(bench) {
  // Some stills of the demo, so that it is soon measured.
  const short = join(bench.folder, "short");
  mkdirSync(short);
  const stills = readdirSync(join(bench.folder, "clip")).filter((name) => name.endsWith(".png")).sort();
  for (const name of stills.slice(0, 100)) cpSync(join(bench.folder, "clip", name), join(short, name));
  const page = await bench.opened("/", "keys");
  /** Tabs on until something of that name has the focus. */
  const tabbed = async (name) => {
    for (let i = 0; i < 250; i++) {
      await page.keyboard.press("Tab");
      const at = await page.evaluate(() => {
        const e = document.activeElement;
        const label = e.labels?.[0]?.textContent ?? "";
        const style = getComputedStyle(e);
        const box = e.getBoundingClientRect();
        return { name: `${e.getAttribute("aria-label") ?? ""} ${label} ${e.textContent}`.trim(), seen: e === document.body || style.outlineStyle !== "none" || e.id === "clip-file" || box.width <= 1, tag: e.tagName };
      });
      bench.check(at.seen, `keys: no visible focus on ${at.tag} ${at.name.slice(0, 40)}`);
      if (name.test(at.name)) return;
    }
    throw new Error(`the keyboard does not come to ${name}`);
  };
  await page.locator(".folder").getByText("short").waitFor();
  await tabbed(/^short$/);
  await page.keyboard.press("Enter");
  await page.getByRole("dialog").waitFor();
  for (const [name, text] of [[/called/, "By keyboard"], [/Which liquid/, "gl"], [/dissolved/, "0.40 +- 0.005"], [/How warm/, "22 +- 0.5 degC"], [/How fast/, "240 fps"], [/How long is a pixel/, "0.0600 +- 0.0002 mm/px"], [/How heavy/, "2.360 +- 0.015 g"]]) {
    if (!name.test(await page.evaluate(() => document.activeElement.labels?.[0]?.textContent ?? ""))) await tabbed(name);
    await page.keyboard.type(text);
  }
  await tabbed(/Write the experiment file/);
  await page.keyboard.press("Enter");
  await page.waitForURL(/experiment\?path=short\.toml/);
  await bench.painted(page, 0);
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("glycerol"));
  await tabbed(/^Measure$/);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/run\?path=short-/, { timeout: 120_000 });
  await bench.painted(page, 1);
  await tabbed(/^Report$/);
  const [report] = await Promise.all([bench.browser.waitForEvent("page"), page.keyboard.press("Enter")]);
  await report.waitForLoadState();
  bench.check(/By keyboard/.test(await report.locator("h1").textContent()), "keys: another report");
  await report.close();
  await page.close();
}
