// Where the page begins: which of its three faces is asked for.

import { fill, h } from "./dom.js";

const main = h("main", { id: "main", tabindex: -1 });
document.body.append(
  h("a", { href: "#main", class: "skip" }, "Skip to the page"),
  h("header", {}, h("nav", { "aria-label": "Places" }, h("a", { href: "/", class: "home" }, h("img", { src: "/assets/mark.svg", alt: "", width: 24, height: 24 }), "tremolet"), h("a", { href: "/compare" }, "Compare"))),
  main);

const path = new URLSearchParams(location.search).get("path") ?? "";
/** @type {Record<string, () => Promise<void>>} */
const faces = {
  "/run": async () => (await import("./run.js")).runPage(main, path),
  "/experiment": async () => (await import("./experiment.js")).experimentPage(main, path),
  "/compare": async () => (await import("./compare.js")).comparePage(main),
  "/": async () => (await import("./start.js")).startPage(main),
};
try {
  await (faces[location.pathname] ?? faces["/"])();
} catch (why) {
  fill(main, h("div", { class: "sorry" }, h("h1", {}, "This cannot be shown"), h("p", { role: "alert" }, /** @type {Error} */ (why).message), h("p", {}, h("a", { href: "/" }, "To the folder"))));
}
