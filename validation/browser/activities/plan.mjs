// Planning before there is a clip: all five kinds, each with what it has to try, answered while a slider moves; the sheet as a page.

const TRIED = { release: "Length over width", puff: "Gas given off", column: "Length of the column", shell: "Speed of the droplet", fizz: "Bubbles that are born" };

export default async function plan(bench) {
  const page = await bench.opened("/", "plan");
  for (const [kind, label] of Object.entries(TRIED)) {
    await page.goto(`${bench.origin}/`);
    await page.locator("#plan-kind").selectOption(kind);
    await page.getByRole("button", { name: "Begin a plan" }).click();
    await page.waitForURL(new RegExp(`experiment\\?path=${kind}`));
    await page.locator(".groups table").first().waitFor();
    const slider = page.getByLabel(label);
    bench.check(/as in the file|not in the file/.test(await slider.getAttribute("aria-valuetext")), `plan ${kind}: the slider does not say where the file stands`);
    await slider.focus();
    for (let i = 0; i < 4; i++) await page.keyboard.press("ArrowRight");
    await page.locator(".groups td small", { hasText: "was" }).first().waitFor();
    await page.locator("details.plan").scrollIntoViewIfNeeded();
    await bench.audited(page, `plan-${kind}`);
    await page.getByRole("button", { name: "Back to the file" }).click();
    await page.waitForFunction(() => document.querySelectorAll(".groups td small").length === 0);
    await page.getByLabel("Where").selectOption("drop-tower");
    await page.getByText(/Tried, not written: surroundings.place = drop-tower/).waitFor();
  }
  await page.getByRole("button", { name: "As a sheet to print" }).click();
  await page.waitForURL(/files\/fizz-plan\.html/);
  bench.check(/What to expect|expect/i.test(await page.locator("body").textContent()), "plan: the sheet is empty");
  await page.close();
}
