// The one clock: which frame is shown, and how it moves on. Pictures and lanes all listen to it.

/** @typedef {(clock: Clock) => void} Listener */

export class Clock {
  /**
   * @param {number} first Number of the first frame.
   * @param {number} count How many frames; may grow.
   * @param {(frame: number) => number | null} timeOf Real time of a frame, s.
   */
  constructor(first, count, timeOf) {
    this.first = first;
    this.count = count;
    this.timeOf = timeOf;
    this.frame = first;
    /** 1 forwards, -1 backwards, 0 still. */
    this.moving = 0;
    /** Frames shown for each second that passes. */
    this.pace = 24;
    /** @type {[number, number] | null} */
    this.loop = null;
    /** @type {Set<Listener>} */
    this.listeners = new Set();
    /** Whether the frame that is due can be shown; playing waits for it. @type {() => boolean} */
    this.ready = () => true;
    this.owed = 0;
    this.last = 0;
  }

  get end() {
    return this.first + this.count - 1;
  }

  get time() {
    return this.timeOf(this.frame);
  }

  /** @param {Listener} listener */
  heard(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  tell() {
    for (const listener of this.listeners) listener(this);
  }

  /** @param {number} frame */
  to(frame) {
    const next = Math.round(Math.min(this.end, Math.max(this.first, frame)));
    if (next === this.frame) return;
    this.frame = next;
    this.tell();
  }

  /** The frame nearest to a time. @param {number} time */
  toTime(time) {
    let [low, high] = [this.first, this.end];
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((this.timeOf(middle) ?? 0) < time) low = middle + 1;
      else high = middle;
    }
    const before = Math.max(this.first, low - 1);
    const nearer = Math.abs((this.timeOf(before) ?? 0) - time) < Math.abs((this.timeOf(low) ?? 0) - time);
    this.to(nearer ? before : low);
  }

  /** @param {number} frames */
  step(frames) {
    this.stop();
    this.to(this.frame + frames);
  }

  stop() {
    if (this.moving === 0) return;
    this.moving = 0;
    this.tell();
  }

  /** Plays on, or stops when it plays that way already. @param {number} direction */
  play(direction) {
    if (this.moving === direction) return this.stop();
    this.moving = direction;
    const [from, to] = this.loop ?? [this.first, this.end];
    if (direction > 0 && this.frame >= to) this.to(from);
    if (direction < 0 && this.frame <= from) this.to(to);
    this.owed = 0;
    this.last = performance.now();
    this.tell();
    requestAnimationFrame((now) => this.tick(now));
  }

  /** @param {number} now */
  tick(now) {
    if (this.moving === 0) return;
    const passed = Math.min(0.25, Math.max(0, (now - this.last) / 1000));
    this.last = now;
    if (this.ready()) {
      this.owed += passed * this.pace;
      const whole = Math.floor(this.owed);
      this.owed -= whole;
      if (whole > 0) this.moveOn(whole * this.moving);
    }
    requestAnimationFrame((later) => this.tick(later));
  }

  /** @param {number} frames */
  moveOn(frames) {
    const [from, to] = this.loop ?? [this.first, this.end];
    const next = this.frame + frames;
    if (next >= from && next <= to) return this.to(next);
    if (this.loop) return this.to(frames > 0 ? from : to);
    this.to(frames > 0 ? to : from);
    this.stop();
  }

  /** @param {[number, number] | null} loop */
  round(loop) {
    this.loop = loop && (loop[0] < loop[1] ? loop : [loop[1], loop[0]]);
    this.tell();
  }
}
