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

#[cfg(test)]
mod tests {
    use super::*;

    fn nodes(off: impl Fn(usize) -> f64) -> (Border, Vec<Node>) {
        let places: Vec<[f64; 2]> = (0..400)
            .map(|k| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 400.0).sin_cos();
                [100.0 + 80.0 * cos, 100.0 + 80.0 * sin]
            })
            .collect();
        let border = Border::around(&places, 1.0).expect("a circle");
        let node = |j: usize| Node {
            offset: off(j),
            uncertainty: 0.05,
            misfit: 1.0,
            seen: Seen::Yes,
        };
        let nodes = (0..border.places.len()).map(node).collect();
        (border, nodes)
    }

    /// Signs without order: nodes apart are not alike.
    fn sign(k: usize) -> f64 {
        let mixed = (k as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        if (mixed ^ (mixed >> 29)).count_ones().is_multiple_of(2) {
            1.0
        } else {
            -1.0
        }
    }

    /// The mean of `n` numbers in runs of eight that are alike scatters by the root of eight more than that of `n` numbers.
    #[test]
    fn nodes_that_go_astray_together_count_for_less() {
        let (border, alone) = nodes(|j| 0.05 * sign(j));
        let curve = smooth(&border, &alone, 3).expect("a curve");
        let single = curve.excess(&alone);
        assert!((1.0..1.6).contains(&single), "{single}");
        let (border, together) = nodes(|j| 0.05 * sign(j / 8));
        let curve = smooth(&border, &together, 3).expect("a curve");
        let runs = curve.excess(&together);
        assert!(runs > 4.0 && runs < 16.0, "{runs}");
    }

    #[test]
    fn a_detour_is_off_the_curve() {
        let (border, detour) = nodes(|j| {
            if (40..70).contains(&j) {
                12.0
            } else {
                0.02 * sign(j)
            }
        });
        let curve = smooth(&border, &detour, 3).expect("a curve");
        let astray = |(node, at): (&Node, &f64)| (node.offset > 1.0, (node.offset - at).abs() > curve.bar);
        let all: Vec<(bool, bool)> = detour.iter().zip(&curve.offsets).map(astray).collect();
        let kept = all.iter().filter(|(_, off)| !off).count();
        assert!(all.iter().all(|(detour, off)| *off || !detour));
        assert!(
            kept as f64 > 0.9 * (all.len() - 30) as f64,
            "{kept} of {}",
            all.len()
        );
    }
}
