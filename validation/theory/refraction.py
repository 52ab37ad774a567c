"""Blind zone of a ball of liquid by followed rays: the rays are taken evenly in the angle of incidence, so that those at the very edge of
the disc, where all changes with the root of the distance from it, are not missed."""
import math
import numpy as np


def reach(z, n, count=400001):
    t = np.linspace(0, math.pi / 2, count)
    b = np.sin(t)
    inside = t - np.arcsin(b / n)                 # direction of the ray inside against the axis
    px, pz = np.sin(t), np.cos(t)                 # where it leaves the ball
    x = px + (z - pz) * np.tan(inside)
    ok = (z <= pz + 1e-12) & (x * x + z * z <= 1 + 1e-12)
    return x[ok].max(), b[ok][x[ok].argmax()]


if __name__ == "__main__":
    for z in (-0.2, -0.5, -0.8, -0.95):
        print("blind beyond, z", z, "x %.9f at b %.6f" % reach(z, 1.333))
