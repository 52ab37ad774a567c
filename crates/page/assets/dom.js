// Small tools for building the page: elements, texts, numbers.

/** @typedef {string | number | Node | null | undefined | false | ""} Leaf */
/** @typedef {Leaf | Leaf[] | (Leaf | Leaf[])[]} Child */

/**
 * An element with attributes and children. `on` holds listeners; `class`, `hidden` and the rest are attributes; null leaves one out.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any>} [attributes]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") {
      for (const [event, listener] of Object.entries(value)) element.addEventListener(event, listener);
    } else if (name === "value") {
      /** @type {any} */ (element).value = value;
    } else {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  add(element, children);
  return element;
}

/** @param {Element} element @param {Child[]} children */
function add(element, children) {
  for (const child of /** @type {Leaf[]} */ (children.flat(2))) {
    if (child === null || child === undefined || child === false || child === "") continue;
    element.append(child instanceof Node ? child : String(child));
  }
}

/** Puts new children in place of the old. @param {Element} element @param {...Child} children */
export function fill(element, ...children) {
  element.replaceChildren();
  add(element, children);
}

/**
 * A formula as the server writes it, `var`, `sub` and `sup` only, as nodes; anything else stays text.
 * @param {string} html
 * @returns {HTMLSpanElement}
 */
export function formula(html) {
  const top = document.createElement("span");
  /** @type {Element[]} */
  const open = [top];
  for (const piece of html.split(/(<\/?(?:var|sub|sup)>)/)) {
    const tag = /^<(\/?)(var|sub|sup)>$/.exec(piece);
    if (!tag) open[open.length - 1].append(plain(piece));
    else if (tag[1]) open.length > 1 && open.pop();
    else {
      const inner = document.createElement(tag[2]);
      open[open.length - 1].append(inner);
      open.push(inner);
    }
  }
  return top;
}

/** @param {string} text */
function plain(text) {
  return text.replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&quot;/g, '"').replace(/&#39;/g, "'").replace(/&amp;/g, "&");
}

/** A number with so many decimals and a true minus. @param {number} x @param {number} decimals */
export function fixed(x, decimals) {
  return x.toFixed(Math.max(0, decimals)).replace("-", "\u2212");
}

/** `1 frame`, `7 frames`. @param {number} count @param {string} what */
export function counted(count, what) {
  return `${count}\u00a0${what}${count === 1 ? "" : "s"}`;
}

/** Words of a lower_snake name. @param {string} name */
export function words(name) {
  const text = name.replaceAll("_", " ");
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/**
 * Calls at most once in so many milliseconds, at the end of a burst.
 * @param {number} wait @param {(...args: any[]) => void} work
 */
export function settled(wait, work) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  return (/** @type {any[]} */ ...args) => {
    clearTimeout(timer);
    timer = setTimeout(() => work(...args), wait);
  };
}

/** The colours of the page as they are now, for canvases. */
export function colours() {
  const style = getComputedStyle(document.documentElement);
  const of = (/** @type {string} */ name) => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: of("paper"), ink: of("ink"), soft: of("soft"), hair: of("hair"), measured: of("measured"),
    fitted: of("fitted"), residual: of("residual"), reference: of("reference"), guide: of("guide"),
  };
}

/** Sizes a canvas for its box and the screen; true when it changed. @param {HTMLCanvasElement} canvas */
export function fit(canvas) {
  const ratio = devicePixelRatio || 1;
  const width = Math.max(1, Math.round(canvas.clientWidth * ratio));
  const height = Math.max(1, Math.round(canvas.clientHeight * ratio));
  if (canvas.width === width && canvas.height === height) return false;
  canvas.width = width;
  canvas.height = height;
  return true;
}

/** @param {HTMLCanvasElement} canvas @returns {CanvasRenderingContext2D} */
export function pen(canvas) {
  const context = canvas.getContext("2d");
  if (!context) throw new Error("this browser draws no canvas");
  return context;
}
