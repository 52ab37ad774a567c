//! Where a lens that is not perfect puts a point, and back.
//!
//! ```text
//! x_d = x (1 + k1 r^2 + k2 r^4 + k3 r^6) + 2 p1 x y + p2 (r^2 + 2 x^2)
//! y_d = y (1 + k1 r^2 + k2 r^4 + k3 r^6) + p1 (r^2 + 2 y^2) + 2 p2 x y          r^2 = x^2 + y^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `y` | tangents of the angles from the axis of the lens, right and down, as a perfect lens shows them | 1 |
//! | `x_d`, `y_d` | the same as the lens shows them | 1 |
//! | `k1`, `k2`, `k3` | radial coefficients | 1 |
//! | `p1`, `p2` | coefficients of a decentred lens | 1 |
//!
//! Source: the radial and the decentring terms are those of \[Brown1966\] and \[Brown1971\], from memory. There they take what is
//! measured to what is true; here, as is usual with cameras today, what is true to what is seen. Authors also differ about which of
//! `p1` and `p2` comes first: coefficients are good only with the formula they were found with. Coefficients are given, not found here.

/// Largest step of the iteration of [`Lens::ideal`] at its end, in tangents: 1e-12 is 1e-9 px for a lens of 1000 px.
pub const TOLERANCE: f64 = 1e-12;
/// Steps of the iteration; from the point seen it takes about five.
const STEPS: u32 = 40;

/// Why there is no point without distortion.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DistortionError {
    /// The formula turns back on itself before it reaches the point.
    #[error(
        "point ({x}, {y}) lies where the distortion formula folds: expected one nearer to the axis, or coefficients valid there"
    )]
    Folds {
        /// Tangent to the right.
        x: f64,
        /// Tangent down.
        y: f64,
    },
    /// A number is not finite.
    #[error("point ({x}, {y}) or a coefficient is not finite: expected numbers")]
    NotFinite {
        /// Tangent to the right.
        x: f64,
        /// Tangent down.
        y: f64,
    },
}

/// Coefficients of a lens; none of them (the default) is a perfect one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lens {
    /// `k1`, `k2`, `k3`.
    pub radial: [f64; 3],
    /// `p1`, `p2`.
    pub tangential: [f64; 2],
}

impl Lens {
    /// Where the lens shows the point that a perfect one would show at `[x, y]`; tangents.
    ///
    /// ```
    /// use tremolet_optics::distortion::Lens;
    /// let barrel = Lens { radial: [-0.1, 0.0, 0.0], ..Lens::default() };
    /// assert_eq!(barrel.seen([0.5, 0.0]), [0.5 * (1.0 - 0.1 * 0.25), 0.0]);
    /// ```
    pub fn seen(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let r2 = x * x + y * y;
        let [p1, p2] = self.tangential;
        let factor = self.factor(r2);
        [
            x * factor + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
            y * factor + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y,
        ]
    }

    /// Where a perfect lens would show the point that this one shows at `seen`, to [`TOLERANCE`]; tangents.
    ///
    /// # Errors
    /// When the point is not finite, or lies where the formula folds: it then has two answers or none.
    pub fn ideal(&self, seen: [f64; 2]) -> Result<[f64; 2], DistortionError> {
        let [x, y] = seen;
        let folds = DistortionError::Folds { x, y };
        let mut at = seen;
        for _ in 0..STEPS {
            let [found_x, found_y] = self.seen(at);
            let [[a, b], [c, d]] = self.slope(at);
            let determinant = a * d - b * c;
            let (off_x, off_y) = (found_x - x, found_y - y);
            let step = [
                (d * off_x - b * off_y) / determinant,
                (a * off_y - c * off_x) / determinant,
            ];
            if !(step[0].is_finite() && step[1].is_finite()) {
                return Err(DistortionError::NotFinite { x, y });
            }
            at = [at[0] - step[0], at[1] - step[1]];
            if step[0].hypot(step[1]) <= TOLERANCE {
                return if self.reaches(at) { Ok(at) } else { Err(folds) };
            }
        }
        Err(folds)
    }

    fn factor(&self, r2: f64) -> f64 {
        let [k1, k2, k3] = self.radial;
        1.0 + r2 * (k1 + r2 * (k2 + r2 * k3))
    }

