//! A small wave on a flat surface between two viscous fluids: its exact course from rest.
//!
//! ```text
//! w0^2 = sigma k^3/(rho_1 + rho_2),   b = rho_1 rho_2/(rho_1 + rho_2)^2,   e = nu k^2
//! z^4 - 4 b sqrt(e) z^3 + 2 (1 - 6 b) e z^2 + 4 (1 - 3 b) e^(3/2) z + (1 - 4 b) e^2 + w0^2 = 0      roots z_i
//! a(t)/a_0 = 4 (1 - 4 b) e^2/[8 (1 - 4 b) e^2 + w0^2] erfc(sqrt(e t)) + sum_i (z_i/Z_i) w0^2/(z_i^2 - e) exp[(z_i^2 - e) t] erfc(z_i sqrt(t))
//! Z_i = product over j != i of (z_j - z_i)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | k | wave number | 1/m |
//! | sigma, rho | surface tension, densities of both fluids | N/m, kg/m^3 |
//! | nu | kinematic viscosity, the same in both fluids where there are two | m^2/s |
//! | w0 | angular frequency without viscosity | rad/s |
//! | a(t) | amplitude of the wave, at rest at first | as a_0 |
//!
//! Source: \[Prosperetti1981\], from memory; the formula was derived again and agrees with an inversion of the Laplace transform to 12 digits for one
//! fluid and for two like fluids. For small waves (k a well below 1) on deep fluids without gravity; two fluids must share one kinematic viscosity,
//! a single fluid (second density zero) may have any. Not here: films, large waves, fluids of unlike viscosity.

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::dense::Matrix;
use tremolet_numerics::faddeeva::scaled_complement;

/// A wave ready to be asked at any time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlatWave {
    /// w0, rad/s.
    pub angular_frequency: f64,
    /// e = nu k^2, 1/s.
    pub viscous_rate: f64,
    /// b, zero to a quarter.
    share: f64,
    roots: [Complex64; 4],
}

impl FlatWave {
    /// A wave of `wavelength` (m) between fluids of these `densities` (kg/m^3, the second may be zero), of `tension` (N/m) and kinematic `viscosity` (m^2/s) \[Prosperetti1981\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] unless all are positive (the second density may be zero); [`TheoryError::Branch`] if the roots are not found (no case is known).
    pub fn new(
        wavelength: f64,
        densities: [f64; 2],
        tension: f64,
        viscosity: f64,
    ) -> Result<FlatWave, TheoryError> {
        let k = std::f64::consts::TAU / positive("wavelength", wavelength)?;
        let sum = positive("density", densities[0])? + not_negative("second density", densities[1])?;
        let frequency = (positive("surface tension", tension)? * k.powi(3) / sum).sqrt();
        let rate = positive("kinematic viscosity", viscosity)? * k * k;
        FlatWave::of_rates(frequency, rate, densities[0] * densities[1] / (sum * sum))
    }

    /// A wave of angular frequency w0 (rad/s), viscous rate nu k^2 (1/s) and density share b (0 to 1/4) \[Prosperetti1981\].
    ///
    /// # Errors
    /// As [`FlatWave::new`].
    pub fn of_rates(angular_frequency: f64, viscous_rate: f64, share: f64) -> Result<FlatWave, TheoryError> {
        positive("angular frequency", angular_frequency)?;
        positive("viscous rate", viscous_rate)?;
        crate::error::required(
            "density share",
            share,
            (0.0..=0.25).contains(&share),
            "a number from 0 to 1/4",
        )?;
        // In units of w0 for time, so that the roots are of order one.
        let e = viscous_rate / angular_frequency;
        let roots = quartic([
            (1.0 - 4.0 * share) * e * e + 1.0,
            4.0 * (1.0 - 3.0 * share) * e * e.sqrt(),
            2.0 * (1.0 - 6.0 * share) * e,
            -4.0 * share * e.sqrt(),
        ])?;
        Ok(FlatWave {
            angular_frequency,
            viscous_rate,
            share,
            roots,
        })
    }

    /// a(t)/a_0 at `time` (s, not negative) \[Prosperetti1981\].
    ///
    /// ```
    /// // Two like fluids with sigma rho lambda/mu^2 = 3000.
    /// let wave = tremolet_theory::wave::FlatWave::of_rates(1.0, 0.064_720_863_75, 0.25)?;
    /// assert!((wave.at(3.0) + 0.680_948_17).abs() < 1e-8);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        let (t, e) = (
            time * self.angular_frequency,
            self.viscous_rate / self.angular_frequency,
        );
        if t <= 0.0 {
            return 1.0;
        }
        let lone = (1.0 - 4.0 * self.share) * e * e;
        let creep = scaled_complement(Complex64::from((e * t).sqrt())).re * (-e * t).exp();
        let start = 4.0 * lone / (8.0 * lone + 1.0) * creep;
        start + (0..4).map(|i| self.term(i, t, e)).sum::<f64>()
    }

    fn term(&self, i: usize, t: f64, e: f64) -> f64 {
        let z = self.roots[i];
        let others = (0..4).filter(|j| *j != i).map(|j| self.roots[j] - z);
        let weight = z / others.product::<Complex64>() / (z * z - e);
        let argument = z * t.sqrt();
        // exp[(z^2 - e) t] erfc(z sqrt t), on the side where it is tame.
        let course = if argument.re >= 0.0 {
            scaled_complement(argument) * (-e * t).exp()
        } else {
            2.0 * ((z * z - e) * t).exp() - scaled_complement(-argument) * (-e * t).exp()
        };
        (weight * course).re
    }

    /// For what the course holds: an `amplitude` (m) small against the wavelength (m).
    #[must_use]
    pub fn validity(wavelength: f64, amplitude: f64) -> Validity {
        let steepness = std::f64::consts::TAU * amplitude / wavelength;
        Validity::always().with("wave number times amplitude", steepness, 0.0, 0.1)
    }
}

