//! The wave that grows fastest on a column, and the drops into which it parts.
//!
//! ```text
//! ds/dx = 0  at x_m:  dD/dx = 0 along D(x, s) = 0
//! one drop for each wave:  (4/3) pi r^3 = pi a^2 lambda,   r = (3 a^2 lambda/4)^(1/3);   number = length/lambda
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | x_m = 2 pi a/lambda | wave number of the fastest wave times the radius | 1 |
//! | lambda | its wavelength, the distance of the drops | m |
//! | a, r | radius of the column, of a drop | m |
//! | s | rate of growth | 1/s |
//!
//! Without viscosity and host x_m = 0.697, lambda = 4.508 diameters, r = 1.89 a. Sources: \[Rayleigh1879\], \[Chandrasekhar1961\] sec. 111, \[Tomotika1935\].
//!
//! Linear theory says which wave outgrows the others from a like start; a push of another length wins when it starts larger. It knows no satellite
//! drops: between two drops of a thin liquid a thread is left that gathers into a small one. What is said of those here
//! ([`satellites`]) is from experiments, remembered and not seen: an orientation.

use crate::column::thread::{Thread, unit_growth};
use crate::error::{TheoryError, positive};
use crate::validity::Validity;
use std::f64::consts::TAU;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::bracketed;

/// The fastest wave of a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fastest {
    /// Wavelength, m.
    pub wavelength: f64,
    /// Rate of growth, 1/s.
    pub growth: f64,
    /// Radius of the drop that one wave holds, m.
    pub drop_radius: f64,
}

/// The wave that grows fastest \[Rayleigh1879\], \[Chandrasekhar1961\], \[Tomotika1935\].
///
/// # Errors
/// As [`Thread::growth`].
///
/// ```
/// use tremolet_theory::column::{fastest::fastest, thread::Thread};
/// let thin = Thread { radius: 1e-3, tension: 0.07274, density: 998.2, viscosity: 0.0, host_density: 0.0, host_viscosity: 0.0 };
/// let wave = fastest(&thin)?;
/// assert!((wave.wavelength / 2e-3 - 4.507_184).abs() < 1e-6 && (wave.drop_radius / 1e-3 - 1.890_887).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn fastest(thread: &Thread) -> Result<Fastest, TheoryError> {
    let (balance, time) = thread.natural()?;
    let rising = |x: f64| {
        let step = 1e-5 * x;
        let s = unit_growth(&balance, x).unwrap_or(f64::NAN);
        let d = |x: f64| balance.value(x, Complex64::from(s)).re;
        // D falls with s, so ds/dx has the sign of dD/dx.
        (d(x + step) - d(x - step)) / x
    };
    let what = "the fastest wave of a column";
    let x = bracketed(rising, 1e-4, 0.9999, 1e-12)
        .map_err(|source| TheoryError::Root { what, source })?
        .root;
    let wavelength = TAU * thread.radius / x;
    Ok(Fastest {
        wavelength,
        growth: unit_growth(&balance, x)? / time,
        drop_radius: drop_radius(thread.radius, wavelength)?,
    })
}

/// Radius of the drop that gathers one `wavelength` (m) of a column of `radius` (m); m \[Rayleigh1879\].
///
/// # Errors
/// [`TheoryError::Quantity`] unless both are positive.
pub fn drop_radius(radius: f64, wavelength: f64) -> Result<f64, TheoryError> {
    positive("radius of the column", radius)?;
    positive("wavelength", wavelength)?;
    Ok((0.75 * radius * radius * wavelength).cbrt())
}

/// What a column of finite length is expected to part into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    /// Number of main drops, at least one: the length over the wavelength, rounded.
    pub drops: u32,
    /// Distance of neighbours, m: length over number.
    pub spacing: f64,
    /// Radius of a drop that holds its share of the column, m.
    pub drop_radius: f64,
}

/// Main drops of a column of `length` (m) \[Rayleigh1879\]: as many as fastest waves fit, each with its share of the volume, one if the
/// column is shorter than the limit of pi diameters.
///
/// # Errors
/// As [`fastest`]; [`TheoryError::Quantity`] for a length that is not positive.
pub fn parts(thread: &Thread, length: f64) -> Result<Parts, TheoryError> {
    positive("length of the column", length)?;
    let waves = if length < thread.limit()? {
        1.0
    } else {
        (length / fastest(thread)?.wavelength).round().clamp(1.0, 1e9)
    };
    Ok(Parts {
        drops: waves as u32,
        spacing: length / waves,
        drop_radius: drop_radius(thread.radius, length / waves)?,
    })
}

/// For what [`parts`] holds: many waves on the column, so that its ends do not matter.
#[must_use]
pub fn parts_validity(thread: &Thread, length: f64) -> Validity {
    let waves = fastest(thread).map_or(f64::NAN, |wave| length / wave.wavelength);
    Validity::always().with("fastest waves on the column", waves, 3.0, f64::INFINITY)
}

