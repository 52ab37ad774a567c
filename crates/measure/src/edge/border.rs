//! A smooth closed curve of nodes at equal spacing, with normals and curvature, that can climb to the steepest place.
//!
//! ```text
//! kappa = (x' y'' - y' x'') / (x'^2 + y'^2)^(3/2)      positive for a convex body, outward normal (y', -x') / |.|
//! ```
//! The curve turns from +x towards +y (clockwise on the screen). Lengths in px.
//! Source: differential geometry of plane curves, elementary. Does not say how good the edge is.

use crate::edge::View;
use crate::edge::levels::middle;

/// Nodes along a closed curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Border {
    /// Places.
    pub places: Vec<[f64; 2]>,
    /// Outward unit normals.
    pub normals: Vec<[f64; 2]>,
    /// Curvature, 1/px.
    pub curvature: Vec<f64>,
    /// Distance between nodes.
    pub spacing: f64,
}

/// Nodes are about this far apart, unless that makes too many.
const SPACING: f64 = 1.5;
/// Most nodes around a body.
const MOST: usize = 400;

impl Border {
    /// A smooth border through `places`; `smoothing` is the length, px, below which detail is dropped.
    pub fn around(places: &[[f64; 2]], smoothing: f64) -> Option<Self> {
        let gap = perimeter(places) / places.len().max(1) as f64;
        Self::through(&smoothed(places, smoothing / gap))
    }

    fn through(places: &[[f64; 2]]) -> Option<Self> {
        let length = perimeter(places);
        if places.len() < 8 || !length.is_finite() || length < 16.0 {
            return None;
        }
        let count = ((length / SPACING) as usize).clamp(16, MOST);
        let places = spread(places, length, count);
        let at = |j: usize, k: isize| places[(j as isize + k).rem_euclid(count as isize) as usize];
        let (mut normals, mut curvature) = (Vec::new(), Vec::new());
        let spacing = length / count as f64;
        // Derivatives over a baseline of some pixels: shorter ones only see the noise of the nodes.
        let reach = ((4.0 / spacing) as isize).clamp(1, count as isize / 12);
        for j in 0..count {
            let (a, b, c) = (at(j, -reach), at(j, 0), at(j, reach));
            let first = [(c[0] - a[0]) / 2.0, (c[1] - a[1]) / 2.0];
            let second = [a[0] - 2.0 * b[0] + c[0], a[1] - 2.0 * b[1] + c[1]];
            let speed = first[0].hypot(first[1]).max(1e-9);
            normals.push([first[1] / speed, -first[0] / speed]);
            curvature.push((first[0] * second[1] - first[1] * second[0]) / speed.powi(3));
        }
        Some(Self {
            places,
            normals,
            curvature,
            spacing,
        })
    }

    /// The border with node `j` moved outward by `offsets[j]`, then smoothed over `smoothing` px.
    pub fn moved(&self, offsets: &[f64], smoothing: f64) -> Option<Self> {
        let moved: Vec<[f64; 2]> = (0..self.places.len())
            .map(|j| {
                let (p, n) = (self.places[j], self.normals[j]);
                [p[0] + offsets[j] * n[0], p[1] + offsets[j] * n[1]]
            })
            .collect();
        Self::around(&moved, smoothing)
    }
}

fn perimeter(places: &[[f64; 2]]) -> f64 {
    let next = places.iter().cycle().skip(1);
    places.iter().zip(next).map(|(a, b)| distance(*a, *b)).sum()
}

/// Plain root of the sum of squares: a picture is no place for overflow.
fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (x, y) = (b[0] - a[0], b[1] - a[1]);
    (x * x + y * y).sqrt()
}

/// Means over neighbours with binomial-like weights that keep a quadratic, so that circles do not shrink.
fn smoothed(places: &[[f64; 2]], sigma: f64) -> Vec<[f64; 2]> {
    let n = places.len() as isize;
    let reach = ((3.0 * sigma).ceil() as isize).min(n / 2 - 1);
    if reach < 1 {
        return places.to_vec();
    }
    let bell: Vec<f64> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp())
        .collect();
    let moment = |p: i32| {
        (-reach..=reach)
            .zip(&bell)
            .map(|(k, w)| w * (k as f64).powi(p))
            .sum::<f64>()
    };
    let (m0, m2, m4) = (moment(0), moment(2), moment(4));
    let weights: Vec<f64> = (-reach..=reach)
        .zip(&bell)
        .map(|(k, w)| w * (m4 - m2 * (k * k) as f64) / (m0 * m4 - m2 * m2))
        .collect();
    (0..n)
        .map(|j| {
            let mut sum = [0.0; 2];
            for (k, w) in (-reach..=reach).zip(&weights) {
                let p = places[(j + k).rem_euclid(n) as usize];
                sum[0] += w * p[0];
                sum[1] += w * p[1];
            }
            sum
        })
        .collect()
}

