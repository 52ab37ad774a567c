//! How far a residual acceleration carries a free body that starts at rest.
//!
//! ```text
//! s = a t^2 / 2,      t = sqrt(2 s / a)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a` | residual acceleration, taken as constant | m/s^2 |
//! | `t` | time since the body was let go | s |
//! | `s` | way against the cabin | m |
//!
//! Source: \[Galilei1638\], third day, theorem II. A uniform acceleration moves a free body and does not deform it. For a body at rest at first; drag of
//! the air and jitter of the cabin are left out.

/// Way of a body that starts at rest, m; `acceleration` in m/s^2, `time` in s.
///
/// ```
/// assert!((tremolet_theory::drift::way(0.02, 1.9) - 0.0361).abs() < 1e-12);
/// ```
pub fn way(acceleration: f64, time: f64) -> f64 {
    acceleration * time * time / 2.0
}

/// Time in which a body that starts at rest goes the `way` (m, positive), s; infinite without acceleration.
pub fn time(acceleration: f64, way: f64) -> f64 {
    (2.0 * way / acceleration).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // 36 mm after 1.9 s at 0.02 m/s^2 and after 19 s at 2e-4 m/s^2, by hand.
    #[test]
    fn a_body_drifts_with_the_square_of_time() {
        assert!((way(0.02, 1.9) - 0.036).abs() < 5e-4);
        assert!((way(2e-4, 19.0) - 0.036).abs() < 5e-4);
        assert!((time(0.02, 0.0361) - 1.9).abs() < 1e-12);
        assert_eq!(time(0.0, 0.01), f64::INFINITY);
    }
}
