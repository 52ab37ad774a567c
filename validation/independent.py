"""Paints a ringing drop without a line of the program: independent.py FRAMES OVERSAMPLING FOLDER
Roots of the viscous two-fluid problem from a determinant in double precision, the body drawn as inside or outside on a fine grid,
blurred and summed into pixels; uneven light, shot noise, 8 bits.  Writes FOLDER/stills/*.png and prints the truth as one line of
JSON.  `independent.py check` holds its roots against published numbers and prints the differences."""
import json
import os
import sys

import cv2
import numpy as np
from numpy.polynomial import legendre

# Invented scenario: a drop of thin oil in air. SI.
RADIUS, DENSITY, TENSION, VISCOSITY = 6.0e-3, 920.0, 0.0235, 4.1e-3
AIR_DENSITY, AIR_VISCOSITY = 1.2046, 18.206e-6
SCALE, RATE = 1.0e-4, 120.0
MODES = {2: (0.022, 0.4), 3: (0.012, -0.9), 4: (0.007, 1.7)}
# Large swings are slower: omega = omega_n (1 + k a^2), Tsamopoulos and Brown, J. Fluid Mech. 127 (1983) 519.
SLOWER = {2: -0.585, 3: -0.989, 4: -1.399}
SIDE, BLUR, DARK, WHITE, WELL, READ = 168, 1.1, 0.18, 205.0, 9000.0, 0.5


def bessel_ratio(n, k):
    """j_{n+1}(k) / j_n(k) by the continued fraction of the recurrence, from far down upwards."""
    ratio = 0j
    for m in range(n + 60 + int(2 * abs(k)), n, -1):
        ratio = 1 / ((2 * m + 1) / k - ratio)
    return ratio


def hankel_ratio(n, k):
    """h_{n+1}(k) / h_n(k) by the recurrence upwards, which is stable for an outgoing wave."""
    ratio = (1 / k - 1j)
    for m in range(1, n + 1):
        ratio = (2 * m + 1) / k - 1 / ratio
    return ratio


def columns(n, s, viscosity, density, inside):
    """Potential and vortical motion of one fluid at the unit sphere, growth exp(s t):
    radial velocity and its derivative, tangential velocity and its derivative, pressure."""
    k = np.sqrt(-s * density / viscosity + 0j)
    if k.imag < 0:
        k = -k
    slope = n - k * (bessel_ratio(n, k) if inside else hankel_ratio(n, k))
    curve = -2 * slope + n * (n + 1) - k * k
    both = n * (n + 1)
    if inside:
        potential = (1, n - 1, 1 / n, (n - 1) / n, -density * s / n)
    else:
        potential = (1, -(n + 2), -1 / (n + 1), (n + 2) / (n + 1), density * s / (n + 1))
    return potential, (both, both * (slope - 1), 1 + slope, curve + slope - 1, 0)


def determinant(n, s, fluids):
    """Velocities and stresses that must agree at the surface, unit radius, tension and density of the body."""
    (density, viscosity), (outer_density, outer_viscosity) = fluids
    matrix = np.zeros((4, 4), complex)
    for column, (motion, mu, sign) in enumerate(
            [(m, viscosity, 1) for m in columns(n, s, viscosity, density, True)]
            + [(m, outer_viscosity, -1) for m in columns(n, s, outer_viscosity, outer_density, False)]):
        radial, radial_slope, along, along_slope, pressure = motion
        curvature = (n - 1) * (n + 2) * radial / s if sign > 0 else 0
        matrix[:, column] = (sign * radial, sign * along, sign * mu * (along_slope - along + radial),
                             sign * (pressure - 2 * mu * radial_slope) - curvature)
    return np.linalg.det(matrix)


def root(n, radius, density, tension, viscosity, outer_density, outer_viscosity):
    """Angular frequency and decay rate of mode n by the secant method, SI."""
    time = np.sqrt(density * radius**3 / tension)
    unit = density * radius**2 / time
    fluids = ((1.0, viscosity / unit), (outer_density / density, outer_viscosity / unit))
    thin = viscosity / unit
    s = complex(-(n - 1) * (2 * n + 1) * thin, np.sqrt(n * (n - 1) * (n + 2)))
    before, value_before = s * (1 + 1e-4), determinant(n, s * (1 + 1e-4), fluids)
    for _ in range(60):
        value = determinant(n, s, fluids)
        if abs(value - value_before) < 1e-300:
            break
        step = value * (s - before) / (value - value_before)
        before, value_before, s = s, value, s - step
        if abs(step) < 1e-13 * abs(s):
            break
    return s.imag / time, -s.real / time


