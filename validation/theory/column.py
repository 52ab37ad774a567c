"""Liquid columns, by another route than the program's: the 4x4 boundary determinant of a column in a host, written out with all four
coefficients and searched for roots in mpmath; the fastest wave by golden section; planar waves by Laplace inversion.
Unit: radius of the column, sqrt((rho_i + rho_o) a^3 / sigma), sum of the densities. Printed values stand in the tests of column and wave."""
import mpmath as mp

mp.mp.dps = 30


def determinant(s, x, ri, mi, ro, mo):
    """Continuity of both velocities, shear stress and normal stress; columns: potential and shear part inside, then outside."""
    I, K = mp.besseli, mp.besselk
    qi, qo = mp.sqrt(x * x + s * ri / mi), mp.sqrt(x * x + s * ro / mo)
    rows = []
    # u_r, u_z/i, p, du_r/dr, (du_z/dr)/i at r = 1 of each part
    for kind, q in (("i", None), ("i", qi), ("o", None), ("o", qo)):
        k = x if q is None else q
        if kind == "i":
            f = lambda r: I(1, k * r) / I(1, k)
            uz = lambda r: (1 if q is None else k / x) * I(0, k * r) / I(1, k)
            p = -ri * s * I(0, x) / I(1, x) / x if q is None else mp.mpf(0)
        else:
            f = lambda r: K(1, k * r) / K(1, k)
            uz = lambda r: -(1 if q is None else k / x) * K(0, k * r) / K(1, k)
            p = ro * s * K(0, x) / K(1, x) / x if q is None else mp.mpf(0)
        rows.append((f(mp.mpf(1)), uz(mp.mpf(1)), p, mp.diff(f, 1), mp.diff(uz, 1)))
    m = mp.matrix(4, 4)
    for j, (ur, uz, p, dur, duz) in enumerate(rows):
        side, mu = (1, mi) if j < 2 else (-1, mo)
        m[0, j] = side * ur
        m[1, j] = side * uz
        m[2, j] = side * mu * (x * ur + duz)
        m[3, j] = side * (p - 2 * mu * dur)
        if j < 2:
            m[3, j] += (1 - x * x) * ur / s
    return mp.det(m)


def growth(x, ri, mi, ro, mo):
    x = mp.mpf(x)
    top = mp.sqrt(x * (1 - x * x) / (ri * mp.besseli(0, x) / mp.besseli(1, x) + ro * mp.besselk(0, x) / mp.besselk(1, x)))
    f = lambda s: mp.re(determinant(s, x, ri, mi, ro, mo))
    # the only sign change below the growth without viscosity
    return mp.findroot(f, (top * mp.mpf("0.05"), top), solver="anderson", tol=1e-40, maxsteps=200, verify=False)


def fastest(f, lo, hi):
    lo, hi = mp.mpf(lo), mp.mpf(hi)
    r = (mp.sqrt(5) - 1) / 2
    c, d = hi - r * (hi - lo), lo + r * (hi - lo)
    fc, fd = f(c), f(d)
    for _ in range(14):
        if fc > fd:
            hi, d, fd = d, c, fc
            c = hi - r * (hi - lo)
            fc = f(c)
        else:
            lo, c, fc = c, d, fd
            d = lo + r * (hi - lo)
            fd = f(d)
    # the summit of the parabola through the three last points
    m = (lo + hi) / 2
    e = (hi - lo) / 2
    fm, fl, fh = f(m), f(lo), f(hi)
    return m - e * (fh - fl) / (2 * (fh - 2 * fm + fl))


def damped(x, ri, mi, ro, mo):
    """A wave shorter than the limit: it swings and dies away."""
    x = mp.mpf(x)
    w = mp.sqrt(x * (x * x - 1) / (ri * mp.besseli(0, x) / mp.besseli(1, x) + ro * mp.besselk(0, x) / mp.besselk(1, x)))
    return mp.findroot(lambda s: determinant(s, x, ri, mi, ro, mo), mp.mpc(-2 * mi * x * x, w), tol=1e-20, maxsteps=80)


if __name__ == "__main__":
    one = mp.mpf(1)
    print("growth with a host: rho_i, mu_i, rho_o, mu_o, ka, s")
    for ro_, mi, _, mo in [("1.2e-3", "0.004", "", "7e-5"), ("0.5", "0.02", "", "0.1"), ("0.1", "0.5", "", "0.001"), ("0.999", "0.001", "", "0.05")]:
        ro = mp.mpf(ro_)
        for x in ("0.2", "0.6", "0.9"):
            print(1 - ro, mi, ro, mo, x, mp.nstr(growth(x, 1 - ro, mp.mpf(mi), ro, mp.mpf(mo)), 14))
    print("waves that do not grow (vacuum by a host of 1e-30): Oh, ka, s")
    for oh in ("0.01", "0.1"):
        for x in ("1.2", "2"):
            print(oh, x, mp.nstr(damped(x, one, mp.mpf(oh), mp.mpf("1e-28"), mp.mpf("1e-30")), 13))
    s = damped("1.5", mp.mpf("0.5"), mp.mpf("0.02"), mp.mpf("0.5"), mp.mpf("0.1"))
    print("0.5 0.02 0.5 0.1 1.5", mp.nstr(s, 13))
    print("without viscosity, gas of share rho_o: rho_o, ka, s; fastest ka, s")
    for ro_ in ("1.2e-3", "0.1", "0.5", "1"):
        ro = mp.mpf(ro_)
        f = lambda x: mp.sqrt(x * (1 - x * x) / ((1 - ro) * mp.besseli(0, x) / mp.besseli(1, x) + ro * mp.besselk(0, x) / mp.besselk(1, x)))
        xm = mp.findroot(lambda x: mp.diff(f, x), (mp.mpf("0.4"), mp.mpf("0.75")), solver="anderson", tol=1e-18)
        print(ro_, "0.5", mp.nstr(f(mp.mpf("0.5")), 13), mp.nstr(xm, 11), mp.nstr(f(xm), 13))
    print("fastest wave of two liquids rho 0.5 0.5, mu 0.02 0.1")
    f = lambda x: growth(x, mp.mpf("0.5"), mp.mpf("0.02"), mp.mpf("0.5"), mp.mpf("0.1"))
    xm = fastest(f, "0.3", "0.8")
    print(mp.nstr(xm, 7), mp.nstr(f(xm), 13))
    print("exp(z^2) erfc(z)")
    for z in (mp.mpc("0.1", "0.2"), mp.mpc(1, 1), mp.mpc("0.3", "2.5"), mp.mpc("2.5", "0.01"), mp.mpc("0.001", "5"), mp.mpc(8, 3), mp.mpc("0.02", "1.0633"), mp.mpc(0, "1.5")):
        print(z.real, z.imag, mp.nstr(mp.exp(z * z) * mp.erfc(z), 17))
    print("z I0/I1, z K0/K1")
    for z in (mp.mpc("0.001", 0), mp.mpc("0.7", 0), mp.mpc(5, 0), mp.mpc(60, 0), mp.mpc(3, 2), mp.mpc(20, -19), mp.mpc("0.02", "0.01"), mp.mpc(400, 0)):
        print(z.real, z.imag, mp.nstr(z * mp.besseli(0, z) / mp.besseli(1, z), 17), mp.nstr(z * mp.besselk(0, z) / mp.besselk(1, z), 17))
