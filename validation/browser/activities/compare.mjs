// Runs beside each other: chosen by ticking, values sorted and filtered and taken away, courses over each other, modes on the scale of theory.

import { cpSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

export default async function compare(bench) {
  // An invented campaign lies beside the run of the demo.
  cpSync(fileURLToPath(new URL("../../../examples/compare", import.meta.url)), join(bench.folder, "campaign"), { recursive: true });
  const page = await bench.opened("/", "compare");
  await page.locator(".cards input").nth(1).waitFor();
  for (const box of (await page.locator(".cards input").all()).slice(0, 2)) await box.check();
  await page.getByRole("button", { name: "Lay side by side" }).click();
  await page.waitForURL(/\/compare\?path=/);
  await page.locator(".sheet-table tbody tr").first().waitFor();
  // One more, and the address says so.
  const boxes = page.locator(".chooser input[type=checkbox]");
  await page.getByRole("button", { name: "All shown" }).click();
  await page.waitForFunction((count) => new URLSearchParams(location.search).getAll("path").length === count, await boxes.count());
  // The table is made anew for the runs that are chosen.
  await page.getByText(`${await boxes.count()}\u00a0runs read`).waitFor();
  await page.locator(".chart svg").first().waitFor();
  const rows = page.locator(".sheet-table tbody tr");
  const all = await rows.count();
  await page.getByLabel("Only rows whose Quantity has").fill("tension");
  await page.waitForFunction((count) => document.querySelectorAll(".sheet-table tbody tr").length < count, all);
  bench.check((await rows.allTextContents()).every((text) => /surface tension/i.test(text)), "compare: the filter lets others through");
  const numbers = () => page.locator(".sheet-table tbody tr td:nth-child(5)").allTextContents().then((texts) => texts.map((text) => parseFloat(text)));
  const value = page.getByRole("button", { name: "Value", exact: true });
  await value.click();
  const up = await numbers();
  bench.check(up.length > 1 && up.every((x, i) => i === 0 || x >= up[i - 1]), `compare: not sorted: ${up}`);
  await value.click();
  bench.check((await numbers())[0] === up[up.length - 1], "compare: not sorted downwards");
  await page.getByLabel("Only rows whose Value has").fill(`> ${up[0]}`);
  bench.check((await rows.count()) < up.length, "compare: numbers are not filtered");
  const csv = await bench.taken(page, page.getByRole("button", { name: "What is shown, as CSV" }));
  const lines = csv.bytes.toString().trim().split("\n").filter((line) => !line.startsWith("#"));
  bench.check(/quantity/.test(lines[0]) && lines.length === 1 + (await rows.count()), `compare: the CSV holds ${lines.length} lines`);
  const parquet = await bench.taken(page, page.getByRole("button", { name: "What is shown, as Parquet" }));
  bench.check(parquet.bytes.subarray(0, 4).toString() === "PAR1" && parquet.name === "values.parquet", "compare: no Parquet");
  await page.locator("#over-clock").selectOption("capillary");
  await page.locator("#scale-which").selectOption("rate");
  const figure = await bench.taken(page, page.getByRole("button", { name: /All sizes and liquids.* as PNG/ }));
  bench.check(figure.bytes.subarray(1, 4).toString() === "PNG" && figure.bytes.length > 5000, "compare: no PNG");
  const drawing = await bench.taken(page, page.getByRole("button", { name: /Amplitude of degree 2 as SVG/ }));
  bench.check(drawing.bytes.includes("<svg") && drawing.bytes.includes("√(σ/ρR³)"), "compare: no SVG");
  await bench.audited(page, "compare");
  await bench.shot(page, "compare-whole", { fullPage: true });
  await page.setViewportSize({ width: 1920, height: 1080 });
  await bench.fits(page, "compare on a projector");
  await page.setViewportSize({ width: 1280, height: 720 });
  await page.getByRole("button", { name: "Keep as a report" }).click();
  await page.waitForURL(/comparison\.html$/);
  bench.check(/surface tension/i.test(await page.locator("body").textContent()), "compare: nothing about surface tension");
  await bench.shot(page, "compared");
  await page.close();
}
