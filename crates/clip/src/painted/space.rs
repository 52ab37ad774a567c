//! How a body stands in space, beyond what the image plane tells: distance, tilt, rotation and modes with an azimuth.
//!
//! `r(theta, phi) = R (1 + a_0 + sum a_n P_n(mu) + sum a_nm S_nm(mu) cos m (phi - turn - phase_nm))`, `mu = cos theta`, with
//! the associated functions of Schmidt, `S_nm = sqrt(2 (n - m)! / (n + m)!) (1 - mu^2)^(m/2) d^m P_n / d mu^m`, whose mean
//! square with the cosine over the sphere is `1 / (2 n + 1)`, as that of `P_n` \[ChapmanBartels1940\].
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `tilt` | axis out of the image plane, its upper end towards the lens | rad |
//! | `phi` | azimuth about the axis from the side of the lens, positive towards image-right of the axis | rad |
//! | `turn` | what the pattern has rotated | rad |
//! | `a_nm`, `phase_nm` | amplitude over R and azimuth of a crest | 1, rad |
//!
//! The rotation is that of a rigid pattern: nothing here flattens the body or splits its lines.

use std::fmt;
use std::sync::Arc;

use crate::painted::parts::{Meridian, Parting};

/// A number over time (s).
pub type Course = Arc<dyn Fn(f64) -> f64 + Send + Sync>;

/// Modes with an azimuth over time (s).
pub type Pattern = Arc<dyn Fn(f64) -> Vec<Ripple> + Send + Sync>;

/// One mode of order `m > 0` at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Degree `n`, at least the order.
    pub degree: u32,
    /// Order `m`, 1 at least.
    pub order: u32,
    /// Amplitude over R.
    pub amplitude: f64,
    /// Azimuth of a crest before the rotation, rad.
    pub phase: f64,
}

/// How a body stands in space over time; by default it lies in the mid-plane with its axis in the image plane.
#[derive(Clone, Default)]
pub struct Space {
    /// Lens to centre, m; `None` is the recipe's own distance. A camera at infinity does not see it.
    pub distance_m: Option<Course>,
    /// Axis out of the image plane, its upper end towards the lens, rad (-pi/2 to pi/2).
    pub tilt: f64,
    /// Rotation of the pattern about the axis, rad/s, from no turn at time 0.
    pub spin: f64,
    /// Modes with an azimuth.
    pub pattern: Option<Pattern>,
    /// Parts given by their meridians, in place of the expansion.
    pub parting: Option<Parting>,
}

impl fmt::Debug for Space {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Space")
            .field("tilt", &self.tilt)
            .field("spin", &self.spin)
            .finish_non_exhaustive()
    }
}

impl Space {
    /// The stance at `time`.
    pub fn at(&self, time: f64) -> Stance {
        Stance {
            distance_m: self.distance_m.as_ref().map(|distance| distance(time)),
            tilt: self.tilt,
            turn: self.spin * time,
            ripples: self
                .pattern
                .as_ref()
                .map(|pattern| pattern(time))
                .unwrap_or_default(),
            parts: self
                .parting
                .as_ref()
                .map(|parting| parting(time))
                .unwrap_or_default(),
        }
    }
}

/// How a body stands in space at one instant.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stance {
    /// Lens to centre where it differs from the recipe's, m.
    pub distance_m: Option<f64>,
    /// Axis out of the image plane, rad.
    pub tilt: f64,
    /// What the pattern has rotated about the axis, rad.
    pub turn: f64,
    /// Modes with an azimuth.
    pub ripples: Vec<Ripple>,
    /// Parts given by their meridians, px; empty for a body given by its expansion.
    pub parts: Vec<Meridian>,
}

impl Stance {
    /// Whether the body lies in the mid-plane and its meridian is seen.
    pub fn is_plain(&self) -> bool {
        self.distance_m.is_none() && self.tilt == 0.0 && self.ripples.is_empty()
    }

    /// `sum a_nm S_nm(mu) cos m (phi - turn - phase)`.
    pub fn rippling(&self, mu: f64, phi: f64) -> f64 {
        let one = |ripple: &Ripple| {
            let angle = f64::from(ripple.order) * (phi - self.turn - ripple.phase);
            ripple.amplitude * schmidt(ripple.degree, ripple.order, mu) * angle.cos()
        };
        self.ripples.iter().map(one).sum()
    }
}

/// `S_nm(mu)` by `(k - m + 1) P_{k+1} = (2 k + 1) mu P_k - (k + m) P_{k-1}`, upwards from `P_m = (2 m - 1)!! sin^m theta`.
fn schmidt(degree: u32, order: u32, mu: f64) -> f64 {
    if degree < order {
        return 0.0;
    }
    let m = f64::from(order);
    let sin = (1.0 - mu * mu).max(0.0).sqrt();
    let odd = |i: u32| (2.0 * f64::from(i) - 1.0) * sin;
    let (mut before, mut now) = (0.0, (1..=order).map(odd).product::<f64>());
    for k in (order..degree).map(f64::from) {
        (before, now) = (
            now,
            ((2.0 * k + 1.0) * mu * now - (k + m) * before) / (k - m + 1.0),
        );
    }
    let factorials: f64 = (degree - order + 1..=degree + order).map(f64::from).product();
    now * (2.0 / factorials).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Closed forms written out by hand: S_22 = sqrt(3)/2 sin^2, S_21 = sqrt(3) sin cos, S_31 = sqrt(6)/4 sin (5 cos^2 - 1),
    // S_33 = sqrt(10)/4 sin^3.
    #[test]
    fn the_functions_are_those_of_schmidt() {
        for theta in [0.3_f64, 1.1, 2.6] {
            let (s, c) = theta.sin_cos();
            let known = [
                (2, 2, 0.75_f64.sqrt() * s * s),
                (2, 1, 3.0_f64.sqrt() * s * c),
                (3, 1, 6.0_f64.sqrt() / 4.0 * s * (5.0 * c * c - 1.0)),
                (3, 3, 10.0_f64.sqrt() / 4.0 * s.powi(3)),
            ];
            for (n, m, value) in known {
                assert!((schmidt(n, m, c) - value).abs() < 1e-14, "{n} {m}");
            }
        }
        assert_eq!(schmidt(2, 3, 0.4), 0.0);
    }
}