/// Satellite drops between the main ones: least and greatest radius seen, over the radius of the main drops, at the fastest wave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Satellites {
    /// Least radius over that of the main drops.
    pub least: f64,
    /// Greatest radius over that of the main drops.
    pub most: f64,
}

/// Satellites to be expected of a column in gas \[RutlandJameson1970\], \[Lafrance1975\] (both from memory): 0.2 to 0.45 of the main drops' radius. Above an
/// Ohnesorge number of some 0.1 they grow smaller and cannot be said from this; see [`satellites_validity`]. They are least likely when the main
/// drops are five to seven diameters of the column apart \[PimbleyLee1977\] (abstract).
#[must_use]
pub fn satellites() -> Satellites {
    Satellites {
        least: 0.2,
        most: 0.45,
    }
}

/// For what [`satellites`] holds: a thin liquid in a light gas.
///
/// # Errors
/// As [`Thread::ohnesorge`].
pub fn satellites_validity(thread: &Thread) -> Result<Validity, TheoryError> {
    Ok(Validity::always()
        .with("Ohnesorge number of the column", thread.ohnesorge()?, 0.0, 0.1)
        .with(
            "density of the host over that of the column",
            thread.host_density / thread.density,
            0.0,
            0.01,
        ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::thread::tests::unit;

    fn holds(thread: &Thread, x: f64, growth: f64, digits: f64) {
        let wave = fastest(thread).unwrap();
        let found = TAU / wave.wavelength;
        assert!((found - x).abs() < 3e-8, "{found} {x}");
        assert!((wave.growth / growth - 1.0).abs() < digits, "{wave:?}");
    }

    // Rayleigh 1879 (classical 0.697, 0.3433, 4.508, 1.89), computed independently from I1/I0; with gas, the same formula with K1/K0.
    #[test]
    fn without_viscosity() {
        let thin = unit(0.0, 0.0, 0.0);
        holds(&thin, 0.697_018_898_306, 0.343_338_701_861, 1e-11);
        let wave = fastest(&thin).unwrap();
        assert!((wave.wavelength / 2.0 - 4.507_184_326).abs() < 1e-7);
        assert!((wave.drop_radius - 1.890_886_783).abs() < 1e-7);
        assert!((1.0 / wave.growth - 2.912_575_8).abs() < 1e-7);
        holds(
            &unit(0.0, 1.2e-3, 0.0),
            0.696_991_006_45,
            0.343_502_268_474_8,
            1e-11,
        );
        holds(&unit(0.0, 0.5, 0.0), 0.676_905_524_42, 0.442_697_084_681_2, 1e-11);
        holds(&unit(0.0, 1.0, 0.0), 0.483_877_506_19, 0.820_054_617_604_6, 1e-11);
    }

    // Chandrasekhar 1961 sec. 111: x_m and s_m, recomputed independently from his equation and from a 2x2 determinant.
    #[test]
    fn with_viscosity() {
        for (oh, x, s) in [
            (0.001, 0.696_231_226_3, 0.342_608_910_238),
            (0.01, 0.689_610_447_2, 0.336_346_301_575),
            (0.1, 0.634_968_437_5, 0.285_463_696_728),
            (0.5, 0.490_402_171_7, 0.170_260_815_541),
            (1.0, 0.399_379_995_3, 0.112_889_401_966),
            (5.0, 0.207_499_659_8, 0.030_453_947_678_8),
        ] {
            holds(&unit(oh, 0.0, 0.0), x, s, 1e-10);
        }
        // Two liquids of like density: the 4x4 determinant, validation/theory/column.py.
        let wave = fastest(&unit(0.02, 0.5, 0.1)).unwrap();
        assert!((TAU / wave.wavelength - 0.643_286_8).abs() < 3e-6);
        assert!((wave.growth / 0.296_732_540_27 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_long_column_parts_into_as_many_drops_as_waves() {
        let thin = unit(0.0, 0.0, 0.0);
        let many = parts(&thin, 45.1).unwrap();
        assert_eq!(many.drops, 5);
        let volume = f64::from(many.drops) * 4.0 / 3.0 * many.drop_radius.powi(3);
        assert!((volume - 45.1).abs() < 1e-9 && (many.spacing - 9.02).abs() < 1e-12);
        assert_eq!(parts(&thin, 6.2).unwrap().drops, 1);
        // Longer than the limit but shorter than half of its fastest wave.
        assert_eq!(parts(&unit(5.0, 0.0, 0.0), 7.0).unwrap().drops, 1);
        assert!(parts_validity(&thin, 45.1).holds() && !parts_validity(&thin, 20.0).holds());
        assert!(parts(&thin, 0.0).is_err() && drop_radius(1.0, -1.0).is_err());
        let seen = satellites();
        assert!(seen.least < seen.most && satellites_validity(&unit(0.05, 0.0, 0.0)).unwrap().holds());
        let broken = |thread| satellites_validity(&thread).unwrap().broken();
        assert_eq!(broken(unit(0.2, 0.0, 0.0)), ["Ohnesorge number of the column"]);
        assert_eq!(
            broken(unit(0.05, 0.1, 0.0)),
            ["density of the host over that of the column"]
        );
    }
}
