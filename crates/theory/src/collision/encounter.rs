//! Two drops on straight lines: when they touch, how hard, and how far off the centre.
//!
//! ```text
//! We = rho U^2 D_s / sigma,     B = b / ((D_1 + D_2) / 2),     b = |x x u| / U,     Delta = D_s / D_l
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `D_1`, `D_2`; `D_s`, `D_l` | diameters; the smaller and the larger | m |
//! | `x`, `u`, `U` | place and velocity of the second drop as seen from the first, speed | m, m/s |
//! | `b`, `B` | distance of the centres' lines of flight; offset, 0 head-on, 1 grazing | m, 1 |
//! | `We` | Weber number with the smaller diameter | 1 |
//! | `rho`, `sigma` | density, surface tension of the liquid | kg/m^3, N/m |
//!
//! Source: definitions as in \[AshgrizPoo1990\] (from memory); the geometry is elementary. For drops that fly straight and stay spheres until
//! they touch. One view shows only the part of `x` and `u` across the line of sight: an offset along it is not seen.

use crate::error::{TheoryError, positive, required};

/// Two drops at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Encounter {
    diameters: [f64; 2],
    place: [f64; 3],
    velocity: [f64; 3],
}

impl Encounter {
    /// Drops of two `diameters` (m); `place` (m) and `velocity` (m/s) of the second as seen from the first.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a diameter that is not positive, or drops that do not move against each other.
    pub fn new(diameters: [f64; 2], place: [f64; 3], velocity: [f64; 3]) -> Result<Self, TheoryError> {
        for diameter in diameters {
            positive("diameter", diameter)?;
        }
        positive("relative speed", length(velocity))?;
        required(
            "distance of the drops",
            length(place),
            true,
            "a finite number of metres",
        )?;
        Ok(Self {
            diameters,
            place,
            velocity,
        })
    }

    /// Relative speed, m/s.
    #[must_use]
    pub fn speed(&self) -> f64 {
        length(self.velocity)
    }

    /// Diameter of the smaller over that of the larger drop, 0 to 1.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        let [a, b] = self.diameters;
        a.min(b) / a.max(b)
    }

    /// Distance of the lines of flight over the mean diameter: 0 head-on, 1 grazing, above 1 a miss.
    #[must_use]
    pub fn offset(&self) -> f64 {
        length(cross(self.place, self.velocity)) / self.speed() / self.reach()
    }

    /// Weber number with the smaller diameter; `density` in kg/m^3, `tension` in N/m.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a density or tension that is not positive.
    pub fn weber(&self, density: f64, tension: f64) -> Result<f64, TheoryError> {
        let [a, b] = self.diameters;
        weber(density, self.speed(), a.min(b), tension)
    }

    /// Time until the drops touch, s; none if they miss, already touch or fly apart.
    #[must_use]
    pub fn time_to_touch(&self) -> Option<f64> {
        let approach = -dot(self.place, self.velocity);
        let left = dot(self.place, self.place) - self.reach().powi(2);
        let root = approach * approach - dot(self.velocity, self.velocity) * left;
        (approach > 0.0 && left > 0.0 && root >= 0.0)
            .then(|| (approach - root.sqrt()) / dot(self.velocity, self.velocity))
    }

    /// Mean diameter: the distance of the centres at touch, m.
    fn reach(&self) -> f64 {
        0.5 * (self.diameters[0] + self.diameters[1])
    }
}

/// Weber number of a drop or droplet: `density` (kg/m^3) x `speed`^2 (m/s) x `diameter` (m) / `tension` (N/m).
///
/// # Errors
/// [`TheoryError::Quantity`] for a density, diameter or tension that is not positive, a speed that is not finite.
pub fn weber(density: f64, speed: f64, diameter: f64, tension: f64) -> Result<f64, TheoryError> {
    let speed = required("speed", speed, true, "a finite number of m/s")?;
    let inertia = positive("density", density)? * speed * speed * positive("diameter", diameter)?;
    Ok(inertia / positive("surface tension", tension)?)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn length(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // 3-4-5 by hand: mean diameter 5 mm, lines of flight 3 mm apart: B = 0.6; centres touch 4 mm before they are abreast. Speed 2 m/s,
    // 40 mm ahead: (40 - 4) mm / 2 m/s = 18 ms. We = 1000 x 4 x 0.004 / 0.08 = 200.
    #[test]
    fn an_encounter_by_hand() {
        let met = Encounter::new([0.006, 0.004], [0.04, 0.003, 0.0], [-2.0, 0.0, 0.0]).unwrap();
        assert!((met.offset() - 0.6).abs() < 1e-14 && (met.ratio() - 2.0 / 3.0).abs() < 1e-14);
        assert!((met.time_to_touch().unwrap() - 0.018).abs() < 1e-15);
        assert!((met.weber(1000.0, 0.08).unwrap() - 200.0).abs() < 1e-9);
        let turned = Encounter::new([0.006, 0.004], [0.0, 0.04, 0.003], [0.0, -2.0, 0.0]).unwrap();
        assert!((turned.offset() - 0.6).abs() < 1e-14);
    }

    #[test]
    fn a_miss_and_a_flight_apart_never_touch() {
        let miss = Encounter::new([0.002, 0.002], [0.04, 0.003, 0.0], [-2.0, 0.0, 0.0]).unwrap();
        assert!(miss.offset() > 1.0 && miss.time_to_touch().is_none());
        let apart = Encounter::new([0.006, 0.004], [0.04, 0.003, 0.0], [2.0, 0.0, 0.0]).unwrap();
        assert!(apart.time_to_touch().is_none());
        let merged = Encounter::new([0.006, 0.004], [0.004, 0.0, 0.0], [-2.0, 0.0, 0.0]).unwrap();
        assert!(merged.time_to_touch().is_none());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Encounter::new([0.0, 0.004], [0.04, 0.0, 0.0], [1.0, 0.0, 0.0]).is_err());
        assert!(Encounter::new([0.001, 0.004], [0.04, 0.0, 0.0], [0.0; 3]).is_err());
        assert!(Encounter::new([0.001, 0.004], [f64::NAN, 0.0, 0.0], [1.0, 0.0, 0.0]).is_err());
        assert!(weber(-1.0, 1.0, 1.0, 1.0).is_err() && weber(1.0, 1.0, 1.0, 0.0).is_err());
    }
}
