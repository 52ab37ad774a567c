// Taking away: a film of choice, figures as SVG and PNG, tables, the bundle.

export default async function away(bench) {
  const page = await bench.opened("/run?path=run", "away");
  await bench.painted(page, 1);
  await page.getByRole("button", { name: "Take away" }).click();
  await page.getByRole("dialog").waitFor();
  await bench.audited(page, "away");
  const png = await bench.taken(page, page.locator(".ways button", { hasText: "PNG" }).first());
  bench.check(png.bytes.subarray(1, 4).toString() === "PNG" && png.bytes.length > 20_000, `away: the figure has ${png.bytes.length} bytes`);
  const svg = await bench.taken(page, page.locator(".ways a", { hasText: "SVG" }).first());
  bench.check(svg.bytes.includes("<svg"), "away: no SVG");
  const csv = await bench.taken(page, page.locator(".ways a", { hasText: "CSV" }).first());
  bench.check(csv.bytes.length > 200, "away: no CSV");
  const parquet = await bench.taken(page, page.locator(".ways a", { hasText: "Parquet" }).first());
  bench.check(parquet.bytes.subarray(0, 4).toString() === "PAR1", "away: no Parquet");
  const zip = await bench.taken(page, page.getByRole("button", { name: "Bundle" }));
  bench.check(zip.bytes.subarray(0, 2).toString() === "PK", "away: no bundle");
  // A film: what theory expects beside what was found, a stretch, slowed down.
  await page.getByLabel("First frame").fill("20");
  await page.getByLabel("Last frame").fill("49");
  await page.getByLabel("A second").fill("10");
  await page.getByText("Plays for 3.0 s: 24.8 times slower than it was.").waitFor();
  await page.getByLabel("outline as theory expects it").check();
  await page.getByLabel("cut to the bodies").check();
  await page.getByRole("button", { name: "Make this film" }).click();
  const film = page.locator("dialog video");
  await film.waitFor({ timeout: 120_000 });
  await page.waitForFunction(() => document.querySelector("dialog video").readyState >= 2);
  const length = await film.evaluate((video) => video.duration);
  bench.check(Math.abs(length - 3) < 0.11, `away: the film plays for ${length} s`);
  await bench.audited(page, "film");
  await page.close();
}
