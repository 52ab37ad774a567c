"""Held drops. Pinned modes by Ritz's method: trial shapes are polynomials on the free parts of the sphere that vanish at the line of
contact; surface energy by integration over the free parts, kinetic energy by projection on Legendre polynomials. crates/theory/src/held
solves a sum over free modes (ring) and an integral equation (bowl) instead. Unit drop: rho = sigma = R = 1, W = omega^2."""
import math
import numpy as np
from numpy.polynomial.legendre import leggauss, legval
from scipy.linalg import eigh, null_space
from scipy.optimize import brentq

TOP = 1200                       # Legendre degrees of the kinetic energy


def legendre(x):
    p = np.zeros((TOP + 1, len(x)))
    p[0], p[1] = 1, x
    for n in range(1, TOP):
        p[n + 1] = ((2 * n + 1) * x * p[n] - n * p[n - 1]) / (n + 1)
    return p


def side(a, b, c, count):
    """Trial shapes on [a, b], zero at c (one of the ends): stiffness, projections on P_n, integrals."""
    x, w = leggauss(TOP)
    x, w = (a + b) / 2 + (b - a) / 2 * x, (b - a) / 2 * w
    f, g = [], []
    for j in range(count):
        e = np.zeros(j + 1); e[j] = 1
        d = np.polynomial.legendre.legder(e) if j else np.zeros(1)
        s = (2 * x - a - b) / (b - a)
        f.append((x - c) * legval(s, e)); g.append(legval(s, e) + (x - c) * legval(s, d) * 2 / (b - a))
    f, g = np.array(f), np.array(g)
    return (g * (1 - x * x) * w) @ g.T - 2 * (f * w) @ f.T, (f * w) @ legendre(x).T, f @ w


def modes(parts, how_many):
    count = [p[0].shape[0] for p in parts]
    k = np.zeros((sum(count), sum(count))); at = 0
    for p in parts:
        k[at:at + p[0].shape[0], at:at + p[0].shape[0]] = p[0]; at += p[0].shape[0]
    q, v = np.vstack([p[1] for p in parts]), np.concatenate([p[2] for p in parts])
    n = np.arange(1, TOP + 1)
    m = (q[:, 1:] * (2 * n + 1) / (2 * n)) @ q[:, 1:].T
    z = null_space(v[None, :])
    return eigh(z.T @ k @ z, z.T @ m @ z, eigvals_only=True)[:how_many]


def ring(c, how_many=5, count=22):
    return modes([side(-1, c, c, count), side(c, 1, c, count)], how_many)


def bowl(alpha, how_many=5, count=26):
    c = -math.cos(alpha)
    return modes([side(c, 1, c, count)], how_many)


def cap_height(volume, a):
    return brentq(lambda h: math.pi * h * (3 * a * a + h * h) / 6 - volume, 0, 10 * (a + volume ** (1 / 3)), xtol=1e-18)


if __name__ == "__main__":
    for c in (0.0, 0.3, 0.5, 0.8, 0.95):
        print("ring at cos", c, "W", ["%.9g" % w for w in ring(c)], "fewer shapes", ["%.9g" % w for w in ring(c, 3, 16)])
    for deg in (10, 30, 60, 90, 120):
        print("bowl half-opening", deg, "W", ["%.9g" % w for w in bowl(math.radians(deg))], "fewer shapes", ["%.9g" % w for w in bowl(math.radians(deg), 3, 18)])
    # diagonal of the static response by brute force, averaged over the oscillation of its partial sums
    for c in (0.0, 0.5, 0.9):
        p0, p1, s, tail = 1.0, c, 0.0, []
        for n in range(1, 400000):
            p0, p1 = p1, ((2 * n + 1) * c * p1 - n * p0) / (n + 1)
            k = n + 1
            s += (2 * k + 1) / ((k - 1) * (k + 2)) * p1 * p1
            if n > 200000:
                tail.append(s + 2 / math.pi / math.sqrt(1 - c * c) / (k + 0.5))
        print("static response at cos", c, "%.9f" % np.mean(tail), "closed %.9f" % (0.5 + c * c * (2 * math.log(2) - 7 / 3 - math.log(1 - c * c))))
    for v, a in ((0.2e-6, 5e-3), (2e-6, 1e-3)):
        h = cap_height(v, a)
        print("cap of %g m3 on radius %g m: height %.12g radius %.12g" % (v, a, h, (a * a + h * h) / (2 * h)))
