//! What perspective does to the amplitudes of a nearly spherical body of revolution whose axis lies across the view.
//!
//! ```text
//! s = R/D,   c = sqrt(1 - s^2)
//! seen(psi) = r_0 [1 + sum a_n P_n(c cos psi) / c^2],    r_0 = R / c
//! b_m = sum_n T_mn a_n,    T_mn = (2m + 1)/2 integral_-1^1 P_n(c x) P_m(x) dx / c^2
//! ```
//! The rays that graze the body touch it in front of its middle, where its polar angle is nearer to the equator. To first order in
//! the amplitudes the point of touch is that of the sphere. Degree 2 is seen as it is; degree n shrinks as `c^(n-2)` and
//! leaves a little of itself in the lower degrees of its parity.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `D` | radius of the body, distance of its centre from the lens | m |
//! | `psi` | angle from the axis, in the image | rad |
//! | `a_n`, `b_m` | amplitudes of the body, of its outline | 1 |
//!
//! Source: tangent cone of a sphere, elementary; checked against outlines traced point by point. For amplitudes of a few per
//! cent; what a degree adds to the mean radius is left out, and so is an axis that points out of the image.

use tremolet_numerics::dense::Matrix;
use tremolet_numerics::legendre::value;
use tremolet_numerics::quadrature::gauss_legendre;

/// The matrix that takes amplitudes of an outline, degrees 2 to `highest` in order, to those of the body; `ratio` is R/D,
/// below 1. It is upper triangular.
pub fn true_from_seen(highest: usize, ratio: f64) -> Matrix {
    let count = highest.saturating_sub(1);
    let seen = seen_from_true(count, (1.0 - ratio * ratio).sqrt());
    let mut inverse = Matrix::identity(count);
    for column in 0..count {
        for row in (0..=column).rev() {
            let above: f64 = (row + 1..=column)
                .map(|k| seen.row(row)[k] * inverse.row(k)[column])
                .sum();
            let own = if row == column { 1.0 } else { 0.0 };
            inverse.row_mut(row)[column] = (own - above) / seen.row(row)[row];
        }
    }
    inverse
}

fn seen_from_true(count: usize, cosine: f64) -> Matrix {
    // Polynomials of degree 2 (count + 1) at most: exact.
    let rule = gauss_legendre(count + 2);
    let entry = |m: usize, n: usize| {
        let overlap = rule.integral(-1.0, 1.0, |x| value(n, cosine * x) * value(m, x));
        (2 * m + 1) as f64 / 2.0 * overlap / (cosine * cosine)
    };
    Matrix::from_fn(count, count, |i, j| if j < i { 0.0 } else { entry(i + 2, j + 2) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The outline of `R [1 + eps P_n]` traced by its points: each is projected from the lens, and in each direction in the
    /// image the farthest counts.
    fn traced(n: usize, eps: f64, distance: f64, psi: f64) -> f64 {
        let radius = |front: f64| {
            // A point of the direction with this angle towards the lens; R = 1.
            let cosine = front.cos() * psi.cos();
            let r = 1.0 + eps * value(n, cosine);
            distance * r * front.cos() / (distance - r * front.sin())
        };
        // Golden section around the point of touch of the sphere.
        let touch = (1.0 / distance).asin();
        let (mut low, mut high) = (touch - 0.3, touch + 0.3);
        let part = (5.0_f64.sqrt() - 1.0) / 2.0;
        for _ in 0..80 {
            let (a, b) = (high - part * (high - low), low + part * (high - low));
            if radius(a) > radius(b) {
                high = b;
            } else {
                low = a;
            }
        }
        radius(0.5 * (low + high))
    }

    #[test]
    fn outlines_traced_point_by_point_give_the_amplitudes_back() {
        let (distance, eps, highest) = (4.0, 1e-5, 6);
        let rule = gauss_legendre(24);
        for n in 2..=highest {
            let flat = distance / (distance * distance - 1.0_f64).sqrt();
            let seen: Vec<f64> = (2..=highest)
                .map(|m| {
                    let part = |x: f64| (traced(n, eps, distance, x.acos()) / flat - 1.0) / eps;
                    (2 * m + 1) as f64 / 2.0 * rule.integral(-1.0, 1.0, |x| part(x) * value(m, x))
                })
                .collect();
            let body = true_from_seen(highest, 1.0 / distance).times(&seen);
            for (m, amplitude) in (2..).zip(&body) {
                let expected = if m == n { 1.0 } else { 0.0 };
                assert!(
                    (amplitude - expected).abs() < 2e-3,
                    "degree {n} gives {amplitude} in {m}"
                );
            }
            // Without the correction degree 6 at four radii would be 12 % too small.
            if n == 6 {
                assert!((seen[4] - (1.0 - 1.0 / 16.0_f64).powi(2)).abs() < 2e-3);
            }
        }
    }

    #[test]
    fn from_far_away_nothing_changes_and_degree_two_never_does() {
        let far = true_from_seen(8, 1e-9);
        assert!((0..7).all(|i| (far.row(i)[i] - 1.0).abs() < 1e-12));
        let near = true_from_seen(8, 0.3);
        assert!((near.row(0)[0] - 1.0).abs() < 1e-12 && near.row(0)[2].abs() > 0.01);
        assert_eq!(true_from_seen(1, 0.3).rows(), 0);
    }
}
