//! The level across a blurred dark rim, up to factors that differ along the outline.
//!
//! ```text
//! shade(x) = integral_0^inf exp(-(t / w)^p) N(x + t; s) dt,    p = 1 or 2
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x` | outward from the edge | px |
//! | `s`, `w` | width of the blur and of the rim | px |
//!
//! `N` is the normal density. Source: convolution by the midpoint rule, elementary. Tabulated, cubic between nodes.

use crate::step::{density, step};

const LOW: f64 = -24.0;
const HIGH: f64 = 16.0;
const PER_PX: usize = 8;

/// Shape of the rim of one outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimShape {
    /// Width of the blur, px.
    pub blur: f64,
    /// Width of the rim, px.
    pub rim: f64,
    /// Power of the decay, 1 or 2.
    pub power: i32,
}

/// The shape, tabulated.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// What it was made from.
    pub shape: RimShape,
    table: Vec<f64>,
}

impl Profile {
    /// The table of a shape.
    pub fn of(shape: RimShape) -> Self {
        let fine = shape.blur.min(shape.rim) / 6.0;
        let kernel = (5.0 * shape.blur / fine).ceil() as i32;
        let shade = |x: f64| -> f64 {
            (-kernel..=kernel)
                .map(|k| {
                    let (from, to) = (
                        f64::from(k) * fine - fine / 2.0 - x,
                        f64::from(k) * fine + fine / 2.0 - x,
                    );
                    let (from, to) = (from.max(0.0), to.max(0.0));
                    let middle = (from + to) / 2.0;
                    (to - from)
                        * (-(middle / shape.rim).powi(shape.power)).exp()
                        * density((middle + x) / shape.blur)
                        / shape.blur
                })
                .sum()
        };
        let count = ((HIGH - LOW) * PER_PX as f64) as usize + 1;
        let table = (0..count)
            .map(|i| shade(LOW + i as f64 / PER_PX as f64))
            .collect();
        Self { shape, table }
    }

    /// Columns of the linear fit at `distance` from the border, the edge at `offset`, and their slopes by the offset:
    /// outside, its slope, inside, and the shade of the rim.
    #[inline]
    pub fn columns(&self, distance: f64, offset: f64) -> ([f64; 4], [f64; 4]) {
        let x = distance - offset;
        let (phi, bell) = step(x / self.shape.blur);
        let bell = bell / self.shape.blur;
        let (shade, slope) = self.shade(x);
        (
            [phi, phi * distance, 1.0 - phi, shade],
            [-bell, -bell * distance, bell, -slope],
        )
    }

    fn shade(&self, x: f64) -> (f64, f64) {
        let at = ((x - LOW) * PER_PX as f64).clamp(1.0, self.table.len() as f64 - 3.0);
        let (i, t) = (at as usize, at.fract());
        let [a, b, c, d] = [
            self.table[i - 1],
            self.table[i],
            self.table[i + 1],
            self.table[i + 2],
        ];
        let (m, o) = ((c - a) / 2.0, (d - b) / 2.0);
        let (cube, square) = (2.0 * (b - c) + m + o, 3.0 * (c - b) - 2.0 * m - o);
        (
            ((cube * t + square) * t + m) * t + b,
            ((3.0 * cube * t + 2.0 * square) * t + m) * PER_PX as f64,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wide rim is a step; far inside, an exponential meets its own blur, exp(s^2 / 2 w^2) (moment of the normal law).
    #[test]
    fn limits_are_known() {
        let wide = Profile::of(RimShape {
            blur: 1.2,
            rim: 1e5,
            power: 2,
        });
        let narrow = Profile::of(RimShape {
            blur: 1.2,
            rim: 4.0,
            power: 1,
        });
        for x in [-3.0, -1.03, 0.0, 0.71, 2.2] {
            let ([phi, ..], [bell, ..]) = wide.columns(x, 0.0);
            let (shade, slope) = wide.shade(x);
            assert!(
                (shade - (1.0 - phi)).abs() < 2e-3 && (slope - bell).abs() < 4e-3,
                "{x} {shade} {phi}"
            );
        }
        let expected = (-8.0_f64 / 4.0 + 0.5 * (1.2_f64 / 4.0).powi(2)).exp();
        assert!((narrow.shade(-8.0).0 / expected - 1.0).abs() < 3e-3);
    }
}
