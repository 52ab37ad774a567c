"""Draws a clip of a bright drop over clutter by the reference generator: make_bright.py SEED FRAMES RATE FOLDER
Writes FOLDER/stills/*.png, the clutter and the noise from SEED, and prints the truth as one line of JSON; amplitudes are over
the radius of the sphere of the same volume."""
import json
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "baseline"))
import cv2
import gen
import numpy as np


def draw(seed, frames, rate, folder):
    stills = os.path.join(folder, "stills")
    os.makedirs(stills, exist_ok=True)
    width, height, _, radius = gen.SIZES["small"]
    noise = np.random.default_rng([seed, 1])
    wall = gen.clutter(width, height, seed)
    times = np.arange(frames) / rate
    swings = gen.amps(times)
    amplitudes = []
    for i, (t, a) in enumerate(zip(times, swings)):
        light = gen.bright(a, *gen.centre(t, width, height), width, height, radius, wall)
        cv2.imwrite(os.path.join(stills, f"{i:05d}.png"), gen.expose(light, noise))
        amplitudes.append([float(v) for v in a * gen.outline(a, radius)[3]])
    return dict(radius_px=radius, amplitudes=amplitudes)


if __name__ == "__main__":
    print(json.dumps(draw(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]), sys.argv[4])))