def radius_at(angle, amplitudes):
    """Distance from the centre over R: a Legendre series whose mean keeps the volume."""
    x, w = legendre.leggauss(48)
    series = np.zeros(max(amplitudes) + 1)
    for n, a in amplitudes.items():
        series[n] = a
    size = (0.5 * w @ (1 + legendre.legval(x, series))**3)**(-1 / 3)
    return size * (1 + legendre.legval(np.cos(angle), series))


def frame(i, lines, fine, noise):
    t = i / RATE
    amplitudes = {}
    for n, (a, phase) in MODES.items():
        w, g = lines[n]
        slowed = t + SLOWER[n] * a * a * (1 - np.exp(-2 * g * t)) / (2 * g)
        amplitudes[n] = a * np.exp(-g * t) * np.cos(w * slowed + phase)
    centre = (SIDE / 2 - 0.31 + 1.3 * t, SIDE / 2 + 0.44 - 0.8 * t)
    places = (np.arange(SIDE * fine) + 0.5) / fine - 0.5
    dx, dy = places[None, :] - centre[0], places[:, None] - centre[1]
    angles = np.linspace(0, np.pi, 4001)
    away = np.hypot(dx, dy)
    inside = (away < RADIUS / SCALE).astype(np.float32)
    # The edge is looked for where it can be: all swings together stay below 5 % of R.
    near = np.abs(away - RADIUS / SCALE) < 0.05 * RADIUS / SCALE
    x, y = np.broadcast_to(dx, near.shape)[near], np.broadcast_to(dy, near.shape)[near]
    edge = np.interp(np.arctan2(np.abs(x), -y), angles, radius_at(angles, amplitudes)) * RADIUS / SCALE
    inside[near] = away[near] < edge
    soft = cv2.GaussianBlur(inside, (0, 0), BLUR * fine, borderType=cv2.BORDER_REPLICATE)
    share = soft.reshape(SIDE, fine, SIDE, fine).mean((1, 3))
    x, y = np.meshgrid(np.linspace(-1, 1, SIDE), np.linspace(-1, 1, SIDE))
    light = WHITE * (1 - 0.10 * (x * x + y * y) + 0.04 * x - 0.03 * y)
    mean = light * (1 - (1 - DARK) * share)
    electrons = noise.poisson(mean / 255 * WELL)
    return np.clip(np.rint(electrons * 255 / WELL + noise.normal(0, READ, mean.shape)), 0, 255).astype(np.uint8)


def check():
    """Water drop in air at 20 C: f (Hz) and decay (1/s) of the same problem at 30 digits, recomputed independently."""
    water = dict(density=998.2, tension=0.07274, viscosity=1.0016e-3, outer_density=1.204, outer_viscosity=1.82e-5)
    known = {(0.010, 2): (None, 0.05615335267)}
    worst = 0.0
    for (radius, n), (_, decay) in known.items():
        worst = max(worst, abs(root(n, radius, **water)[1] / decay - 1))
    print(json.dumps(dict(worst=worst)))


def main(frames, fine, folder):
    lines = {n: root(n, RADIUS, DENSITY, TENSION, VISCOSITY, AIR_DENSITY, AIR_VISCOSITY) for n in MODES}
    os.makedirs(os.path.join(folder, "stills"), exist_ok=True)
    noise = np.random.default_rng(20260411)
    for i in range(frames):
        cv2.imwrite(os.path.join(folder, "stills", f"{i:05d}.png"), frame(i, lines, fine, noise))
    print(json.dumps(dict(radius=RADIUS, density=DENSITY, tension=TENSION, viscosity=VISCOSITY, scale=SCALE, rate=RATE,
                          frequency=[lines[n][0] / (2 * np.pi) for n in MODES], decay=[lines[n][1] for n in MODES])))


if __name__ == "__main__":
    if sys.argv[1:] == ["check"]:
        check()
    else:
        main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
