"""Light along single rays through balls, spheroids and bubbles: a second ray trace, by quadratics, that shares nothing with the program.

usage: traced.py FILE     reads lines, prints one light for each ray

  scene board DISTANCE DARK LIGHT PERIOD_X PERIOD_Y HALF_X HALF_Y BORDER    waves on a board across z
  scene room OVERHEAD UNDERFOOT                                             what is seen where no board is
  ball  X Y Z AX AY AZ ALONG ACROSS N_IN K_IN N_OUT K_OUT    spheroid with half axes ALONG and ACROSS its axis A
  ray   X Y Z DX DY DZ

A body's `N_OUT`, `K_OUT` are index and absorption (1/m) of what it lies in. Every branch is followed down to 1e-6 of the whole.
Formulas: Snell, Fresnel (unpolarised at each surface), Beer and Lambert.
"""

import sys
from math import cos, exp, pi, sqrt

import numpy as np

FAINT, DEEP = 1e-6, 200


class Spheroid:
    def __init__(self, numbers):
        numbers = [float(x) for x in numbers]
        self.centre = np.array(numbers[0:3])
        axis = np.array(numbers[3:6])
        self.axis = axis / np.linalg.norm(axis)
        along, across = numbers[6:8]
        self.inside, self.outside = tuple(numbers[8:10]), tuple(numbers[10:12])
        # x . M x = 1 on the surface.
        outer = np.outer(self.axis, self.axis)
        self.form = outer / along**2 + (np.eye(3) - outer) / across**2

    def ways(self, origin, direction):
        """Both roots of the quadratic, or nothing."""
        o = origin - self.centre
        a = direction @ self.form @ direction
        b = o @ self.form @ direction
        c = o @ self.form @ o - 1.0
        square = b * b - a * c
        if square <= 0.0:
            return []
        root = sqrt(square)
        return [(-b - root) / a, (-b + root) / a]

    def normal(self, place):
        n = self.form @ (place - self.centre)
        return n / np.linalg.norm(n)


def fresnel(cos_in, n1, n2):
    """Share reflected and cosine of refraction, or (1, None)."""
    sin_on = n1 / n2 * sqrt(max(0.0, 1.0 - cos_in**2))
    if sin_on >= 1.0:
        return 1.0, None
    cos_on = sqrt(1.0 - sin_on**2)
    s = (n1 * cos_in - n2 * cos_on) / (n1 * cos_in + n2 * cos_on)
    p = (n2 * cos_in - n1 * cos_on) / (n2 * cos_in + n1 * cos_on)
    return (s * s + p * p) / 2.0, cos_on


def soft(q):
    """From 0 at -1/2 to 1 at 1/2."""
    q = min(1.0, max(0.0, q + 0.5))
    return q * q * (3.0 - 2.0 * q)


class Scene:
    def __init__(self):
        self.bodies, self.board, self.room = [], None, (0.0, 0.0)

    def world(self, origin, direction):
        over, under = self.room
        room = over * (1.0 - direction[1]) / 2.0 + under * (1.0 + direction[1]) / 2.0
        if self.board is None or direction[2] <= 0.0:
            return room
        distance, dark, light, p, q, half_x, half_y, border = self.board
        x, y = (origin + (distance - origin[2]) / direction[2] * direction)[:2]
        share = (1.0 - soft((abs(x) - half_x) / border)) * (1.0 - soft((abs(y) - half_y) / border))
        wave = 0.5 + 0.25 * (cos(2 * pi * x / p) + cos(2 * pi * y / q))
        return share * (dark + (light - dark) * wave) + (1.0 - share) * room

    def first(self, origin, direction):
        best = None
        for body in self.bodies:
            for way in body.ways(origin, direction):
                # Beyond the point on which the ray starts.
                if way > 1e-10 and (best is None or way < best[0]):
                    best = (way, body)
        return best

    def look(self, origin, direction, weight=1.0, deep=0, medium=(1.0, 0.0)):
        met = self.first(origin, direction)
        if met is None or deep > DEEP:
            return self.world(origin, direction)
        way, body = met
        place = origin + way * direction
        normal = body.normal(place)
        leaving = direction @ normal > 0.0
        before, beyond = (body.inside, body.outside) if leaving else (body.outside, body.inside)
        assert before == medium, "a ray in another medium than the surface has on its side"
        if leaving:
            normal = -normal
        left = exp(-before[1] * way)
        cos_in = -(direction @ normal)
        back, cos_on = fresnel(cos_in, before[0], beyond[0])
        light = 0.0
        if back * weight * left > FAINT:
            turned = direction + 2.0 * cos_in * normal
            light += back * self.look(place, turned, weight * left * back, deep + 1, medium)
        if cos_on is not None and (1.0 - back) * weight * left > FAINT:
            ratio = before[0] / beyond[0]
            bent = ratio * direction + (ratio * cos_in - cos_on) * normal
            light += (1.0 - back) * self.look(place, bent, weight * left * (1.0 - back), deep + 1, beyond)
        return left * light


def main():
    sys.setrecursionlimit(10000)
    scene = Scene()
    for line in open(sys.argv[1]):
        words = line.split()
        if not words:
            continue
        if words[0] == "scene" and words[1] == "board":
            scene.board = [float(x) for x in words[2:]]
        elif words[0] == "scene" and words[1] == "room":
            scene.room = tuple(float(x) for x in words[2:])
        elif words[0] == "ball":
            scene.bodies.append(Spheroid(words[1:]))
        elif words[0] == "ray":
            numbers = np.array([float(x) for x in words[1:]])
            direction = numbers[3:] / np.linalg.norm(numbers[3:])
            print(f"{scene.look(numbers[:3], direction):.9f}")
        else:
            raise SystemExit(f"no such line: {line.strip()}")


if __name__ == "__main__":
    main()
