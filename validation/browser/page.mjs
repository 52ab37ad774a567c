// Drives the local page as a person would, activity by activity, and checks what would make that person stumble.
//
// Usage: node page.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER [ACTIVITY...]      the folder is that of the demo; it is copied first
//
// With ASSETS=crates/page/assets the page's own files are taken from there and not from the program: changes are seen without building it.
//
// Checked: every activity end to end, no console errors, no requests beyond the page's own server, no violations by axe-core
// in light and dark, a step within 50 ms, the outline on one frame within 200 ms, weight and first paint of the page. Exit code 0 when all is well.

import { Bench } from "./bench.mjs";

const ACTIVITIES = ["start", "run", "experiment", "queue", "guided", "plan", "compute", "compare", "away", "keys", "print"];

const [binary, demo, shots, ...chosen] = process.argv.slice(2);
if (!binary || !demo || !shots || chosen.some((name) => !ACTIVITIES.includes(name))) {
  console.error(`usage: node page.mjs TREMOLET DEMO_FOLDER SCREENSHOT_FOLDER [${ACTIVITIES.join("|")}...]`);
  process.exit(2);
}
const bench = new Bench(binary, demo, shots);
await bench.begin();
for (const name of ACTIVITIES.filter((name) => chosen.length === 0 || name === "start" || chosen.includes(name))) {
  const begun = Date.now();
  try {
    await (await import(`./activities/${name}.mjs`)).default(bench);
  } catch (why) {
    bench.check(false, `${name} broke off: ${why.message}`);
    for (const page of bench.browser.pages()) {
      await bench.shot(page, `broken-${name}`).catch(() => {});
      if (page.url() !== "about:blank") await page.close().catch(() => {});
    }
  }
  console.log(`${name}: ${((Date.now() - begun) / 1000).toFixed(0)} s`);
}
await bench.end();
for (const fault of bench.faults) console.error(`not good: ${fault}`);
const { weight, paint, step, trial } = bench.notes;
const said = (value, unit) => (value === undefined ? "not measured" : `${Math.round(value)} ${unit}`);
console.log(`page: ${said(weight, "bytes")}, first paint ${said(paint, "ms")}, step ${said(step, "ms")}, outline ${said(trial, "ms")}; ${bench.faults.length} faults`);
process.exit(bench.faults.length === 0 ? 0 : 1);
