//! A ball or bubble in the middle of a ball of liquid: how large it looks.
//!
//! ```text
//! seen = n a        from far away, exactly;        sin(angle) = n a / L     from a lens at L
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a` | radius of the inner ball over that of the outer | 1 |
//! | `n` | index of the outer ball over that of what surrounds it | 1 |
//! | `L` | distance of the lens from the centre | radii |
//!
//! The ratio of the sines of the angles of inner and outer ball is `n a` at any distance. From `a = 1/n` on the inner ball fills the disc.
//!
//! Source: Bouguer's formula \[BornWolf1999\] section 3.2, exact.

use crate::error::{OpticsError, required};

/// Radius at which an inner ball of `radius` (over that of the outer) is seen, over the outer's; at most 1, when it fills the disc.
///
/// # Errors
/// [`OpticsError::Quantity`] for a radius outside 0 to 1 or an index of 1 or less.
///
/// ```
/// // A bubble of half the drop's radius in water looks two thirds of it.
/// assert!((tremolet_optics::refraction::middle::seen(0.5, 1.333)? - 0.6665).abs() < 1e-12);
/// # Ok::<(), tremolet_optics::error::OpticsError>(())
/// ```
pub fn seen(radius: f64, index: f64) -> Result<f64, OpticsError> {
    required(
        "radius of the inner ball",
        radius,
        (0.0..=1.0).contains(&radius),
        "from 0 to 1",
    )?;
    required("refractive index", index, index > 1.0, "a number above 1")?;
    Ok((index * radius).min(1.0))
}

/// Radius (over the outer's) of an inner ball that is seen at `seen`, the inverse of [`seen`]; none when it fills the disc: then it is `1/n` or more.
///
/// # Errors
/// [`OpticsError::Quantity`] for a seen radius outside 0 to 1 or an index of 1 or less.
pub fn inner(seen: f64, index: f64) -> Result<Option<f64>, OpticsError> {
    required(
        "seen radius of the inner ball",
        seen,
        (0.0..=1.0).contains(&seen),
        "from 0 to 1",
    )?;
    required("refractive index", index, index > 1.0, "a number above 1")?;
    Ok((seen < 1.0).then(|| seen / index))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Water, 1.333: fills the disc at 0.750187546887, recomputed independently.
    #[test]
    fn the_middle_is_magnified_by_the_index() {
        assert!((seen(0.3, 1.333).unwrap() - 0.3999).abs() < 1e-15);
        assert!(seen(0.750_187_546, 1.333).unwrap() < 1.0);
        assert_eq!(seen(0.750_187_547, 1.333).unwrap(), 1.0);
        assert!((inner(0.3999, 1.333).unwrap().unwrap() - 0.3).abs() < 1e-15);
        assert_eq!(inner(1.0, 1.333).unwrap(), None);
    }

    // From L = 2, 5, 10: 11.534035185, 4.587416136, 2.291869359 degrees for a = 0.3, recomputed independently.
    #[test]
    fn sines_keep_their_ratio_at_any_distance() {
        for (l, angle) in [(2.0, 11.534_035_185), (5.0, 4.587_416_136), (10.0, 2.291_869_359)] {
            let sight = crate::refraction::sight::Sight::near(1.333, l).unwrap();
            let found = sight.angle(seen(0.3, 1.333).unwrap()).to_degrees();
            assert!((found - angle).abs() < 6e-10, "{found}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(seen(1.1, 1.333).is_err() && seen(0.1, 1.0).is_err() && inner(-0.1, 1.333).is_err());
    }
}
