//! The exact linear answer of a viscous drop that is let go, in vacuum or in a host: a(t) from an initial deformation and speed.
//!
//! ```text
//! vacuum  A(s) = [ (s + K(s)) a0 + v0 ] / ( s^2 + K(s) s + w_n^2 ),     a(t) = inverse Laplace transform of A
//! host    A(s) = [ (M s + X(s)) a0 + M v0 ] / ( M s^2 + X(s) s + (n-1)(n+2) )
//! ```
//! with K of the viscous modes, and M, X of the stress balance with a host ([`crate::modes::balance`]). The liquid starts irrotational: at rest (v0 = 0), or moving as a potential flow. The motion begins with
//! Lamb's damping and settles into the exact mode as the shear layer grows; what is not the mode itself is a continuous rest.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, a0 | amplitude of P_n and its start | any, the same for both |
//! | v0 | da/dt at the start | unit of a per t0 |
//! | t | time | t0 = sqrt(rho R^3/sigma), with a host sqrt((rho_i + rho_o) R^3/sigma) |
//! | Oh | Ohnesorge number | - |
//!
//! Method: the pole pair is taken out as residues where it swings too fast for the path, the rest (singular only on the negative real
//! axis) is inverted on Talbot's path. Absolute accuracy 1e-9 of |a0| + |v0|/w_n for all t, degrees 2 to 12, Oh from 1e-5 up (tested).
//!
//! Sources: \[Prosperetti1977\], \[Prosperetti1980\] (equation); \[AbateValko2004\] (inversion).
//!
//! With a host the form is derived here: at the start both fluids move as potential flows (or rest), whose pressure takes up all of their inertia; it agrees with an
//! inversion of the whole boundary problem. Not here: swirl left in the liquid at the start, large swings.

use crate::modes::balance::Balance;
use crate::modes::error::ModeError;
use crate::modes::host::{Pair, exact, natural};
use crate::modes::inviscid::drop_unit;
use crate::modes::viscous::{Motion, motion, resistance};
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::laplace::talbot_nodes;

#[cfg(test)]
mod tests;

/// Points on the upper half of Talbot's path.
const POINTS: usize = 24;

/// What the drop is in.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Medium {
    Vacuum { degree: u32, ohnesorge: f64 },
    Host(Balance),
}

/// The motion of one amplitude, ready to be asked at any time \[Prosperetti1980\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    medium: Medium,
    amplitude: f64,
    speed: f64,
    /// The pole with Im s > 0 and the residue of A there, when the motion swings.
    pole: Option<(Complex64, Complex64)>,
}

impl Response {
    /// The drop of this Ohnesorge number let go at amplitude a0 and speed v0 (per t0) \[Prosperetti1977\].
    ///
    /// # Errors
    /// As [`motion`]; [`ModeError::Quantity`] when amplitude or speed is not finite.
    ///
    /// ```
    /// use tremolet_theory::modes::response::Response;
    /// let released = Response::new(2, 0.1, 1.0, 0.0)?;
    /// assert!((released.at(1.0) + 0.593_015_078_8).abs() < 1e-9);
    /// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
    /// ```
    pub fn new(degree: u32, ohnesorge: f64, amplitude: f64, speed: f64) -> Result<Response, ModeError> {
        let medium = Medium::Vacuum { degree, ohnesorge };
        let mut response = Response::beginning(medium, amplitude, speed)?;
        if let Motion::Swinging {
            decay,
            angular_frequency,
        } = motion(degree, ohnesorge)?
        {
            response.take_out(Complex64::new(-decay, angular_frequency));
        }
        Ok(response)
    }

