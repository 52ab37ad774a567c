# Independent reference material: the generator of clips with a known answer (invented scenario).
# Kept as it was written, apart from these lines. It shares no code with tremolet; the validation runs it beside it.
"""Deterministic ground-truth clips of a free oscillating liquid drop (invented scenario:
18 mm glycerol-water drop, 250 fps, drop tower).  usage: gen.py small|hd|fhd backlit|bright OUT.mp4 [PNGDIR]"""
import sys, subprocess, os, numpy as np, cv2
from scipy.special import eval_legendre, ndtr
RHO, SIGMA, NU, RMM = 1150.0, 0.067, 8.7e-6, 9.0          # kg/m3, N/m, m2/s, mm
NS = np.arange(2, 7)
AMP = np.array([.080, .040, .020, .012, .008]); PHI = np.array([0., .7, 1.9, -.8, 2.6])
SIZES = dict(small=(512, 512, 600, 150.), hd=(1280, 720, 1200, 220.), fhd=(1920, 1080, 600, 330.), mc=(256, 256, 250, 75.))
BLUR, DARK, WHITE = 1.25, 0.20, 200.0                     # PSF sigma px, silhouette/background ratio, DN

def lamb(sigma=SIGMA, nu=NU, rho=RHO, R=RMM*1e-3, n=NS):
    b = (n-1)*(2*n+1)*nu/R**2
    return np.sqrt(n*(n-1)*(n+2)*sigma/(rho*R**3) - b*b), b       # damped omega, decay rate
def amps(t):
    w, b = lamb()
    return AMP*np.exp(-np.outer(t, b))*np.cos(np.outer(t, w) + PHI)
MU, WG = np.polynomial.legendre.leggauss(64)
PG = np.array([eval_legendre(n, MU) for n in NS])
TH = np.linspace(0, 2*np.pi, 2049); PT = np.array([eval_legendre(n, np.cos(TH)) for n in NS])
def outline(a, Rpx):
    """r(theta), slope factor, curvature; volume held at the sphere's."""
    s = (0.5*WG @ (1+a@PG)**3)**(-1/3)
    r = Rpx*s*(1+a@PT); d = TH[1]-TH[0]
    g = lambda y: np.gradient(np.r_[y[-3:-1], y, y[1:3]], d)[2:-2]
    r1 = g(r); r2 = g(r1)
    return r, r/np.hypot(r, r1), (r*r+2*r1*r1-r*r2)/(r*r+r1*r1)**1.5, s
def centre(t, W, H): return (W/2+.37+6*t+3*np.sin(1.1*t), H/2-.21-4*t+2*np.sin(1.7*t))  # slow drift, px

def geometry(a, cx, cy, W, H, Rpx, tilt=0.):
    """coverage 0..1 (blurred, pixel-integrated), signed inward distance on the same grid, rho"""
    r, cs, kap, s = outline(a, Rpx)
    x = np.arange(W, dtype=np.float32)-cx; y = np.arange(H, dtype=np.float32)-cy
    rho2 = x[None]**2 + y[:, None]**2
    m = 8*BLUR; mi = max(m, .15*Rpx); band = (rho2 > (r.min()-mi)**2) & (rho2 < (r.max()+m)**2)
    cov = (rho2 <= (r.min()-mi)**2).astype(np.float32)
    iy, ix = np.nonzero(band); rho = np.sqrt(rho2[band]); th = np.mod(np.arctan2(x[ix], -y[iy])-tilt, 2*np.pi)
    f = th*((len(TH)-1)/(2*np.pi)); k = f.astype(int).clip(0, len(TH)-2); f -= k
    L = lambda v: v[k]*(1-f)+v[k+1]*f
    se2 = BLUR**2+1/12                                     # PSF + pixel box
    dn = (rho-L(r))*L(cs) + .5*se2*L(kap)                  # curvature term = true blur of a curved edge
    cov[band] = ndtr(-dn/np.sqrt(se2))
    return cov, rho2, (iy, ix, -dn), s
