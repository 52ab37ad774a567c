//! The pressure that a puff puts on one side of a drop, in Legendre polynomials about the axis of the puff.
//!
//! ```text
//! p(theta) = sum p_n P_n(cos theta),   p_n = (2n+1)/2 integral_-1^1 p P_n dm,  m = cos theta
//! cap    p = p_0 for theta < th:        p_n = p_0 [P_(n-1)(c) - P_(n+1)(c)]/2,   p_0th = p_0 (1 - c)/2,   c = cos th
//! bell   p = p_0 exp[-(R sin theta/w)^2] on the near half, none on the far one
//! force  F = (4/3) pi R^2 p_1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | theta | angle from the middle of the footprint, seen from the middle of the drop | rad |
//! | p_0 | pressure in the middle of the footprint | Pa |
//! | th, w | half angle of the cap, radius (across the axis) at which the bell has fallen to 1/e | rad, m |
//! | R | radius of the drop | m |
//! | F | force on the drop as a whole, away from the puff | N |
//!
//! Source: Legendre's expansion \[DLMF\] 18.2(i), 18.17; the cap in closed form, the bell by quadrature. Not here: suction behind the drop and at the
//! shoulder, where gas speeds past.

use crate::error::{TheoryError, positive, required};
use std::f64::consts::PI;
use tremolet_numerics::legendre::{projection, table};
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

/// Pressure on one side of a drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Footprint {
    /// Even pressure on a cap.
    Cap {
        /// Pressure, Pa; negative for suction.
        pressure: f64,
        /// Half angle as seen from the middle of the drop, rad, up to pi.
        half_angle: f64,
    },
    /// A bell about the axis, on the near half.
    Bell {
        /// Pressure on the axis, Pa; negative for suction.
        pressure: f64,
        /// Distance from the axis at which it has fallen to 1/e, m.
        width: f64,
    },
}

impl Footprint {
    /// Coefficients p_0 to p_`highest`, Pa, on a drop of `radius` (m) \[DLMF\]; index = degree.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius, angle or width that is not positive, an angle beyond pi, or a pressure that is not a number.
    ///
    /// ```
    /// use tremolet_theory::puff::footprint::Footprint;
    /// let cap = Footprint::Cap { pressure: 1.0, half_angle: 30f64.to_radians() };
    /// let p = cap.coefficients(0.02, 3)?;
    /// assert!((p[0] - 0.066_987_298_1).abs() < 1e-10 && (p[1] - 0.1875).abs() < 1e-15);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn coefficients(&self, radius: f64, highest: u32) -> Result<Vec<f64>, TheoryError> {
        positive("radius", radius)?;
        let finite = |pressure| required("pressure", pressure, true, "a number");
        match *self {
            Footprint::Cap { pressure, half_angle } => {
                let possible = half_angle > 0.0 && half_angle <= PI;
                required(
                    "half angle",
                    half_angle,
                    possible,
                    "an angle above 0 and up to pi, rad",
                )?;
                Ok(cap(finite(pressure)?, half_angle.cos(), highest as usize))
            }
            Footprint::Bell { pressure, width } => {
                let share = radius / positive("width of the footprint", width)?;
                Ok(bell(finite(pressure)?, share, highest as usize))
            }
        }
    }

    /// Force on the drop as a whole, N \[DLMF\].
    ///
    /// # Errors
    /// As [`Footprint::coefficients`].
    pub fn force(&self, radius: f64) -> Result<f64, TheoryError> {
        let p = self.coefficients(radius, 1)?;
        Ok(4.0 / 3.0 * PI * radius * radius * p[1])
    }

    /// Half width of the footprint, m: of the cap across the axis, of the bell where it has fallen to 1/e; at most the radius.
    ///
    /// # Errors
    /// As [`Footprint::coefficients`].
    pub fn half_width(&self, radius: f64) -> Result<f64, TheoryError> {
        self.coefficients(radius, 0)?;
        Ok(match *self {
            Footprint::Cap { half_angle, .. } => radius * half_angle.min(PI / 2.0).sin(),
            Footprint::Bell { width, .. } => width.min(radius),
        })
    }
}

fn cap(pressure: f64, c: f64, highest: usize) -> Vec<f64> {
    let p = table(highest + 1, c).value;
    let of = |n: usize| match n {
        0 => (1.0 - c) / 2.0,
        _ => (p[n - 1] - p[n + 1]) / 2.0,
    };
    (0..=highest).map(|n| pressure * of(n)).collect()
}

