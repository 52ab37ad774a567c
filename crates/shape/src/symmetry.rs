//! The axis of an outline: the line about which it is most nearly its own mirror image.
//!
//! ```text
//! r(phi) = A_0 + sum (A_k cos k phi + B_k sin k phi),   Z_k = A_k + i B_k
//! chi^2(alpha) = sum over k, outlines of Im(Z_k e^(-i k alpha))^2 / u_k^2
//! ```
//! Turned to the axis `alpha`, a mirror-symmetric outline has no sine terms. `phi` runs from image-up towards +x, the
//! centre is where `Z_1` vanishes. Several outlines of one body (frames of a clip) are judged together.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_k`, `B_k` | Fourier coefficients of the radius | the caller's length |
//! | `u_k` | their standard uncertainty | the same |
//! | `alpha` | direction of the axis | rad |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3. An axis out of the picture's plane is not seen.

use crate::normal_equations::NormalEquations;
use crate::outline::Point;
use std::f64::consts::PI;

/// Fourier coefficients of an outline about its own centre.
#[derive(Debug, Clone, PartialEq)]
pub struct Harmonics {
    /// Centre where the first harmonic vanishes.
    pub centre: [f64; 2],
    /// `A_k`, from `k = 0`.
    pub cosine: Vec<f64>,
    /// `B_k`, from `k = 0` (which is nil).
    pub sine: Vec<f64>,
    /// Standard uncertainty of each pair.
    pub uncertainty: Vec<f64>,
}

/// The harmonics of the outline through `points` up to `order`; `None` when a gap leaves them undetermined.
pub fn harmonics(points: &[Point], order: usize) -> Option<Harmonics> {
    let count = points.len() as f64;
    let mut centre = [
        points.iter().map(|p| p.x).sum::<f64>() / count,
        points.iter().map(|p| p.y).sum::<f64>() / count,
    ];
    let mut basis = vec![0.0; 2 * order + 1];
    for _ in 0..30 {
        let mut sums = NormalEquations::new(basis.len());
        for p in points {
            let (x, y) = (p.x - centre[0], p.y - centre[1]);
            let r = (x * x + y * y).sqrt().max(f64::MIN_POSITIVE);
            let (sin, cos) = (x / r, -y / r);
            let (mut s, mut c) = (0.0, 1.0);
            basis[0] = 1.0;
            for pair in basis[1..].chunks_exact_mut(2) {
                (s, c) = (s * cos + c * sin, c * cos - s * sin);
                (pair[0], pair[1]) = (c, s);
            }
            sums.add(&basis, 1.0 / (p.uncertainty * p.uncertainty).max(1e-30), r);
        }
        let fit = sums.factored()?;
        let found = fit.solution(basis.len());
        let [right, up] = towards(&found);
        centre[0] += right;
        centre[1] -= up;
        if found[1].hypot(found[2]) < 1e-9 * found[0] {
            return Some(arranged(centre, &found, &fit.covariance(basis.len()), order));
        }
    }
    None
}

/// How far to move the centre, rightwards and up, for the first harmonic of `found` (`A_0, A_1, B_1, A_2, B_2, ...`) to vanish.
///
/// ```text
/// (1 - a) v - b u = A_1,    (1 + a) u - b v = B_1,    a = A_2 / A_0,  b = B_2 / A_0
/// ```
/// A point keeps its place while the centre moves by `u` rightwards and `v` up, so its direction turns too, and the second harmonic leaks into
/// the first: `r -> r - u sin phi - v cos phi + (r'/r) (u cos phi - v sin phi)`, of first order in the shape.
fn towards(found: &[f64]) -> [f64; 2] {
    let (first, second) = (&found[1..3], found.get(3..5).unwrap_or(&[0.0; 2]));
    let (a, b) = (second[0] / found[0], second[1] / found[0]);
    let all = 1.0 - a * a - b * b;
    if all.is_nan() || all < 0.5 {
        return [first[1], first[0]];
    }
    [
        (first[1] * (1.0 - a) + b * first[0]) / all,
        (first[0] * (1.0 + a) + b * first[1]) / all,
    ]
}

