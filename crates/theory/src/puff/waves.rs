//! Waves on the surface of a drop: how fast each degree runs, when a blow on one pole is felt at the other, and how often it comes round.
//!
//! ```text
//! P_n(cos theta) ~ cos[(n + 1/2) theta - pi/4]:   phase speed w_n/(n + 1/2),   group speed dw/dn = (3 n^2 + 2 n - 2)/(2 w_n) (1/t0^2)
//! far pole after pi/(dw/dn), back after twice that;   on a plane of the same k = (n + 1/2)/R: w^2 = sigma k^3/rho
//! height of a running wave at a pole over its height at the equator: sqrt[2 pi (n + 1/2)];   passes until a share is left: ln(1/share)/(decay pi/(dw/dn))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | n | degree; a packet has degrees about it | 1 |
//! | w_n, decay | frequency and decay rate | rad/s, 1/s |
//! | theta | angle from the pole that was struck | rad |
//! | t0 | sqrt(rho R^3/sigma) | s |
//!
//! Higher degrees run ahead: short waves arrive first and the front of a blow is drawn out. A drop is slower than the plane at the same wave number, most at low degrees,
//! since its neighbours n = 1 and 0 cost nothing. Sources: \[Rayleigh1879\] (w_n), \[DLMF\] 14.15 (P_n far from the poles), \[Lamb1932\] art. 266 (plane) and 236
//! (group). The notion of a running wave needs several waves on the circumference; degrees below some 4 are swings of the whole. Decay: exact up to degree 12
//! ([`crate::modes::viscous`]), beyond to first order in the depth of the shear layer,
//! good to 0.3 % while that takes off less than an eighth. Not here: the gas outside.

use crate::drop::FreeDrop;
use crate::error::{TheoryError, degree_within, required};
use crate::modes::viscous::{HIGHEST_DEGREE, Motion, boundary_layer_coefficient, irrotational_decay, motion};
use crate::validity::Validity;
use std::f64::consts::PI;

/// Highest degree served.
pub const HIGHEST_WAVE: u32 = 1000;

/// Waves of one degree on a drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SphereWave {
    /// Degree.
    pub degree: u32,
    /// Angular frequency without viscosity, rad/s.
    pub angular_frequency: f64,
    /// Decay rate, 1/s.
    pub decay: f64,
    /// Speed of the crests as an angle seen from the middle, rad/s.
    pub phase_speed: f64,
    /// Speed of a packet, rad/s.
    pub group_speed: f64,
    /// Frequency over that of a plane wave of the same wave number.
    pub over_plane: f64,
    /// Height of a running wave at a pole over its height at the equator; a standing one, which runs both ways, has half of it.
    pub focus: f64,
}

impl SphereWave {
    /// Waves of `degree` (2 to 1000) on `drop` \[Rayleigh1879\].
    ///
    /// # Errors
    /// [`TheoryError::Degree`]; as [`FreeDrop::time`].
    ///
    /// ```
    /// use tremolet_theory::{drop::FreeDrop, puff::waves::SphereWave};
    /// let water = FreeDrop { radius: 0.02, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3 };
    /// let wave = SphereWave::new(&water, 10)?;
    /// assert!((wave.far_pole() - 0.215_1).abs() < 1e-3);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn new(drop: &FreeDrop, degree: u32) -> Result<SphereWave, TheoryError> {
        degree_within(degree, 2, HIGHEST_WAVE)?;
        let (time, n) = (drop.time()?, f64::from(degree));
        let w = crate::modes::inviscid::drop_unit(degree);
        let half_on = n + 0.5;
        Ok(SphereWave {
            degree,
            angular_frequency: w / time,
            decay: decay(drop, degree)? / time,
            phase_speed: w / half_on / time,
            group_speed: (3.0 * n * n + 2.0 * n - 2.0) / (2.0 * w) / time,
            over_plane: w / half_on.powf(1.5),
            focus: (2.0 * PI * half_on).sqrt(),
        })
    }

    /// Time in which a packet reaches the far pole, s \[Lamb1932\].
    #[must_use]
    pub fn far_pole(&self) -> f64 {
        PI / self.group_speed
    }

    /// Time in which a packet is back where it began, s \[Lamb1932\].
    #[must_use]
    pub fn return_time(&self) -> f64 {
        2.0 * self.far_pole()
    }

    /// Passes from pole to pole until `share` (0 to 1) of the height is left; infinite without viscosity \[Lamb1932\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a share that is not between 0 and 1.
    pub fn passes(&self, share: f64) -> Result<f64, TheoryError> {
        required(
            "share of the height",
            share,
            share > 0.0 && share < 1.0,
            "a number between 0 and 1",
        )?;
        Ok(-share.ln() / (self.decay * self.far_pole()))
    }

    /// For what the picture of a running wave holds: several waves on the circumference, which live for a pass, on a drop not deformed by more than
    /// `amplitude` (m) in a wavelength.
    #[must_use]
    pub fn validity(&self, drop: &FreeDrop, amplitude: f64) -> Validity {
        let steepness = f64::from(self.degree) * amplitude / drop.radius;
        Validity::always()
            .with("degree", f64::from(self.degree), 4.0, f64::INFINITY)
            .with("wave number times amplitude", steepness, 0.0, 0.3)
            .with(
                "decay over frequency",
                self.decay / self.angular_frequency,
                0.0,
                0.2,
            )
    }
}

