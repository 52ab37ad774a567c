// On paper and on a projector: controls stay away, nothing is cut off.

import { writeFileSync } from "node:fs";
import { join } from "node:path";

export default async function print(bench) {
  for (const [path, name] of [["/run?path=run", "run"], ["/experiment?path=experiment.toml#plan", "experiment"]]) {
    const page = await bench.opened(path, name);
    await bench.painted(page, 0);
    await page.setViewportSize({ width: 1920, height: 1080 });
    await page.waitForTimeout(300);
    await bench.fits(page, `${name} on a projector`);
    await bench.shot(page, `${name}-projector`);
    await page.setViewportSize({ width: 1280, height: 720 });
    await page.emulateMedia({ media: "print" });
    const shown = await page.evaluate(() => [".transport", ".tools", ".tries", ".jobs", ".away", "header"].filter((what) => [...document.querySelectorAll(what)].some((e) => e.getClientRects().length > 0)));
    bench.check(shown.length === 0, `${name} on paper shows ${shown}`);
    const paper = await page.pdf({ format: "A4" });
    writeFileSync(join(bench.shots, `page-${name}.pdf`), paper);
    const pages = (paper.toString("latin1").match(/\/Type \/Page\b/g) ?? []).length;
    bench.check(pages >= 1 && pages <= 12, `${name} takes ${pages} pages`);
    await bench.shot(page, `${name}-print`, { fullPage: true });
    await page.close();
  }
}
