//! A bubble that grows or dissolves by diffusion in a liquid at rest.
//!
//! ```text
//! dR/dt = D L (f - 1 - tau/R) / (1 + 2 tau / (3 R)) (1/R + 1 / sqrt(pi D t)),     tau = 2 sigma / p
//!
//! steady (no 1/sqrt(pi D t)):   D L t = integral_R^R_0 (x^2 + 2 tau x / 3) / ((1 - f) x + tau) dx      f = 1:  R_0^3/(3 tau) + R_0^2/3 to the end
//! no tension:  with A = D L (f - 1), B = A / sqrt(pi D), u = sqrt(t) / R:
//!              ln(R/R_0) = -1/2 ln(1 - 2 B u - 2 A u^2) + B integral_0^u dv / (1 - 2 B v - 2 A v^2)
//! late growth: R = [B + sqrt(B^2 + 2 A)] sqrt(t)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `R_0` | radius, at the start | m |
//! | `D`, `L` | diffusivity in the liquid, concentration dissolved at saturation over that in the gas | m^2/s, 1 |
//! | `f` | concentration far away over that of saturation: above 1 the bubble grows | 1 |
//! | `tau`, `sigma`, `p` | length of the tension, surface tension, pressure in the liquid | m, N/m, Pa |
//!
//! Source: \[EpsteinPlesset1950\] for the equation; the solutions are derived here. The wall's own motion is left out: for `L (f - 1)` above 0.1 see
//! [`crate::fizz::scriven`]. For one bubble far from others and from the drop's surface, with a concentration `f` that lasts.

use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;

/// Gas around a bubble.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diffusion {
    diffusivity: f64,
    partition: f64,
    saturation: f64,
}

impl Diffusion {
    /// `diffusivity` (m^2/s), `partition` (dissolved over gaseous concentration) and `saturation` (concentration far away over that of
    /// saturation).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a diffusivity or partition that is not positive, a negative saturation.
    pub fn new(diffusivity: f64, partition: f64, saturation: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            diffusivity: positive("diffusivity", diffusivity)?,
            partition: positive("partition", partition)?,
            saturation: not_negative("saturation", saturation)?,
        })
    }

    /// Time from radius `from` to radius `to` (m), s, in steady diffusion with the length `tension` (`2 sigma / p`, m, may be 0); none if
    /// the bubble never gets there.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a `from` that is not positive, a negative `to` or tension.
    ///
    /// ```
    /// use tremolet_theory::fizz::growth::Diffusion;
    /// let still = Diffusion::new(2e-9, 0.02, 1.0)?;
    /// let life = still.steady_time(1e-5, 0.0, 2.0 * 0.0728 / 101_325.0)?.expect("it dissolves");
    /// assert!((life - 6.632_612_179).abs() < 1e-8);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn steady_time(&self, from: f64, to: f64, tension: f64) -> Result<Option<f64>, TheoryError> {
        positive("radius at the start", from)?;
        not_negative("radius at the end", to)?;
        let (lack, tau) = (
            1.0 - self.saturation,
            not_negative("length of the tension", tension)?,
        );
        let pull = |x: f64| lack * x + tau;
        // The bubble must shrink where the pull is above zero and grow where it is below.
        let way = from - to;
        if way != 0.0 && !(pull(from) * way > 0.0 && (pull(to) * way > 0.0 || to == 0.0)) {
            return Ok(None);
        }
        Ok(Some(
            steady_integral(from, to, lack, tau) / (self.diffusivity * self.partition),
        ))
    }

    /// Radius after `time` (s) in steady diffusion without tension, m; 0 once dissolved.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius that is not positive, a negative time.
    pub fn steady_radius(&self, from: f64, time: f64) -> Result<f64, TheoryError> {
        let square =
            positive("radius at the start", from)?.powi(2) + 2.0 * self.drive() * not_negative("time", time)?;
        Ok(square.max(0.0).sqrt())
    }

    /// Radius after `time` (s) with the transient and without tension, m; 0 once dissolved.
    ///
    /// # Errors
    /// As [`Diffusion::steady_radius`]; [`TheoryError::Root`] if the search fails.
    pub fn radius(&self, from: f64, time: f64) -> Result<f64, TheoryError> {
        positive("radius at the start", from)?;
        not_negative("time", time)?;
        if time == 0.0 || self.drive() == 0.0 {
            return Ok(from);
        }
        if self.dissolution_time(from)?.is_some_and(|end| time >= end) {
            return Ok(0.0);
        }
        // u = sqrt(t) / R grows with time; w = u / (end + u) or u / end keeps it between 0 and 1.
        let (target, grows) = (time.sqrt() / from, self.drive() > 0.0);
        let end = if grows { 1.0 / self.late_slope() } else { target };
        let u = |w: f64| if grows { w * end } else { end * w / (1.0 - w) };
        let late = |w: f64| u(w).ln() + self.logarithm(u(w)) - target.ln();
        let (first, last) = (1e-15, 1.0 - 1e-15);
        if late(first) > 0.0 {
            return Ok(from);
        }
        if grows && late(last) < 0.0 {
            return Ok(self.late_slope() * time.sqrt());
        }
        let what = "radius of the bubble";
        let found = bracketed(late, first, last, 0.0).map_err(|source| TheoryError::Root { what, source })?;
        Ok(time.sqrt() / u(found.root))
    }

    /// Time to dissolve with the transient and without tension, s; none if it does not.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius that is not positive.
    pub fn dissolution_time(&self, from: f64) -> Result<Option<f64>, TheoryError> {
        let square = positive("radius at the start", from)?.powi(2);
        let (a, b) = (-self.drive(), -self.transient());
        if a <= 0.0 {
            return Ok(None);
        }
        // ln(R_0 / R) = 1/2 ln(...) + b times this, up to u without end.
        let rest = 2.0 * a - b * b;
        let integral = if rest > 0.0 {
            (rest.sqrt()).atan2(b) / rest.sqrt()
        } else {
            let root = (-rest).sqrt();
            ((b + root) / (b - root)).ln() / (2.0 * root)
        };
        Ok(Some(square / (2.0 * a) * (-2.0 * b * integral).exp()))
    }

    /// Late growth: `R / sqrt(t)`, m/s^(1/2), whatever the radius at the start; 0 where the bubble does not grow.
    #[must_use]
    pub fn late_slope(&self) -> f64 {
        let (a, b) = (self.drive(), self.transient());
        if a > 0.0 {
            b + (b * b + 2.0 * a).sqrt()
        } else {
            0.0
        }
    }

    /// Where the equation holds for a bubble of `radius` with liquid around it out to `reach` (m, half the way to the next bubble or to the
    /// surface).
    #[must_use]
    pub fn validity(&self, radius: f64, reach: f64) -> Validity {
        Validity::always()
            .with(
                "partition times supersaturation less 1",
                self.partition * (self.saturation - 1.0),
                -0.1,
                0.1,
            )
            .with("radius over room around the bubble", radius / reach, 0.0, 0.2)
    }

    /// `A = D L (f - 1)`.
    fn drive(&self) -> f64 {
        self.diffusivity * self.partition * (self.saturation - 1.0)
    }

    /// `B = A / sqrt(pi D)`.
    fn transient(&self) -> f64 {
        self.drive() / (std::f64::consts::PI * self.diffusivity).sqrt()
    }

    /// `ln(R / R_0)` at `u`.
    fn logarithm(&self, u: f64) -> f64 {
        let (a, b) = (self.drive(), self.transient());
        let below = 1.0 - 2.0 * b * u - 2.0 * a * u * u;
        // integral_0^u dv / (1 - 2 b v - 2 a v^2), by partial fractions or arc tangent.
        let (rest, start, end) = (b * b + 2.0 * a, b, b + 2.0 * a * u);
        let integral = if rest > 0.0 {
            let root = rest.sqrt();
            let part = |x: f64| ((root + x) / (root - x)).abs().ln();
            (part(end) - part(start)) / (2.0 * root)
        } else {
            let root = (-rest).sqrt();
            ((start / root).atan() - (end / root).atan()) / root
        };
        -0.5 * below.ln() + b * integral
    }
}

