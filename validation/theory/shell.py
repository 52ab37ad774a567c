"""Liquid shells round a gas bubble, by another route than the program's: the boundary determinant from Bessel functions of general order in
mpmath; frequencies with gas inertia from the 2x2 problem written in the four potentials; the way that a bubble coasts from the Laplace transform at vanishing rate.
Unit: outer radius, outer tension and density of the liquid 1. Printed values stand in the tests of shell."""
import mpmath as mp

mp.mp.dps = 30


def inviscid(n, x, s, ro, ri):
    """phi = A r^n + B r^-(n+1) in the liquid, C r^-(n+1) outside, E r^n inside; amplitudes b, a of the surfaces; W = omega^2."""
    n, x, s, ro, ri = mp.mpf(n), mp.mpf(x), mp.mpf(s), mp.mpf(ro), mp.mpf(ri)

    def det(W):
        # unknowns A, B, C, E, zeta_b, zeta_a with velocity i w zeta: phi' = zeta (time factor absorbed), p = -rho phi -> W
        m = mp.matrix(6, 6)
        m[0, 0], m[0, 1], m[0, 4] = n, -(n + 1), -1
        m[1, 0], m[1, 1], m[1, 5] = n * x ** (n - 1), -(n + 1) * x ** (-n - 2), -1
        m[2, 2], m[2, 4] = -(n + 1), -1
        m[3, 3], m[3, 5] = n * x ** (n - 1), -1
        # outer surface: p_liquid - p_outside = N zeta_b ; p = W rho phi (phi per unit zeta)
        N = (n - 1) * (n + 2)
        m[4, 0], m[4, 1], m[4, 2], m[4, 4] = W, W, -W * ro, -N
        # inner surface: p_inside - p_liquid = N s zeta_a/x^2
        m[5, 0], m[5, 1], m[5, 3], m[5, 5] = -W * x**n, -W * x ** (-n - 1), W * ri * x**n, -N * s / x**2
        return mp.det(m)

    # det is a quadratic in W: fit it
    ws = [mp.mpf(0), mp.mpf(1), mp.mpf(2)]
    c0, v1, v2 = det(ws[0]), det(ws[1]), det(ws[2])
    a = (v2 - 2 * v1 + c0) / 2
    b = v1 - c0 - a
    d = mp.sqrt(b * b - 4 * a * c0)
    roots = sorted([(-b + d) / (2 * a), (-b - d) / (2 * a)])
    return [mp.sqrt(r) for r in roots]


def matrix(n, S, nu, x, sr):
    k = mp.sqrt(-S / nu)
    k = k if mp.im(k) >= 0 else -k
    N = n * (n + 1)
    j = lambda m, z: mp.sqrt(mp.pi / (2 * z)) * mp.besselj(m + mp.mpf(1) / 2, z)
    # the part that decays inwards from the inner surface, by the modified Bessel function of the second kind
    h = lambda m, z: mp.mpc(0, -1) ** (m - n) * mp.besselk(m + mp.mpf(1) / 2, -1j * z) / mp.sqrt(z)
    size = {j: j(n, k), h: h(n, k * x)}

    def basis(r):
        out = []
        for m in (n, -(n + 1)):
            u = m * r ** (m - 1)
            out.append((u, (m - 1) * u / r, u / m, (m - 1) * u / (m * r), -S * r**m))
        for f_ in (j, h):
            f, f1 = f_(n, k * r) / size[f_], f_(n + 1, k * r) / size[f_]
            fp = n / r * f - k * f1
            fpp = -2 * fp / r + (N / r**2 - k * k) * f
            out.append((N * f / r, N * (fp / r - f / r**2), f / r + fp, fpp + fp / r - f / r**2, mp.mpf(0)))
        return out

    M = mp.matrix(4, 4)
    T = (n - 1) * (n + 2)
    for c, (ur, dur, uh, duh, p) in enumerate(basis(mp.mpf(1))):
        M[0, c], M[1, c] = duh - uh + ur, p - 2 * nu * dur - T * ur / S
    for c, (ur, dur, uh, duh, p) in enumerate(basis(mp.mpf(x))):
        M[2, c], M[3, c] = duh - uh / x + ur / x, p - 2 * nu * dur + sr * T * ur / (S * x * x)
    return M, basis


