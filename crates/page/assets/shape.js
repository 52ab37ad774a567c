// Shapes from amplitudes: r(theta) = R (1 + sum a_n P_n(cos theta)), theta from the axis, which is measured from image-up.

/**
 * Legendre polynomials P_0 to P_most at x.
 * @param {number} most @param {number} x
 */
export function legendre(most, x) {
  const p = [1, x];
  for (let n = 2; n <= most; n++) p[n] = ((2 * n - 1) * x * p[n - 1] - (n - 1) * p[n - 2]) / n;
  return p;
}

/**
 * r(theta) / R; the constant term keeps the volume to second order.
 * @param {Map<number, number>} amplitudes Degree to amplitude.
 * @param {number} theta
 */
export function reach(amplitudes, theta) {
  const most = Math.max(1, ...amplitudes.keys());
  const p = legendre(most, Math.cos(theta));
  let r = 1;
  for (const [n, a] of amplitudes) r += a * p[n] - (a * a) / (2 * n + 1);
  return r;
}

/**
 * The outline as places, px.
 * @param {Map<number, number>} amplitudes @param {[number, number]} centre @param {number} radius @param {number} axis
 * @returns {[number, number][]}
 */
export function outline(amplitudes, [x, y], radius, axis) {
  const points = [];
  for (let i = 0; i < 180; i++) {
    const theta = (i / 180) * 2 * Math.PI;
    const r = radius * reach(amplitudes, theta);
    const angle = axis + theta;
    points.push(/** @type {[number, number]} */ ([x + r * Math.sin(angle), y - r * Math.cos(angle)]));
  }
  return points;
}

/**
 * What theory expects of a mode at a time.
 * @param {{start: number, cosine: number, sine: number, angular_frequency: number, decay: number}} begun @param {number} time
 */
export function expected(begun, time) {
  const t = time - begun.start;
  const turn = begun.angular_frequency * t;
  return Math.exp(-begun.decay * t) * (begun.cosine * Math.cos(turn) + begun.sine * Math.sin(turn));
}

/** The place in an ascending list nearest to a value. @param {number[]} list @param {number} value */
export function nearest(list, value) {
  let [low, high] = [0, list.length - 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle] < value) low = middle + 1;
    else high = middle;
  }
  return low > 0 && Math.abs(list[low - 1] - value) < Math.abs(list[low] - value) ? low - 1 : low;
}