fn spread(places: &[[f64; 2]], length: f64, count: usize) -> Vec<[f64; 2]> {
    let n = places.len();
    let (mut out, mut i, mut passed) = (Vec::with_capacity(count), 0, 0.0);
    let gap = |i: usize| distance(places[i % n], places[(i + 1) % n]);
    for k in 0..count {
        let at = length * k as f64 / count as f64;
        while i + 1 < n && passed + gap(i) <= at {
            passed += gap(i);
            i += 1;
        }
        let t = ((at - passed) / gap(i).max(1e-12)).clamp(0.0, 1.0);
        out.push(between(places, i, t));
    }
    out
}

/// Cubic through four neighbours (their chords nearly equal).
fn between(places: &[[f64; 2]], i: usize, t: f64) -> [f64; 2] {
    let n = places.len();
    let [a, b, c, d] = [
        places[(i + n - 1) % n],
        places[i],
        places[(i + 1) % n],
        places[(i + 2) % n],
    ];
    [0, 1].map(|k| {
        let (m, o) = ((c[k] - a[k]) / 2.0, (d[k] - b[k]) / 2.0);
        let (p, q) = (b[k], c[k]);
        (((2.0 * (p - q) + m + o) * t + 3.0 * (q - p) - 2.0 * m - o) * t + m) * t + p
    })
}

/// Level at any place inside the picture, between four pixels, camera codes.
pub(crate) fn level(view: &View<'_>, x: f64, y: f64) -> Option<f64> {
    if !(x >= 0.0 && y >= 0.0) {
        return None;
    }
    let (i, j) = (x as usize, y as usize);
    if i + 1 >= view.plane.width || j + 1 >= view.plane.height {
        return None;
    }
    let (u, v) = (x - i as f64, y - j as f64);
    let row = |j: usize| view.level(i, j) * (1.0 - u) + view.level(i + 1, j) * u;
    Some(row(j) * (1.0 - v) + row(j + 1) * v)
}

/// Levels along the normal in half-pixel steps, over the light at the node.
pub(crate) fn profile(border: &Border, j: usize, view: &View<'_>, reach: f64) -> Vec<Option<f64>> {
    let (p, n) = (border.places[j], border.normals[j]);
    let steps = (2.0 * reach).ceil() as i32;
    let per_light = 1.0 / view.background.at(p[0], p[1]);
    (-steps..=steps)
        .map(|k| {
            let d = f64::from(k) / 2.0;
            Some(level(view, p[0] + d * n[0], p[1] + d * n[1])? * per_light)
        })
        .collect()
}

/// The steepest rise outward in a profile of half-pixel steps: place in steps, and rise over two pixels.
fn steepest(profile: &[Option<f64>]) -> Option<(f64, f64)> {
    let rise = |k: usize| Some(profile[k + 2]? - profile[k - 2]?);
    let span = 2..profile.len() - 2;
    let best = span
        .filter_map(|k| Some((k, rise(k)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let (k, top) = best;
    if k == 2 || k + 3 == profile.len() {
        return Some((k as f64, top));
    }
    let (left, right) = (rise(k - 1)?, rise(k + 1)?);
    let bend = (left - 2.0 * top + right).min(-1e-12);
    Some((k as f64 + ((left - right) / (2.0 * bend)).clamp(-0.5, 0.5), top))
}

/// Moves every node to the steepest rise within `reach`, ignoring what disagrees with its neighbours; only one node of
/// `every` looks, the others follow.
pub fn climbed(border: &Border, view: &View<'_>, reach: f64, every: usize) -> Option<Border> {
    let half = (2.0 * reach).ceil();
    let found: Vec<Option<f64>> = (0..border.places.len())
        .map(|j| {
            if j % every != 0 || view.covered(border.places[j]) {
                return None;
            }
            steepest(&profile(border, j, view, reach)).map(|(k, _)| (k - half) / 2.0)
        })
        .collect();
    let n = found.len() as isize;
    let offsets: Vec<f64> = (0..n)
        .map(|j| {
            let near = (-4..=4).filter_map(|k| found[(j + k).rem_euclid(n) as usize]);
            middle(near.collect()).unwrap_or(0.0)
        })
        .collect();
    border.moved(&offsets, 4.0)
}

/// A first width of the blur from the steepness: median over the nodes.
pub fn width(border: &Border, view: &View<'_>) -> Option<f64> {
    let widths: Vec<f64> = (0..border.places.len())
        .filter_map(|j| {
            let profile = profile(border, j, view, 6.0);
            let (_, rise) = steepest(&profile)?;
            let (inner, outer) = (profile[0]?, profile[profile.len() - 1]?);
            let steep = (rise / 2.0).max(1e-9);
            ((outer - inner) > 0.0).then(|| (outer - inner) / (steep * (2.0 * std::f64::consts::PI).sqrt()))
        })
        .collect();
    middle(widths).map(|w| w.clamp(0.4, 6.0))
}
