//! How long two bubbles stay apart after they touched, while the film between them drains.
//!
//! ```text
//! inertial, mobile surfaces    t = sqrt(rho r^3 / (16 sigma)) ln(h_0 / h_f)
//! viscous, rigid surfaces      t = 3 mu a^2 / (4 dp) (1/h_f^2 - 1/h_0^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r` | equivalent radius: authors differ, see [`equivalent_radii`] | m |
//! | `h_0`, `h_f` | thickness of the film at first, when it breaks | m |
//! | `rho`, `sigma`, `mu` | density, tension, viscosity of the liquid | kg/m^3, N/m, Pa s |
//! | `a`, `dp` | radius of the film, pressure that squeezes it (`2 sigma / r` for bubbles pressed flat) | m, Pa |
//!
//! Sources: \[PrinceBlanch1990\] with `h_0` = 0.1 mm, `h_f` = 10 nm (from memory); rigid plane film \[Reynolds1886\], re-derived. The two are ends: clean water lies near the first,
//! water with salts or surfactants anywhere up to the second and beyond. Film repulsion can make it last for good.

use crate::collision::spread::Reading;
use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;

/// Thickness at first and at the break that \[PrinceBlanch1990\] take, m.
pub const THICKNESSES: [f64; 2] = [1e-4, 1e-8];

/// Equivalent radii of two bubbles that authors put into the inertial law, m; for equal bubbles from a quarter to the whole of the radius.
///
/// # Errors
/// [`TheoryError::Quantity`] for a radius that is not positive.
pub fn equivalent_radii(one: f64, two: f64) -> Result<[Reading; 3], TheoryError> {
    let harmonic = 1.0 / (1.0 / positive("radius", one)? + 1.0 / positive("radius", two)?);
    let reading = |value, source| Reading {
        value,
        source,
        from_memory: true,
    };
    Ok([
        reading(
            0.5 * harmonic,
            "half over the sum of curvatures, as Prince and Blanch 1990 print it",
        ),
        reading(harmonic, "one over the sum of curvatures"),
        reading(
            2.0 * harmonic,
            "two over the sum of curvatures, as Chesters and Hofman 1982",
        ),
    ])
}

/// Time to break by the inertial law, s, for an `equivalent` radius (m), `density` (kg/m^3), `tension` (N/m) and the two `thicknesses` (m).
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive, or a film that does not thin.
///
/// ```
/// use tremolet_theory::fizz::film::{THICKNESSES, inertial};
/// let t = inertial(1e-3, 998.2, 0.072_74, THICKNESSES)?;
/// assert!((t - 8.529_78e-3).abs() < 1e-7);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn inertial(
    equivalent: f64,
    density: f64,
    tension: f64,
    thicknesses: [f64; 2],
) -> Result<f64, TheoryError> {
    let [first, last] = thinning(thicknesses)?;
    let swing = positive("density", density)? * positive("equivalent radius", equivalent)?.powi(3);
    Ok((swing / (16.0 * positive("surface tension", tension)?)).sqrt() * (first / last).ln())
}

/// Least and greatest time of the inertial law over the equivalent radii that authors use, s.
///
/// # Errors
/// As [`inertial`].
pub fn inertial_range(one: f64, two: f64, density: f64, tension: f64) -> Result<(f64, f64), TheoryError> {
    let [least, _, most] = equivalent_radii(one, two)?;
    let time = |radius| inertial(radius, density, tension, THICKNESSES);
    Ok((time(least.value)?, time(most.value)?))
}

/// Time to break between rigid surfaces, s: film of `radius` (m), `viscosity` (dynamic, Pa s), squeezing `pressure` (Pa), `thicknesses` (m).
///
/// # Errors
/// As [`inertial`].
pub fn rigid(radius: f64, viscosity: f64, pressure: f64, thicknesses: [f64; 2]) -> Result<f64, TheoryError> {
    let [first, last] = thinning(thicknesses)?;
    let slow = 0.75 * positive("viscosity", viscosity)? * positive("radius of the film", radius)?.powi(2);
    Ok(slow / positive("pressure", pressure)? * (last.powi(-2) - first.powi(-2)))
}

