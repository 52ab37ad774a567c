//! Where a point inside the ball is seen, and where a point that is seen there lies.
//!
//! ```text
//! forward   x cos g(b) - z sin g(b) = b/n        solved for b; up to three solutions, the one nearest to the axis first
//! inverse   x = (b/n + z sin g) / cos g          given the depth z
//! near the axis, from far away   b = m x,   m = n / (1 + (n - 1) z)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `z` | across the axis, along it towards the lens, from the centre | radii |
//! | `b` | seen distance from the middle, 1 at the ball's edge | radii |
//! | `g`, `n` | turn of the line of view inside, index (see [`crate::refraction::sight`]) | rad, 1 |
//! | `m` | magnification across | 1 |
//!
//! Source: Snell's law \[BornWolf1999\], exact; own derivation. A single picture does not give the depth: without it `x` is known to the range over
//! all depths, from `b` at the front to `b (2 - n)/n` at the back.

use std::f64::consts::FRAC_PI_2;

use tremolet_numerics::root::bracketed;

use crate::error::{OpticsError, required};
use crate::refraction::sight::Sight;

/// Steps in which a line of view is turned from edge to edge to find where a function has its extremes; its parts are smooth over far
/// wider ranges.
const STEPS: i32 = 180;

impl Sight {
    /// All seen distances (radii, from the edge on the far side, -1, to 1) of a point at `across` (0 and more) and `along`, those nearest to the axis
    /// first; more than one near the back, none in the blind zone.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a point outside the ball.
    pub fn images(&self, across: f64, along: f64) -> Result<Vec<f64>, OpticsError> {
        let place = across * across + along * along;
        required(
            "distance from the centre",
            place.sqrt(),
            place <= 1.0,
            "at most one radius",
        )?;
        required(
            "distance from the axis",
            across,
            across >= 0.0,
            "zero or a positive number",
        )?;
        let mut seen: Vec<f64> = roots(|slant| self.off(slant, across, along))
            .into_iter()
            .map(f64::sin)
            .collect();
        seen.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
        Ok(seen)
    }

    /// Seen distance of a point at `across` and `along`, on its own side and nearest to the axis, radii.
    ///
    /// # Errors
    /// As [`Sight::images`]; [`OpticsError::NotSeen`] in the blind zone.
    ///
    /// ```
    /// use tremolet_optics::refraction::sight::Sight;
    /// let seen = Sight::far(1.333)?.apparent(0.2, 0.3)?;
    /// assert!((seen - 0.241_427_989_476).abs() < 1e-11);
    /// # Ok::<(), tremolet_optics::error::OpticsError>(())
    /// ```
    pub fn apparent(&self, across: f64, along: f64) -> Result<f64, OpticsError> {
        let images = self.images(across, along)?;
        // On the axis the middle is found from either side.
        let own = images.into_iter().find(|b| *b >= -1e-12);
        own.map(|b| b.max(0.0))
            .ok_or(OpticsError::NotSeen { across, along })
    }

    /// Distance from the axis of a point at the depth `along` that is seen at `seen` (-1 to 1), radii: the inverse of [`Sight::apparent`].
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a seen distance beyond the edge, [`OpticsError::NotSeen`] where the line has left the ball at that depth.
    pub fn real(&self, seen: f64, along: f64) -> Result<f64, OpticsError> {
        required(
            "seen distance",
            seen,
            (-1.0..=1.0).contains(&seen),
            "from -1 to 1",
        )?;
        let across = self.across(seen.asin(), along);
        if across * across + along * along <= 1.0 + 1e-12 {
            return Ok(across);
        }
        Err(OpticsError::NotSeen { across, along })
    }

    /// Magnification across the axis near it, at the depth `along` (radii), seen from far away; from a lens at `L` the same over
    /// `1 - z/L` is not exact, so this is for far cameras.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a depth outside the ball.
    pub fn magnification(&self, along: f64) -> Result<f64, OpticsError> {
        required("depth", along, (-1.0..=1.0).contains(&along), "from -1 to 1")?;
        Ok(self.index() / (1.0 + (self.index() - 1.0) * along))
    }
}

