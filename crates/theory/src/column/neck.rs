//! How the neck of a column closes in the last instants before it parts.
//!
//! ```text
//! inertial           h = 0.717 (sigma tau^2/rho)^(1/3)
//! viscous            h = f sigma tau/mu,   f = 1/[12 (1 + b)] = 0.07093,  b = 0.17487
//! viscous-inertial   h = 0.0304 sigma tau/mu
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | h | least radius of the neck | m |
//! | tau | time left until it parts | s |
//! | sigma, rho, mu | surface tension, density, dynamic viscosity | N/m, kg/m^3, Pa s |
//! | a | radius of the column | m |
//! | b | exponent of the length of the viscous neck, z ~ tau^b | 1 |
//! | t_v | mu^3/(rho sigma^2), the viscous time | s |
//!
//! When each holds. The neck forgets the column when h is well below a. A thin liquid closes inertially until viscosity is felt in the neck; the two laws cross at
//! tau = (0.717/0.0304)^3 t_v. A thick one closes viscously until its own flow makes a Reynolds number rho z^2/(mu tau) of one, with
//! z = a (sigma tau/(mu a))^b, that is at tau = (mu a/sigma) Oh^(-2/(1-2b)). Below both, the viscous-inertial law holds to the end. These
//! bounds are orders: near them the neck passes through other stages, which delay the last one \[CastrejonPita2015\] (abstract).
//!
//! Sources: \[DayHinchLister1998\] (0.717, from memory), \[Papageorgiou1995\] (viscous; f and b solved again from the similarity problem),
//! \[Eggers1993\] (0.0304, from memory), \[ListerStone1998\] (the Reynolds number of the viscous neck). In a light gas, with a clean surface.

use crate::column::thread::Thread;
use crate::error::{TheoryError, positive};
use crate::validity::Validity;

/// Factor of the inertial law.
const INERTIAL: f64 = 0.717;
/// Exponent b of the viscous neck.
const STRETCH: f64 = 0.174_871_701;
/// Factor of the viscous-inertial law.
const LAST: f64 = 0.0304;
/// A neck thicker than this share of the column's radius still remembers the column.
const THICKEST: f64 = 0.3;

/// How a neck closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeckLaw {
    /// Tension against inertia.
    Inertial,
    /// Tension against viscosity.
    Viscous,
    /// Tension against both, the last stage of every neck.
    ViscousInertial,
}

/// Least radius of the neck, m, a time `left` (s) before the column parts \[DayHinchLister1998\], \[Papageorgiou1995\], \[Eggers1993\].
///
/// # Errors
/// [`TheoryError::Quantity`] for a time that is not positive, impossible liquids, or no viscosity where the law needs one.
///
/// ```
/// use tremolet_theory::column::{neck::{NeckLaw, radius}, thread::Thread};
/// let water = Thread { radius: 2e-3, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3, host_density: 0.0, host_viscosity: 0.0 };
/// assert!((radius(NeckLaw::Inertial, &water, 1e-3)? - 0.299_482e-3).abs() < 1e-9);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn radius(law: NeckLaw, thread: &Thread, left: f64) -> Result<f64, TheoryError> {
    thread.time()?;
    let (density, tension) = (positive("density", thread.density)?, thread.tension);
    positive("time left", left)?;
    match law {
        NeckLaw::Inertial => Ok(INERTIAL * (tension * left * left / density).cbrt()),
        NeckLaw::Viscous => {
            Ok(tension * left / (12.0 * (1.0 + STRETCH) * positive("viscosity", thread.viscosity)?))
        }
        NeckLaw::ViscousInertial => Ok(LAST * tension * left / positive("viscosity", thread.viscosity)?),
    }
}

/// Times left, in s, at which one law hands over to the last one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Handover {
    /// End of the inertial law.
    pub inertial: f64,
    /// End of the viscous law.
    pub viscous: f64,
}

/// The handovers of this column \[Eggers1993\], \[ListerStone1998\] (orders).
///
/// # Errors
/// As [`Thread::ohnesorge`].
pub fn handover(thread: &Thread) -> Result<Handover, TheoryError> {
    let oh = thread.ohnesorge()?;
    let viscous_time = thread.viscosity.powi(3) / (thread.density * thread.tension.powi(2));
    // (mu a/sigma) Oh^(-2/(1-2b)); without viscosity the exponent wins and the law never holds.
    let viscous = (thread.density * thread.radius.powi(3) / thread.tension).sqrt()
        * oh.powf(1.0 - 2.0 / (1.0 - 2.0 * STRETCH));
    Ok(Handover {
        inertial: (INERTIAL / LAST).powi(3) * viscous_time,
        viscous,
    })
}

