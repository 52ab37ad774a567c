// Frames of a clip on their way to the screen: fetched by number, held in a bounded window, turned into grey pictures.

import { frame as fetched } from "./api.js";

/** Bytes of frames that are held here; the server holds more. */
const WINDOW = 96 << 20;
/** Frames that are kept as pictures. */
const DRAWN = 5;
/** Frames fetched, in this order: in the direction of travel, and two the other way, so that turning back waits for nothing. */
const AHEAD = [0, 1, -1, -2, 2, 3, 4, 5, 6];

/** @typedef {import("./api.js").Levels} Levels */

export class Film {
  /** @param {import("./api.js").Clip} clip @param {() => void} changed */
  constructor(clip, changed) {
    this.clip = clip;
    this.changed = changed;
    /** @type {Map<number, Levels>} */
    this.held = new Map();
    this.bytes = 0;
    /** @type {Map<number, Promise<void>>} */
    this.coming = new Map();
    this.wanted = -1;
    this.direction = 1;
    /** Why the frame that is wanted does not come. */
    this.fault = "";
    /** Darkest and brightest level that are told apart, shares of the full scale. @type {[number, number] | null} */
    this.ends = null;
    /** Frames that are drawn already, the one used last at the end. @type {Map<string, HTMLCanvasElement>} */
    this.drawn = new Map();
  }

  /** @param {number} frame */
  has(frame) {
    return this.held.has(frame);
  }

  /** Asks for a frame, and for those that will be wanted after it. @param {number} frame @param {number} moving */
  want(frame, moving) {
    if (moving) this.direction = moving;
    else if (frame !== this.wanted && this.wanted >= 0) this.direction = frame > this.wanted ? 1 : -1;
    this.wanted = frame;
    if (this.held.has(frame)) this.fault = "";
    this.next();
  }

  next() {
    if (this.coming.size >= 2) return;
    for (const i of AHEAD) {
      const frame = this.wanted + i * this.direction;
      if (frame < 0 || this.held.has(frame) || this.coming.has(frame)) continue;
      // Beyond what is wanted nothing is insisted on.
      if (i !== 0 && this.fault) return;
      this.coming.set(frame, this.fetch(frame));
      if (this.coming.size >= 2) return;
    }
  }

  /** @param {number} frame */
  async fetch(frame) {
    try {
      const levels = await fetched(this.clip, frame);
      this.keep(frame, levels);
      if (frame === this.wanted) this.fault = "";
      // The next ones are drawn before they are asked for.
      if (Math.abs(frame - this.wanted) === 1) setTimeout(() => Math.abs(frame - this.wanted) <= 1 && this.picture(frame));
    } catch (why) {
      if (frame === this.wanted) this.fault = /** @type {Error} */ (why).message;
    }
    this.coming.delete(frame);
    if (frame === this.wanted) this.changed();
    if (!this.fault) this.next();
  }

  /** @param {number} frame @param {Levels} levels */
  keep(frame, levels) {
    this.held.set(frame, levels);
    this.bytes += levels.levels.byteLength;
    if (!this.ends) this.ends = stretch(levels);
    while (this.bytes > WINDOW && this.held.size > 1) {
      let far = frame;
      for (const known of this.held.keys()) {
        if (Math.abs(known - this.wanted) > Math.abs(far - this.wanted)) far = known;
      }
      this.bytes -= this.held.get(far)?.levels.byteLength ?? 0;
      this.held.delete(far);
    }
  }

  /** The frame as a picture; null while it is on its way. @param {number} frame */
  picture(frame) {
    const levels = this.held.get(frame);
    if (!levels || !this.ends) return null;
    const key = `${frame} ${this.ends.join()}`;
    let picture = this.drawn.get(key);
    this.drawn.delete(key);
    if (!picture) {
      const oldest = this.drawn.size >= DRAWN ? this.drawn.keys().next().value : undefined;
      picture = painted(levels, this.ends, oldest === undefined ? null : this.drawn.get(oldest));
      if (oldest !== undefined) this.drawn.delete(oldest);
    }
    this.drawn.set(key, picture);
    return picture;
  }
}

/** Levels between which nearly all of a picture lies, as shares of the full scale. @param {Levels} levels @returns {[number, number]} */
function stretch({ levels, bits }) {
  const full = 2 ** bits - 1;
  const counts = new Uint32Array(256);
  const step = Math.max(1, Math.floor(levels.length / 40000));
  let all = 0;
  for (let i = 0; i < levels.length; i += step) {
    counts[Math.min(255, Math.floor((levels[i] * 256) / (full + 1)))]++;
    all++;
  }
  const at = (/** @type {number} */ share) => {
    let sum = 0;
    for (let i = 0; i < 256; i++) {
      sum += counts[i];
      if (sum >= share * all) return i / 255;
    }
    return 1;
  };
  const [low, high] = [at(0.002), at(0.998)];
  return high - low > 0.02 ? [low, high] : [0, 1];
}

/**
 * @param {Levels} frame @param {[number, number]} ends @param {any} old
 * @returns {HTMLCanvasElement}
 */
function painted({ levels, bits, width, height }, [low, high], old) {
  const canvas = old instanceof HTMLCanvasElement ? old : document.createElement("canvas");
  if (canvas.width !== width || canvas.height !== height) {
    canvas.width = width;
    canvas.height = height;
  }
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { alpha: false }));
  const image = context.createImageData(width, height);
  const full = 2 ** bits - 1;
  const span = Math.max(1e-6, high - low);
  const grey = new Uint32Array(full + 1);
  for (let level = 0; level <= full; level++) {
    const value = Math.round(255 * Math.min(1, Math.max(0, (level / full - low) / span)));
    grey[level] = (255 << 24) | (value << 16) | (value << 8) | value;
  }
  const pixels = new Uint32Array(image.data.buffer);
  for (let i = 0; i < pixels.length; i++) pixels[i] = grey[levels[i]];
  context.putImageData(image, 0, 0);
  return canvas;
}
