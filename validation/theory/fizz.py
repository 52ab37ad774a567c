"""Bubbles in a drop: what the rooms of crates/theory/src/fizz hold, by other routes than theirs: Scriven's growth as a boundary-value
problem, Epstein and Plesset's equation integrated, hitting times of the merging chain from its states one by one, escape of gas by
Laplace inversion, the cloud round a drop as a sum of puffs."""
import math
from collections import Counter
from fractions import Fraction
from itertools import combinations
from math import exp, pi, sqrt
import mpmath as mp
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

mp.mp.dps = 25


def scriven(ja):
    """R = 2 b sqrt(D t), integrated outward from x = b with conservation of gas there.
    Similarity variable x = r/(2 sqrt(D t)); c_t = D lap c - (R^2 R'/r^2) c_r gives c'' = -(2/x + 2x - 2 b^3/x^2) c'."""
    def far(b):
        # gradient at the wall in x: 2 b rho_g / ... : D c_r = rho_g R' -> c_x = 2 b rho_g
        s = solve_ivp(lambda x, y: [y[1], -(2 / x + 2 * x - 2 * b**3 / x**2) * y[1]], (b, b + 12 / max(1, b) + 6), [0, 2 * b],
                      method="DOP853", rtol=1e-13, atol=1e-16)
        return s.y[0, -1]
    return brentq(lambda b: far(b) - ja, 1e-4, 50, xtol=1e-14)


def grow(r0, d, c, f, t, tau=0.0, transient=True):
    """Radius after t by the equation of growth or dissolution, integrated in sqrt t."""
    def rhs(x, y):
        r = y[0]
        return [-(d * c) * (1 + tau / r - f) / (1 + 2 * tau / (3 * r)) * (2 * x / r + (2 / sqrt(pi * d) if transient else 0))]
    return solve_ivp(rhs, (0, sqrt(t)), [r0], method="DOP853", rtol=1e-12, atol=1e-18).y[0, -1]


def hitting(n, kernel, target):
    """Mean time from n bubbles of mass 1 to target bubbles; every pair (i, j) merges at the rate kernel(i, j). Exact, state by state."""
    known = {}

    def mean(state):
        if len(state) <= target:
            return Fraction(0)
        if state in known:
            return known[state]
        total, ways = Fraction(0), Counter()
        for a, b in combinations(range(len(state)), 2):
            rate = Fraction(kernel(state[a], state[b]))
            rest = [m for k, m in enumerate(state) if k not in (a, b)]
            ways[tuple(sorted(rest + [state[a] + state[b]]))] += rate
            total += rate
        known[state] = 1 / total + sum(rate / total * mean(s) for s, rate in ways.items())
        return known[state]

    return float(mean(tuple([1] * n)))


def left(x):
    """Share of the gas left in a ball, D t / R^2 = x, nothing at the surface: Laplace inversion."""
    f = lambda s: 1 / s - 3 / (s * s) * (mp.sqrt(s) * mp.coth(mp.sqrt(s)) - 1)
    return mp.invertlaplace(f, x, method="talbot", degree=30)


def cloud(rate, d, r, t):
    """Concentration round a steady point source as a sum of puffs."""
    return quad(lambda s: rate / (4 * pi * d * s) ** 1.5 * exp(-r * r / (4 * d * s)), 0, t, epsabs=0, epsrel=1e-12, limit=400)[0]


if __name__ == "__main__":
    for ja in (0.01, 0.1, 1.0, 5.0, 20.0):
        print("Scriven Ja", ja, "beta %.10g" % scriven(ja))
    d, c = 2e-9, 0.02
    for f, t in ((3.0, 1.0), (5.0, 0.2), (0.25, 1.0), (1.0, 3.0)):
        print("Epstein-Plesset R0 10 um f", f, "t", t, "transient %.12g steady %.12g steady with tension %.12g" % (
            grow(1e-5, d, c, f, t), grow(1e-5, d, c, f, t, transient=False), grow(1e-5, d, c, f, t, 2 * 0.0728 / 101325, False)))
    print("CO2-like: D 1.9e-9 c 0.83 f 3 R0 50 um t 20 transient %.12g" % grow(5e-5, 1.9e-9, 0.83, 3, 20))
    for name, k in (("constant", lambda a, b: 1), ("sum", lambda a, b: a + b), ("product", lambda a, b: a * b)):
        print("merging", name, [(n, target, hitting(n, k, target)) for n in (2, 6, 9) for target in (2, 1)])
    for x in ("0.001", "0.01", "0.03", "0.1", "0.5"):
        print("share left at D t/R^2 =", x, mp.nstr(left(mp.mpf(x)), 14))
    for r, t in ((0.05, 60.0), (0.2, 60.0), (0.2, 3600.0)):
        print("cloud 1e-6 mol/s D 1.6e-5 r", r, "t", t, "%.12g mol/m3" % cloud(1e-6, 1.6e-5, r, t))
    # one puff of 1 mol seen at 1 m, D = 1: the most and when
    g = lambda t: (4 * pi * t) ** -1.5 * exp(-1 / (4 * t))
    ts = brentq(lambda t: -1.5 / t + 1 / (4 * t * t), 0.05, 1)
    print("puff: most %.12g at %.12g" % (g(ts), ts))
    # rigid plane film: thickness by integrating the squeeze flow
    mu, rf, dp = 1e-3, 1e-3, 100.0
    s = solve_ivp(lambda t, h: [-2 * h[0] ** 3 * dp / (3 * mu * rf * rf)], (0, 5.0), [1e-5], rtol=1e-12, atol=1e-20)
    print("rigid film 10 um, 1 mm, 100 Pa, after 5 s: %.10g m" % s.y[0, -1])
    # squeeze force between discs: V from mean pressure: solve (r h^3/(12 mu) p')' = -r V -> p(r); mean pressure
    h, v = 1e-5, 1e-6
    mean = quad(lambda r: 2 * r / rf**2 * (3 * mu * v / h**3) * (rf**2 - r**2), 0, rf)[0]
    print("squeeze: mean pressure x 2 h^3/(3 mu rf^2 V) = %.12g (must be 1)" % (mean * 2 * h**3 / (3 * mu * rf**2 * v)))
    # closed container: 0.01 mol into 1 L of gas over 0.1 L of water, H 3.35554e-4, 298.15 K
    H, RT = 3.35554e-4, 8.314462618 * 298.15
    p = brentq(lambda q: q * 1e-3 / RT + H * q * 1e-4 - 0.01, 0, 1e7, xtol=1e-9)
    print("container %.10g Pa" % p)
    q = 2 * 0.07274 / 101325
    print("merged %.13g m" % brentq(lambda x: x**3 + q * x * x - 2 * (1e-12 + q * 1e-8), 1e-4, 2e-4, xtol=1e-20))
    # many equal bubbles that share the gas: concentration and radius integrated together
    dd, j, n = 1.9e-9, 0.05, 1e9
    def crowd(t, y):
        r = max(y[0], 1e-12)
        return [dd * y[1] / r, -n * 4 * math.pi * r * dd * y[1]]
    s = solve_ivp(crowd, (0, 400), [1e-9, j], method="LSODA", rtol=1e-11, atol=1e-16, dense_output=True)
    print("crowd: radius after 1, 20, 100 s:", ["%.10g" % s.sol(t)[0] for t in (1.0, 20.0, 100.0)], "in the end %.10g" % (3 * j / (4 * math.pi * n)) ** (1 / 3))