    /// Change of the point seen by the ideal one: `[[dx_d/dx, dx_d/dy], [dy_d/dx, dy_d/dy]]`.
    fn slope(&self, [x, y]: [f64; 2]) -> [[f64; 2]; 2] {
        let r2 = x * x + y * y;
        let ([k1, k2, k3], [p1, p2]) = (self.radial, self.tangential);
        let factor = self.factor(r2);
        let by_r2 = k1 + r2 * (2.0 * k2 + r2 * 3.0 * k3);
        let mixed = 2.0 * (x * y * by_r2 + p1 * x + p2 * y);
        [
            [factor + 2.0 * x * x * by_r2 + 2.0 * p1 * y + 6.0 * p2 * x, mixed],
            [mixed, factor + 2.0 * y * y * by_r2 + 6.0 * p1 * y + 2.0 * p2 * x],
        ]
    }

    /// Whether the formula does not fold anywhere between the axis and the point.
    fn reaches(&self, [x, y]: [f64; 2]) -> bool {
        let open = |k: u32| {
            let share = f64::from(k) / 32.0;
            let [[a, b], [c, d]] = self.slope([share * x, share * y]);
            a * d - b * c > 0.0 && a + d > 0.0
        };
        (0..=32).all(open)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: [f64; 2], expected: [f64; 2], within: f64) {
        let off = (found[0] - expected[0]).hypot(found[1] - expected[1]);
        assert!(off < within, "{found:?} {expected:?}");
    }

    // By hand at (0.3, 0.4): r^2 = 0.25, r^4 = 0.0625, r^6 = 0.015625.
    #[test]
    fn each_coefficient_moves_a_point_as_worked_by_hand() {
        let of = |radial, tangential| Lens { radial, tangential }.seen([0.3, 0.4]);
        near(of([0.2, 0.0, 0.0], [0.0; 2]), [0.315, 0.42], 1e-15);
        near(of([0.0, 0.2, 0.0], [0.0; 2]), [0.303_75, 0.405], 1e-15);
        near(of([0.0, 0.0, 0.2], [0.0; 2]), [0.300_937_5, 0.401_25], 1e-15);
        // 2 x y = 0.24, r^2 + 2 y^2 = 0.57, r^2 + 2 x^2 = 0.43.
        near(of([0.0; 3], [0.01, 0.0]), [0.302_4, 0.405_7], 1e-15);
        near(of([0.0; 3], [0.0, 0.01]), [0.304_3, 0.402_4], 1e-15);
    }

    #[test]
    fn a_point_comes_back_within_the_tolerance() {
        let lenses = [
            Lens::default(),
            Lens {
                radial: [-0.28, 0.09, -0.012],
                tangential: [1.2e-3, -7e-4],
            },
            Lens {
                radial: [0.15, 0.0, 0.0],
                tangential: [0.0, 5e-3],
            },
        ];
        for lens in lenses {
            for i in -5..=5 {
                for j in -5..=5 {
                    let point = [0.08 * f64::from(i), 0.08 * f64::from(j)];
                    near(lens.ideal(lens.seen(point)).unwrap(), point, 10.0 * TOLERANCE);
                }
            }
        }
    }

    // x_d = x - 0.5 x^3 rises to 0.5443 at x = sqrt(2/3) = 0.8165 and falls beyond: 0.54 is reached, 0.55 by nothing in sight.
    #[test]
    fn where_the_formula_folds_there_is_no_answer() {
        let barrel = Lens {
            radial: [-0.5, 0.0, 0.0],
            ..Lens::default()
        };
        let inside = barrel.ideal([0.54, 0.0]).unwrap();
        assert!(inside[0] < 0.8165 && (barrel.seen(inside)[0] - 0.54).abs() < 1e-12);
        for beyond in [[0.55, 0.0], [0.0, -0.7], [-1.5, 0.0]] {
            assert!(barrel.ideal(beyond).is_err(), "{beyond:?}");
        }
        let lost = Lens::default().ideal([f64::NAN, 0.0]);
        assert!(matches!(lost, Err(DistortionError::NotFinite { .. })));
    }
}