/// All roots of a smooth `f` between -pi/2 and pi/2: its extremes first, then one search in each part that rises or falls.
pub(crate) fn roots(f: impl Fn(f64) -> f64) -> Vec<f64> {
    let end = FRAC_PI_2 - 1e-9;
    let step = 2.0 * end / f64::from(STEPS);
    let slope = |x: f64| f(x + 1e-6) - f(x - 1e-6);
    let at = |k: i32| -end + step * f64::from(k);
    let turns = (1..STEPS - 1).filter_map(|k| bracketed(slope, at(k), at(k + 1), 1e-12).ok());
    let mut knots = vec![-end];
    knots.extend(turns.map(|found| found.root));
    knots.push(end);
    let mut found: Vec<f64> = knots
        .windows(2)
        .filter_map(|ends| bracketed(&f, ends[0], ends[1], 0.0).ok())
        .map(|found| found.root)
        .collect();
    found.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn water() -> Sight {
        Sight::far(1.333).unwrap()
    }

    // Snell's law ray by ray, recomputed independently: rows z, columns x = 0.1, 0.2, 0.4, 0.6.
    #[test]
    fn seen_from_far_away() {
        let rows = [
            (
                -0.5,
                [0.160_109_703_128, 0.321_383_180_802, 0.655_358_183_691, f64::NAN],
            ),
            (
                -0.3,
                [
                    0.148_128_580_414,
                    0.296_461_589_897,
                    0.594_490_402_010,
                    0.889_964_040_820,
                ],
            ),
            (
                0.0,
                [
                    0.133_225_157_915,
                    0.265_977_746_643,
                    0.527_313_355_028,
                    0.772_023_683_589,
                ],
            ),
            (
                0.3,
                [
                    0.121_075_785_105,
                    0.241_427_989_476,
                    0.476_360_911_796,
                    0.693_664_767_955,
                ],
            ),
            (
                0.5,
                [
                    0.114_146_309_454,
                    0.227_512_511_193,
                    0.448_236_400_496,
                    0.652_106_029_891,
                ],
            ),
        ];
        for (z, row) in rows {
            for (x, due) in [0.1, 0.2, 0.4, 0.6].into_iter().zip(row) {
                if due.is_nan() {
                    assert!(
                        matches!(water().apparent(x, z), Err(OpticsError::NotSeen { .. })),
                        "{x} {z}"
                    );
                    continue;
                }
                let seen = water().apparent(x, z).unwrap();
                assert!((seen - due).abs() < 2e-12, "{x} {z}: {seen}");
                assert!((water().real(seen, z).unwrap() - x).abs() < 1e-12);
            }
        }
    }

    // Recomputed independently: camera on the axis at L; degrees.
    #[test]
    fn seen_from_a_lens_nearby() {
        let rows = [
            (
                0.2,
                0.0,
                [7.644_024_521_105, 3.056_108_925_849, 1.526_351_586_690],
            ),
            (
                0.2,
                0.3,
                [8.468_676_370_491, 2.988_493_281_964, 1.436_829_335_784],
            ),
        ];
        for (x, z, angles) in rows {
            for (l, angle) in [2.0, 5.0, 10.0].into_iter().zip(angles) {
                let sight = Sight::near(1.333, l).unwrap();
                let b = sight.apparent(x, z).unwrap();
                assert!((sight.angle(b).to_degrees() - angle).abs() < 1e-9, "{l}");
                assert!((sight.real(b, z).unwrap() - x).abs() < 1e-12);
            }
        }
    }

    // Recomputed independently: z = -1 n/(2 - n) = 1.998500749625, and on.
    #[test]
    fn magnification_near_the_axis() {
        let rows = [
            (-1.0, 1.998_500_749_625),
            (-0.5, 1.599_280_144),
            (-0.3, 1.480_946_562),
            (0.0, 1.333),
            (0.3, 1.211_928_357),
            (0.5, 1.142_734_676),
            (1.0, 1.0),
        ];
        for (z, m) in rows {
            assert!((water().magnification(z).unwrap() - m).abs() < 1e-9);
            if z.abs() < 1.0 {
                assert!(
                    (water().apparent(1e-4, z).unwrap() / 1e-4 / m - 1.0).abs() < 1e-6,
                    "{z}"
                );
            }
        }
    }

    // On the back surface, within 21.04 degrees of the back point and beyond 7.2: two images (recomputed independently: fold at b = 0.860835).
    #[test]
    fn near_the_back_there_are_two_images() {
        let at = |degrees: f64| {
            let a = degrees.to_radians();
            water()
                .images(a.sin() * 0.999_999_999, -a.cos() * 0.999_999_999)
                .unwrap()
        };
        assert_eq!(at(15.0).len(), 2);
        assert!(at(15.0)[0] < 0.860_835 && at(15.0)[1] > 0.860_835);
        assert_eq!(at(5.0).len(), 1);
        assert_eq!(at(22.0).len(), 0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(water().images(0.9, 0.9).is_err() && water().images(-0.1, 0.0).is_err());
        assert!(water().real(1.1, 0.0).is_err() && water().magnification(2.0).is_err());
        // The line of view at the edge does not reach the front.
        assert!(matches!(
            water().real(0.99, 0.9),
            Err(OpticsError::NotSeen { .. })
        ));
        assert_eq!(water().apparent(0.0, -0.4).unwrap(), 0.0);
    }
}