fn arranged(centre: [f64; 2], found: &[f64], covariance: &[f64], order: usize) -> Harmonics {
    let size = found.len();
    let pick = |k: usize, odd: usize| {
        if k == 0 {
            (1 - odd) as f64 * found[0]
        } else {
            found[2 * k - 1 + odd]
        }
    };
    let variance = |i: usize| covariance[i * size + i];
    Harmonics {
        centre,
        cosine: (0..=order).map(|k| pick(k, 0)).collect(),
        sine: (0..=order).map(|k| pick(k, 1)).collect(),
        uncertainty: (0..=order)
            .map(|k| match k {
                0 => variance(0).sqrt(),
                _ => ((variance(2 * k - 1) + variance(2 * k)) / 2.0).sqrt(),
            })
            .collect(),
    }
}

/// Volume of the body that the outline sweeps about the line through its centre at `angle`, both sides taken as their
/// mean: `V = 2 pi/3 int r^3 sin theta dtheta`, by the mean of equal steps.
pub fn volume_about(outline: &Harmonics, angle: f64) -> f64 {
    const STEPS: u32 = 64;
    let turned: Vec<f64> = (0..outline.cosine.len())
        .map(|k| {
            let (sin, cos) = (k as f64 * angle).sin_cos();
            outline.cosine[k] * cos + outline.sine[k] * sin
        })
        .collect();
    let step = PI / f64::from(STEPS);
    let slice = |i: u32| {
        let (sin, cos) = ((f64::from(i) + 0.5) * step).sin_cos();
        let (mut s, mut c, mut r) = (0.0, 1.0, 0.0);
        for t in &turned {
            r += t * c;
            (s, c) = (s * cos + c * sin, c * cos - s * sin);
        }
        r.powi(3) * sin
    };
    2.0 * PI / 3.0 * step * (0..STEPS).map(slice).sum::<f64>()
}

/// A direction of the axis and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// rad from image-up towards +x, in (-pi/2, pi/2].
    pub angle: f64,
    /// Standard uncertainty, rad; larger than 1 when the outlines show no axis.
    pub uncertainty: f64,
    /// Mirror misfit against what the uncertainties allow; about 1 for a symmetric body.
    pub misfit: f64,
}

/// Mirror misfit of `outlines` about `angle`: `chi^2`, and the number of terms.
pub fn mirror_misfit(outlines: &[Harmonics], angle: f64) -> (f64, usize) {
    let (mut sum, mut count) = (0.0, 0);
    for h in outlines {
        for k in 2..h.cosine.len() {
            let (sin, cos) = (k as f64 * angle).sin_cos();
            sum += ((h.sine[k] * cos - h.cosine[k] * sin) / h.uncertainty[k]).powi(2);
            count += 1;
        }
    }
    (sum, count)
}

/// Directions that are local minima of the mirror misfit, best first; empty without outlines.
pub fn axes(outlines: &[Harmonics]) -> Vec<Axis> {
    const GRID: i32 = 360;
    let spacing = PI / f64::from(GRID);
    let at = |i: i32| mirror_misfit(outlines, spacing * f64::from(i)).0;
    let misfits: Vec<f64> = (0..GRID).map(at).collect();
    let mut found: Vec<(f64, Axis)> = Vec::new();
    for i in 0..GRID {
        let (before, here, after) = (
            misfits[(i + GRID - 1) as usize % GRID as usize],
            misfits[i as usize],
            misfits[(i + 1) as usize % GRID as usize],
        );
        if here < before && here <= after {
            found.push(refined(outlines, spacing * f64::from(i), spacing));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, axis)| axis).collect()
}