def illum(W, H):
    x = np.linspace(-1, 1, W, dtype=np.float32)[None]; y = np.linspace(-1, 1, H, dtype=np.float32)[:, None]
    return WHITE*(1-.12*(x*x+y*y)+.08*x-.04*y)
def clutter(W, H, seed=5):
    g = np.random.default_rng(seed); b = cv2.resize(g.uniform(50, 120, (9, 16)).astype(np.float32), (W, H), interpolation=cv2.INTER_CUBIC)
    for _ in range(14):                                    # hardware-like boxes and rods
        p = (int(g.integers(0, W)), int(g.integers(0, H))); q = (p[0]+int(g.integers(-W//3, W//3)), p[1]+int(g.integers(-H//3, H//3)))
        (cv2.rectangle if g.random() < .5 else cv2.line)(b, p, q, float(g.uniform(30, 150)), int(g.integers(2, 9)))
    return cv2.GaussianBlur(b, (0, 0), 1.5)
def backlit(a, cx, cy, W, H, Rpx, bg, tilt=0.):
    cov, rho2, _, _ = geometry(a, cx, cy, W, H, Rpx, tilt)
    lens = .6*np.exp(-rho2/(.3*Rpx)**2)                    # bright centre: the drop is a lens
    return bg*(1-cov*(1-DARK-lens))
def bright(a, cx, cy, W, H, Rpx, bg, tilt=0.):
    cov, rho2, (iy, ix, d), _ = geometry(a, cx, cy, W, H, Rpx, tilt)
    x = np.arange(W, dtype=np.float32); y = np.arange(H, dtype=np.float32)
    mx = np.clip(cx-1.4*(x-cx), 0, W-1).astype(np.float32); my = np.clip(cy-1.4*(y-cy), 0, H-1).astype(np.float32)   # inverted refracted background
    ins = 70+.7*cv2.remap(bg, *np.meshgrid(mx, my), cv2.INTER_LINEAR)+.12*(y[:, None]-cy)
    rim = np.ones_like(cov); w = .05*Rpx; rim[iy, ix] = 1-.8*np.exp(-(np.clip(d, 0, None)/w)**2)
    img = bg*(1-cov)+cov*ins*rim
    for gx, gy, s, A in ((-.45, -.5, .035, 500), (.3, -.62, .02, 350), (.68, .66, .03, 420), (.1, .4, .05, 160)):
        img += A*np.exp(-((x[None]-cx-gx*Rpx)**2+(y[:, None]-cy-gy*Rpx)**2)/(2*(s*Rpx)**2))
    return img
READ = .5
def var_dn(I, fullwell=10000.): return I*255/fullwell + READ**2   # shot + read, DN^2 (255 DN = fullwell)
def expose(img, g, fullwell=10000.):
    img = np.minimum(img, 255).astype(np.float32)
    n = g.standard_normal(img.shape, dtype=np.float32)*np.sqrt(var_dn(img, np.float32(fullwell)))
    return np.clip(np.rint(img+n), 0, 255).astype(np.uint8)
def clip(size, kind, fullwell=10000., fps=250., n=None, seed=1, tilt=0.):
    W, H, N, R = SIZES[size]; g = np.random.default_rng(seed)
    bg, f = (illum(W, H), backlit) if kind == 'backlit' else (clutter(W, H), bright)
    t = np.arange(n or N)/fps; a = amps(t)
    for i in range(len(t)):
        yield expose(f(a[i], *centre(t[i], W, H), W, H, R, bg, tilt), g, fullwell)
def main(size, kind, out, png=None):
    W, H, N, R = SIZES[size]
    p = subprocess.Popen(f'ffmpeg -v error -y -f rawvideo -pix_fmt gray -s {W}x{H} -r 250 -i - -c:v libx264 -crf 14 -pix_fmt yuv420p'.split()+[out], stdin=subprocess.PIPE)
    if png: os.makedirs(png, exist_ok=True)
    for i, fr in enumerate(clip(size, kind)):
        p.stdin.write(fr.tobytes())
        if png: cv2.imwrite(f'{png}/{i:05d}.png', fr)
    p.stdin.close(); p.wait()
if __name__ == '__main__': main(*sys.argv[1:])
