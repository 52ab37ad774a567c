//! Quintic splines on whole numbers, continued beyond their ends by symmetry: even, or odd about the end's value.
//!
//! ```text
//! f(u) = sum c_k B(u - k),  u = 0 to n;    (c_(i-2) + 26 c_(i-1) + 66 c_i + 26 c_(i+1) + c_(i+2)) / 120 = f_i
//! even end at 0: c_-k = c_k                odd end at 0: c_-k = 2 f_0 - c_k                 and alike at n
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | B | quintic B-spline on the whole numbers, nil beyond distance 3 |
//! | c_k | coefficients, k = -2 to n + 2 |
//! | f_i | the n + 1 values to be met at u = 0 to n |
//!
//! A smooth function that has the stated symmetry is met with an error of sixth order in the step, its first derivative at the whole
//! numbers of sixth, its second of fourth order: `f'' + f/720`, of which [`Spline::seconds`] takes the leading part away. The four conditions that a quintic spline lacks are the symmetries themselves, so no
//! order is lost at the ends.
//!
//! Source: \[DeBoor2001\] chapters IX and X (B-splines; the values of B and its derivatives on whole numbers follow from the recurrence).
//!
//! Not here: uneven knots. Place points unevenly by giving both coordinates of a curve as functions of a running number.

/// How a function continues beyond an end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symmetry {
    /// The same on both sides: the first derivative is nil.
    Even,
    /// Turned about the end's value: the second derivative is nil.
    Odd,
}

/// A quintic spline over 0 to `n`.
#[derive(Debug, Clone, PartialEq)]
pub struct Spline {
    ends: [Symmetry; 2],
    /// `c_-2` to `c_(n+2)`.
    coefficients: Vec<f64>,
}

/// Least number of intervals: with fewer the two symmetries meet.
pub const FEWEST_INTERVALS: usize = 4;

impl Spline {
    /// The spline through `values` at 0, 1, ... with the symmetries of its two ends.
    ///
    /// # Panics
    /// For fewer than [`FEWEST_INTERVALS`]` + 1` values.
    ///
    /// ```
    /// use tremolet_numerics::spline::{Spline, Symmetry};
    /// let step = std::f64::consts::PI / 16.0;
    /// let values: Vec<f64> = (0..=16).map(|i| (f64::from(i) * step).cos()).collect();
    /// let spline = Spline::through(&values, [Symmetry::Even; 2]);
    /// assert!((spline.at(3.5)[0] - (3.5 * step).cos()).abs() < 1e-7);
    /// ```
    #[must_use]
    pub fn through(values: &[f64], ends: [Symmetry; 2]) -> Self {
        assert!(
            values.len() > FEWEST_INTERVALS,
            "too few values for a quintic spline"
        );
        let inner = solve(values, ends);
        let mut coefficients = vec![0.0; inner.len() + 4];
        coefficients[2..inner.len() + 2].copy_from_slice(&inner);
        continue_beyond(&mut coefficients, ends);
        Self { ends, coefficients }
    }

    /// The spline of given `c_0` to `c_n`.
    #[must_use]
    pub fn of_coefficients(inner: &[f64], ends: [Symmetry; 2]) -> Self {
        let mut coefficients = vec![0.0; inner.len() + 4];
        coefficients[2..inner.len() + 2].copy_from_slice(inner);
        continue_beyond(&mut coefficients, ends);
        Self { ends, coefficients }
    }

    /// Second derivatives at the whole numbers, of sixth order: those of the spline less a 720th of the second difference of its fourth.
    #[must_use]
    pub fn seconds(&self) -> Vec<f64> {
        let last = self.intervals();
        let fourth: Vec<f64> = (0..=last).map(|i| self.at_knot(i)[3]).collect();
        let beyond = |end: Symmetry, inside: f64| match end {
            Symmetry::Even => inside,
            Symmetry::Odd => -inside,
        };
        let corrected = |i: usize| {
            let left = if i == 0 {
                beyond(self.ends[0], fourth[1])
            } else {
                fourth[i - 1]
            };
            let right = if i == last {
                beyond(self.ends[1], fourth[last - 1])
            } else {
                fourth[i + 1]
            };
            self.at_knot(i)[2] - (left - 2.0 * fourth[i] + right) / 720.0
        };
        (0..=last).map(corrected).collect()
    }

    /// `c_0` to `c_n`.
    #[must_use]
    pub fn inner(&self) -> &[f64] {
        &self.coefficients[2..self.coefficients.len() - 2]
    }

    /// Number of intervals.
    #[must_use]
    pub fn intervals(&self) -> usize {
        self.coefficients.len() - 5
    }