fn refined(outlines: &[Harmonics], start: f64, spacing: f64) -> (f64, Axis) {
    let misfit = |angle: f64| mirror_misfit(outlines, angle).0;
    let (mut angle, mut step, mut bend) = (start, spacing, 0.0);
    for _ in 0..6 {
        let (left, here, right) = (misfit(angle - step), misfit(angle), misfit(angle + step));
        bend = (left - 2.0 * here + right) / (step * step);
        if bend > 0.0 {
            angle -= ((right - left) / (2.0 * step) / bend).clamp(-spacing, spacing);
        }
        step = (step / 4.0).max(1e-4);
    }
    let (sum, count) = mirror_misfit(outlines, angle);
    let ratio = sum / (count as f64 - 1.0).max(1.0);
    let angle = if angle > PI / 2.0 { angle - PI } else { angle };
    let uncertainty = (2.0 * ratio.max(1.0) / bend.max(1e-12)).sqrt();
    (
        sum,
        Axis {
            angle,
            uncertainty,
            misfit: ratio,
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::legendre;

    fn outline(series: &[f64], axis: f64) -> Vec<Point> {
        (0..300)
            .map(|k| {
                let theta = 2.0 * PI * f64::from(k) / 300.0;
                let r = legendre::series(series, theta.cos());
                Point {
                    x: 40.0 + r * (theta + axis).sin(),
                    y: 60.0 - r * (theta + axis).cos(),
                    uncertainty: 0.02,
                }
            })
            .collect()
    }

    #[test]
    fn the_axis_of_a_tilted_body_is_found() {
        for tilt in [-1.2, -0.05, 0.0, 0.3, 1.5] {
            let h = harmonics(&outline(&[30.0, 0.0, 2.0, 1.0], tilt), 8).expect("closed outline");
            let best = axes(&[h])[0];
            assert!((best.angle - tilt).abs() < 1e-4, "{} not {tilt}", best.angle);
            assert!(best.uncertainty < 0.01 && best.misfit < 1.0);
        }
    }

    // Far from the centre of an oval, at an angle: one step leaves what is of second order in the way, not a share of it.
    #[test]
    fn the_second_harmonic_does_not_hold_the_centre_back() {
        let oval: Vec<Point> = outline(&[30.0, 0.0, 4.0], 0.7)
            .into_iter()
            .map(|p| Point {
                x: p.x + 0.3,
                y: p.y - 0.2,
                ..p
            })
            .collect();
        let round = harmonics(&oval, 8).expect("closed outline");
        assert!(
            (round.centre[0] - 40.3).abs() < 1e-6 && (round.centre[1] - 59.8).abs() < 1e-6,
            "{round:?}"
        );
        let centre = [40.0, 60.0];
        let mut sums = NormalEquations::new(17);
        for p in &oval {
            let (x, y) = (p.x - centre[0], p.y - centre[1]);
            let angle = x.atan2(-y);
            let mut basis = vec![1.0];
            basis.extend((1..=8).flat_map(|k| [(f64::from(k) * angle).cos(), (f64::from(k) * angle).sin()]));
            sums.add(&basis, 1.0, x.hypot(y));
        }
        let [right, up] = towards(&sums.factored().expect("closed").solution(17));
        assert!(
            (right - 0.3).abs() < 0.01 && (up - 0.2).abs() < 0.01,
            "{right} {up}"
        );
    }

    #[test]
    fn a_pure_second_degree_has_two_candidates_a_quarter_turn_apart() {
        let h = harmonics(&outline(&[30.0, 0.0, 0.1], 0.2), 2).expect("closed outline");
        let found = axes(&[h]);
        assert_eq!(found.len(), 2);
        assert!(((found[0].angle - found[1].angle).abs() - PI / 2.0).abs() < 1e-3);
    }

    #[test]
    fn the_volume_is_that_of_the_series_turned_about_its_own_axis() {
        let series = [30.0, 0.0, 2.0, 1.0];
        let h = harmonics(&outline(&series, 0.3), 12).expect("closed outline");
        let truth = crate::revolution::from_series(&series).volume;
        assert!((volume_about(&h, 0.3) / truth - 1.0).abs() < 2e-3);
        assert!((volume_about(&h, 0.3 + PI / 2.0) / truth - 1.0).abs() > 0.02);
    }

    #[test]
    fn a_circle_shows_no_axis() {
        let h = harmonics(&outline(&[30.0], 0.0), 6).expect("closed outline");
        assert!(axes(&[h]).iter().all(|a| a.uncertainty > 1.0));
        assert!(axes(&[]).is_empty());
        assert!(harmonics(&[], 4).is_none());
    }
}