fn thinning([first, last]: [f64; 2]) -> Result<[f64; 2], TheoryError> {
    positive("thickness at the break", last)?;
    required(
        "thickness at first",
        first,
        first > last,
        "more than at the break",
    )?;
    Ok([first, last])
}

/// Where the inertial law may hold: Ohnesorge number by the `equivalent` radius (m) up to 0.05; `viscosity` (dynamic, Pa s), `density` (kg/m^3) and
/// `tension` (N/m) of the liquid. Whether the surfaces are mobile no number here says.
#[must_use]
pub fn inertial_validity(equivalent: f64, viscosity: f64, density: f64, tension: f64) -> Validity {
    let ohnesorge = viscosity / (density * tension * equivalent).sqrt();
    Validity::always().with("Ohnesorge number by the equivalent radius", ohnesorge, 0.0, 0.05)
}

/// Where the rigid plane film holds: thin against its `radius` (m), at the `thickness` (m) at first, and thicker at the `last` than the reach of the forces between
/// its surfaces, some 10 nm.
#[must_use]
pub fn rigid_validity(radius: f64, thickness: f64, last: f64) -> Validity {
    Validity::always()
        .with("thickness over radius of the film", thickness / radius, 0.0, 0.1)
        .with("thickness at the break in m", last, 1e-8, f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Prince & Blanch 1990, recomputed independently: 1 and 2 mm.
    #[test]
    fn the_inertial_law() {
        for (r, t) in [(1e-3, 8.529_780e-3), (2e-3, 24.125_861e-3)] {
            assert!((inertial(r, 998.2, 0.072_74, THICKNESSES).unwrap() - t).abs() < 6e-10);
        }
    }

    // Equal bubbles: r/4, r/2, r, so the times differ by a factor 4^(3/2) = 8.
    #[test]
    fn authors_differ_by_a_factor_of_eight() {
        let radii = equivalent_radii(1e-3, 1e-3).unwrap().map(|reading| reading.value);
        for (found, due) in radii.iter().zip([0.25e-3, 0.5e-3, 1e-3]) {
            assert!((found / due - 1.0).abs() < 1e-12);
        }
        let (least, most) = inertial_range(1e-3, 1e-3, 998.2, 0.072_74).unwrap();
        assert!((most / least - 8.0).abs() < 1e-12 && (most - 8.529_780e-3).abs() < 6e-10);
        // Against a far larger one: up to twice the smaller.
        let flat = equivalent_radii(1e-3, 1.0).unwrap()[2].value;
        assert!((flat / 2e-3 - 1.0).abs() < 2e-3);
    }

    // The squeeze flow integrated, validation/theory/fizz.py: 10 um becomes 1.215661348 um in 5 s at 1 mm, 1 mPa s, 100 Pa.
    #[test]
    fn the_rigid_film() {
        let t = rigid(1e-3, 1e-3, 100.0, [1e-5, 1.215_661_348e-6]).unwrap();
        assert!((t / 5.0 - 1.0).abs() < 1e-8, "{t}");
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(
            inertial(1.0, 1.0, 1.0, [1e-8, 1e-4]).is_err() && inertial(0.0, 1.0, 1.0, THICKNESSES).is_err()
        );
        assert!(rigid(1.0, 1.0, 0.0, THICKNESSES).is_err() && equivalent_radii(0.0, 1.0).is_err());
    }

    #[test]
    fn syrup_and_thick_films_are_outside() {
        assert!(
            inertial_validity(1e-3, 1e-3, 998.0, 0.073).holds()
                && !inertial_validity(1e-3, 0.1, 1200.0, 0.065).holds()
        );
        assert!(rigid_validity(1e-3, 1e-5, 1e-8).holds() && !rigid_validity(1e-5, 1e-5, 1e-8).holds());
        assert!(!rigid_validity(1e-3, 1e-5, 1e-9).holds());
    }
}