/// Decay in units of 1/t0.
fn decay(drop: &FreeDrop, degree: u32) -> Result<f64, TheoryError> {
    let ohnesorge = drop.ohnesorge()?;
    if ohnesorge == 0.0 {
        return Ok(0.0);
    }
    if degree > HIGHEST_DEGREE {
        // As far as the expansion goes; beyond, the mode hardly swings.
        let less = boundary_layer_coefficient(degree) * ohnesorge.sqrt();
        return Ok(irrotational_decay(degree, ohnesorge) * (1.0 - less.min(0.5)));
    }
    Ok(match motion(degree, ohnesorge)? {
        Motion::Swinging { decay, .. } => decay,
        Motion::Aperiodic { slow, .. } => slow,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::legendre::value;

    fn unit(viscosity: f64) -> FreeDrop {
        FreeDrop {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity,
        }
    }

    // dw/dn by differences of Rayleigh's formula in real n; on short waves the plane's: group over phase speed 3/2, frequency over plane 1.
    #[test]
    fn speeds() {
        for n in [2_u32, 5, 30, 400] {
            let wave = SphereWave::new(&unit(0.0), n).unwrap();
            let w = |m: f64| (m * (m - 1.0) * (m + 2.0)).sqrt();
            let m = f64::from(n);
            let slope = (w(m + 1e-4) - w(m - 1e-4)) / 2e-4;
            assert!((wave.group_speed / slope - 1.0).abs() < 1e-8, "{n}");
            assert!((wave.phase_speed * (m + 0.5) / w(m) - 1.0).abs() < 1e-14);
        }
        let short = SphereWave::new(&unit(0.0), 1000).unwrap();
        assert!((short.group_speed / short.phase_speed - 1.5).abs() < 2e-3);
        assert!((short.over_plane - 1.0).abs() < 1e-3);
        // sqrt(8)/2.5^1.5
        let long = SphereWave::new(&unit(0.0), 2).unwrap();
        assert!((long.over_plane - 0.715_541_752_8).abs() < 1e-9);
    }

    // A packet about degree 40, from one pole: the sum of its modes at the far pole is greatest when the group arrives, and again two passes later; at
    // the equator it is lower by the focus.
    #[test]
    fn a_packet_comes_to_the_far_pole_with_the_group_speed() {
        let wave = SphereWave::new(&unit(0.0), 40).unwrap();
        let weight = |n: usize| (-((n as f64 - 40.0) / 5.0).powi(2)).exp();
        let height = |x: f64, t: f64| {
            let of = |n: usize| {
                let w = ((n * (n - 1) * (n + 2)) as f64).sqrt();
                weight(n) * (w * t).cos() * value(n, x)
            };
            (15..=65).map(of).sum::<f64>().abs()
        };
        let peak = |x: f64, from: f64, to: f64| {
            let steps = 4000;
            (0..steps).fold((0.0, 0.0), |best, k| {
                let t = from + (to - from) * f64::from(k) / f64::from(steps);
                let here = height(x, t);
                if here > best.1 { (t, here) } else { best }
            })
        };
        let (far, at_pole) = peak(-1.0, 0.1, 0.5);
        assert!(
            (far / wave.far_pole() - 1.0).abs() < 0.03,
            "{far} {}",
            wave.far_pole()
        );
        let (half, at_equator) = peak(0.0, 0.02, 0.25);
        assert!((half / wave.far_pole() - 0.5).abs() < 0.03, "{half}");
        assert!(
            (at_pole / at_equator / wave.focus - 1.0).abs() < 0.1,
            "{}",
            at_pole / at_equator
        );
        let (back, _) = peak(1.0, 0.4, 0.9);
        assert!((back / wave.return_time() - 1.0).abs() < 0.03, "{back}");
    }

    // Chandrasekhar 1961: exact decay of degree 4 at Oh 0.01 is 0.247 706 858 388 8; passes until a tenth is left.
    #[test]
    fn passes_before_it_has_gone() {
        let wave = SphereWave::new(&unit(0.01), 4).unwrap();
        assert!((wave.decay - 0.247_706_858_388_8).abs() < 1e-11);
        let each = (-wave.decay * wave.far_pole()).exp();
        let left = each.powf(wave.passes(0.1).unwrap());
        assert!((left - 0.1).abs() < 1e-12);
        assert_eq!(
            SphereWave::new(&unit(0.0), 4).unwrap().passes(0.1),
            Ok(f64::INFINITY)
        );
        // Exact decays beyond degree 12, roots at 30 digits in validation/theory/puff.py; the expansion leaves 2e-4 and 3e-3 of them.
        for (oh, n, exact, within) in [
            (1e-3, 20, 0.743_446_148, 3e-4),
            (8e-4, 50, 3.751_153_3, 3e-4),
            (5e-3, 50, 21.442_537_1, 4e-3),
        ] {
            let found = SphereWave::new(&unit(oh), n).unwrap().decay;
            assert!((found / exact - 1.0).abs() < within, "{n}: {found}");
        }
        assert!(wave.passes(1.0).is_err() && SphereWave::new(&unit(0.0), 1).is_err());
        assert!(wave.validity(&unit(0.01), 0.01).holds() && !wave.validity(&unit(0.01), 0.1).holds());
        let broken = |oh, n, amplitude| {
            let wave = SphereWave::new(&unit(oh), n).unwrap();
            wave.validity(&unit(oh), amplitude).broken()
        };
        assert_eq!(broken(0.01, 3, 0.0), ["degree"]);
        assert_eq!(broken(0.01, 4, 0.1), ["wave number times amplitude"]);
        assert_eq!(broken(0.2, 5, 0.01), ["decay over frequency"]);
    }
}