def root(n, x, sr, nu, start):
    x, sr, nu = mp.mpf(x), mp.mpf(sr), mp.mpf(nu)
    return mp.findroot(lambda S: mp.det(matrix(n, S, nu, x, sr)[0]), (start, start * (1 + mp.mpc(0, "1e-3")), start * (1 - mp.mpf("1e-3"))), solver="muller", tol=1e-30, maxsteps=60, verify=False)


def coast(x, nu, S):
    """Relative way over relative speed of a bubble that is set going by a pressure pulse, at small S."""
    x, nu, S = mp.mpf(x), mp.mpf(nu), mp.mpf(S)
    M, basis = matrix(1, S, nu, x, mp.mpf(1))
    # start phi_0 = r^-2; p = p' + phi_0
    rhs = mp.matrix([0, -1, 0, -(x**-2)])
    c = mp.lu_solve(M, rhs)
    ub = mp.fsum(c[i] * b[0] for i, b in enumerate(basis(mp.mpf(1))))
    ua = mp.fsum(c[i] * b[0] for i, b in enumerate(basis(x)))
    v0 = -2 * x**-3 + 2
    return mp.re((ua - ub) / v0)


if __name__ == "__main__":
    print("without viscosity: n, x, tension ratio, gas outside, gas inside, low, high")
    for row in ((2, "0.5", "1", "0.0012", "0.0012"), (3, "0.4", "0.5", "0", "0"), (2, "0.7", "2", "0.1", "0.3"), (5, "0.9", "1", "0.01", "0.002"), (2, "0.999", "1", "0.01", "0.01")):
        print(*row, *[mp.nstr(w, 14) for w in inviscid(*row)])
    print("viscous: n, x, tension ratio, nu, low s, high s")
    for n, x, sr, nu in ((2, "0.5", "1", "0.001"), (3, "0.5", "1", "0.002"), (3, "0.4", "0.5", "0.01"), (2, "0.9", "1", "0.01"), (4, "0.2", "1", "0.005"), (2, "0.1", "1", "0.001"), (2, "0.5", "1", "0.1")):
        lo, hi = inviscid(n, x, sr, 0, 0)
        out = []
        for w in (lo, hi):
            g = mp.mpf(0)
            s = mp.mpc(0, w)
            # follow the root from a thin liquid to the wanted one
            steps = [mp.mpf(nu) * mp.mpf(f) for f in ("0.01", "0.03", "0.1", "0.2", "0.35", "0.5", "0.7", "0.85", "1")]
            past = []
            for v in steps:
                if not past:
                    guess = mp.mpc(-2 * v * w, w)
                elif len(past) == 1:
                    guess = mp.mpc(mp.re(past[0][1]) * v / past[0][0], w)
                else:
                    (v0, s0), (v1, s1) = past[-2:]
                    guess = s1 + (s1 - s0) * (v - v1) / (v1 - v0)
                s = root(n, x, sr, v, guess)
                past.append((v, s))
            out.append(mp.nstr(s, 13))
        print(n, x, sr, nu, *out)
    print("the fast mode of thick liquids: x, nu, s")
    for x, nu, start in (("0.6", "0.4823", mp.mpc("-1.22", "4.34")), ("0.6", "1.498", mp.mpc("-2.51", "3.73"))):
        print(x, nu, mp.nstr(root(2, x, "1", nu, start), 13))
    print("coasting: x, way nu/(speed a^2), 1/[6 (1 + x + x^2)]")
    for x in ("0.1", "0.5", "0.9"):
        X = mp.mpf(x)
        print(x, mp.nstr(coast(x, 1, "1e-9") / X**2, 10), mp.nstr(1 / (6 * (1 + X + X * X)), 10))
