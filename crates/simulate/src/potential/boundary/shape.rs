//! Amplitudes by degree of a star-shaped body, from its meridian.
//!
//! ```text
//! c_n = (n + 1/2) int r(theta) P_n(cos theta) dcos,   a_n = c_n / R        about the centre of mass, by Gauss-Legendre
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | R | radius of the ball of the same volume | m |
//!
//! Source: \[AbramowitzStegun1972\] 25.4.29. Bodies that a ray from their centre crosses more than once have none.

use tremolet_numerics::legendre::projection;
use tremolet_numerics::quadrature::Rule;

use crate::potential::boundary::curve::Curve;

/// `a_0` to `a_highest` about `centre`, in shares of `radius` (`a_0` less one); `None` when the body is not star-shaped.
#[must_use]
pub fn amplitudes(curve: &Curve, centre: f64, radius: f64, rule: &Rule, highest: usize) -> Option<Vec<f64>> {
    let polar = |u: f64| {
        let place = curve.place_at(u);
        let (r, z) = (place.r, place.z - centre);
        (
            r.atan2(z),
            r.hypot(z),
            (place.r_u * z - place.z_u * r) / (r * r + z * z),
        )
    };
    let count = curve.elements();
    let angles: Vec<f64> = (0..=count).map(|i| polar(i as f64).0).collect();
    if angles.windows(2).any(|pair| pair[1] <= pair[0]) {
        return None;
    }
    let samples = rule.nodes.iter().map(|cos| {
        let theta = cos.acos();
        let next = angles.partition_point(|angle| *angle < theta).clamp(1, count);
        let (mut low, mut high) = ((next - 1) as f64, next as f64);
        let mut u = 0.5 * (low + high);
        for _ in 0..60 {
            let (angle, _, slope) = polar(u);
            if angle < theta {
                low = u;
            } else {
                high = u;
            }
            let step = (theta - angle) / slope;
            let next = if u + step > low && u + step < high {
                u + step
            } else {
                0.5 * (low + high)
            };
            if (next - u).abs() < 1e-14 * count as f64 {
                break;
            }
            u = next;
        }
        polar(u).1 / radius
    });
    let samples: Vec<f64> = samples.collect();
    let mut series = projection(rule, &samples, highest);
    series[0] -= 1.0;
    Some(series)
}
