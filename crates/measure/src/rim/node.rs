//! The fit of edge and levels at one node of a border, the shape of the rim given.
//!
//! ```text
//! u(delta)^2 = variance / sum (part of d level / d delta that the levels cannot imitate)^2
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `delta` | edge outward from the border | px |
//!
//! Source: separable least squares \[GolubVanLoan2013\] section 5.3.

use crate::edge::border::Border;
use crate::edge::strip::{Node, Sample, Strip};
use crate::edge::{Seen, View};
use crate::rim::belief::LEVELS;
use crate::rim::profile::Profile;

/// Pixels outside and inside that are fitted, beyond three widths of the blur.
const BEYOND: [f64; 2] = [3.5, 6.0];
/// Fewest pixels of a node that can be fitted.
const FEWEST: f64 = 12.0;
/// A step so short ends the fit, px.
const CLOSE: f64 = 2e-3;

/// The pixels near a border, in the frame and in the view without the body where there is one.
#[derive(Debug, Clone)]
pub struct Band {
    frame: Strip,
    empty: Option<Strip>,
}

/// A pixel near the border.
#[derive(Debug, Clone, Copy)]
pub struct Pixel {
    /// Distance outward from the border.
    pub distance: f64,
    /// Level over the mean.
    pub ratio: f64,
    /// Level over the mean without the body; 1 where that is not known.
    pub empty: f64,
}

impl Band {
    /// The pixels near `border`.
    pub fn along(border: &Border, view: &View<'_>, empty: Option<&View<'_>>, width: f64) -> Option<Self> {
        let empty = match empty {
            Some(empty) => Some(Strip::along(border, empty, width)?),
            None => None,
        };
        Some(Self {
            frame: Strip::along(border, view, width)?,
            empty,
        })
    }

    /// Nodes.
    pub fn count(&self) -> usize {
        self.frame.count()
    }

    /// The pixels of node `j` that are fitted.
    pub fn of(&self, j: usize, profile: &Profile) -> impl Iterator<Item = Pixel> {
        let [outer, inner] = BEYOND.map(|b| 3.0 * profile.shape.blur + b);
        let behind = self.empty.as_ref().map(|e| e.of(j));
        let pixel = move |(i, s): (usize, &Sample)| Pixel {
            distance: s.distance,
            ratio: s.ratio,
            empty: behind.map_or(1.0, |b| b[i].ratio),
        };
        let near = move |p: &Pixel| p.distance <= outer && p.distance >= -inner;
        self.frame.of(j).iter().enumerate().map(pixel).filter(near)
    }
}

/// The fit at node `j`, begun at `offset`; its misfit is the residual variance over the one that is believed.
pub fn node(band: &Band, j: usize, profile: &Profile, offset: f64) -> Node {
    let width = profile.shape.blur;
    let pixels: Vec<Pixel> = band.of(j, profile).collect();
    let mut rows = Vec::with_capacity(pixels.len());
    let (mut offset, mut last) = (offset, None);
    for _ in 0..6 {
        last = projected_with(&pixels, offset, profile, &mut rows);
        let Some(fit) = last else { break };
        let step = (fit.slope / fit.information).clamp(-width, width);
        offset = (offset + step).clamp(-3.0 * width, 3.0 * width);
        if step.abs() < CLOSE {
            break;
        }
    }
    let count = pixels.len() as f64;
    let lost = last.is_none_or(|f| f.contrast <= 0.0) || count < FEWEST || offset.abs() > 2.9 * width;
    let freedom = (count - 5.0).max(1.0);
    let (misfit, information) = last.map_or((1.0, 1e-12), |f| (f.squares / freedom, f.information));
    Node {
        offset: if lost { 0.0 } else { offset },
        uncertainty: (misfit / information.max(1e-12)).sqrt(),
        misfit,
        seen: match (band.frame.in_view[j], lost) {
            (false, _) => Seen::OutOfView,
            (true, true) => Seen::Disturbed,
            (true, false) => Seen::Yes,
        },
    }
}

/// A linear fit of the levels.
#[derive(Debug, Clone, Copy)]
pub struct Projected {
    /// The levels.
    pub levels: [f64; LEVELS],
    slope: f64,
    information: f64,
    squares: f64,
    contrast: f64,
}

