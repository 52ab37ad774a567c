// Measuring in the queue: seen while it goes on, stopped, outliving the page and a server that dies, opening by itself.

import { readdirSync } from "node:fs";

export default async function queue(bench) {
  const page = await bench.opened("/experiment?path=experiment.toml", "queue");
  await bench.painted(page, 0);
  // A short stretch, so that it is soon done; but first the whole, to be seen and stopped.
  await page.getByRole("button", { name: "Measure", exact: true }).click();
  const glance = page.locator(".glance .note", { hasText: /Frame \d+\. It has swung by up to \d/ });
  await glance.waitFor();
  await bench.shot(page, "measuring");
  await bench.audited(page, "measuring");
  await page.locator(".jobs button", { hasText: "Stop" }).first().click();
  await page.locator(".jobs li", { hasText: "nothing was kept" }).waitFor();
  await page.locator(".transport .frame").fill("150");
  await page.locator(".transport .frame").press("Tab");
  await page.getByRole("button", { name: "End here" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.includes("frames = [0, 151]"));
  await page.getByText("Saved", { exact: true }).waitFor();
  await page.getByRole("button", { name: "Measure", exact: true }).click();
  await page.locator(".jobs li", { hasText: "is being measured" }).waitFor();
  await page.close();
  // The server dies; the next goes on and says so.
  await bench.died();
  const again = await bench.opened(bench.first, "again");
  const row = again.locator(".jobs li", { hasText: /interrupted|finished while/ });
  await row.waitFor();
  const done = again.locator(".jobs li", { hasText: /Z measured/ });
  await done.waitFor({ timeout: 120_000 });
  await bench.shot(again, "interrupted");
  await done.getByRole("link").click();
  await bench.painted(again, 1);
  bench.check(/151 frames/.test(await again.locator(".beside .note").first().textContent()), "queue: another stretch");
  bench.check(readdirSync(bench.folder).every((name) => !name.startsWith(".")), "queue: something hidden is left");
  // Fitted from its own page, which shows what was found when it is done.
  await again.getByRole("button", { name: "Fit the simulation to it" }).click();
  await again.locator(".jobs li", { hasText: "motions tried" }).waitFor();
  const fitted = again.locator("details.finding", { hasText: "Surface tension, by simulation fitted to the outlines" });
  await fitted.waitFor({ timeout: 300_000 });
  await fitted.locator("summary").first().click();
  await fitted.locator("details.method summary", { hasText: "Simulation fitted to the outlines" }).first().waitFor();
  await bench.audited(again, "fitted");
  // Measured again from its page, a run opens by itself.
  await again.getByRole("button", { name: "Change and measure again" }).click();
  await again.waitForURL(/experiment\?path=.*changed/);
  await bench.painted(again, 0);
  await again.getByRole("button", { name: "Measure", exact: true }).click();
  await again.waitForURL(/\/run\?path=/, { timeout: 120_000 });
  await bench.painted(again, 1);
  await again.close();
}