    /// The six coefficients that reach into the interval from `interval` to `interval + 1`: `c_(interval-2)` to `c_(interval+3)`.
    ///
    /// # Panics
    /// When there is no such interval.
    #[must_use]
    pub fn local(&self, interval: usize) -> &[f64; 6] {
        let slice = &self.coefficients[interval..interval + 6];
        slice.try_into().expect("six numbers were cut out")
    }

    /// Value and first and second derivative at `u` (0 to n; beyond, the polynomial of the last interval).
    #[must_use]
    pub fn at(&self, u: f64) -> [f64; 3] {
        let interval = (u.max(0.0) as usize).min(self.intervals() - 1);
        let weights = weights(u - interval as f64);
        let local = self.local(interval);
        weights.map(|w| w.iter().zip(local).map(|(w, c)| w * c).sum())
    }

    /// Value, first, second and fourth derivative at the whole number `i`.
    #[must_use]
    pub fn at_knot(&self, i: usize) -> [f64; 4] {
        let c = &self.coefficients[i..i + 5];
        let (inner, outer) = (c[1] + c[3], c[0] + c[4]);
        [
            (outer + 26.0 * inner + 66.0 * c[2]) / 120.0,
            (c[4] - c[0] + 10.0 * (c[3] - c[1])) / 24.0,
            (outer + 2.0 * inner - 6.0 * c[2]) / 6.0,
            outer - 4.0 * inner + 6.0 * c[2],
        ]
    }
}

/// Shares of the six local coefficients in value, first and second derivative at `t` (0 to 1) within an interval.
#[must_use]
pub fn weights(t: f64) -> [[f64; 6]; 3] {
    let s = 1.0 - t;
    let (t2, s2) = (t * t, s * s);
    let (t4, s4) = (t2 * t2, s2 * s2);
    // By the mirror image each half stands for the other.
    let half = |t: f64, t2: f64, t4: f64| {
        let t3 = t2 * t;
        [
            t4 * t / 120.0,
            (1.0 + 5.0 * t + 10.0 * t2 + 10.0 * t3 + 5.0 * t4 - 5.0 * t4 * t) / 120.0,
            (26.0 + 50.0 * t + 20.0 * t2 - 20.0 * t3 - 20.0 * t4 + 10.0 * t4 * t) / 120.0,
        ]
    };
    let slope = |t: f64, t2: f64, t4: f64| {
        let t3 = t2 * t;
        [
            t4 / 24.0,
            (1.0 + 4.0 * t + 6.0 * t2 + 4.0 * t3 - 5.0 * t4) / 24.0,
            (10.0 + 8.0 * t - 12.0 * t2 - 16.0 * t3 + 10.0 * t4) / 24.0,
        ]
    };
    let bend = |t: f64, t2: f64| {
        let t3 = t2 * t;
        [
            t3 / 6.0,
            (1.0 + 3.0 * t + 3.0 * t2 - 5.0 * t3) / 6.0,
            (2.0 - 6.0 * t - 12.0 * t2 + 10.0 * t3) / 6.0,
        ]
    };
    let (v, w) = (half(t, t2, t4), half(s, s2, s4));
    let (dv, dw) = (slope(t, t2, t4), slope(s, s2, s4));
    let (bv, bw) = (bend(t, t2), bend(s, s2));
    [
        [w[0], w[1], w[2], v[2], v[1], v[0]],
        [-dw[0], -dw[1], -dw[2], dv[2], dv[1], dv[0]],
        [bw[0], bw[1], bw[2], bv[2], bv[1], bv[0]],
    ]
}

fn continue_beyond(c: &mut [f64], ends: [Symmetry; 2]) {
    let last = c.len() - 3;
    for k in 1..=2 {
        c[2 - k] = match ends[0] {
            Symmetry::Even => c[2 + k],
            Symmetry::Odd => 2.0 * c[2] - c[2 + k],
        };
        c[last + k] = match ends[1] {
            Symmetry::Even => c[last - k],
            Symmetry::Odd => 2.0 * c[last] - c[last - k],
        };
    }
}

/// `c_0` to `c_n`: five diagonals, solved without pivoting since the middle one outweighs the rest.
fn solve(values: &[f64], ends: [Symmetry; 2]) -> Vec<f64> {
    let count = values.len();
    let mut rows = vec![[1.0, 26.0, 66.0, 26.0, 1.0]; count];
    let mut right: Vec<f64> = values.iter().map(|value| 120.0 * value).collect();
    fold(&mut rows, &mut right, values[0], ends[0], false);
    fold(&mut rows, &mut right, values[count - 1], ends[1], true);
    for i in 0..count {
        for below in 1..=2 {
            if i + below < count {
                let factor = rows[i + below][2 - below] / rows[i][2];
                for k in 1..=2 {
                    rows[i + below][2 - below + k] -= factor * rows[i][2 + k];
                }
                right[i + below] -= factor * right[i];
            }
        }
    }
    for i in (0..count).rev() {
        let known: f64 = (1..=2)
            .filter(|k| i + k < count)
            .map(|k| rows[i][2 + k] * right[i + k])
            .sum();
        right[i] = (right[i] - known) / rows[i][2];
    }
    right
}