/// Roots of z^4 + c_3 z^3 + c_2 z^2 + c_1 z + c_0: eigenvalues of the companion, polished by Newton's step.
fn quartic(c: [f64; 4]) -> Result<[Complex64; 4], TheoryError> {
    let lost = TheoryError::Branch {
        what: "a viscous wave",
        re: c[0],
        im: c[3],
    };
    let companion = Matrix::from_fn(4, 4, |i, j| {
        if j == 3 {
            -c[i]
        } else {
            f64::from(u8::from(i == j + 1))
        }
    });
    let found = companion.eigenvalues().map_err(|_| lost)?;
    let mut roots = [Complex64::ZERO; 4];
    for (root, (re, im)) in roots.iter_mut().zip(found) {
        let mut z = Complex64::new(re, im);
        for _ in 0..3 {
            let value = (((z + c[3]) * z + c[2]) * z + c[1]) * z + c[0];
            let slope = ((4.0 * z + 3.0 * c[3]) * z + 2.0 * c[2]) * z + c[1];
            if slope != Complex64::ZERO {
                z -= value / slope;
            }
        }
        *root = z;
    }
    Ok(roots)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(wave: &FlatWave, rows: &[(f64, f64)], within: f64) {
        for (t, a) in rows {
            let found = wave.at(t / wave.angular_frequency);
            assert!((found - a).abs() < within, "{t}: {found} {a}");
        }
    }

    // Prosperetti 1981: two like fluids, sigma rho lambda/mu^2 = 3000; recomputed independently from the closed form and by inversion of the transform.
    #[test]
    fn two_like_fluids() {
        // lambda = 1, both densities 1, sigma = 1: mu = nu = 1/sqrt(3000).
        let wave = FlatWave::new(1.0, [1.0, 1.0], 1.0, 1.0 / 3000f64.sqrt()).unwrap();
        assert!((wave.angular_frequency - 11.136_655_993_7).abs() < 1e-10);
        assert!((wave.viscous_rate / wave.angular_frequency - 0.064_720_863_75).abs() < 1e-11);
        let rows = [
            (0.5, 0.890_645_227_018),
            (1.0, 0.607_383_572_997),
            (2.0, -0.161_952_641_564),
            (3.0, -0.680_948_173_838),
            (4.0, -0.627_541_064_124),
            (5.0, -0.146_522_165_536),
            (6.0, 0.342_961_738_215),
            (8.0, 0.268_355_417_887),
            (10.0, -0.334_621_454_217),
            (12.0, -0.045_009_358_874_4),
            (15.0, 0.113_678_966_254),
            (20.0, 0.093_236_914_973_8),
            (25.0, -0.057_768_793_249_3),
        ];
        holds(&wave, &rows, 2e-12);
    }

    // Prosperetti 1981: one fluid; the same two independent routes.
    #[test]
    fn one_fluid() {
        let wave = FlatWave::of_rates(1.0, 0.064_718_0, 0.0).unwrap();
        let rows = [
            (0.5, 0.882_251_210_388),
            (1.0, 0.572_758_213_242),
            (2.0, -0.247_885_475_25),
            (3.0, -0.722_537_632_638),
            (5.0, 0.044_015_866_003_9),
            (8.0, 0.054_241_018_459_9),
            (10.0, -0.348_502_092_221),
            (15.0, -0.089_149_246_328_7),
            (20.0, 0.102_213_288_32),
        ];
        holds(&wave, &rows, 2e-12);
        let thin = FlatWave::of_rates(1.0, 0.01, 0.0).unwrap();
        let rows = [
            (1.0, 0.545_969_414_5),
            (5.0, 0.236_479_137_2),
            (10.0, -0.712_637_805_9),
            (20.0, 0.310_502_900_3),
        ];
        holds(&thin, &rows, 2e-10);
    }

    #[test]
    fn a_wave_starts_at_rest_and_is_checked() {
        let wave = FlatWave::new(0.01, [998.2, 1.2], 0.07274, 1e-6).unwrap();
        assert_eq!(wave.at(0.0), 1.0);
        // Before viscosity is felt: 1 - (w0 t)^2/2.
        let t = 1e-3 / wave.angular_frequency;
        assert!((wave.at(t) - 1.0 + 0.5e-6).abs() < 1e-9, "{}", wave.at(t));
        assert!(FlatWave::new(0.01, [998.2, 0.0], 0.07274, 0.0).is_err());
        assert!(FlatWave::of_rates(1.0, 0.1, 0.3).is_err());
        assert!(FlatWave::validity(0.01, 1e-4).holds() && !FlatWave::validity(0.01, 1e-3).holds());
    }
}
