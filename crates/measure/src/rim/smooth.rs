//! A smooth closed curve through most nodes of a border, whatever the others do.
//!
//! ```text
//! r(phi) = sum_(k=0)^m A_k cos(k phi) + B_k sin(k phi),   weight 1 / (1 + (residual / c)^2)^2,   c = 3 median |residual|
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

/// Nodes over whose distance clutter and texture still push the edge the same way.
const ALIKE: usize = 24;

impl Smooth {
    /// By how much the mean over many nodes scatters more than their uncertainties say: mean square of the residuals
    /// over their uncertainties, times `1 + 2 sum_k rho_k` up to where the correlation `rho_k` of nodes `k` apart ends; at
    /// least 1.
    pub fn excess(&self, nodes: &[Node]) -> f64 {
        let n = nodes.len();
        let off: Vec<Option<f64>> = nodes
            .iter()
            .zip(&self.offsets)
            .map(|(n, at)| (n.seen == Seen::Yes).then(|| (n.offset - at) / n.uncertainty))
            .collect();
        let product = |k: usize| {
            let pairs = (0..n).filter_map(|j| Some(off[j]? * off[(j + k) % n]?));
            let (count, sum) = pairs.fold((0.0, 0.0), |(c, s), p| (c + 1.0, s + p));
            sum / f64::max(count, 1.0)
        };
        let square = product(0).max(1e-12);
        let alike = (1..=ALIKE.min(n / 4)).map(|k| product(k) / square);
        let sum: f64 = alike.take_while(|rho| *rho > 0.0).sum();
        (square * (1.0 + 2.0 * sum)).max(1.0)
    }
}

/// The curve of `harmonics` through the nodes that are seen; `None` with too few.
pub fn smooth(border: &Border, nodes: &[Node], harmonics: usize) -> Option<Smooth> {
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
        (x.hypot(y), row(y.atan2(x), harmonics))
    };
    let seen: Vec<(f64, Vec<f64>)> = (0..nodes.len())
        .filter(|j| nodes[*j].seen == Seen::Yes)
        .map(|j| polar(place(j)))
        .collect();
    if seen.len() < 5 * harmonics {
        return None;
    }
    let (mut scale, mut curve) = (f64::INFINITY, vec![0.0; 2 * harmonics + 1]);
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

fn row(phi: f64, harmonics: usize) -> Vec<f64> {
    let waves = (1..=harmonics).flat_map(|k| {
        let (sin, cos) = (k as f64 * phi).sin_cos();
        [cos, sin]
    });
    std::iter::once(1.0).chain(waves).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