/// A pixel of the fit: weighted columns, their slopes by the offset, weighted level, root of the weight.
type Row = ([f64; LEVELS], [f64; LEVELS], f64, f64);

/// Linear fit of the levels at a given offset; what is left of the residual and of the slope by the offset.
pub fn projected(pixels: &[Pixel], offset: f64, profile: &Profile) -> Option<Projected> {
    projected_with(pixels, offset, profile, &mut Vec::with_capacity(pixels.len()))
}

fn projected_with(
    pixels: &[Pixel],
    offset: f64,
    profile: &Profile,
    rows: &mut Vec<Row>,
) -> Option<Projected> {
    let (mut matrix, mut right) = ([[0.0; LEVELS]; LEVELS], [0.0; LEVELS]);
    rows.clear();
    for s in pixels {
        let root = profile.belief.weight(s.distance);
        let (c, slopes) = profile.columns(s.distance, offset, s.empty);
        let c = c.map(|c| root * c);
        let ratio = root * s.ratio;
        for a in 0..LEVELS {
            right[a] += c[a] * ratio;
            for b in 0..=a {
                matrix[a][b] += c[a] * c[b];
            }
        }
        rows.push((c, slopes, ratio, root));
    }
    let precisions = profile.belief.precisions();
    (0..LEVELS).for_each(|k| matrix[k][k] += precisions[k]);
    let factor = cholesky(matrix)?;
    let levels = solved(&factor, right);
    let (mut cross, mut slope, mut information) = ([0.0; LEVELS], 0.0, 0.0);
    let mut squares: f64 = (0..LEVELS).map(|k| precisions[k] * levels[k] * levels[k]).sum();
    for (c, slopes, ratio, root) in rows.iter() {
        let by_offset = root * dot(slopes, &levels);
        let off = ratio - dot(c, &levels);
        (0..LEVELS).for_each(|k| cross[k] += c[k] * by_offset);
        slope += by_offset * off;
        information += by_offset * by_offset;
        squares += off * off;
    }
    let share = solved(&factor, cross);
    let information = information - dot(&cross, &share);
    (information > 0.0).then(|| Projected {
        levels,
        slope,
        information,
        squares,
        contrast: levels[0] + levels[1] * offset - levels[2] * (1.0 - profile.belief.ratio) - levels[3],
    })
}

/// Mean square of what the fit at node `j` leaves of the levels near the edge.
pub fn scatter(band: &Band, j: usize, offset: f64, profile: &Profile) -> Option<f64> {
    let pixels: Vec<Pixel> = band.of(j, profile).collect();
    let levels = projected(&pixels, offset, profile)?.levels;
    let near = pixels
        .iter()
        .filter(|s| s.distance.abs() < 3.0 * profile.shape.blur);
    let off = near.map(|s| s.ratio - dot(&profile.columns(s.distance, offset, s.empty).0, &levels));
    let (sum, count) = off.fold((0.0, 0.0), |(sum, count), off| (sum + off * off, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// Sum of the products.
#[inline]
pub fn dot(a: &[f64; LEVELS], b: &[f64; LEVELS]) -> f64 {
    (0..LEVELS).map(|k| a[k] * b[k]).sum()
}

/// The lower factor of a symmetric matrix given by its lower half; `None` unless positive.
pub fn cholesky<const N: usize>(mut m: [[f64; N]; N]) -> Option<[[f64; N]; N]> {
    for a in 0..N {
        for b in 0..=a {
            let sum: f64 = (0..b).map(|k| m[a][k] * m[b][k]).sum();
            let rest = m[a][b] - sum;
            m[a][b] = if a == b {
                if rest <= 1e-12 {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / m[b][b]
            };
        }
    }
    Some(m)
}

/// The solution with a factor of [`cholesky`].
pub fn solved<const N: usize>(l: &[[f64; N]; N], mut v: [f64; N]) -> [f64; N] {
    for a in 0..N {
        let sum: f64 = (0..a).map(|k| l[a][k] * v[k]).sum();
        v[a] = (v[a] - sum) / l[a][a];
    }
    for a in (0..N).rev() {
        let sum: f64 = (a + 1..N).map(|k| l[k][a] * v[k]).sum();
        v[a] = (v[a] - sum) / l[a][a];
    }
    v
}
