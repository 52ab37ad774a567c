//! The free swing of a given frequency and decay rate that fits the beginning of a series: where an expected motion starts from.
//!
//! ```text
//! a(t) = exp(-g (t - t0)) [c cos w (t - t0) + s sin w (t - t0)],      t0 <= t <= t0 + 2 P,      P = 2 pi / w
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a` | amplitude | 1 |
//! | `w`, `g` | angular frequency, decay rate, both given | rad/s, 1/s |
//! | `c`, `s` | what is fitted: least squares, all samples alike | 1 |
//! | `t0`, `P` | first time, period | s |
//!
//! Two periods are enough for both parts and short enough that a wrong frequency does not hide in them. Source: linear least squares,
//! \[JCGM100\] annex H.3. It says nothing of how sure the parts are, and looks at nothing after the second period.

use std::f64::consts::TAU;

/// A swing that has begun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Begun {
    /// First time, s.
    pub start: f64,
    /// Part in step with the cosine, in the unit of the series.
    pub cosine: f64,
    /// Part in step with the sine.
    pub sine: f64,
    /// Angular frequency, rad/s.
    pub angular_frequency: f64,
    /// Decay rate, 1/s.
    pub decay: f64,
}

impl Begun {
    /// The amplitude at a time, s.
    pub fn at(&self, time: f64) -> f64 {
        let t = time - self.start;
        let (sine, cosine) = (self.angular_frequency * t).sin_cos();
        (-self.decay * t).exp() * (self.cosine * cosine + self.sine * sine)
    }
}

/// Fits the beginning of a series: `time` in s, ascending; `amplitude` of the same length, NaN where unknown.
///
/// `None` for a motion that does not swing, or fewer than four samples in its first two periods.
pub fn begun(time: &[f64], amplitude: &[f64], angular_frequency: f64, decay: f64) -> Option<Begun> {
    if !(angular_frequency > 0.0 && decay.is_finite()) {
        return None;
    }
    let pairs = time.iter().zip(amplitude).map(|(t, a)| (*t, *a));
    let known: Vec<(f64, f64)> = pairs.filter(|(t, a)| t.is_finite() && a.is_finite()).collect();
    let start = known.first()?.0;
    let end = start + 2.0 * TAU / angular_frequency;
    let early: Vec<_> = known.into_iter().take_while(|(t, _)| *t <= end).collect();
    if early.len() < 4 {
        return None;
    }
    let [mut cc, mut cs, mut ss, mut ca, mut sa] = [0.0; 5];
    for (t, a) in early {
        let (sine, cosine) = (angular_frequency * (t - start)).sin_cos();
        let shrunk = (-decay * (t - start)).exp();
        let (c, s) = (shrunk * cosine, shrunk * sine);
        cc += c * c;
        cs += c * s;
        ss += s * s;
        ca += c * a;
        sa += s * a;
    }
    let determinant = cc * ss - cs * cs;
    (determinant > 1e-9 * cc * ss).then(|| Begun {
        start,
        cosine: (ca * ss - sa * cs) / determinant,
        sine: (sa * cc - ca * cs) / determinant,
        angular_frequency,
        decay,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn swing(t: f64, w: f64) -> f64 {
        (-0.3 * (t - 0.5)).exp() * (0.04 * (w * (t - 0.5)).cos() - 0.02 * (w * (t - 0.5)).sin())
    }

    #[test]
    fn a_swing_gives_its_own_parts_back() {
        let time: Vec<f64> = (0..400).map(|i| 0.5 + 0.005 * f64::from(i)).collect();
        let amplitude: Vec<f64> = time.iter().map(|t| swing(*t, 30.0)).collect();
        let found = begun(&time, &amplitude, 30.0, 0.3).unwrap();
        assert!((found.cosine - 0.04).abs() < 1e-12 && (found.sine + 0.02).abs() < 1e-12);
        assert!((found.at(1.7) - swing(1.7, 30.0)).abs() < 1e-12);
    }

    #[test]
    fn only_the_first_two_periods_count_and_gaps_are_left_out() {
        let time: Vec<f64> = (0..400).map(|i| 0.5 + 0.005 * f64::from(i)).collect();
        let of = |(i, t): (usize, &f64)| match i {
            0 | 7 => f64::NAN,
            i if i < 90 => swing(*t, 30.0),
            _ => 9.0,
        };
        let amplitude: Vec<f64> = time.iter().enumerate().map(of).collect();
        let found = begun(&time, &amplitude, 30.0, 0.3).unwrap();
        assert_eq!(found.start, 0.505);
        assert!((found.at(1.7) - swing(1.7, 30.0)).abs() < 1e-12);
    }

    #[test]
    fn nothing_begins_without_swing_or_samples() {
        assert_eq!(begun(&[0.0; 9], &[1.0; 9], 0.0, 1.0), None);
        assert_eq!(begun(&[0.0, 0.1, 0.2], &[1.0; 3], 30.0, 1.0), None);
        assert_eq!(begun(&[0.0; 9], &[1.0; 9], 30.0, 1.0), None);
    }
}
