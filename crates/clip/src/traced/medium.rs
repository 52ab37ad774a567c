//! What light does where one medium ends and another begins, and on its way through one.
//!
//! ```text
//! n1 sin i = n2 sin t                                                  (Snell)
//! r_s = (n1 cos i - n2 cos t) / (n1 cos i + n2 cos t)                  (Fresnel)
//! r_p = (n2 cos i - n1 cos t) / (n2 cos i + n1 cos t),   R = (r_s^2 + r_p^2) / 2
//! L(x) = L(0) exp(-k x)                                                (Beer and Lambert)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n1`, `n2` | refractive index before and beyond | 1 |
//! | `i`, `t` | angles of incidence and refraction, from the normal | rad |
//! | `R` | share of unpolarised light that is reflected; 1 where Snell's law has no answer | 1 |
//! | `k` | absorption coefficient | 1/m |
//!
//! Source: \[BornWolf1999\] sections 1.5.2, 1.5.4 and 4.11 (from memory). The radiance `L` over the square of the index is kept by refraction; the
//! camera stands in the medium of the lamps, so that the squares fall out. Light stays unpolarised at every surface, which a real second
//! reflection does not; no colours.

use crate::traced::vector::{Vector, along, dot};

/// A medium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Refractive index.
    pub index: f64,
    /// Absorption coefficient, 1/m.
    pub absorption: f64,
}

impl Medium {
    /// Gas: index 1 and clear.
    pub const GAS: Self = Self {
        index: 1.0,
        absorption: 0.0,
    };
    /// Water in green light at room temperature, index 1.333; clear over a drop.
    pub const WATER: Self = Self {
        index: 1.333,
        absorption: 0.0,
    };

    /// Share of light left after `way` m.
    #[inline]
    #[must_use]
    pub fn left_after(&self, way: f64) -> f64 {
        if self.absorption == 0.0 {
            1.0
        } else {
            (-self.absorption * way).exp()
        }
    }
}

/// Where light goes at a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Share that is reflected.
    pub reflected: f64,
    /// Direction of what is reflected.
    pub back: Vector,
    /// Direction of what is refracted; none when all is reflected.
    pub on: Option<Vector>,
}

/// Splits light of this `direction` at a surface with this `normal` (both of length 1, the normal on the side from which the light comes).
#[inline]
#[must_use]
pub fn split(direction: Vector, normal: Vector, before: f64, beyond: f64) -> Split {
    let cos_in = (-dot(direction, normal)).clamp(0.0, 1.0);
    let back = along(direction, 2.0 * cos_in, normal);
    let ratio = before / beyond;
    let square = 1.0 - ratio * ratio * (1.0 - cos_in * cos_in);
    if square <= 0.0 {
        return Split {
            reflected: 1.0,
            back,
            on: None,
        };
    }
    let cos_on = square.sqrt();
    let across = (before * cos_in - beyond * cos_on) / (before * cos_in + beyond * cos_on);
    let aligned = (beyond * cos_in - before * cos_on) / (beyond * cos_in + before * cos_on);
    let on = along(direction.map(|x| x * ratio), ratio * cos_in - cos_on, normal);
    Split {
        reflected: 0.5 * (across * across + aligned * aligned),
        back,
        on: Some(on),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_optics::lamp::reflectance;

    fn at(incidence: f64, before: f64, beyond: f64) -> Split {
        split(
            [incidence.sin(), 0.0, incidence.cos()],
            [0.0, 0.0, -1.0],
            before,
            beyond,
        )
    }

    // ((n - 1)/(n + 1))^2 of water: 0.020374, by hand.
    #[test]
    fn straight_on_two_per_cent_come_back_from_water() {
        let straight = at(0.0, 1.0, 1.333);
        assert!((straight.reflected - (0.333_f64 / 2.333).powi(2)).abs() < 1e-15);
        assert_eq!(straight.back, [0.0, 0.0, -1.0]);
        assert_eq!(straight.on, Some([0.0, 0.0, 1.0]));
    }

    // Snell's law, and the same share from both sides (Stokes): by another formula for the reflectance that lives in another crate.
    #[test]
    fn angles_follow_snell_and_the_share_is_the_same_from_both_sides() {
        for incidence in [0.1_f64, 0.5, 0.9_f64, 1.2, 1.5] {
            let there = at(incidence, 1.0, 1.333);
            let [x, _, z] = there.on.expect("into the denser medium");
            assert!((x * 1.333 - incidence.sin()).abs() < 1e-14 && (x.hypot(z) - 1.0).abs() < 1e-14);
            let grazing = std::f64::consts::FRAC_PI_2 - incidence;
            assert!((there.reflected - reflectance(1.333, grazing)).abs() < 1e-13);
            let back = at(x.asin(), 1.333, 1.0);
            assert!((back.reflected - there.reflected).abs() < 1e-13);
        }
    }

    // Beyond asin(1/1.333) = 48.6 degrees nothing leaves water; at Brewster's angle atan n half of the across part is left.
    #[test]
    fn all_comes_back_beyond_the_critical_angle() {
        assert!(at(48.5_f64.to_radians(), 1.333, 1.0).on.is_some());
        let beyond = at(48.7_f64.to_radians(), 1.333, 1.0);
        assert!(beyond.on.is_none() && beyond.reflected == 1.0);
        let brewster = at(1.333_f64.atan(), 1.0, 1.333).reflected;
        let across = (1.0 - 1.333_f64.powi(2)) / (1.0 + 1.333_f64.powi(2));
        assert!((brewster - 0.5 * across * across).abs() < 1e-14);
    }

    #[test]
    fn a_way_of_one_over_k_leaves_one_over_e() {
        let ink = Medium {
            index: 1.333,
            absorption: 50.0,
        };
        assert!((ink.left_after(0.02) - (-1.0_f64).exp()).abs() < 1e-15);
        assert_eq!(Medium::WATER.left_after(1.0), 1.0);
    }
}
