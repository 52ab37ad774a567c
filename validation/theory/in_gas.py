"""A drop let go in a gas or liquid, by another route than the program's: the transform of the linearised flow with all four coefficients (potential and shear, inside and
outside) from continuity of both velocities, shear stress and normal stress, solved in mpmath for each s and inverted by Talbot's method of mpmath.
Unit: radius, tension and sum of the densities 1.  Printed values stand in the tests of modes::response."""
import mpmath as mp

mp.mp.dps = 50


def transform(n, s, ri, mi, ro, mo, a0, v0):
    """Amplitude of P_n; the drop starts with amplitude a0 and a potential flow of speed v0 inside and outside."""
    n = mp.mpf(n)
    N = n * (n + 1)
    half = mp.mpf(1) / 2
    zi, zo = mp.sqrt(s * ri / mi), mp.sqrt(s * ro / mo)
    inside = lambda r: mp.besseli(n + half, zi * r) / mp.sqrt(r) / mp.besseli(n + half, zi)
    outside = lambda r: mp.besselk(n + half, zo * r) / mp.sqrt(r) / mp.besselk(n + half, zo)
    cols = []
    # radial velocity, its slope, tangential, its slope, pressure p' (less the part of the initial potential)
    for f, rho in ((lambda r: r ** (n - 1), ri), (lambda r: r ** (-n - 2), ro)):
        m = n if rho is ri and not cols else -(n + 1)
        u = mp.mpf(1)
        cols.append((u, m - 1, 1 / m, (m - 1) / m, -s * rho / m))
    for f in (inside, outside):
        f0, f1, f2 = f(mp.mpf(1)), mp.diff(f, 1), mp.diff(f, 1, 2)
        cols.append((N * f0, N * (f1 - f0), f0 + f1, f2 + f1 - f0, mp.mpf(0)))
    order = [(cols[0], 1, mi), (cols[1], -1, mo), (cols[2], 1, mi), (cols[3], -1, mo)]
    M, rhs = mp.matrix(4, 4), mp.matrix(4, 1)
    T = (n - 1) * (n + 2)
    for j, (c, side, mu) in enumerate(order):
        M[0, j] = side * c[0]
        M[1, j] = side * c[2]
        M[2, j] = side * mu * (c[3] - c[2] + c[0])
        M[3, j] = side * (c[4] - 2 * mu * c[1])
        if side > 0:
            # amplitude A = (a0 + u)/s carries the tension: p_i - p_o = T A
            M[3, j] -= T * c[0] / s
    # p = p' + rho phi_0, phi_0 = v0/n inside, -v0/(n+1) outside
    rhs[3] = T * a0 / s - (ri * v0 / n + ro * v0 / (n + 1))
    x = mp.lu_solve(M, rhs)
    u = x[0] * order[0][0][0] + x[2] * order[2][0][0]
    return (a0 + u) / s


if __name__ == "__main__":
    print("n, rho_o, mu_i, mu_o, start a0 v0, a at 0.5, 1, 2, 5")
    for n, ro, mi, mo, a0, v0 in (
        (2, "1.2e-3", "0.01", "2e-4", 1, 0),
        (3, "1.2e-3", "0.01", "2e-4", 0, 1),
        (2, "0.5", "0.05", "0.02", 1, 0),
        (4, "0.5", "0.05", "0.02", 0.3, -1),
        (2, "0.9", "0.3", "0.6", 1, 0),
    ):
        ro, mi, mo = mp.mpf(ro), mp.mpf(mi), mp.mpf(mo)
        F = lambda s: transform(n, s, 1 - ro, mi, ro, mo, mp.mpf(a0), mp.mpf(v0))
        values = [mp.nstr(mp.invertlaplace(F, mp.mpf(t), method="talbot", degree=110), 12) for t in ("0.5", "1", "2", "5")]
        print(n, mp.nstr(ro, 4), mp.nstr(mi, 4), mp.nstr(mo, 4), a0, v0, *values)
