# Independent reference material: a careful script of general libraries that measures those clips.
# Kept as it was written, apart from these lines. It shares no code with tremolet; the validation runs it beside it.
"""Baseline pipelines a skilled practitioner would script.  Run: pipe.py CLIP SIZE METHOD [STAGE]
METHOD: cv (Otsu + cv2.findContours) | sk (Otsu + skimage find_contours, whole frame)
        skc (flat field, sigma-1 smoothing, half level, crop, find_contours) | ray (background difference, mask, radial edge refine)
STAGE: decode-av | decode-cv | decode-png | seg | all"""
import os; os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")   # threads only hurt on 2000x10 systems
import sys, time, glob, json, numpy as np, cv2, av
from skimage.measure import find_contours
from scipy import ndimage as ndi
from scipy.special import eval_legendre
from scipy.optimize import curve_fit
import gen
cv2.setNumThreads(int(os.environ.get('CV_THREADS', 1)))
NMAX = 8; ORD = np.arange(NMAX+1)

def frames(path, how='av'):
    if how == 'av':
        c = av.open(path); s = c.streams.video[0]; s.thread_type = 'AUTO'; s.codec_context.thread_count = int(os.environ.get('DEC_THREADS', 2))
        for f in c.decode(s): yield f.to_ndarray(format='gray')
    elif how == 'cv':
        c = cv2.VideoCapture(path)
        while True:
            ok, f = c.read()
            if not ok: return
            yield cv2.cvtColor(f, cv2.COLOR_BGR2GRAY)
    else:
        for p in sorted(glob.glob(path+'/*.png')): yield cv2.imread(p, cv2.IMREAD_GRAYSCALE)

def area(c): x, y = c[:, 0], c[:, 1]; return .5*abs(np.dot(x, np.roll(y, -1))-np.dot(y, np.roll(x, -1)))
def seg_cv(f, st):
    _, m = cv2.threshold(cv2.GaussianBlur(f, (5, 5), 0), 0, 255, cv2.THRESH_BINARY_INV+cv2.THRESH_OTSU)
    cs, _ = cv2.findContours(m, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return max(cs, key=cv2.contourArea)[:, 0, :].astype(float)
def seg_sk(f, st):
    lv, _ = cv2.threshold(f, 0, 255, cv2.THRESH_BINARY+cv2.THRESH_OTSU)
    return max(find_contours(f, lv+.5), key=len)[:, ::-1]
def flat(f, bb):                                           # 2nd-order polynomial through the pixels away from the drop
    H, W = f.shape; y, x = np.mgrid[0:H:8, 0:W:8]; cx, cy = (bb[0]+bb[2])/2, (bb[1]+bb[3])/2
    k = np.hypot(x-cx, y-cy) > .62*max(bb[2]-bb[0], bb[3]-bb[1])
    X = lambda u, v: np.stack([np.ones_like(u), u, v, u*u, u*v, v*v], -1)
    s = cv2.GaussianBlur(f, (0, 0), 2)[::8, ::8]
    p = np.linalg.lstsq(X(x[k]/W, y[k]/H), s[k].astype(float), rcond=None)[0]
    yy, xx = np.mgrid[0:H, 0:W]; return (X(xx/W, yy/H) @ p).astype(np.float32)
def seg_skc(f, st):
    if 'bb' not in st:
        c = seg_cv(f, st); st['bb'] = [*c.min(0), *c.max(0)]; st['flat'] = 1/flat(f, st['bb'])
    b = st['bb']; x0, y0 = (max(0, int(b[0])-14), max(0, int(b[1])-14)); x1, y1 = int(b[2])+15, int(b[3])+15
    r = cv2.GaussianBlur(f[y0:y1, x0:x1].astype(np.float32)*st['flat'][y0:y1, x0:x1], (0, 0), 1)
    if 'dark' not in st: st['dark'] = float(np.percentile(r[r < .5], 20)) # silhouette plateau, once
    c = max(find_contours(r, .5*(1+st['dark'])), key=len)[:, ::-1]+(x0, y0)
    st['bb'] = [*c.min(0), *c.max(0)]; return c
ANG = np.linspace(0, 2*np.pi, 720, endpoint=False); OFF = np.arange(-8, 8.01, .5)
def seg_ray(f, st, refine=True):                           # needs st['bg'], a frame without the drop
    d = cv2.GaussianBlur(cv2.absdiff(f, st['bg']), (0, 0), 2)
    _, m = cv2.threshold(d, 8, 255, cv2.THRESH_BINARY)     # tuned by hand; Otsu misses a third of the outline
    m = cv2.morphologyEx(m, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    cs, _ = cv2.findContours(m, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    c = max(cs, key=cv2.contourArea); mask = np.zeros_like(m); cv2.drawContours(mask, [c], -1, 255, -1)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (31, 31)))
    cs, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE); c = max(cs, key=cv2.contourArea)
    mask[:] = 0; cv2.drawContours(mask, [cv2.convexHull(c)], -1, 255, -1)
    cs, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE); c = cs[0][:, 0, :].astype(float)
    if not refine: return c
    c0 = np.array([c[:, 0].mean(), c[:, 1].mean()]); v = c-c0; th = np.mod(np.arctan2(v[:, 1], v[:, 0]), 2*np.pi); o = np.argsort(th)
    r0 = np.interp(ANG, th[o], np.hypot(*v[o].T), period=2*np.pi)
    rr = r0[:, None]+OFF; u = np.cos(ANG)[:, None], np.sin(ANG)[:, None]
    pr = ndi.map_coordinates(f.astype(np.float32), [c0[1]+rr*u[1], c0[0]+rr*u[0]], order=1, mode='nearest')
    g = ndi.gaussian_filter1d(pr, 2, axis=1, order=1)      # outside brighter than the dark rim
    k = (g*np.exp(-.5*(OFF/6)**2)).argmax(1).clip(3, len(OFF)-4); i = np.arange(len(k))
    k = k-1+np.stack([g[i, k-1], g[i, k], g[i, k+1]]).argmax(0); k = k-1+np.stack([g[i, k-1], g[i, k], g[i, k+1]]).argmax(0)
    a, b, e = g[i, k-1], g[i, k], g[i, k+1]; den = a-2*b+e
    s = np.where(den < 0, .5*(a-e)/np.where(den == 0, 1, den), 0).clip(-1, 1)
    r = r0+OFF[k]+.5*s; res = r-ndi.median_filter(r, 41, mode='wrap'); ok = abs(res) < 4
    return c0+np.stack([r*np.cos(ANG), r*np.sin(ANG)], 1)[ok]
