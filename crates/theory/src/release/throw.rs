//! Whether a released body holds enough surface energy to throw a drop off, as a column that breaks does.
//!
//! ```text
//! splitting off the share f of the volume costs, in surfaces of the sphere,   (1-f)^(2/3) + f^(2/3) - 1 <= 2^(1/3) - 1 = 0.26
//! the body has  A/(4 pi R^2) - 1  to spend
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | A | surface of the body when it is let go | m^2 |
//! | R | radius of the sphere of equal volume | m |
//! | f | share of the volume that leaves | 1 |
//!
//! A necessary condition, no law: a body with less to spend than the cost of a share f cannot lose it; one with more may, if its waves gather the energy on the axis. What viscosity
//! takes and what leaves as speed come on top. Source: surface energy of spheres \[Rayleigh1879\]; own criterion.

use crate::error::{TheoryError, not_negative, required};
use tremolet_numerics::root::bracketed;

/// Surface that splitting off the share `f` (0 to 1) of the volume costs, in surfaces of the whole sphere \[Rayleigh1879\].
///
/// # Errors
/// [`TheoryError::Quantity`] for a share outside 0 to 1.
///
/// ```
/// let halves = tremolet_theory::release::throw::cost(0.5)?;
/// assert!((halves - (2f64.cbrt() - 1.0)).abs() < 1e-15);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn cost(f: f64) -> Result<f64, TheoryError> {
    required(
        "share of the volume",
        f,
        (0.0..=1.0).contains(&f),
        "a number from 0 to 1",
    )?;
    Ok((1.0 - f).cbrt().powi(2) + f.cbrt().powi(2) - 1.0)
}

/// Largest share of the volume, 0 to 1/2, that the `excess` surface (over the sphere's, less 1) could pay to split off \[Rayleigh1879\].
///
/// # Errors
/// [`TheoryError::Quantity`] for an excess below zero; [`TheoryError::Root`] if the search fails (no case is known).
pub fn largest_share(excess: f64) -> Result<f64, TheoryError> {
    let excess = not_negative("excess of the surface", excess)?;
    let halves = cost(0.5)?;
    if excess >= halves {
        return Ok(0.5);
    }
    // In g = f^(1/3), where the cost rises as g^2 from zero.
    let at = |g: f64| (1.0 - g.powi(3)).cbrt().powi(2) + g * g - 1.0 - excess;
    let what = "the share that the surface could pay";
    bracketed(at, 0.0, 0.5_f64.cbrt(), 0.0)
        .map(|found| found.root.powi(3))
        .map_err(|source| TheoryError::Root { what, source })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::release::start::StartShape;

    // Two equal drops: 2^(1/3) - 1, by hand; a small share f costs f^(2/3) - 2 f/3.
    #[test]
    fn costs() {
        assert!((cost(0.5).unwrap() - 0.259_921_049_9).abs() < 1e-10);
        let f: f64 = 1e-6;
        assert!((cost(f).unwrap() / (f.powf(2.0 / 3.0) - 2.0 * f / 3.0) - 1.0).abs() < 1e-8);
        assert_eq!(cost(0.0), Ok(0.0));
        assert!((cost(0.2).unwrap() - cost(0.8).unwrap()).abs() < 1e-15 && cost(1.1).is_err());
    }

    #[test]
    fn what_a_body_could_pay() {
        for f in [1e-5, 0.01, 0.2, 0.49] {
            let found = largest_share(cost(f).unwrap()).unwrap();
            assert!((found / f - 1.0).abs() < 1e-9, "{f}: {found}");
        }
        assert_eq!(largest_share(0.3), Ok(0.5));
        assert_eq!(largest_share(0.0), Ok(0.0));
        assert!(largest_share(-0.01).is_err() && largest_share(f64::NAN).is_err());
        // A cylinder five diameters long can part; a drop stretched by a tenth cannot lose a hundredth of itself.
        let excess = |shape: StartShape| shape.modes(2).unwrap().excess;
        let long = excess(StartShape::RoundedCylinder {
            length: 10.0,
            diameter: 2.0,
            edge: 1.0,
        });
        let short = excess(StartShape::Spheroid {
            length: 2.2,
            diameter: 2.0,
        });
        assert_eq!(largest_share(long), Ok(0.5));
        assert!(largest_share(short).unwrap() < 0.01);
    }
}
