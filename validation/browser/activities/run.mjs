// A run: three pictures over common lanes, stepped, played and dragged; numbers that open what is behind them; the body in the round.

export default async function run(bench) {
  const page = await bench.opened("/run?path=run", "run");
  for (const i of [0, 1, 2]) await bench.painted(page, i);
  await bench.audited(page, "run");
  // Step, play both ways, loop, drag along a lane: every picture and every lane follows.
  for (let i = 0; i < 12; i++) await page.keyboard.press("ArrowRight");
  bench.check((await bench.told(page)) === 12, `run: twelve steps lead to frame ${await bench.told(page)}`);
  await page.keyboard.press("ArrowLeft");
  bench.check((await bench.told(page)) === 11, "run: a step back");
  await page.keyboard.press("End");
  bench.check((await bench.told(page)) === 527, "run: the end");
  await page.keyboard.press("Home");
  await page.keyboard.press("Space");
  await page.waitForFunction(() => Number(document.querySelector(".transport .frame").value) > 4);
  await page.keyboard.press("Space");
  const stopped = await bench.told(page);
  await page.keyboard.press("Shift+Space");
  await page.waitForFunction((from) => Number(document.querySelector(".transport .frame").value) < from, stopped);
  await page.keyboard.press("Shift+Space");
  const lanes = page.locator(".lanes");
  const box = await page.locator(".lane-box").boundingBox();
  await page.mouse.click(box.x + box.width / 2, box.y + 30);
  const middle = await bench.told(page);
  bench.check(Math.abs(middle - 263) < 4, `run: the middle of a lane is frame ${middle}`);
  bench.check(/1\.0\d+ seconds, frame 26\d/.test(await lanes.getAttribute("aria-valuetext")), "run: the lanes do not say where they are");
  await page.keyboard.press("l");
  for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowRight");
  await page.keyboard.press("l");
  await page.keyboard.press("Space");
  for (let i = 0; i < 10; i++) {
    await page.waitForTimeout(60);
    const at = await bench.told(page);
    bench.check(at >= middle && at <= middle + 5, `run: the loop leads to frame ${at}`);
  }
  await page.keyboard.press("Space");
  await page.keyboard.press("l");
  // Time of a step within what is decoded.
  for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowRight");
  await page.waitForTimeout(400);
  const step = await page.evaluate(async () => {
    const canvas = document.querySelector("canvas.pane");
    const times = [];
    for (let i = 0; i < 24; i++) {
      const due = String(Number(canvas.dataset.frame) + (i < 12 ? 1 : -1));
      const begun = performance.now();
      document.body.dispatchEvent(new KeyboardEvent("keydown", { key: i < 12 ? "ArrowRight" : "ArrowLeft", bubbles: true }));
      while (canvas.dataset.frame !== due && performance.now() - begun < 2000) await new Promise((next) => setTimeout(next, 1));
      times.push(performance.now() - begun);
      await new Promise((next) => setTimeout(next, 60));
    }
    return times.sort((a, b) => a - b)[12];
  });
  bench.check(step <= 50, `run: a step takes ${step} ms`);
  // A number opens what is behind it.
  const finding = page.locator("details.finding").first();
  await finding.locator("summary").first().click();
  // What lies behind is drawn once the browser has told that it was opened.
  await finding.locator("table.budget").waitFor();
  bench.check(/95.% interval/.test(await finding.textContent()), "run: no sentence behind a number");
  bench.check((await finding.locator("table.budget tbody tr").count()) >= 3, "run: no budget behind a number");
  await finding.locator("details.method summary").first().click();
  bench.check((await finding.locator(".formula var").count()) > 3, "run: no formula behind a number");
  await bench.audited(page, "finding");
  await bench.shot(page, "run-whole", { fullPage: true });
  // The body in the round turns under the hand and stays in step.
  const round = page.locator("canvas.solid");
  await round.scrollIntoViewIfNeeded();
  const looks = [];
  for (const key of ["", "d", "w"]) {
    await round.focus();
    if (key) await round.press(key);
    looks.push(await round.evaluate((canvas) => canvas.toDataURL()));
  }
  await page.keyboard.press("End");
  looks.push(await round.evaluate((canvas) => canvas.toDataURL()));
  bench.check(new Set(looks).size === 4, "run: the body in the round does not turn or move");
  await bench.shot(page, "round");
  const report = await bench.browser.request.get(`${bench.origin}/files/run/report.html`);
  bench.check(report.status() === 200 && (await report.text()).includes("<h1>"), "run: the report does not open");
  await page.close();
  bench.notes.step = step;
}
