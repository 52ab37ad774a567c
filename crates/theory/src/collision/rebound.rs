//! What is left of the speed after a droplet bounced from a liquid wall or another droplet.
//!
//! ```text
//! wall   v' = e_t (v - (v.n) n) - e (v.n) n            pair   v_k' . n = v_c . n - e (v_k - v_c) . n,   across n unchanged
//! time in contact   t = 2.6 sqrt(rho R^3 / sigma)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `v`, `v'`, `v_c` | velocity before, after, of the common centre of mass | m/s |
//! | `n` | unit vector across the surfaces at touch | 1 |
//! | `e`, `e_t` | restitution across and along the surface | 1 |
//! | `R`, `rho`, `sigma` | radius, density, tension of the droplet | m, kg/m^3, N/m |
//!
//! Source: definitions \[Lamb1932\]; time in contact \[RichardClanetQuere2002\] (from memory, water on water-repellent solids). There is no law of `e` for a
//! bubble's wall: [`RESTITUTIONS`] holds what was published for like cases, all from memory. It is to be measured.

use crate::collision::spread::Reading;
use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;

/// Restitution across and along a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rebound {
    /// Share of the speed across the surface that is kept, 0 to 1.
    pub across: f64,
    /// Share of the speed along the surface that is kept, 0 to 1.
    pub along: f64,
}

/// Restitutions across the surface that were given for droplets.
pub const RESTITUTIONS: [Reading; 3] = [
    Reading {
        value: 0.91,
        source: "Richard and Quere 2000: the most that water drops keep on water-repellent solids",
        from_memory: true,
    },
    Reading {
        value: 0.22,
        source: "Jayaratne and Mason 1964: drops on a deep bath keep about a twentieth of their energy",
        from_memory: true,
    },
    Reading {
        value: 0.3,
        source: "Molacek and Bush 2012: drops on a bath where inertia rules",
        from_memory: true,
    },
];

impl Rebound {
    /// Restitutions `across` and `along` the surface.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for one outside 0 to 1.
    pub fn new(across: f64, along: f64) -> Result<Self, TheoryError> {
        let share =
            |name, value: f64| required(name, value, (0.0..=1.0).contains(&value), "a number from 0 to 1");
        Ok(Self {
            across: share("restitution across", across)?,
            along: share("restitution along", along)?,
        })
    }

    /// Velocity after a bounce off a wall at rest with unit `normal`, from that before; m/s.
    #[must_use]
    pub fn off_wall(&self, velocity: [f64; 3], normal: [f64; 3]) -> [f64; 3] {
        let across: f64 = (0..3).map(|i| velocity[i] * normal[i]).sum();
        [0, 1, 2].map(|i| self.along * (velocity[i] - across * normal[i]) - self.across * across * normal[i])
    }

    /// Velocities of two droplets after they bounced, from masses (kg) and velocities (m/s) before and the unit vector `normal` from one centre to
    /// the other; only the part across the surface is changed.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for masses that are not positive.
    pub fn off_each_other(
        &self,
        masses: [f64; 2],
        velocities: [[f64; 3]; 2],
        normal: [f64; 3],
    ) -> Result<[[f64; 3]; 2], TheoryError> {
        let total = positive("mass", masses[0])? + positive("mass", masses[1])?;
        let across = velocities.map(|v| (0..3).map(|i| v[i] * normal[i]).sum::<f64>());
        let centre = (masses[0] * across[0] + masses[1] * across[1]) / total;
        let after = |k: usize| {
            let change = centre - self.across * (across[k] - centre) - across[k];
            [0, 1, 2].map(|i| velocities[k][i] + change * normal[i])
        };
        Ok([after(0), after(1)])
    }
}

/// Restitution of a bounce from the speeds before and after, along one direction towards the wall: `-after / before`.
///
/// # Errors
/// [`TheoryError::Quantity`] when the droplet did not approach or did not leave.
pub fn measured(before: f64, after: f64) -> Result<f64, TheoryError> {
    positive("speed towards the wall before", before)?;
    required(
        "speed towards the wall after",
        after,
        after <= 0.0,
        "zero or a negative number",
    )?;
    Ok(-after / before)
}

/// Time a droplet of `radius` (m), `density` (kg/m^3) and `tension` (N/m) stays in contact, s.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive.
pub fn contact_time(radius: f64, density: f64, tension: f64) -> Result<f64, TheoryError> {
    let cube = positive("radius", radius)?.powi(3);
    Ok(2.6 * (positive("density", density)? * cube / positive("surface tension", tension)?).sqrt())
}

/// Where the time in contact was measured (from memory): `weber` number by the radius, `ohnesorge` number.
#[must_use]
pub fn contact_validity(weber: f64, ohnesorge: f64) -> Validity {
    Validity::always()
        .with("Weber number by the radius", weber, 0.3, 40.0)
        .with("Ohnesorge number", ohnesorge, 0.0, 0.02)
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: across 3 m/s into a wall at +x, 4 along; e = 0.5, e_t = 0.75.
    #[test]
    fn a_bounce_off_a_wall() {
        let after = Rebound::new(0.5, 0.75)
            .unwrap()
            .off_wall([3.0, 4.0, 0.0], [1.0, 0.0, 0.0]);
        assert_eq!(after, [-1.5, 3.0, 0.0]);
    }

    // By hand: masses 1 and 3, 4 m/s on one at rest, centre 1 m/s, e = 0.5: 1 - 1.5 = -0.5 and 1 + 0.5 = 1.5; momentum -0.5 + 4.5 = 4.
    #[test]
    fn a_bounce_off_each_other_keeps_momentum() {
        let bounce = Rebound::new(0.5, 1.0).unwrap();
        let after = bounce
            .off_each_other([1.0, 3.0], [[4.0, 2.0, 0.0], [0.0, 0.0, 1.0]], [1.0, 0.0, 0.0])
            .unwrap();
        assert_eq!(after, [[-0.5, 2.0, 0.0], [1.5, 0.0, 1.0]]);
        assert!((measured(4.0, after[0][0] - after[1][0]).unwrap() - 0.5).abs() < 1e-15);
    }

    // By hand: 2.6 sqrt(1000 x 1e-9 / 0.1) = 2.6 x 3.1623 ms.
    #[test]
    fn contact_lasts_about_a_swing() {
        assert!((contact_time(1e-3, 1000.0, 0.1).unwrap() - 8.2219e-3).abs() < 1e-7);
        assert!(contact_validity(1.0, 0.003).holds() && !contact_validity(0.01, 0.003).holds());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Rebound::new(1.1, 0.5).is_err() && Rebound::new(0.5, -0.1).is_err());
        assert!(measured(-1.0, -1.0).is_err() && measured(1.0, 1.0).is_err());
        assert!(contact_time(0.0, 1.0, 1.0).is_err());
        let any = Rebound::new(0.5, 1.0).unwrap();
        assert!(
            any.off_each_other([0.0, 1.0], [[0.0; 3]; 2], [1.0, 0.0, 0.0])
                .is_err()
        );
    }
}