/// By Gauss-Legendre quadrature on the near half, in pieces that the bell does not outrun.
fn bell(pressure: f64, share: f64, highest: usize) -> Vec<f64> {
    // In s = sin(theta): beyond 7 widths nothing is left; the nodes lie in the angle.
    let end = if share <= 7.0 {
        PI / 2.0
    } else {
        (7.0 / share).asin()
    };
    let inner = gauss_legendre(64 + highest);
    let (mut nodes, mut weights, mut samples) = (Vec::new(), Vec::new(), Vec::new());
    for (x, weight) in inner.nodes.iter().zip(&inner.weights) {
        let theta = end * (x + 1.0) / 2.0;
        nodes.push(theta.cos());
        weights.push(weight * end / 2.0 * theta.sin());
        samples.push(pressure * (-(share * theta.sin()).powi(2)).exp());
    }
    projection(&Rule { nodes, weights }, &samples, highest)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Cap of 30 degrees: recomputed independently from the closed form.
    #[test]
    fn a_cap() {
        let cap = Footprint::Cap {
            pressure: 10.0,
            half_angle: PI / 6.0,
        };
        let p = cap.coefficients(0.02, 6).unwrap();
        let known = [
            0.066_987_298_1,
            0.1875,
            0.270_632_938_7,
            0.300_781_25,
            0.274_015_850_4,
            0.198_730_468_8,
            0.093_452_936_6,
        ];
        for (found, known) in p.iter().zip(known) {
            assert!((found / 10.0 - known).abs() < 6e-11, "{found} {known}");
        }
        // The pressure on the area across the axis.
        let force = 10.0 * PI * (0.02 * 0.5_f64).powi(2);
        assert!((cap.force(0.02).unwrap() / force - 1.0).abs() < 1e-12);
        assert!((cap.half_width(0.02).unwrap() - 0.01).abs() < 1e-15);
    }

    // The bell: adaptive quadrature in another variable (validation/theory/puff.py); and the force of a narrow one, p_0 pi w^2.
    #[test]
    fn a_bell() {
        for (share, known) in BELLS {
            let p = Footprint::Bell {
                pressure: 1.0,
                width: 1.0 / share,
            }
            .coefficients(1.0, 60)
            .unwrap();
            for (n, value) in [0, 1, 2, 5, 20, 60].into_iter().zip(known) {
                assert!((p[n] - value).abs() < 1e-12, "{share} {n}: {} {value}", p[n]);
            }
        }
        let narrow = Footprint::Bell {
            pressure: 5.0,
            width: 1e-3,
        };
        assert!((narrow.force(0.05).unwrap() / (5.0 * PI * 1e-6) - 1.0).abs() < 1e-12);
    }

    const BELLS: [(f64, [f64; 6]); 3] = [
        (
            0.5,
            [
                0.424_436_383_502_022,
                0.663_597_650_785_785,
                0.072_363_288_714_609_8,
                0.263_161_692_727_106,
                0.0,
                0.0,
            ],
        ),
        (
            10.0 / 3.0,
            [
                0.023_698_618_551_895,
                0.067_498_991_189_649_6,
                0.101_505_169_858_998,
                0.123_139_492_092_692,
                0.000_200_006_794_633,
                0.0,
            ],
        ),
        (
            40.0,
            [
                0.000_156_298_873_973,
                0.000_468_75,
                0.000_780_761_489_582,
                0.001_711_241_043_091,
                0.006_000_911_467_858,
                0.010_671_228_594_244,
            ],
        ),
    ];

    #[test]
    fn what_cannot_be_is_refused() {
        let cap = |half_angle| Footprint::Cap {
            pressure: 1.0,
            half_angle,
        };
        assert!(cap(0.0).coefficients(1.0, 4).is_err() && cap(3.2).coefficients(1.0, 4).is_err());
        assert!(cap(1.0).coefficients(0.0, 4).is_err());
        let bell = |pressure, width| Footprint::Bell { pressure, width };
        assert!(bell(1.0, 0.0).force(1.0).is_err() && bell(f64::NAN, 1.0).force(1.0).is_err());
        assert_eq!(bell(1.0, 1.0).half_width(0.02), Ok(0.02));
        // All round, even pressure moves nothing.
        let all = cap(PI).coefficients(1.0, 3).unwrap();
        assert!((all[0] - 1.0).abs() < 1e-15 && all[1..].iter().all(|p| p.abs() < 1e-15));
    }
}
