//! The level across a blurred dark rim, up to factors that differ along the outline.
//!
//! ```text
//! g(t) = (1 + c t/w + b (t/w)^4) exp(-(t/w)^2)
//! shade(x) = (1 - k) integral_0^inf g(t) N(x + t; s) dt + k Phi(-x/s) g(max(-x, 0))
//! integral = K_0 + c K_1 / w + b K_4 / w^4,   K_(n+1) = m K_n + n v K_(n-1),   K_1 = m K_0 + v N(x; s)
//! K_0 = sqrt(v)/s exp(-x^2 / (w^2 + 2 s^2)) Phi(m / sqrt(v)),   v = s^2 w^2 / (w^2 + 2 s^2),   m = -x v / s^2
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `t` | outward from the edge, inward from it | px |
//! | `s`, `w` | width of the blur and of the rim | px |
//! | `c`, `b` | slope of the rim's darkness right at the edge, and its flatness | 1 |
//! | `k` | 0: the rim is in focus with the edge and blurred with it; 1: it is not, and its picture is smooth already | 1 |
//!
//! The rim is light from elsewhere, bent by the body: its picture need not lie in the plane of the edge, so `k` is open.
//! `N` is the normal density. Source: product of two normal densities, elementary. Tabulated; straight lines between the entries
//! are within 5e-5 of a step.

use crate::rim::belief::{Belief, LEVELS};
use crate::step::{density, step};

const LOW: f64 = -24.0;
const HIGH: f64 = 16.0;
/// Entries for each px: of the levels, and of their derivatives by the shape.
const FINE: usize = 32;
const ROUGH: usize = 8;
/// Step of difference quotients.
const STEP: f64 = 1e-4;

/// Shape of the rim of one outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimShape {
    /// Width of the blur, px.
    pub blur: f64,
    /// Width of the rim, px.
    pub rim: f64,
    /// Slope of the darkness at the edge; 0 is level there.
    pub slope: f64,
    /// Flatness of the darkness; 0 is a normal curve.
    pub flat: f64,
    /// Share of the rim that is not blurred with the edge, 0 to 1.
    pub apart: f64,
}

/// Numbers that make a shape: logarithms of the widths, slope, flatness, share apart.
pub const SHAPE: usize = 5;

/// Slope, flatness and share apart before anything is seen, with standard uncertainties. Chosen: a rim about level at the
/// edge, about a normal curve, blurred with the edge or not (any share between is as likely).
pub const BEFORE: [[f64; 2]; 3] = [[0.0, 0.25], [0.0, 0.3], [0.5, 0.29]];

impl RimShape {
    /// What is taken of a rim of the width `rim`, px, before it is seen.
    pub fn usual(rim: f64) -> Self {
        let [[slope, _], [flat, _], [apart, _]] = BEFORE;
        Self {
            blur: 1.3,
            rim,
            slope,
            flat,
            apart,
        }
    }

    /// Changed by small steps of its numbers, within what is meaningful.
    #[must_use]
    pub fn stepped(self, by: [f64; SHAPE]) -> Self {
        Self {
            blur: (self.blur * by[0].clamp(-0.3, 0.3).exp()).clamp(0.4, 4.0),
            rim: (self.rim * by[1].clamp(-0.3, 0.3).exp()).clamp(1.5, 40.0),
            slope: (self.slope + by[2].clamp(-0.5, 0.5)).clamp(-2.0, 2.0),
            flat: (self.flat + by[3].clamp(-0.5, 0.5)).clamp(-1.0, 2.0),
            apart: (self.apart + by[4].clamp(-0.5, 0.5)).clamp(-0.5, 1.5),
        }
    }

    /// Sum of squares of how far slope, flatness and share apart lie from what is held before, over its uncertainties.
    pub fn unlike(self) -> f64 {
        let now = [self.slope, self.flat, self.apart];
        let off = now
            .iter()
            .zip(BEFORE)
            .map(|(now, [before, u])| (now - before) / u);
        off.map(|off| off * off).sum()
    }

    /// Largest difference of the numbers.
    pub fn apart_from(self, other: Self) -> f64 {
        let differences = [
            (self.blur / other.blur).ln(),
            (self.rim / other.rim).ln(),
            self.slope - other.slope,
            self.flat - other.flat,
            self.apart - other.apart,
        ];
        differences.iter().fold(0.0, |most, d| f64::max(most, d.abs()))
    }

    fn shade(self, x: f64) -> f64 {
        let [blurred, smooth] = self.parts(x);
        (1.0 - self.apart) * blurred[0] + self.apart * smooth[0]
    }