SEG = dict(cv=seg_cv, sk=seg_sk, skc=seg_skc, ray=seg_ray)

def fit(c, robust=False):
    """Legendre least squares about the centre that nulls P1 and the lateral term (axis = image vertical)."""
    p = c.mean(0) if len(c) < 8 else np.array([(c[:, 0].min()+c[:, 0].max())/2, (c[:, 1].min()+c[:, 1].max())/2])
    for it in range(4):
        v = c-p; r = np.hypot(v[:, 0], v[:, 1]); ct = -v[:, 1]/r; sn = v[:, 0]/r
        X = np.c_[np.polynomial.legendre.legvander(ct, NMAX), sn]
        if robust and it > 1:
            w = 1/np.maximum(1, abs(X@k-r)/1.0); k = np.linalg.lstsq(X*w[:, None], r*w, rcond=None)[0]
        else: k = np.linalg.lstsq(X, r, rcond=None)[0]
        p = p+(k[-1], -k[1])
    return k[:-1], p
MU, WG = np.polynomial.legendre.leggauss(32); PL = np.array([eval_legendre(n, MU) for n in ORD])
def radius(k): return (.5*WG @ (k@PL)**3)**(1/3)            # volume-equivalent radius

def damped(t, A, b, w, ph, o): return A*np.exp(-b*t)*np.cos(w*t+ph)+o
def fit_mode(t, y):
    fs = 1/(t[1]-t[0]); z = y-y.mean(); sp = np.fft.rfft(z*np.hanning(len(z)), 8*len(z)); f = np.fft.rfftfreq(8*len(z), 1/fs)
    lo = f > 1.5; j = np.flatnonzero(lo)[0]+abs(sp[lo]).argmax(); A = np.ptp(z)/2; best = None
    for b in (.5, 2., 6.):
        for ph in (0, 2.1, 4.2):
            try: p, cv = curve_fit(damped, t, y, [A, b, 2*np.pi*f[j], ph, y[-len(y)//4:].mean()], maxfev=2000)
            except RuntimeError: continue
            s = np.sum((damped(t, *p)-y)**2)
            if best is None or s < best[0]*(1-1e-9): best = (s, p, cv)
        if best is not None and b == .5 and np.sqrt(best[0]/len(t)) < .05*A: break
    return best[1], best[2]
def physics(t, K):
    """K: N x (NMAX+1) Legendre coefficients in px -> R, per-mode (f, tau, sigma, nu) and combined sigma, nu"""
    Rpx = np.median([radius(k) for k in K]); Rm = gen.RMM*1e-3; out = []   # R in metres from the (exact) scale
    Rm *= Rpx/STATE_R[0] if STATE_R[0] else 1
    for n in gen.NS:
        p, cv = fit_mode(t, K[:, n]/K[:, 0]); w, b = abs(p[2]), p[1]; sw, sb = np.sqrt(cv[2, 2]), np.sqrt(cv[1, 1])
        c = gen.RHO*Rm**3/(n*(n-1)*(n+2)); d = Rm**2/((n-1)*(2*n+1))
        out.append((w/2/np.pi, 1/b, c*(w*w+b*b), d*b, c*2*w*sw, d*sb, sw/2/np.pi, sb/b/b))
    o = np.array(out); comb = lambda v, s: np.sum(v/s**2)/np.sum(1/s**2)
    return Rpx, o, comb(o[:, 2], o[:, 4]), comb(o[:, 3], o[:, 5])
STATE_R = [None]

def main(path, size, method='cv', stage='all', nf=None):
    W, H, N, R = gen.SIZES[size]; STATE_R[0] = R; tim = dict(decode=0., seg=0., fit=0.); pc = time.process_time; st = {}; K = []
    how = stage.split('-')[1] if '-' in stage else ('png' if path.rstrip('/').endswith('png') else 'av')
    if method == 'ray': st['bg'] = np.clip(gen.clutter(W, H), 0, 255).astype(np.uint8)
    t0 = pc(); it = frames(path, how); n = 0
    while True:
        a = pc(); f = next(it, None); tim['decode'] += pc()-a
        if f is None or n == (int(nf) if nf else 1 << 30): break
        n += 1
        if stage.startswith('decode'): continue
        a = pc(); c = SEG[method](f, st); tim['seg'] += pc()-a
        if stage == 'seg': continue
        a = pc(); k, p = fit(c, robust=method == 'ray'); tim['fit'] += pc()-a; K.append(k)
    a = pc()
    r = dict(clip=path.split('/')[-1], method=method, stage=stage, frames=n)
    if stage == 'all':
        K = np.array(K); t = np.arange(n)/250.; A = gen.amps(t)
        Rpx, o, sg, nu = physics(t, K); w, b = gen.lamb(); e = K[:, 2:7]/K[:, :1]-A
        r |= dict(physics_s=round(pc()-a, 3), R_err_px=round(Rpx-R, 4), a_bias=[f'{x:.1e}' for x in e.mean(0)], a_sd=[f'{x:.1e}' for x in e.std(0)],
            f_err_pct=[round(x, 3) for x in 100*(o[:, 0]/(w/2/np.pi)-1)], tau_err_pct=[round(x, 2) for x in 100*(o[:, 1]*b-1)],
            sigma_err_pct=round(100*(sg/gen.SIGMA-1), 3), nu_err_pct=round(100*(nu/gen.NU-1), 2),
            sigma2_err_pct=round(100*(o[0, 2]/gen.SIGMA-1), 3), nu2_err_pct=round(100*(o[0, 3]/gen.NU-1), 2))
    r |= {k+'_ms': round(1e3*v/n, 3) for k, v in tim.items()}; r['frames_per_cpu_s'] = round(n/(pc()-t0), 1); print(json.dumps(r))
if __name__ == '__main__': main(*sys.argv[1:])
