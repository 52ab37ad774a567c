// A run that was computed has no frame: its bodies swing about the origin, and are moved into view as a whole.

/** Moves the bodies of a computed run into view; returns by how much, px. @param {import("./lanes.js").Lanes} lanes @returns {[number, number]} */
export function centred(lanes) {
  const least = (/** @type {"x" | "y"} */ side) => Math.min(...lanes.bodies.flatMap((body) => body[side].map((v, i) => v - 1.5 * body.radius[i])));
  const shift = /** @type {[number, number]} */ ([-least("x"), -least("y")]);
  if (!shift.every(Number.isFinite)) return [0, 0];
  for (const body of lanes.bodies) {
    body.x = body.x.map((x) => x + shift[0]);
    body.y = body.y.map((y) => y + shift[1]);
  }
  return shift;
}

/** Outlines moved along. @param {import("./pictures.js").Outline[]} found @param {[number, number]} shift */
export function along(found, [dx, dy]) {
  for (const one of found) for (const stretch of one.stretches) stretch.points = stretch.points.map(([x, y]) => [x + dx, y + dy]);
  return found;
}
