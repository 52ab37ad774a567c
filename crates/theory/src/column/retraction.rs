//! How fast the free end of a thread or the free edge of a sheet draws back.
//!
//! ```text
//! sheet    U = sqrt(2 sigma/(rho h))        pull 2 sigma on each unit of the edge against the mass rho h U gathered in unit time
//! thread   U = sqrt(sigma/(rho a))          pull 2 pi a sigma - pi a^2 (sigma/a) against rho pi a^2 U
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | U | speed of the end, once it has gathered some of the liquid | m/s |
//! | h, a | thickness of the sheet, radius of the thread | m |
//! | sigma, rho | surface tension, density | N/m, kg/m^3 |
//!
//! Sources: \[Taylor1959\], \[Culick1960\] (sheet), \[Keller1983\] (thread). Viscosity delays the start and widens the rim but does not change the
//! speed at the end, since the balance is one of momentum. The end reaches its speed within some sqrt(rho a^3/sigma). For a straight thread that is long
//! against its radius, at rest, in a light gas. Not here: the drag of the gas and necks behind the rim.

use crate::column::breakup::time_from_rest;
use crate::column::fastest::{Fastest, fastest};
use crate::column::thread::Thread;
use crate::error::{TheoryError, positive};
use crate::validity::Validity;

/// Speed of the edge of a sheet of this `thickness` (m), m/s; `density` kg/m^3, `tension` N/m \[Taylor1959\], \[Culick1960\].
///
/// # Errors
/// [`TheoryError::Quantity`] unless all are positive.
pub fn sheet_speed(thickness: f64, density: f64, tension: f64) -> Result<f64, TheoryError> {
    let mass = positive("thickness", thickness)? * positive("density", density)?;
    Ok((2.0 * positive("surface tension", tension)? / mass).sqrt())
}

/// Speed of the end of a thread of this `radius` (m), m/s \[Keller1983\].
///
/// # Errors
/// As [`sheet_speed`].
///
/// ```
/// // Water, 2 mm thick.
/// let speed = tremolet_theory::column::retraction::thread_speed(1e-3, 998.2, 0.07274)?;
/// assert!((speed - 0.269_946_6).abs() < 1e-7);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn thread_speed(radius: f64, density: f64, tension: f64) -> Result<f64, TheoryError> {
    let mass = positive("radius of the thread", radius)? * positive("density", density)?;
    Ok((positive("surface tension", tension)? / mass).sqrt())
}

/// Which comes first: both ends drawn to the middle, or a wave that parts the column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Race {
    /// Time in which the ends meet, s.
    pub ends_meet: f64,
    /// Time in which the fastest wave parts it, s; infinite for a column shorter than pi diameters.
    pub parts: f64,
}

impl Race {
    /// Whether the column is drawn into one drop before it parts.
    #[must_use]
    pub fn stays_whole(&self) -> bool {
        self.ends_meet < self.parts
    }
}

/// Both times for a free column of `length` (m) whose fastest wave starts at rest with `amplitude` (m) \[Keller1983\], \[Weber1931\].
///
/// An estimate: the ends stir waves of their own, which this does not know; a column that passes by a factor below 2 may do either.
///
/// # Errors
/// As [`fastest`] and [`time_from_rest`].
pub fn race(thread: &Thread, length: f64, amplitude: f64) -> Result<Race, TheoryError> {
    let speed = thread_speed(thread.radius, thread.density, thread.tension)?;
    let ends_meet = positive("length of the column", length)? / (2.0 * speed);
    let parts = if length < thread.limit()? {
        f64::INFINITY
    } else {
        let Fastest { wavelength, .. } = fastest(thread)?;
        time_from_rest(thread, wavelength, amplitude)?
    };
    Ok(Race { ends_meet, parts })
}

/// For what [`thread_speed`] and [`race`] hold: a slender column in a light gas.
#[must_use]
pub fn validity(thread: &Thread, length: f64) -> Validity {
    Validity::always()
        .with("length over radius", length / thread.radius, 10.0, f64::INFINITY)
        .with(
            "density of the host over that of the column",
            thread.host_density / thread.density,
            0.0,
            0.01,
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    // Taylor 1959, Culick 1960: 10 um of water 3.817 621 m/s; Keller 1983: 1 mm radius 0.269 946 6 m/s; recomputed by hand from the balances.
    #[test]
    fn water() {
        let sheet = sheet_speed(10e-6, 998.2, 0.07274).unwrap();
        assert!((sheet - 3.817_621).abs() < 1e-6, "{sheet}");
        let thread = thread_speed(1e-3, 998.2, 0.07274).unwrap();
        assert!((thread - 0.269_946_6).abs() < 1e-7, "{thread}");
        assert!(sheet_speed(0.0, 998.2, 0.07).is_err() && thread_speed(1e-3, 998.2, f64::NAN).is_err());
    }

    // In units of radius and capillary time the ends run at 1, so a length of 20 is gone after 10; the fastest wave of 0.343 339 from 1 % needs 15.43.
    #[test]
    fn a_short_column_is_drawn_in_and_a_long_one_parts() {
        let thin = Thread {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity: 0.0,
            host_density: 0.0,
            host_viscosity: 0.0,
        };
        let short = race(&thin, 20.0, 0.01).unwrap();
        assert!((short.ends_meet - 10.0).abs() < 1e-12);
        assert!((short.parts - 100f64.acosh() / 0.343_338_701_861).abs() < 1e-9);
        assert!(short.stays_whole() && !race(&thin, 40.0, 0.01).unwrap().stays_whole());
        assert_eq!(race(&thin, 6.2, 0.01).unwrap().parts, f64::INFINITY);
        assert!(validity(&thin, 20.0).holds());
        assert_eq!(validity(&thin, 5.0).broken(), ["length over radius"]);
        let wet = Thread {
            host_density: 0.1,
            ..thin
        };
        assert_eq!(
            validity(&wet, 20.0).broken(),
            ["density of the host over that of the column"]
        );
    }
}