    /// Derivatives of the shade by the numbers of the shape.
    fn slopes(self, x: f64) -> [f64; SHAPE] {
        let [blurred, smooth] = self.parts(x);
        let mixed = |k: usize| (1.0 - self.apart) * blurred[k] + self.apart * smooth[k];
        let by = |k: usize| {
            let mut up = [0.0; SHAPE];
            up[k] = STEP;
            (self.stepped(up).shade(x) - self.stepped(up.map(|u| -u)).shade(x)) / (2.0 * STEP)
        };
        [by(0), by(1), mixed(1), mixed(2), smooth[0] - blurred[0]]
    }

    /// Blurred with the edge, and not: the shade and its derivatives by slope and flatness.
    fn parts(self, x: f64) -> [[f64; 3]; 2] {
        let [a, b, c] = moments(x, self.blur, self.rim);
        let t = (-x).max(0.0) / self.rim;
        let bell = step(-x / self.blur).0 * (-t * t).exp();
        let sum = |a: f64, b: f64, c: f64| [a + self.slope * b + self.flat * c, b, c];
        [sum(a, b, c), sum(bell, bell * t, bell * t.powi(4))]
    }
}

/// `K_0`, `K_1 / w`, `K_4 / w^4`.
fn moments(x: f64, s: f64, w: f64) -> [f64; 3] {
    let wide = w * w + 2.0 * s * s;
    let v = s * s * w * w / wide;
    let m = -x * v / (s * s);
    let k0 = v.sqrt() / s * (-x * x / wide).exp() * step(m / v.sqrt()).0;
    let k1 = m * k0 + v * density(x / s) / s;
    let k2 = m * k1 + v * k0;
    let k3 = m * k2 + 2.0 * v * k1;
    let k4 = m * k3 + 3.0 * v * k2;
    [k0, k1 / w, k4 / w.powi(4)]
}

/// The shape, tabulated with its derivatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// What it was made from.
    pub shape: RimShape,
    /// What is held of levels and residuals.
    pub belief: Belief,
    /// `Phi(x/s)`, its slope, the shade, its slope.
    levels: Vec<[f64; 4]>,
    /// Derivatives of the shade by the numbers of the shape.
    by_shape: Vec<[f64; SHAPE]>,
}

impl Profile {
    /// The tables of a shape.
    pub fn of(shape: RimShape, belief: Belief) -> Self {
        let place = |i: usize, per_px: usize| LOW + i as f64 / per_px as f64;
        let entries = |per_px: usize| 0..=(HIGH - LOW) as usize * per_px;
        let levels = |x: f64| {
            let (phi, bell) = step(x / shape.blur);
            let slope = (shape.shade(x + STEP) - shape.shade(x - STEP)) / (2.0 * STEP);
            [phi, bell / shape.blur, shape.shade(x), slope]
        };
        Self {
            shape,
            belief,
            levels: entries(FINE).map(|i| levels(place(i, FINE))).collect(),
            by_shape: entries(ROUGH).map(|i| shape.slopes(place(i, ROUGH))).collect(),
        }
    }

    /// Columns of the linear fit at `distance` from the border, the edge at `offset`, and their slopes by the offset:
    /// outside (`empty` times) and its slope, inside with its rim, more shade, and the slope of the inside.
    #[inline]
    pub fn columns(&self, distance: f64, offset: f64, empty: f64) -> ([f64; LEVELS], [f64; LEVELS]) {
        let x = distance - offset;
        let [phi, bell, shade, slope] = between(&self.levels, x, FINE);
        let (out, out_slope) = (phi * empty, -bell * empty);
        let ratio = self.belief.ratio;
        let (inside, inside_slope) = (1.0 - phi - ratio * shade, bell + ratio * slope);
        (
            [out, out * distance, inside, shade, inside * x, inside * x * x],
            [
                out_slope,
                out_slope * distance,
                inside_slope,
                -slope,
                inside_slope * x - inside,
                (inside_slope * x - 2.0 * inside) * x,
            ],
        )
    }

    /// Share of a pixel that the body covers, and the light of the body there, at `x` outward from the edge.
    pub fn covered(&self, x: f64, levels: &[f64; LEVELS]) -> (f64, f64) {
        let [phi, _, shade, _] = between(&self.levels, x, FINE);
        let inside = levels[2] + (levels[4] + levels[5] * x) * x;
        let light = inside * (1.0 - phi - self.belief.ratio * shade) + levels[3] * shade;
        (1.0 - phi, light)
    }

