//! A smooth closed curve through most nodes of a border, whatever the others do.
//!
//! ```text
//! r(phi) = sum_(k=0)^8 A_k cos(k phi) + B_k sin(k phi),   weight 1 / (1 + (residual / c)^2)^2,   c = 3 median |residual|
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r`, `phi` | about the mean of the nodes | px, rad |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3, weights repeated. An outline with finer detail raises `c`, so
//! that nothing of it is called a stray.

use crate::edge::Seen;
use crate::edge::border::Border;
use crate::edge::strip::Node;
use tremolet_shape::normal_equations::NormalEquations;

const HARMONICS: usize = 8;
/// No node nearer to the curve than this is a stray, px.
const NEAREST: f64 = 0.15;

/// What the curve says of every node.
#[derive(Debug, Clone, PartialEq)]
pub struct Smooth {
    /// From the border outward to the curve, along the normal.
    pub offsets: Vec<f64>,
    /// Distance from the curve beyond which a node is a stray.
    pub bar: f64,
}

/// The curve through the nodes that are seen; `None` with too few.
pub fn smooth(border: &Border, nodes: &[Node]) -> Option<Smooth> {
    let place = |j: usize| {
        let (p, n, out) = (border.places[j], border.normals[j], nodes[j].offset);
        [p[0] + out * n[0], p[1] + out * n[1]]
    };
    let count = nodes.len() as f64;
    let sum = border
        .places
        .iter()
        .fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    let centre = sum.map(|s| s / count);
    let polar = |p: [f64; 2]| {
        let (x, y) = (p[0] - centre[0], p[1] - centre[1]);
        (x.hypot(y), row(y.atan2(x)))
    };
    let seen: Vec<(f64, Vec<f64>)> = (0..nodes.len())
        .filter(|j| nodes[*j].seen == Seen::Yes)
        .map(|j| polar(place(j)))
        .collect();
    if seen.len() < 5 * HARMONICS {
        return None;
    }
    let (mut scale, mut curve) = (f64::INFINITY, vec![0.0; 2 * HARMONICS + 1]);
    for _ in 0..12 {
        let mut sums = NormalEquations::new(curve.len());
        for (r, row) in &seen {
            let off = if scale.is_finite() {
                (r - dot(row, &curve)) / scale
            } else {
                0.0
            };
            sums.add(row, (1.0 + off * off).powi(-2), *r);
        }
        curve = sums.factored()?.solution(curve.len());
        let mut off: Vec<f64> = seen.iter().map(|(r, row)| (r - dot(row, &curve)).abs()).collect();
        off.sort_by(f64::total_cmp);
        scale = (3.0 * off[off.len() / 2]).max(1e-3);
    }
    let offsets = (0..nodes.len()).map(|j| {
        let (p, n) = (border.places[j], border.normals[j]);
        let (r, row) = polar(p);
        let facing = ((p[0] - centre[0]) * n[0] + (p[1] - centre[1]) * n[1]) / r.max(1e-9);
        (dot(&row, &curve) - r) * facing
    });
    Some(Smooth {
        offsets: offsets.collect(),
        bar: (2.0 * scale).max(NEAREST),
    })
}

fn row(phi: f64) -> Vec<f64> {
    let waves = (1..=HARMONICS).flat_map(|k| {
        let (sin, cos) = (k as f64 * phi).sin_cos();
        [cos, sin]
    });
    std::iter::once(1.0).chain(waves).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
