"""A puff on a drop, by another route than the program's: the bell's coefficients by adaptive quadrature in the cosine, the crater as the plain sum of 160
inviscid modes, its depth and rim by a fine search, the energy by the plain sum; roots of spherical Bessel functions in mpmath.
Printed values stand in the tests of puff."""
import mpmath as mp
import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar
from scipy.special import eval_legendre


def coefficient(n, share):
    f = lambda m: np.exp(-(share**2) * (1 - m * m)) * eval_legendre(n, m)
    lo = 0.0 if share < 7 else np.sqrt(1 - (7.5 / share) ** 2)
    return (2 * n + 1) / 2 * quad(f, lo, 1, epsabs=1e-15, epsrel=1e-13, limit=400)[0]


def decay(n, oh):
    """Exact decay of a free drop (Chandrasekhar 1961 sec. 98), with modified Bessel functions of general order."""
    n, oh = mp.mpf(n), mp.mpf(oh)
    w2 = n * (n - 1) * (n + 2)

    def f(s):
        z = mp.sqrt(s / oh)
        g = -z * mp.besseli(n + 1.5, z) / mp.besseli(n + 0.5, z)  # q Q of q = i z
        k = 2 * (n - 1) * oh * (n + (n + 1) * (-z * z - 2 * n * g) / (-z * z - 2 * g))
        return s * s + k * s + w2

    guess = mp.mpc(-0.95 * (n - 1) * (2 * n + 1) * oh, mp.sqrt(w2))
    return -mp.re(mp.findroot(f, guess, tol=1e-25))


if __name__ == "__main__":
    for share in (0.5, 3.3333333333333335, 40.0):
        print("bell", share, [float("%.15g" % coefficient(n, share)) for n in (0, 1, 2, 5, 20, 60)])
    R, rho, sigma, p0, width, T = 0.02, 998.2, 0.07274, 10.0, 0.006, 0.01
    n = np.arange(2, 161)
    c = np.array([coefficient(int(k), R / width) for k in n])
    w = np.sqrt(n * (n - 1) * (n + 2) * sigma / (rho * R**3))
    v = -n * p0 * c * T / (rho * R) * np.sin(w * T / 2) / (w * T / 2)
    depth = lambda t: -np.sum(v / w * np.sin(w * t))
    ts = np.linspace(0, np.pi / w[0], 20001)
    best = ts[np.argmax([depth(t) for t in ts])]
    t = minimize_scalar(lambda t: -depth(t), bounds=(best - 1e-4, best + 1e-4), method="bounded", options={"xatol": 1e-12}).x
    at = lambda th: np.sum(v / w * np.sin(w * t) * eval_legendre(n, np.cos(th)))
    ths = np.linspace(0, np.pi, 2001)
    first = next(i for i in range(len(ths)) if at(ths[i]) > 0)
    rim = brentq(at, ths[first - 1], ths[first], xtol=1e-14)
    print("crater depth, time, rim", repr(depth(t)), repr(t), repr(rim))
    print("energy", repr(np.sum(2 * np.pi * rho * R**3 / (n * (2 * n + 1)) * v**2)))
    mp.mp.dps = 25
    print("weber", "%.10g" % (rho * np.sum(v) ** 2 * width / sigma))
    for n_, oh in ((20, "1e-3"), (50, "8e-4"), (50, "5e-3"), (2, "0.01")):
        print("decay", n_, oh, mp.nstr(decay(n_, oh), 9))
    for l, k in ((1, 2), (2, 3), (10, 1), (20, 2)):
        print("root", l, k, mp.nstr(mp.besseljzero(l + mp.mpf(1) / 2, k), 16))
