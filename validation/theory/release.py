"""A released drop, by another route than the program's: amplitudes, volume and surface of bodies by integrals along their boundary, which knows no
rays from the middle; the first swing of two modes by a fine search. Printed values stand in the tests of release."""
import numpy as np
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import eval_legendre


def pieces(kind, length, diameter, edge):
    """Upper half of the boundary from the axis to the middle: (rho, z) of a parameter, and its ends."""
    h, c = length / 2, diameter / 2
    if kind == "spheroid":
        return [(lambda s: c * np.sin(s), lambda s: h * np.cos(s), 0, np.pi / 2)]
    out = []
    if c > edge:
        out.append((lambda s: s, lambda s: h + 0 * s, 0, c - edge))
    if edge > 0:
        out.append((lambda s: c - edge + edge * np.sin(s), lambda s: h - edge + edge * np.cos(s), 0, np.pi / 2))
    if h > edge:
        out.append((lambda s: c + 0 * s, lambda s: h - edge - s, 0, h - edge))
    return out



def derivative(f, a, b):
    """Exact by Chebyshev interpolation of the smooth piece."""
    p = np.polynomial.Chebyshev.interpolate(lambda s: np.vectorize(f)(s), 40, domain=[a, b])
    return p.deriv()


def body(kind, length, diameter, edge, degrees):
    volume = surface = 0.0
    coefficients = np.zeros(len(degrees))
    for rho, z, a, b in pieces(kind, length, diameter, edge):
        dr, dz = derivative(rho, a, b), derivative(z, a, b)
        go = lambda f: quad(f, a, b, epsabs=1e-14, epsrel=1e-13, limit=200)[0]
        volume += 2 * go(lambda s: -np.pi * rho(s) ** 2 * dz(s))
        surface += 2 * go(lambda s: 2 * np.pi * rho(s) * np.hypot(dr(s), dz(s)))
        for i, n in enumerate(degrees):
            def f(s):
                r = np.hypot(rho(s), z(s))
                m = z(s) / r
                dm = (dz(s) * rho(s) - z(s) * dr(s)) * rho(s) / r**3
                return -r * eval_legendre(n, m) * dm
            coefficients[i] += (2 * n + 1) * go(f)
    R = (3 * volume / (4 * np.pi)) ** (1 / 3)
    return [*(coefficients / R), R, surface / (4 * np.pi * R**2) - 1]


if __name__ == "__main__":
    for row in (("spheroid", 1.4, 2.0, 0), ("cylinder", 4.0, 2.0, 1.0), ("cylinder", 1.5, 2.0, 0.25), ("cylinder", 2.0, 2.0, 0.0)):
        print(*row, [float("%.14g" % v) for v in body(*row, (2, 4, 10))])
    w2, w4 = np.sqrt(8.0), np.sqrt(72.0)
    r = lambda p2, p4, t: 1 - 0.08 * np.cos(w2 * t) * p2 + 0.05 * np.cos(w4 * t) * p4
    aspect = lambda t: r(1, 1, t) / r(-0.5, 0.375, t)
    ts = np.linspace(0, 2 * np.pi / w2, 200001)
    v = aspect(ts)
    for sign, i in ((-1, np.argmax(v)), (1, np.argmin(v))):
        e = ts[1]
        t = minimize_scalar(lambda t: sign * aspect(t), bounds=(max(0, ts[i] - 2 * e), ts[i] + 2 * e), method="bounded", options={"xatol": 1e-13}).x
        print("time, aspect", repr(float(t)), repr(float(aspect(t))), "ends", v[0], v[-1])
