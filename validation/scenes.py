"""Paints drawn scenes without a line of the program: scenes.py EFFECT SEED FRAMES OVERSAMPLING FOLDER
A solid drop of drawn size, liquid and swings is looked at by a camera; EFFECT says what makes it hard:
  plain        axis in the picture, far camera
  tilt         axis 10 to 35 degrees out of the picture
  order        tesseral and sectoral modes of the same degrees beside the zonal ones
  perspective  camera at 8 to 14 radii
  shutter      rows are read one after the other during 30 to 80 % of the frame
  shake        the camera moves before a wall with marks
Each pixel of an edge is drawn as inside or outside on a fine grid, blurred and summed; uneven light, shot noise, 8 bits.  The outline
is that of the three-dimensional body: in each direction of the picture the farthest of all its points.  Writes FOLDER/stills/*.png
and prints the truth as one line of JSON.  Roots of the modes are those of independent.py; nothing else is shared."""
import json
import os
import sys

import cv2
import numpy as np
from scipy.special import eval_legendre, lpmv

from independent import AIR_DENSITY, AIR_VISCOSITY, SLOWER, root

SIDE = 128
DEGREES = (2, 3, 4)
# Elevations out of the picture at which the body is looked at; a swing of 5 % moves its rim by less than 0.4 rad.
ELEVATION = np.linspace(-0.6, 0.6, 81)
AROUND = np.linspace(0, 2 * np.pi, 361)


def drawn(effect, seed):
    """The truth of a scene, SI, and its random numbers."""
    draw = np.random.default_rng([seed, sum(map(ord, effect))])
    size = draw.uniform(36, 48)
    scale = draw.uniform(0.8e-4, 1.6e-4)
    truth = dict(effect=effect, scale=scale, radius=size * scale, density=draw.uniform(880, 1180),
                 tension=draw.uniform(0.022, 0.073))
    truth["viscosity"] = draw.uniform(0.006, 0.02) * np.sqrt(truth["density"] * truth["tension"] * truth["radius"])
    period = 2 * np.pi / np.sqrt(8 * truth["tension"] / (truth["density"] * truth["radius"]**3))
    truth["rate"] = round(draw.uniform(24, 36) / period, 2)
    truth["swings"] = {n: (draw.uniform(0.7, 1.3) * a, draw.uniform(0, 2 * np.pi)) for n, a in zip(DEGREES, (0.02, 0.012, 0.006))}
    truth["tilt"] = np.radians(draw.uniform(10, 35)) if effect == "tilt" else 0.0
    truth["distance"] = draw.uniform(8, 14) * truth["radius"] if effect == "perspective" else None
    truth["readout"] = draw.uniform(0.3, 0.8) / truth["rate"] if effect == "shutter" else None
    truth["tesseral"] = {n: (draw.uniform(0.3, 0.8) * truth["swings"][n][0], draw.uniform(0, 2 * np.pi), draw.integers(1, n + 1),
                             draw.uniform(0, 2 * np.pi)) for n in DEGREES} if effect == "order" else {}
    truth["centre"] = (SIDE / 2 + draw.uniform(-1, 1), SIDE / 2 + draw.uniform(-1, 1))
    truth["drift"] = (draw.uniform(-2, 2), draw.uniform(-2, 2))
    truth["axis"] = draw.uniform(-0.5, 0.5)
    truth["shake"] = [(draw.uniform(0.3, 1.0), draw.uniform(0.6, 1.7), draw.uniform(0, 6)) for _ in range(4)] if effect == "shake" else []
    truth["marks"] = [(x, y, draw.uniform(1.2, 2.2)) for x, y in draw.uniform(4, SIDE - 4, (160, 2))
                      if np.hypot(x - SIDE / 2, y - SIDE / 2) > 1.15 * size + 8]
    truth["blur"], truth["well"] = draw.uniform(0.9, 1.6), draw.uniform(4000, 12000)
    return truth, draw


