"""Draws an invented campaign of ringing drops and writes an experiment file for each: make_campaign.py FOLDER [RUN ...]

Eight drops of one batch of glycerol and water, five filmed with one calibration and three with another, and one of water. Stated scales, depths
and temperatures differ from the true ones by about a standard uncertainty each; scale errors are the same in all runs of a calibration. The
surface of p17 is dirty: its tension is 2.5 % lower. Frequencies and decay rates are poles of the transform in theory/in_gas.py, which shares
no code with the program; the outline is painted from the signed distance to it. What the program made of the clips stands in
examples/compare (experiment.toml and findings.json of each run)."""
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "theory"))
import cv2
import in_gas
import mpmath as mp
import numpy as np
from scipy.special import erf, eval_legendre

GAS = dict(density=0.985, viscosity=1.83e-5)
FRAMES, RATE, WIDTH, DISTANCE = 300, 240.0, 300, 0.605
SLOWED = {2: -0.585, 3: -0.989, 4: -1.399}
MIX = dict(name="glycerol-water", density=1098.3, tension=0.06945, viscosity=3.21e-6,
           more='mass_fraction = "0.40 +- 0.005"\nbatch = "mix-2"\n')
WATER = dict(name="water", density=997.8, tension=0.07244, viscosity=9.55e-7, more="")
HERON3 = dict(name="heron-3", true=6.012e-5, stated="0.0600 +- 0.0002")
HERON4 = dict(name="heron-4", true=5.03e-5, stated="0.0500 +- 0.0002")
# Name, radius in m, liquid, calibration, temperature as stated, tension over that of the liquid.
RUNS = [("p11", 6.6e-3, MIX, HERON3, "22", 1), ("p12", 7.1e-3, MIX, HERON3, "22", 1), ("p13", 7.6e-3, MIX, HERON3, "22.4", 1),
        ("p14", 8.0e-3, MIX, HERON3, "22", 1), ("p15", 6.9e-3, MIX, HERON3, "21.7", 1), ("p16", 6.3e-3, MIX, HERON4, "22", 1),
        ("p17", 5.7e-3, MIX, HERON4, "22.1", 0.975), ("p18", 6.0e-3, MIX, HERON4, "22", 1), ("p21", 7.2e-3, WATER, HERON3, "22", 1)]
EXPERIMENT = """# Invented scenario: the Heron campaign.
format = 1
title  = "Split-cup release, Heron campaign, parabola {number}"
kind   = "release"

[liquid]
name = "{liquid}"
{more}temperature = "{temperature} +- 0.5 degC"

[gas]
name = "air"
temperature = "22 +- 1 degC"
pressure = "84 +- 1 kPa"
relative_humidity = "40 % +- 10 %"

[surroundings]
place = "parabolic-flight"

[camera]
capture_rate = "240 fps"
scale = "{scale} mm/px"
calibration = "{calibration}"
distance = "0.60 +- 0.01 m"
depth = "0 +- 1 mm"
exposure = "0.3 ms"
readout_time = "0 ms"
held = ["focus", "zoom", "exposure"]

[clip]
path = "clip"
"""


def line(n, radius, tension, liquid):
    """Decay rate and angular frequency of degree n: the pole of the transform nearest to the inviscid mode."""
    mp.mp.dps = 25
    total = liquid["density"] + GAS["density"]
    time = mp.sqrt(total * mp.mpf(radius) ** 3 / tension)
    unit = mp.sqrt(total * tension * radius)
    inside, outside = liquid["viscosity"] * liquid["density"] / unit, GAS["viscosity"] / unit
    of = lambda s: 1 / in_gas.transform(n, s, liquid["density"] / total, inside, GAS["density"] / total, outside, mp.mpf(1), mp.mpf(0))
    start = mp.mpc(-1.05 * (n - 1) * (2 * n + 1) * inside, mp.sqrt(n * (n - 1) * (n + 2)))
    pole = mp.findroot(of, start)
    return float(-pole.real / time), float(pole.imag / time)


def outline(modes, t):
    """Amplitudes at a time, and the factor that keeps the volume."""
    a = {}
    for n, size, phase, decay, angular in modes:
        slowed = t + SLOWED[n] * size**2 * (1 - np.exp(-2 * decay * t)) / (2 * decay)
        a[n] = size * np.exp(-decay * t) * np.cos(angular * slowed + phase)
    x = np.linspace(-1, 1, 401)
    shape = 1 + sum(a[n] * eval_legendre(n, x) for n in a)
    return a, (np.trapezoid(shape**3, x) / 2) ** (-1 / 3)


def draw(folder, radius_px, modes, rng):
    os.makedirs(folder, exist_ok=True)
    rows, columns = np.mgrid[0:WIDTH, 0:WIDTH].astype(float)
    tilt = 0.1
    for i in range(FRAMES):
        t = i / RATE
        a, keep = outline(modes, t)
        dx, dy = columns - (WIDTH / 2 + 1.3 + 2 * t), rows - (WIDTH / 2 - 2.1 - 1.5 * t)
        r = np.hypot(dx, dy)
        x = (dx * np.sin(tilt) - dy * np.cos(tilt)) / np.maximum(r, 1e-9)
        edge = radius_px * keep * (1 + sum(a[n] * eval_legendre(n, x) for n in a))
        above, below = np.clip(x + 1e-4, -1, 1), np.clip(x - 1e-4, -1, 1)
        slope = radius_px * keep * sum(a[n] * (eval_legendre(n, above) - eval_legendre(n, below)) / 2e-4 for n in a)
        slope *= np.sqrt(np.maximum(1 - x * x, 0)) / np.maximum(edge, 1)
        away = (r - edge) / np.sqrt(1 + slope**2)
        grey = 30 + 90 * (1 + erf(away / np.sqrt(2))) + rng.normal(0, 1.2, r.shape)
        cv2.imwrite(os.path.join(folder, f"{i:05d}.png"), np.clip(np.rint(grey), 0, 255).astype(np.uint8))


def main(folder, chosen):
    depths = np.random.default_rng(8).normal(0, 1e-3, len(RUNS))
    for k, (name, radius, liquid, calibration, temperature, dirt) in enumerate(RUNS):
        if chosen and name not in chosen:
            continue
        rng = np.random.default_rng(100 + k)
        sizes = zip((2, 3, 4), (0.05, 0.02, 0.012))
        modes = [(n, a * rng.uniform(0.8, 1.2), rng.uniform(-3, 3), *line(n, radius, dirt * liquid["tension"], liquid)) for n, a in sizes]
        seen = radius / np.sqrt(1 - (radius / (DISTANCE + depths[k])) ** 2)
        pixels = seen / (calibration["true"] * (1 + depths[k] / DISTANCE))
        draw(os.path.join(folder, name, "clip"), pixels, modes, rng)
        with open(os.path.join(folder, name, "experiment.toml"), "w") as out:
            out.write(EXPERIMENT.format(number=name[1:], liquid=liquid["name"], more=liquid["more"], temperature=temperature,
                                        scale=calibration["stated"], calibration=calibration["name"]))
        print(name, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