    /// How the level changes with the numbers of the shape, for the levels `of` the columns.
    #[inline]
    pub fn by_shape(&self, distance: f64, offset: f64, of: &[f64; LEVELS], empty: f64) -> [f64; SHAPE] {
        let x = distance - offset;
        let inside = of[2] + (of[4] + of[5] * x) * x;
        let shade = of[3] - self.belief.ratio * inside;
        let mut found = between(&self.by_shape, x, ROUGH).map(|slope| shade * slope);
        let z = x / self.shape.blur;
        found[0] -= ((of[0] + of[1] * distance) * empty - inside) * z * step(z).1;
        found
    }
}

/// The entry of a table at `x`, on a straight line between neighbours.
#[inline]
fn between<const N: usize>(table: &[[f64; N]], x: f64, per_px: usize) -> [f64; N] {
    let at = ((x - LOW) * per_px as f64).clamp(0.0, table.len() as f64 - 1.001);
    let i = at as usize;
    let t = at - i as f64;
    let (low, high) = (&table[i], &table[i + 1]);
    std::array::from_fn(|k| low[k] + t * (high[k] - low[k]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(blur: f64, rim: f64) -> RimShape {
        RimShape {
            blur,
            rim,
            slope: 0.0,
            flat: 0.0,
            apart: 0.0,
        }
    }

    /// With a shade that is apart from the level inside.
    fn plain(shape: RimShape) -> Profile {
        let belief = Belief {
            ratio: 0.0,
            ..Belief::usual()
        };
        Profile::of(shape, belief)
    }

    /// A wide rim is a step.
    #[test]
    fn a_wide_rim_is_a_step() {
        let wide = plain(shape(1.2, 1e4));
        for x in [-3.0, -0.7, 0.0, 0.4, 2.0] {
            let ([phi, _, rest, shade, ..], _) = wide.columns(x, 0.0, 1.0);
            assert!(
                (shade - rest).abs() < 1e-3 && (phi + rest - 1.0).abs() < 1e-12,
                "{x}"
            );
        }
    }

    /// Against the sum over thin layers of the rim, each a blurred step.
    #[test]
    fn the_closed_form_is_the_sum_over_layers() {
        let bent = RimShape {
            slope: 0.7,
            flat: -0.4,
            ..shape(1.3, 3.1)
        };
        let dark = |t: f64| (1.0 + 0.7 * t / 3.1 - 0.4 * (t / 3.1).powi(4)) * (-(t / 3.1).powi(2)).exp();
        let profile = plain(bent);
        for x in [-7.3, -4.0, -1.1, 0.0, 0.9, 2.6] {
            let h = 0.002;
            let layers = (0..9000).map(|k| (f64::from(k) + 0.5) * h);
            let sum: f64 = layers.map(|t| dark(t) * density((x + t) / 1.3) / 1.3 * h).sum();
            assert!((profile.columns(x, 0.0, 1.0).0[3] - sum).abs() < 1e-4, "{x}");
        }
    }

    #[test]
    fn slopes_are_those_of_the_values() {
        let profile = Profile::of(shape(1.1, 5.5), Belief::usual());
        for x in [-9.3, -2.2, -0.1, 1.7] {
            let (up, _) = profile.columns(x, -0.0625, 1.0);
            let (down, _) = profile.columns(x, 0.0625, 1.0);
            let (_, slope) = profile.columns(x, 0.0, 1.0);
            for k in 0..LEVELS {
                assert!(((down[k] - up[k]) / 0.125 - slope[k]).abs() < 2e-3, "{x} {k}");
            }
        }
    }

    #[test]
    fn derivatives_by_the_shape_are_those_of_the_values() {
        let here = RimShape {
            slope: 0.2,
            flat: 0.3,
            apart: 0.4,
            ..shape(1.1, 5.5)
        };
        let levels = [1.1, 0.02, 0.9, -0.1, 0.03, -0.004];
        let value = |shape: RimShape, x: f64| -> f64 {
            let (columns, _) = Profile::of(shape, Belief::usual()).columns(x, 0.3, 0.8);
            (0..LEVELS).map(|k| columns[k] * levels[k]).sum()
        };
        for x in [-6.0, -1.5, 0.25, 1.5] {
            let found = Profile::of(here, Belief::usual()).by_shape(x, 0.3, &levels, 0.8);
            for (k, found) in found.iter().enumerate() {
                let mut up = [0.0; SHAPE];
                up[k] = 1e-3;
                let slope = (value(here.stepped(up), x) - value(here.stepped(up.map(|u| -u)), x)) / 2e-3;
                assert!((found - slope).abs() < 2e-3, "{x} {k}: {found} against {slope}");
            }
        }
    }
}