    /// A drop or bubble in a host, let go at amplitude a0 and speed v0 (per unit of time), and the seconds per unit of time, sqrt((rho_i + rho_o) R^3/sigma)
    /// \[Prosperetti1980\].
    ///
    /// # Errors
    /// As [`exact`]; [`ModeError::Quantity`] when amplitude or speed is not finite.
    ///
    /// ```
    /// use tremolet_theory::modes::{host::Pair, response::Response};
    /// let water_in_air = Pair { radius: 0.010, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3, host_density: 1.204, host_viscosity: 1.82e-5 };
    /// let (released, second) = Response::in_host(2, &water_in_air, 1.0, 0.0)?;
    /// // After 10 s: e^(-0.056 * 10) of the start at the most.
    /// assert!(released.at(10.0 / second).abs() < 0.575);
    /// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
    /// ```
    pub fn in_host(
        degree: u32,
        pair: &Pair,
        amplitude: f64,
        speed: f64,
    ) -> Result<(Response, f64), ModeError> {
        let (balance, time) = natural(degree, pair)?;
        if pair.host_density == 0.0 {
            return Ok((Response::new(degree, balance.viscosity, amplitude, speed)?, time));
        }
        let mut response = Response::beginning(Medium::Host(balance), amplitude, speed)?;
        let s = exact(degree, pair)? * time;
        if s.im > 0.0 {
            response.take_out(s);
        }
        Ok((response, time))
    }

    fn beginning(medium: Medium, amplitude: f64, speed: f64) -> Result<Response, ModeError> {
        for (name, value) in [("initial amplitude", amplitude), ("initial speed", speed)] {
            if !value.is_finite() {
                return Err(ModeError::Quantity {
                    name,
                    value,
                    expected: "a finite number",
                });
            }
        }
        Ok(Response {
            medium,
            amplitude,
            speed,
            pole: None,
        })
    }

    /// Notes the pole `s` and the residue there.
    fn take_out(&mut self, s: Complex64) {
        let (above, _, slope) = self.parts(s);
        self.pole = Some((s, above / slope));
    }

    /// Amplitude at time t (in t0); before the start it is the initial amplitude \[Prosperetti1980\].
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        // Earlier than this nothing has moved by more than rounding, and s would overflow.
        if time <= 1e-12 {
            return self.amplitude + self.speed * time.max(0.0);
        }
        // A slow pole lies well inside the path and needs no separate treatment.
        let pole = self.pole.filter(|(s, _)| s.im * time > 2.0);
        let swing = pole.map_or(0.0, |(s, residue)| 2.0 * (residue * (s * time).exp()).re);
        let points = self.points_clear_of(pole, time);
        let rest = talbot_nodes(time, points);
        swing
            + rest
                .iter()
                .map(|(s, weight)| (weight * self.rest(*s, pole)).re)
                .sum::<f64>()
    }

    /// A(s) less the pole pair that was taken out.
    fn rest(&self, s: Complex64, pole: Option<(Complex64, Complex64)>) -> Complex64 {
        let (above, below, _) = self.parts(s);
        let pair = pole.map_or(Complex64::ZERO, |(p, residue)| {
            residue / (s - p) + residue.conj() / (s - p.conj())
        });
        above / below - pair
    }

    /// Numerator, denominator and slope of the denominator of A at s.
    fn parts(&self, s: Complex64) -> (Complex64, Complex64, Complex64) {
        match self.medium {
            Medium::Vacuum { degree, ohnesorge } => {
                let (scaled, slope) = resistance(degree, -s / ohnesorge);
                let k = ohnesorge * scaled;
                let above = (s + k) * self.amplitude + self.speed;
                let below = s * s + k * s + drop_unit(degree).powi(2);
                // dK/ds = Oh dk/dy dy/ds = -dk/dy
                (above, below, 2.0 * s + k - s * slope)
            }
            Medium::Host(balance) => {
                let (mass, (x, _)) = (balance.inertia(), balance.resistance(s));
                let (below, slope) = balance.value(s);
                let above = (mass * s + x) * self.amplitude + mass * self.speed;
                (above, below, slope)
            }
        }
    }

    /// A number of points whose path keeps clear of the pole that was taken out, where A and the pair cancel.
    fn points_clear_of(&self, pole: Option<(Complex64, Complex64)>, time: f64) -> usize {
        let Some((s, _)) = pole else { return POINTS };
        let clear = |points: &usize| {
            talbot_nodes(time, *points)
                .iter()
                .all(|(node, _)| (node - s).norm() > 0.02 * s.norm())
        };
        (POINTS..POINTS + 4).find(clear).unwrap_or(POINTS)
    }
}
