//! Whether a droplet can leave a drop that was struck: what the energy allows.
//!
//! ```text
//! energy    a droplet of radius r has 4 pi sigma r^2 more surface (less what the drop loses): r_max = sqrt(E/(4 pi sigma))
//! Weber     We = rho v^2 b/sigma,  v greatest speed of the surface at the footprint, b its half width
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | E | energy in the shape modes after the blow | J |
//! | r_max | radius of the largest droplet whose surface this energy could pay | m |
//! | v, b | greatest speed inwards after the push, half width of the footprint | m/s, m |
//! | sigma, rho | surface tension, density | N/m, kg/m^3 |
//!
//! A necessary condition, no law: below it no droplet can leave; above it one may, if the rebound gathers the energy in one place. The energy that goes with a droplet
//! as speed comes on top. Source: surface energy \[Lamb1932\] art. 275; own criterion. That pressure pulses do throw drops from a surface is known
//! \[TjanPhillips2008\] (abstract only).

use crate::drop::FreeDrop;
use crate::error::TheoryError;
use crate::puff::blow::Blow;
use crate::puff::crater::highest_degree;
use std::f64::consts::PI;

/// What the energy says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The energy cannot pay the surface of a droplet as large as a third of the footprint, and the Weber number is below 1.
    Cannot,
    /// One of the two conditions is met: a small droplet may leave if the rebound is well gathered.
    Hardly,
    /// Both are met.
    May,
}

/// The energy of a blow, and what it allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ejection {
    /// Energy in the shape modes, J.
    pub energy: f64,
    /// Radius of the largest droplet whose surface it could pay, m.
    pub largest_radius: f64,
    /// Weber number of the footprint.
    pub weber: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// What the energy of a blow allows \[Lamb1932\] (a necessary condition).
///
/// # Errors
/// As [`Blow::starts`].
///
/// ```
/// use tremolet_theory::{drop::FreeDrop, puff::{blow::Blow, ejection::{Verdict, ejection}, footprint::Footprint}};
/// let water = FreeDrop { radius: 0.02, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3 };
/// let soft = Blow { footprint: Footprint::Cap { pressure: 10.0, half_angle: 30f64.to_radians() }, duration: 0.01 };
/// assert_eq!(ejection(&soft, &water)?.verdict, Verdict::Cannot);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn ejection(blow: &Blow, drop: &FreeDrop) -> Result<Ejection, TheoryError> {
    let highest = highest_degree(blow, drop)?;
    let energy = blow.energy(drop, highest)?;
    let width = blow.footprint.half_width(drop.radius)?;
    let starts = blow.starts(drop, highest)?;
    let speed: f64 = starts.iter().skip(2).map(|s| s.speed * s.pulse_factor).sum();
    let weber = drop.density * speed * speed * width / drop.tension;
    let largest_radius = (energy / (4.0 * PI * drop.tension)).sqrt();
    let met = u32::from(largest_radius >= width / 3.0) + u32::from(weber >= 1.0);
    let verdict = match met {
        0 => Verdict::Cannot,
        1 => Verdict::Hardly,
        _ => Verdict::May,
    };
    Ok(Ejection {
        energy,
        largest_radius,
        weber,
        verdict,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::puff::footprint::Footprint;

    fn struck(pressure: f64) -> Ejection {
        let water = FreeDrop {
            radius: 0.020,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
        };
        let footprint = Footprint::Bell {
            pressure,
            width: 0.006,
        };
        ejection(
            &Blow {
                footprint,
                duration: 0.01,
            },
            &water,
        )
        .unwrap()
    }

    // Energy and Weber number go with the square of the pressure; the energy of a droplet's surface is the energy.
    #[test]
    fn the_harder_the_more() {
        let (soft, hard) = (struck(10.0), struck(400.0));
        assert!(
            (hard.energy / soft.energy - 1600.0).abs() < 1e-6
                && (hard.weber / soft.weber - 1600.0).abs() < 1e-6
        );
        let surface = 4.0 * PI * 0.07274 * soft.largest_radius.powi(2);
        assert!((surface / soft.energy - 1.0).abs() < 1e-12);
        assert_eq!((soft.verdict, hard.verdict), (Verdict::Cannot, Verdict::May));
        // Where only one of the two is met.
        let between = (10..400)
            .map(f64::from)
            .map(struck)
            .find(|e| e.verdict == Verdict::Hardly);
        let between = between.unwrap();
        assert!(
            (between.weber >= 1.0) != (between.largest_radius >= 0.002),
            "{between:?}"
        );
    }

    // Energy and greatest speed of 160 modes without viscosity, summed in validation/theory/puff.py.
    #[test]
    fn energy_of_a_bell() {
        assert!(
            (struck(10.0).energy / ENERGY - 1.0).abs() < 1e-6,
            "{}",
            struck(10.0).energy
        );
        assert!(
            (struck(10.0).weber / WEBER - 1.0).abs() < 1e-4,
            "{}",
            struck(10.0).weber
        );
    }

    const ENERGY: f64 = 4.843_954_196e-8;
    const WEBER: f64 = 0.05514398183;
}