/// Integral of `(x^2 + 2 tau x / 3) / (lack x + tau)` from `to` to `from`: in closed form, or by points where `lack` is so small that the
/// closed form cancels.
fn steady_integral(from: f64, to: f64, lack: f64, tau: f64) -> f64 {
    if tau == 0.0 {
        return 0.5 * (from * from - to * to) / lack;
    }
    let ratio = lack / tau;
    if (ratio * from.max(to)).abs() < 0.1 {
        let part = |x: f64| (x * x + 2.0 * tau * x / 3.0) / (lack * x + tau);
        return gauss_legendre(20).integral(to, from, part);
    }
    let log = ((1.0 + ratio * from) / (1.0 + ratio * to)).ln();
    let linear = (from - to) / lack;
    let first = linear - log / (lack * ratio);
    0.5 * (from * from - to * to) / lack - first / ratio + 2.0 * tau / 3.0 * first
}

#[cfg(test)]
mod tests {
    use super::*;

    fn air(f: f64) -> Diffusion {
        Diffusion::new(2e-9, 0.02, f).unwrap()
    }

    const TENSION: f64 = 2.0 * 0.0728 / 101_325.0;

    // Epstein & Plesset 1950, recomputed independently: 10 um, D = 2e-9, L = 0.02; their own table has 1.17, 1.46, 1.96, 2.99, 6.63 s with tension
    // (from memory).
    #[test]
    fn lives_in_steady_diffusion() {
        let rows = [
            (0.0, 1.25, 1.165_946),
            (0.25, 1.666_667, 1.459_160),
            (0.5, 2.5, 1.954_867),
            (0.75, 5.0, 2.984_964),
        ];
        for (f, bare, tense) in rows {
            assert!((air(f).steady_time(1e-5, 0.0, 0.0).unwrap().unwrap() - bare).abs() < 6e-7);
            assert!((air(f).steady_time(1e-5, 0.0, TENSION).unwrap().unwrap() - tense).abs() < 1e-6);
        }
        let saturated = air(1.0).steady_time(1e-5, 0.0, TENSION).unwrap().unwrap();
        let closed = (1e-15 / (3.0 * TENSION) + 1e-10 / 3.0) / 4e-11;
        assert!((saturated - closed).abs() < 1e-9 && (saturated - 6.632_612_179).abs() < 1e-8);
        // On both sides of the change of method.
        let near = |f: f64| air(f).steady_time(1e-5, 0.0, TENSION).unwrap().unwrap();
        let (a, b) = (near(1.0 - 0.0143), near(1.0 - 0.0144));
        assert!(a > b && (a - b) < 0.01, "{a} {b}");
    }

