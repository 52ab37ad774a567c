// The first page: what the folder holds, how heavy the page is, how soon it is there.

export default async function start(bench) {
  const page = await bench.opened(bench.first, "start");
  await page.getByRole("link", { name: /Split-cup release/ }).first().waitFor();
  bench.check(page.url() === `${bench.origin}/`, `the key stays in the address: ${page.url()}`);
  bench.check(/69\.\d+\s±\s0\.\d+\smN\/m/.test(await page.locator(".cards").textContent()), "start: no surface tension beside the run");
  const told = await page.evaluate(() => ({
    paint: performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0,
    weight: performance.getEntriesByType("resource").filter((r) => r.name.includes("/assets/")).reduce((sum, r) => sum + r.encodedBodySize, 0),
  }));
  // Stated bounds of the first page.
  bench.check(told.paint < 2000, `start: first paint after ${told.paint} ms`);
  bench.check(told.weight < 80_000, `start: ${told.weight} bytes`);
  await bench.audited(page, "start");
  await page.close();
  Object.assign(bench.notes, told);
}