/// Takes what reaches beyond an end back into the first two rows.
fn fold(rows: &mut [[f64; 5]], right: &mut [f64], value: f64, symmetry: Symmetry, last: bool) {
    let count = rows.len();
    let at = |row: usize| if last { count - 1 - row } else { row };
    let place = |offset: usize| if last { 4 - offset } else { offset };
    match symmetry {
        Symmetry::Even => {
            rows[at(0)][place(3)] = 52.0;
            rows[at(0)][place(4)] = 2.0;
            rows[at(1)][place(2)] += 1.0;
        }
        Symmetry::Odd => {
            rows[at(0)][place(2)] = 120.0;
            rows[at(0)][place(3)] = 0.0;
            rows[at(0)][place(4)] = 0.0;
            rows[at(1)][place(2)] -= 1.0;
            right[at(1)] -= 2.0 * value;
        }
    }
    rows[at(0)][place(0)] = 0.0;
    rows[at(0)][place(1)] = 0.0;
    rows[at(1)][place(0)] = 0.0;
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn error(count: usize, which: usize, place: f64) -> f64 {
        // cos is even at 0 and odd about nil at pi/2.
        let step = PI / 2.0 / count as f64;
        let values: Vec<f64> = (0..=count).map(|i| (i as f64 * step).cos()).collect();
        let spline = Spline::through(&values, [Symmetry::Even, Symmetry::Odd]);
        let u = place * count as f64;
        let (sin, cos) = (u * step).sin_cos();
        let exact = [cos, -sin * step, -cos * step * step];
        (spline.at(u)[which] - exact[which]).abs() / step.powi(which as i32)
    }

    #[test]
    fn orders_of_convergence() {
        for (which, place, least) in [
            (0, 0.53, 5.5),
            (1, 0.25, 5.5),
            (2, 0.25, 3.8),
            (2, 1.0 / 8.0, 3.8),
        ] {
            let order = (error(8, which, place) / error(32, which, place)).log2() / 2.0;
            assert!(order > least, "derivative {which} at {place}: order {order}");
        }
    }

    #[test]
    fn second_derivatives_with_their_error_taken_away_are_of_sixth_order() {
        let error = |count: usize| {
            let step = PI / 2.0 / count as f64;
            let values: Vec<f64> = (0..=count).map(|i| (i as f64 * step).cos()).collect();
            let found = Spline::through(&values, [Symmetry::Even, Symmetry::Odd]).seconds();
            let off = found
                .iter()
                .zip(&values)
                .map(|(s, f)| (s / (step * step) + f).abs());
            off.fold(0.0, f64::max)
        };
        let order = (error(8) / error(32)).log2() / 2.0;
        assert!(order > 5.7, "{order}");
    }

    #[test]
    fn odd_ends_turn_about_their_value_and_knots_are_met() {
        // u^3 is odd about nil at 0; shifted up it is odd about 5.
        let values: Vec<f64> = (0..=6).map(|i| 5.0 + f64::from(i).powi(3)).collect();
        let spline = Spline::through(&values, [Symmetry::Odd, Symmetry::Even]);
        for (i, value) in values.iter().enumerate() {
            assert!((spline.at_knot(i)[0] - value).abs() < 1e-12);
            assert!((spline.at(i as f64)[0] - value).abs() < 1e-12);
            for which in 0..3 {
                let (left, right) = (spline.at(i as f64 - 1e-9), spline.at_knot(i));
                assert!((left[which] - right[which]).abs() < 1e-6, "{i} {which}");
            }
        }
        assert!(spline.at_knot(0)[2].abs() < 1e-12 && spline.at_knot(6)[1].abs() < 1e-10);
    }

    #[test]
    fn weights_add_up() {
        for t in [0.0, 0.3, 1.0] {
            let [value, slope, bend] = weights(t);
            assert!((value.iter().sum::<f64>() - 1.0).abs() < 1e-15);
            assert!(slope.iter().sum::<f64>().abs() < 1e-15 && bend.iter().sum::<f64>().abs() < 1e-15);
            let moved = weights(t + 1e-6);
            for k in 0..6 {
                assert!(((moved[0][k] - value[k]) / 1e-6 - slope[k]).abs() < 1e-5);
                assert!(((moved[1][k] - slope[k]) / 1e-6 - bend[k]).abs() < 1e-5);
            }
        }
    }
}