    #[test]
    fn lives_with_the_transient() {
        let rows = [
            (0.0, 1.053_371),
            (0.25, 1.436_092),
            (0.5, 2.212_329),
            (0.75, 4.583_085),
        ];
        for (f, life) in rows {
            let found = air(f).dissolution_time(1e-5).unwrap().unwrap();
            assert!((found - life).abs() < 2e-6, "{found}");
        }
        assert!(air(1.5).dissolution_time(1e-5).unwrap().is_none());
        // Very soluble: the other branch of the integral. Continuous at its border b^2 = 2 a, that is L (1 - f) = 2 pi.
        let soluble = |l: f64| {
            let gas = Diffusion::new(2e-9, l, 0.0).unwrap();
            gas.dissolution_time(1e-5).unwrap().unwrap()
        };
        let border = 2.0 * std::f64::consts::PI;
        let (below, above) = (soluble(border * (1.0 - 1e-6)), soluble(border * (1.0 + 1e-6)));
        assert!((below / above - 1.0).abs() < 1e-5 && below > above);
    }

    // The equation integrated in sqrt t, validation/theory/fizz.py.
    #[test]
    fn radii_of_an_integrated_bubble() {
        let rows = [
            (
                3.0,
                1.0,
                1.768_927_933_06e-5,
                1.612_451_549_66e-5,
                1.550_544_524_84e-5,
            ),
            (
                5.0,
                0.2,
                1.437_606_033_28e-5,
                1.280_624_847_49e-5,
                1.253_408_462_15e-5,
            ),
            (
                0.25,
                1.0,
                5.217_577_296_85e-6,
                6.324_555_320_34e-6,
                5.790_969_648_82e-6,
            ),
            (1.0, 3.0, 1e-5, 1e-5, 8.103_044_521_47e-6),
        ];
        for (f, t, transient, steady, tense) in rows {
            assert!(
                (air(f).radius(1e-5, t).unwrap() / transient - 1.0).abs() < 1e-8,
                "{f}"
            );
            assert!(
                (air(f).steady_radius(1e-5, t).unwrap() / steady - 1.0).abs() < 1e-10,
                "{f}"
            );
            let back = air(f).steady_time(1e-5, tense, TENSION).unwrap().unwrap();
            assert!((back / t - 1.0).abs() < 1e-8, "{f}: {back}");
        }
        let fizz = Diffusion::new(1.9e-9, 0.83, 3.0).unwrap();
        assert!((fizz.radius(5e-5, 20.0).unwrap() / 0.000_599_595_979_506 - 1.0).abs() < 1e-8);
        let late = fizz.radius(5e-5, 1e6).unwrap() / (fizz.late_slope() * 1e3);
        assert!((late - 1.0).abs() < 1e-4, "{late}");
        assert_eq!(air(0.0).radius(1e-5, 2.0).unwrap(), 0.0);
        // The ends of the search: long after and at once.
        let long = fizz.radius(1e-9, 1e9).unwrap() / (fizz.late_slope() * 1e9_f64.sqrt());
        assert!((long - 1.0).abs() < 1e-12);
        assert_eq!(fizz.radius(1e-3, 1e-40).unwrap(), 1e-3);
    }

    // A bubble below the critical radius tau / (f - 1) dissolves although the liquid is oversaturated.
    #[test]
    fn below_the_critical_radius_there_is_no_growth() {
        let critical = TENSION / 1.0;
        assert!(
            air(2.0)
                .steady_time(1.1 * critical, 1e-5, TENSION)
                .unwrap()
                .is_some()
        );
        assert!(
            air(2.0)
                .steady_time(0.9 * critical, 1e-5, TENSION)
                .unwrap()
                .is_none()
        );
        assert!(
            air(2.0)
                .steady_time(0.9 * critical, 0.0, TENSION)
                .unwrap()
                .is_some()
        );
        assert!(
            air(2.0)
                .steady_time(1.1 * critical, 0.0, TENSION)
                .unwrap()
                .is_none()
        );
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Diffusion::new(0.0, 1.0, 1.0).is_err() && Diffusion::new(1.0, 1.0, -1.0).is_err());
        assert!(air(1.0).radius(0.0, 1.0).is_err() && air(1.0).steady_time(1e-5, -1.0, 0.0).is_err());
        assert!(air(0.5).validity(1e-5, 1e-3).holds() && !air(50.0).validity(1e-5, 1e-3).holds());
    }
}
