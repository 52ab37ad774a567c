# Independent reference material: Cramer-Rao bounds for those clips.
# Kept as it was written, apart from these lines. It shares no code with tremolet; the validation runs it beside it.
"""Cramer-Rao bounds: edge localisation -> per-frame Legendre amplitudes -> damped sinusoids -> sigma, nu."""
import numpy as np, gen
from scipy.special import eval_legendre, ndtr
def edge_info(bg, fullwell=10000., blur=gen.BLUR, dark=gen.DARK):
    """Fisher information on the edge position (1/px^2) per px of outline; 8-bit rounding counted as 1/12 DN^2."""
    se = np.sqrt(blur**2+1/12); x = np.linspace(-6*se, 6*se, 2001); c = ndtr(-x/se); I = bg*(1-c*(1-dark))
    dI = bg*(1-dark)*np.exp(-x*x/2/se**2)/(se*np.sqrt(2*np.pi))
    return np.sum(dI**2/(gen.var_dn(I, fullwell)+1/12))*(x[1]-x[0])
def amp_cov(R, fullwell=10000., W=256, H=256, nmax=8, **k):
    """covariance of (c_0..c_nmax, lateral shift)/R for one frame, near-sphere outline, local background level"""
    th = np.linspace(0, 2*np.pi, 721)[:-1]; il = gen.illum(W, H)
    bg = il[(H/2-R*np.cos(th)).astype(int).clip(0, H-1), (W/2+R*np.sin(th)).astype(int).clip(0, W-1)]
    lev = np.unique(np.round(bg)); J = np.interp(bg, lev, [edge_info(b, fullwell, **k) for b in lev])
    g = np.array([eval_legendre(n, np.cos(th)) for n in range(nmax+1)]+[np.sin(th)])
    return np.linalg.inv((g*J)@g.T*R*(th[1]-th[0]))/R**2
def mode_crb(t, sd, A, b, w, ph):
    """sd of (A, decay rate, omega, phase, offset) for y = A exp(-bt) cos(wt+ph) + o, white noise sd"""
    e = np.exp(-b*t); c, s = np.cos(w*t+ph), np.sin(w*t+ph)
    J = np.stack([e*c, -A*t*e*c, -A*t*e*s, -A*e*s, np.ones_like(t)], 1)
    return np.sqrt(np.diag(np.linalg.inv(J.T@J)))*sd
def all_modes(t, sd):
    """sd of f_n, tau_n (per mode) and of sigma, nu: mode 2 alone, and all modes jointly (relative)"""
    w, b = gen.lamb(); sf, st, F = [], [], np.zeros((2, 2))
    for i, n in enumerate(gen.NS):
        m = mode_crb(t, sd[i], gen.AMP[i], b[i], w[i], gen.PHI[i]); sf.append(m[2]/2/np.pi); st.append(m[1]/b[i]**2)
        e = np.exp(-b[i]*t); c, s = np.cos(w[i]*t+gen.PHI[i]), np.sin(w[i]*t+gen.PHI[i]); A = gen.AMP[i]
        J = np.stack([-A*t*e*c*b[i], -A*t*e*s*w[i], e*c, -A*e*s, np.ones_like(t)], 1)    # log nu, log omega, nuisance
        w0 = w[i]**2+b[i]**2                               # omega_d^2 = k sigma - (nu..)^2
        T = np.eye(5); T[1] = [-(b[i]/w[i])**2, .5*w0/w[i]**2, 0, 0, 0]     # d log omega_d / d(log nu, log sigma)
        G = J@T; M = G.T@G/sd[i]**2; S = M[:2, :2]-M[:2, 2:]@np.linalg.solve(M[2:, 2:], M[2:, :2]); F += S
        if i == 0: one = np.sqrt(np.diag(np.linalg.inv(S)))
    jt = np.sqrt(np.diag(np.linalg.inv(F))); return np.array(sf), np.array(st), one[::-1], jt[::-1]
if __name__ == '__main__':
    for size, (W, H, N, R) in gen.SIZES.items():
        for fw in (10000., 2500., 625.):
            sd = np.sqrt(np.diag(amp_cov(R, fw, W, H))); t = np.arange(N)/250.
            sf, st, one, jt = all_modes(t, sd[2:7])
            print(size, int(fw), 'edge sd/px of outline %.4f px' % edge_info(gen.WHITE*.95, fw)**-.5, 'R %.1e px' % (sd[0]*R),
              'a_n', ' '.join('%.1e' % x for x in sd[2:7]), 'f_n rel', ' '.join('%.1e' % x for x in sf/(gen.lamb()[0]/6.2832)),
              'tau_n rel', ' '.join('%.1e' % x for x in st*gen.lamb()[1]), 'sigma,nu rel mode2 %.1e %.1e all %.1e %.1e' % (*one, *jt))
