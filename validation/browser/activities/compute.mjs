// The motion computed and filmed from the page: simulate, film, and the film ready to be measured; each opens by itself.

export default async function compute(bench) {
  const page = await bench.opened("/experiment?path=experiment.toml", "compute");
  await page.getByRole("button", { name: "Simulate" }).click();
  await page.waitForURL(/\/run\?path=experiment-simulated/, { timeout: 120_000 });
  await page.locator(".findings").waitFor();
  bench.check((await page.getByRole("button", { name: "Fit the simulation to it" }).count()) === 0, "compute: a simulated run is offered to be fitted");
  bench.check(/computed, not filmed/.test(await page.locator(".three figcaption").first().textContent()), "compute: another clip is shown beside a computed motion");
  await bench.audited(page, "simulated");
  await page.getByLabel("How the film looks").selectOption("");
  await page.getByRole("button", { name: "Film it" }).click();
  const row = page.locator(".jobs li", { hasText: "is being filmed" });
  await row.waitFor();
  await bench.shot(page, "filming");
  await page.waitForURL(/experiment\?path=experiment-simulated-.*-film\.toml/, { timeout: 300_000 });
  await bench.painted(page, 0);
  bench.check((await page.locator(".faults .wrong").count()) === 0, "compute: the film's experiment file has faults");
  await bench.shot(page, "filmed");
  await page.close();
}