def outline(truth, lines, t):
    """Distance of the rim from the centre over R, in the directions AROUND of the picture."""
    beta, psi = np.meshgrid(AROUND, ELEVATION, indexing="ij")
    # Direction in the frame of the camera: x right, y up along the axis of the picture, z to the camera.
    x, y, z = np.cos(psi) * np.sin(beta), np.cos(psi) * np.cos(beta), np.sin(psi)
    c, s = np.cos(truth["tilt"]), np.sin(truth["tilt"])
    cosine, side, front = c * y + s * z, x, c * z - s * y
    azimuth = np.arctan2(front, side)
    shape, square = np.zeros_like(cosine), 0.0
    for n, (a, phase) in truth["swings"].items():
        w, g = lines[n]
        slow = t + SLOWER[n] * a * a * (1 - np.exp(-2 * g * t)) / (2 * g)
        now = a * np.exp(-g * t) * np.cos(w * slow + phase)
        shape += now * eval_legendre(n, cosine)
        square += now * now / (2 * n + 1)
    for n, (a, phase, m, turn) in truth["tesseral"].items():
        w, g = lines[n]
        now = a * np.exp(-g * t) * np.cos(w * t + phase)
        pattern = lpmv(m, n, cosine) * np.cos(m * azimuth + turn)
        most = np.abs(lpmv(m, n, np.linspace(-1, 1, 2001))).max()
        shape += now * pattern / most
        nodes, weights = np.polynomial.legendre.leggauss(40)
        square += now * now * (weights @ (lpmv(m, n, nodes) / most)**2) / 4
    # The mean radius keeps the volume to second order: V ~ mean of (1 + c + f)^3, third powers are below 1e-5.
    away = (1 + shape - square) * truth["radius"]
    seen = away * np.cos(psi)
    if truth["distance"]:
        seen = seen / (1 - away * np.sin(psi) / truth["distance"])
    at = np.clip(seen.argmax(1), 1, len(ELEVATION) - 2)
    rows = np.arange(len(AROUND))
    low, mid, high = seen[rows, at - 1], seen[rows, at], seen[rows, at + 1]
    return mid - (high - low)**2 / (8 * (high - 2 * mid + low))


def frame(truth, lines, i, fine, noise):
    pixel, t = truth["scale"], i / truth["rate"]
    readout = truth["readout"] or 0.0
    # Instants of the rows: the middle row is read at the time of the frame.
    delays = readout * np.array([-0.5, -0.25, 0.0, 0.25, 0.5])
    rims = np.array([outline(truth, lines, t + d) for d in (delays if readout else delays[2:3])]) / pixel
    places = (np.arange(SIDE * fine) + 0.5) / fine - 0.5
    row_delay = readout * ((np.arange(SIDE * fine) // fine) / (SIDE - 1) - 0.5)
    now = t + row_delay[:, None]
    swing = [sum(a * np.cos(2 * np.pi * f * truth["rate"] / 40 * t + p + k) for a, f, p in truth["shake"][k::2]) for k in (0, 1)]
    centre = [truth["centre"][k] + truth["drift"][k] * now * truth["rate"] / 100 + swing[k] for k in (0, 1)]
    dx, dy = np.broadcast_arrays(places[None, :] - centre[0], places[:, None] - centre[1])
    away, mean = np.hypot(dx, dy), rims.mean()
    inside = (away < mean).astype(np.float32)
    near = np.abs(away - mean) < 0.09 * mean
    angle = np.mod(np.arctan2(dx[near], -dy[near]) - truth["axis"], 2 * np.pi)
    if readout:
        u = np.broadcast_to(row_delay[:, None], near.shape)[near] / readout
        knots = [np.interp(angle, AROUND, rim) for rim in rims]
        at = (-0.5, -0.25, 0.0, 0.25, 0.5)
        edge = sum(knots[j] * np.prod([(u - at[k]) / (at[j] - at[k]) for k in range(5) if k != j], axis=0) for j in range(5))
    else:
        edge = np.interp(angle, AROUND, rims[0])
    inside[near] = away[near] < edge
    soft = cv2.GaussianBlur(inside, (0, 0), truth["blur"] * fine, borderType=cv2.BORDER_REPLICATE)
    share = soft.reshape(SIDE, fine, SIDE, fine).mean((1, 3))
    x, y = np.meshgrid(np.linspace(-1, 1, SIDE), np.linspace(-1, 1, SIDE))
    light = 205 * (1 - 0.10 * (x * x + y * y) + 0.04 * x - 0.03 * y)
    if truth["shake"]:
        columns, rows = np.meshgrid(np.arange(SIDE), np.arange(SIDE))
        for mx, my, width in truth["marks"]:
            light = light * (1 - 0.25 * np.exp(-((columns - mx - swing[0])**2 + (rows - my - swing[1])**2) / (2 * width**2)))
    mean = light * (1 - 0.82 * share)
    electrons = noise.poisson(mean / 255 * truth["well"])
    return np.clip(np.rint(electrons * 255 / truth["well"] + noise.normal(0, 0.5, mean.shape)), 0, 255).astype(np.uint8)


def main(effect, seed, frames, fine, folder):
    truth, noise = drawn(effect, seed)
    lines = {n: root(n, truth["radius"], truth["density"], truth["tension"], truth["viscosity"], AIR_DENSITY, AIR_VISCOSITY)
             for n in DEGREES}
    os.makedirs(os.path.join(folder, "stills"), exist_ok=True)
    for i in range(frames):
        cv2.imwrite(os.path.join(folder, "stills", f"{i:05d}.png"), frame(truth, lines, i, fine, noise))
    told = {key: truth[key] for key in ("radius", "density", "tension", "viscosity", "scale", "rate", "distance", "readout")}
    print(json.dumps(told))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]), sys.argv[5])
