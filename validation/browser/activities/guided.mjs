// From a clip alone, by the guided start.

import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";

export default async function guided(bench) {
  const page = await bench.opened("/", "guided");
  await page.locator("#clip-file").setInputFiles({ name: "dropped.mp4", mimeType: "video/mp4", buffer: readFileSync(join(bench.folder, "run", "overlay.mp4")) });
  await page.getByRole("dialog").waitFor();
  await page.getByLabel("What is it called?").fill("A dropped clip");
  await page.getByLabel("Which liquid?").selectOption("water");
  // A number without a unit is said where it was written.
  await page.getByLabel("How fast was it filmed?").fill("240");
  await page.getByRole("button", { name: "Write the experiment file" }).click();
  await page.locator(".ask .fault", { hasText: "A unit is missing, as in 240 fps." }).waitFor();
  await page.getByLabel("How fast was it filmed?").fill("240 fps");
  await bench.audited(page, "ask");
  await page.getByRole("button", { name: "Write the experiment file" }).click();
  await page.waitForURL(/experiment\?path=dropped.toml/);
  await bench.painted(page, 0);
  await page.locator(".faults .lacking", { hasText: "camera.scale" }).waitFor();
  await bench.audited(page, "begun");
  bench.check(existsSync(join(bench.folder, "dropped.toml")) && existsSync(join(bench.folder, "dropped.mp4")), "guided: no file was written");
  bench.check(!readdirSync(bench.folder).some((name) => name.startsWith(".")), "guided: something hidden is left");
  await page.close();
}