/// Whether `law` holds for this column a time `left` (s) before it parts; see the head of this file.
///
/// # Errors
/// As [`radius`] and [`handover`].
pub fn validity(law: NeckLaw, thread: &Thread, left: f64) -> Result<Validity, TheoryError> {
    let Handover { inertial, viscous } = handover(thread)?;
    let share = radius(law, thread, left)? / thread.radius;
    let neck = Validity::always().with("neck over radius of the column", share, 0.0, THICKEST);
    let name = "time left, s";
    Ok(match law {
        NeckLaw::Inertial => neck.with(name, left, inertial, f64::INFINITY),
        NeckLaw::Viscous => neck.with(name, left, viscous, f64::INFINITY),
        NeckLaw::ViscousInertial => neck.with(name, left, 0.0, inertial.min(viscous)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn liquid(radius: f64, viscosity: f64) -> Thread {
        Thread {
            radius,
            tension: 0.07274,
            density: 998.2,
            viscosity,
            host_density: 0.0,
            host_viscosity: 0.0,
        }
    }

    // Water, 1 ms left, factor 0.717: 0.299 482 mm, by hand. Exponent 2/3 for the inertial, 1 for the others.
    #[test]
    fn the_laws() {
        let water = liquid(2e-3, 1.0016e-3);
        let at = |law, left| radius(law, &water, left).unwrap();
        assert!((at(NeckLaw::Inertial, 1e-3) - 0.299_482e-3).abs() < 5e-10);
        assert!((at(NeckLaw::Inertial, 8e-3) / at(NeckLaw::Inertial, 1e-3) - 4.0).abs() < 1e-12);
        // Papageorgiou 1995: 0.0709 sigma tau/mu; solved again from the similarity problem: 0.070 929 730 7.
        let viscous = at(NeckLaw::Viscous, 1e-6) * water.viscosity / (water.tension * 1e-6);
        assert!((viscous - 0.070_929_730_7).abs() < 1e-10, "{viscous}");
        let last = at(NeckLaw::ViscousInertial, 1e-6) * water.viscosity / (water.tension * 1e-6);
        assert!((last - 0.0304).abs() < 1e-15);
    }

    // The inertial law meets the last one where both give the same radius, for any liquid; for water h is some 400 viscous lengths, 5.5 um.
    #[test]
    fn thin_liquids_close_inertially_until_the_laws_cross() {
        let water = liquid(2e-3, 1.0016e-3);
        let end = handover(&water).unwrap().inertial;
        let (a, b) = (
            radius(NeckLaw::Inertial, &water, end).unwrap(),
            radius(NeckLaw::ViscousInertial, &water, end).unwrap(),
        );
        assert!((a / b - 1.0).abs() < 1e-12 && (a - 5.5e-6).abs() < 0.1e-6, "{a}");
        let holds = |law, left| validity(law, &water, left).unwrap().holds();
        assert!(holds(NeckLaw::Inertial, 2.0 * end) && !holds(NeckLaw::Inertial, 0.5 * end));
        assert!(holds(NeckLaw::ViscousInertial, 0.5 * end) && !holds(NeckLaw::ViscousInertial, 2.0 * end));
        assert!(!holds(NeckLaw::Inertial, 1.0) && !holds(NeckLaw::Viscous, 1e-3));
        // 4 ms before the end: 0.75 mm of 2 mm.
        assert_eq!(
            validity(NeckLaw::Inertial, &water, 4e-3).unwrap().broken(),
            ["neck over radius of the column"]
        );
    }

    // A Reynolds number of one in the viscous neck, written out from its parts.
    #[test]
    fn thick_liquids_close_viscously_until_their_flow_gains_inertia() {
        let thick = liquid(2e-3, 1.4);
        let end = handover(&thick).unwrap().viscous;
        let stretched = thick.radius * (thick.tension * end / (thick.viscosity * thick.radius)).powf(STRETCH);
        let reynolds = thick.density * stretched.powi(2) / (thick.viscosity * end);
        assert!((reynolds - 1.0).abs() < 1e-9, "{reynolds}");
        let holds = |law, left| validity(law, &thick, left).unwrap().holds();
        assert!(holds(NeckLaw::Viscous, 2.0 * end) && !holds(NeckLaw::Viscous, 0.5 * end));
        assert!(holds(NeckLaw::ViscousInertial, 0.5 * end) && !holds(NeckLaw::ViscousInertial, 2.0 * end));
        let still = liquid(2e-3, 0.0);
        assert!(
            radius(NeckLaw::Viscous, &still, 1e-3).is_err()
                && radius(NeckLaw::Inertial, &still, 1e-3).is_ok()
        );
        assert!(validity(NeckLaw::Inertial, &still, 1e-3).unwrap().holds());
        assert!(radius(NeckLaw::Inertial, &thick, 0.0).is_err());
    }
}
