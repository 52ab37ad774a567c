//! The shift of a curved edge by blur.
//!
//! ```text
//! shift = kappa s^2 / 2     towards the centre of curvature
//! ```
//! The half level of a disc of radius `r` blurred by a Gaussian of width `s` lies at `r - s^2 / (2 r)`, to first order in
//! `s / r`; the next order is `(s / r)^3 s`. A pixel of side 1 adds `1/12` to `s^2`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `kappa` | curvature, positive for a convex body | 1/length |
//! | `s` | width of the blur, one standard deviation, pixel included | length |
//!
//! Source: own expansion of the blurred disc, checked by quadrature in the tests. Holds for `kappa s < 0.1`.

/// How far blur moves the half level of an edge towards its centre of curvature.
pub fn edge_shift(curvature: f64, width: f64) -> f64 {
    curvature * width * width / 2.0
}

/// Relative doubt of the shift of a curved edge by blur of another shape than a Gaussian: of a disc out of focus, an exponential, a Moffat
/// profile, diffraction; see `measure::edge::doubt` for the figures.
const SHAPE: f64 = 0.1;

/// Standard uncertainty of the edge of a body of this radius from the unknown shape of a blur of this width; in their unit.
pub fn shape_doubt(width: f64, radius: f64) -> f64 {
    SHAPE * edge_shift(1.0 / radius, width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Level of a blurred disc of radius `r` at distance `d` from its centre, by direct quadrature in polar coordinates.
    fn level(r: f64, s: f64, d: f64) -> f64 {
        let (rings, spokes) = (800, 800);
        let mut sum = 0.0;
        for i in 0..rings {
            let q = 7.0 * s * (f64::from(i) + 0.5) / f64::from(rings);
            let inside = (0..spokes)
                .filter(|k| {
                    let angle = 2.0 * PI * (f64::from(*k) + 0.5) / f64::from(spokes);
                    (d + q * angle.cos()).hypot(q * angle.sin()) < r
                })
                .count();
            sum += q * (-q * q / (2.0 * s * s)).exp() * inside as f64 / f64::from(spokes);
        }
        sum * 7.0 * s / f64::from(rings) / (s * s)
    }

    // A tenth of 1.3^2 / (2 * 20), by hand.
    #[test]
    fn the_shape_of_the_blur_leaves_a_tenth_of_the_shift_open() {
        assert!((shape_doubt(1.3, 20.0) - 0.004_225).abs() < 1e-12);
    }

    #[test]
    fn the_half_level_of_a_blurred_disc_moves_by_the_closed_form() {
        let (r, s) = (20.0, 1.3);
        let (mut low, mut high) = (r - 0.3, r + 0.3);
        for _ in 0..30 {
            let middle = (low + high) / 2.0;
            if level(r, s, middle) > 0.5 {
                low = middle
            } else {
                high = middle
            }
        }
        let found = r - (low + high) / 2.0;
        assert!((found - edge_shift(1.0 / r, s)).abs() < 0.003, "{found}");
    }
}
