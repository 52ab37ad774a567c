"""Collisions of drops: what the rooms of crates/theory/src/collision hold beside the published limits, by other routes:
a droplet slowed by gas (differential equation), bounces inside a sphere (ray by ray), rotation of what merged off centre,
the stretching limit of Brazier-Smith, Jennings & Latham, the neck of two viscous cylinders at a given time."""
import math
from math import pi, sqrt
import numpy as np
from scipy.integrate import solve_ivp, quad
from scipy.optimize import brentq
from scipy.special import ellipk


def flight(d, u0, rho, rho_g, mu_g, t):
    """Speed and way of a droplet slowed by Schiller and Naumann's drag, by integration of Newton's law."""
    mass, area = rho * pi / 6 * d**3, pi / 4 * d * d

    def rhs(_, y):
        re = rho_g * y[0] * d / mu_g
        cd = 24 / re * (1 + 0.15 * re**0.687)
        return [-0.5 * rho_g * cd * area * y[0] ** 2 / mass, y[0]]

    s = solve_ivp(rhs, (0, t), [u0, 0], method="DOP853", rtol=1e-13, atol=1e-16)
    return s.y[:, -1]


def bounces(radius, impact, speed, e_n, e_t, count):
    """Flies straight, hits the sphere of given radius (of the centres), keeps e_n of the normal and e_t of the tangential speed."""
    p = np.array([-sqrt(radius**2 - impact**2), impact])
    v = np.array([speed, 0.0])
    out, time = [], 0.0
    for _ in range(count):
        b, c = p @ v, p @ p - radius**2
        dt = (-b + sqrt(b * b - (v @ v) * c)) / (v @ v)
        p, time = p + v * dt, time + dt
        n = p / radius
        vn, vt = v @ n, v - (v @ n) * n
        out.append((time, vn, float(np.hypot(*vt))))
        v = -e_n * vn * n + e_t * vt
        p = p * (1 - 1e-15)
    return out


def spin(rho, sigma, d1, d2, u, b):
    """Two balls merge with offset b: angular momentum about the common centre by summing m (r x v), sphere's moment of inertia."""
    m = np.array([rho * pi / 6 * d**3 for d in (d1, d2)])
    y = np.array([b * (d1 + d2) / 2, 0.0])
    vx = np.array([u, 0.0])
    yc, vc = (m @ y) / m.sum(), (m @ vx) / m.sum()
    angular = (m * (y - yc) * (vx - vc)).sum()
    r = (d1**3 + d2**3) ** (1 / 3) / 2
    omega = abs(angular) / (0.4 * m.sum() * r * r)
    kinetic = 0.5 * (m * (vx - vc) ** 2).sum()
    surface = sigma * pi * (d1**2 + d2**2 - 4 * r * r)
    return omega, omega / sqrt(8 * sigma / (rho * r**3)), kinetic, surface


def latham(b, ratio):
    """We (small diameter) at which Brazier-Smith et al. 1972 let a coalesced pair part again: their balance of energies
    We_r E_crit... rotational energy of the pair = surface energy needed to part, re-derived: see below."""
    d = ratio
    # rotational energy of the merged sphere: L^2/(2 I); surface energy to restore the two spheres
    m1, m2 = d**3, 1.0            # small, large; unit (pi/6) rho D^3
    r3 = m1 + m2
    # U^2 from: L = m1 m2/(m1+m2) U B (1+d)/2 ; I = 0.4 M (r3^(1/3)/2)^2 ; S = pi sigma (1 + d^2 - r3^(2/3))
    mu = m1 * m2 / r3
    i = 0.4 * r3 * r3 ** (2 / 3) / 4
    s = 6 * (1 + d * d - r3 ** (2 / 3))
    return s * 2 * i / (mu * b * (1 + d) / 2) ** 2 * d


def hopper(m):
    neck = (1 - m) * sqrt(2) / sqrt(1 + m * m)
    t = pi * sqrt(2) / 4 * quad(lambda k: 1 / (k * sqrt(1 + k) * ellipk(k * k)), m * m, 1, epsabs=1e-14, limit=400)[0]
    return neck, t


if __name__ == "__main__":
    water, gas = 998.2, (1.204, 1.82e-5)
    for d, u, t in ((1e-3, 0.5, 0.05), (2e-3, 0.8, 0.1), (0.2e-3, 0.3, 0.05), (1e-3, 0.01, 1.0)):
        v, x = flight(d, u, water, *gas, t)
        print("flight d %g u %g t %g: Re %.6f speed %.12g way %.12g" % (d, u, t, gas[0] * u * d / gas[1], v, x))
    rows = bounces(0.0145, 0.008, 0.3, 0.8, 0.98, 6)
    for k, row in enumerate(rows):
        print("bounce", k + 1, "time %.12g normal %.12g tangential %.12g" % row)
    for args in ((water, 0.07274, 2e-3, 2e-3, 0.4, 0.5), (water, 0.07274, 2e-3, 4e-3, 0.4, 0.3)):
        print("spin", args, "omega %.12g of sqrt(8): %.12g kinetic %.12g J surface %.12g J" % spin(*args))
    for d in (1.0, 0.5):
        print("parting by rotational energy, ratio", d, [(b, round(latham(b, d), 9)) for b in (0.2, 0.5, 0.8)],
              "their fit 4.8 f(g)/B^2 x (small diameter in radii: 2):", [(b, round(2 * 4.8 * ((1/d)**3 - 2.4*(1/d)**2 + 2.7/d) / b**2, 9)) for b in (0.2, 0.5, 0.8)])
    for t in (0.001, 0.1, 1.0, 3.0):
        m = brentq(lambda q: hopper(q)[1] - t, 1e-3, 1 - 1e-6, xtol=1e-15)
        print("Hopper neck at t", t, "%.12g" % hopper(m)[0])
    # across a bubble with drag: 2 mm of water, 0.3 m/s, line 8 mm off in a room of 14.5 mm
    way, d, u0 = 2 * sqrt(0.0145**2 - 0.008**2), 2e-3, 0.3
    t = brentq(lambda q: flight(d, u0, water, *gas, q)[1] - way, 0.05, 0.2, xtol=1e-15)
    v = flight(d, u0, water, *gas, t)[0]
    print("arrival: time %.12g speed %.12g across %.12g along %.12g" % (t, v, v * way / 2 / 0.0145, v * 0.008 / 0.0145))
    import mpmath as mp
    mp.mp.dps = 30
    for m in ("0.3", "0.001", "0.9999"):
        # in k' = e^-s, so that 1/K has no kink at the end
        f = lambda s: (lambda q: q / ((1 - q) * mp.sqrt(1 + mp.sqrt(1 - q)) * mp.ellipk(1 - q)))(mp.e ** (-2 * s))
        s0 = -mp.log(mp.sqrt(1 - mp.mpf(m) ** 4))
        t = mp.pi * mp.sqrt(2) / 4 * mp.quad(f, [s0, s0 + 0.01, s0 + 0.1, s0 + 1, s0 + 3, s0 + 10, s0 + 40])
        print("Hopper m", m, "time", mp.nstr(t, 16), "neck", "%.12g" % hopper(float(m))[0])
