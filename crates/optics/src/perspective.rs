//! The outline of a ball that is not infinitely far from the lens.
//!
//! ```text
//! seen = R / sqrt(1 - (R/D)^2)      in the plane through the centre
//! ```
//! The rays that graze the ball touch it before its middle, so it looks larger than it is.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R` | radius of the ball | m |
//! | `D` | distance from the lens to the centre | m |
//!
//! Source: tangent cone of a sphere, elementary. For shapes near a sphere; does not know the lens's own distortion.

use std::fmt;

/// Why there is no perspective outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LensInside {
    /// Radius of the ball, m.
    pub radius: f64,
    /// Distance from the lens, m.
    pub distance: f64,
}

impl fmt::Display for LensInside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { radius, distance } = self;
        write!(
            f,
            "lens at {distance} m from a body of radius {radius} m: expected a larger distance"
        )
    }
}

impl std::error::Error for LensInside {}

/// Radius of the outline, in the plane through the centre, of a ball of `radius` at `distance`; m.
///
/// # Errors
/// When the lens would be inside the ball.
pub fn seen_radius(radius: f64, distance: f64) -> Result<f64, LensInside> {
    let ratio = radius / distance;
    if !(ratio.abs() < 1.0 && distance > 0.0) {
        return Err(LensInside { radius, distance });
    }
    Ok(radius / (1.0 - ratio * ratio).sqrt())
}

/// Radius of the ball whose outline has the radius `seen`, the inverse of [`seen_radius`]; m.
///
/// # Errors
/// When the distance is not positive.
pub fn true_radius(seen: f64, distance: f64) -> Result<f64, LensInside> {
    if distance.is_nan() || distance <= 0.0 {
        return Err(LensInside {
            radius: seen,
            distance,
        });
    }
    Ok(seen / (1.0 + (seen / distance).powi(2)).sqrt())
}

/// Relative change of the scale for a body `depth` metres behind the plane in which the scale was set.
pub fn scale_change(depth: f64, distance: f64) -> f64 {
    depth / distance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tangent_cone_is_found_by_its_own_geometry() {
        // 3-4-5: distance 5, radius 3, tangent length 4, so the cone cuts the mid-plane at 5 * 3/4.
        assert!((seen_radius(3.0, 5.0).expect("outside") - 3.75).abs() < 1e-15);
        assert!((true_radius(3.75, 5.0).expect("outside") - 3.0).abs() < 1e-15);
        assert!(
            seen_radius(5.0, 5.0).is_err()
                && seen_radius(1.0, -2.0).is_err()
                && true_radius(1.0, 0.0).is_err()
        );
    }

    /// 10 mm at 0.6 m is 1.7 % of the radius, hence 5 % of a volume and of the surface tension at given density: elementary geometry,
    /// recomputed independently.
    #[test]
    fn depth_counts_as_scale() {
        let change = scale_change(0.010, 0.6);
        assert!((change - 0.016667).abs() < 1e-6);
        assert!(((1.0 + change).powi(3) - 1.05).abs() < 2e-3);
    }
}
