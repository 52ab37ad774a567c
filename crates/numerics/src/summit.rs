//! The greatest value of a function of one unknown between two ends.
//!
//! ```text
//! a < c < d < b,  c = b - g (b - a),  d = a + g (b - a),  g = (sqrt 5 - 1)/2:   keep the part round the larger of f(c), f(d)
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | a, b | ends of what is left, in the caller's units |
//! | g | share that is kept at each step |
//!
//! Forty steps leave 4e-9 of the interval; a smooth summit cannot be placed more sharply from its values, since they differ by less than
//! rounding. Source: \[Press2007\] section 10.2. Not here: several summits between the ends.

/// Place of the greatest value of `f` from `from` to `to`, if it has one summit there.
///
/// ```
/// let top = tremolet_numerics::summit::golden(f64::sin, 1.0, 2.0);
/// assert!((top - std::f64::consts::FRAC_PI_2).abs() < 1e-7);
/// ```
pub fn golden(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let share = (5f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (from, to);
    let (mut c, mut d) = (b - share * (b - a), a + share * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    for _ in 0..40 {
        if fc > fd {
            (b, d, fd) = (d, c, fc);
            c = b - share * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + share * (b - a);
            fd = f(d);
        }
    }
    (a + b) / 2.0
}

#[cfg(test)]
mod tests {
    use super::golden;

    #[test]
    fn summits_inside_and_at_the_ends() {
        let parabola = |x: f64| 3.0 - (x - 0.3).powi(2);
        assert!((golden(parabola, -1.0, 2.0) - 0.3).abs() < 1e-7);
        assert!((golden(parabola, 0.5, 2.0) - 0.5).abs() < 1e-7);
        assert!((golden(|x| x, 0.0, 1.0) - 1.0).abs() < 1e-7);
    }
}
