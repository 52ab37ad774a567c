//! Ticks of an axis: round numbers, as many as there is room for, with labels of equal precision.
//!
//! ```text
//! step = {1, 2, 5} 10^k, the smallest that gives at most `most` ticks
//! ```
//!
//! A power of ten common to all labels of a very small or large axis is taken out and left to the axis label.

use crate::number::fixed;
use crate::text::superscript;

/// Places and labels of the ticks of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// Where they stand, ascending, inside the axis.
    pub at: Vec<f64>,
    /// What is written at each.
    pub labels: Vec<String>,
    /// Power of ten that all labels are to be multiplied by; 0 as a rule.
    pub exponent: i32,
}

/// Ticks of an even axis from `low` to `high` (`low < high`), at most `most` (two or more) of them.
///
/// ```
/// use tremolet_report::figure::ticks::even;
/// assert_eq!(even(-0.083, 0.081, 6).labels, ["\u{2212}0.05", "0.00", "0.05"]);
/// ```
pub fn even(low: f64, high: f64, most: usize) -> Ticks {
    let step = step(high - low, most.max(2));
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    let at: Vec<f64> = (first..=last).map(|k| k as f64 * step).collect();
    let size = at.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    let exponent = taken_out(size);
    let ten = 10f64.powi(exponent);
    let decimals = decimals_of(step / ten);
    let labels = at.iter().map(|x| fixed(x / ten, decimals)).collect();
    Ticks { at, labels, exponent }
}

/// Ticks at powers of ten from `low` to `high` (both positive), at most `most` of them.
pub fn decades(low: f64, high: f64, most: usize) -> Ticks {
    let first = (low.log10() - 1e-9).ceil() as i32;
    let last = (high.log10() + 1e-9).floor() as i32;
    let every = (last - first + 1).max(1) as usize;
    let every = every.div_ceil(most.max(1)).max(1) as i32;
    // Counted from 10^0, so that 1 is a tick whenever it can be.
    let powers: Vec<i32> = (first..=last).filter(|k| k.rem_euclid(every) == 0).collect();
    Ticks {
        at: powers.iter().map(|k| 10f64.powi(*k)).collect(),
        labels: powers.iter().map(|k| decade(*k)).collect(),
        exponent: 0,
    }
}

fn decade(power: i32) -> String {
    match power {
        0 => "1".to_owned(),
        1 => "10".to_owned(),
        k => format!("10{}", superscript(k)),
    }
}

fn step(span: f64, most: usize) -> f64 {
    let least = span / most as f64;
    let ten = 10f64.powf(least.log10().floor());
    let round = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|r| r * ten >= least * (1.0 - 1e-9));
    round.unwrap_or(10.0) * ten
}

fn taken_out(size: f64) -> i32 {
    if size == 0.0 || (1e-3..1e5).contains(&size) {
        0
    } else {
        3 * (size.log10() / 3.0).floor() as i32
    }
}

fn decimals_of(step: f64) -> i32 {
    let exponent = (step.log10() + 1e-9).floor() as i32;
    (-exponent).max(0)
}

#[cfg(test)]
mod tests {
    use super::{decades, even};

    #[test]
    fn steps_are_round_and_labels_alike() {
        assert_eq!(even(0.0, 2.2, 6).labels, ["0.0", "0.5", "1.0", "1.5", "2.0"]);
        assert_eq!(even(0.0, 100.0, 5).labels, ["0", "20", "40", "60", "80", "100"]);
        assert_eq!(
            even(11.98, 12.03, 5).labels,
            ["11.98", "11.99", "12.00", "12.01", "12.02", "12.03"]
        );
    }

    #[test]
    fn never_many_more_than_asked() {
        for k in 1..200 {
            let high = 1.07_f64.powi(k);
            let ticks = even(-0.3 * high, high, 6);
            assert!((2..=8).contains(&ticks.at.len()), "{high}: {:?}", ticks.labels);
            assert!(
                ticks
                    .at
                    .iter()
                    .all(|x| *x >= -0.3001 * high && *x <= 1.0001 * high)
            );
        }
    }

    #[test]
    fn small_numbers_share_their_power() {
        let ticks = even(-2e-5, 2e-5, 4);
        assert_eq!(ticks.exponent, -6);
        assert_eq!(ticks.labels, ["−20", "−10", "0", "10", "20"]);
    }

    #[test]
    fn powers_of_ten() {
        assert_eq!(
            decades(1e-4, 10.0, 8).labels,
            ["10⁻⁴", "10⁻³", "10⁻²", "10⁻¹", "1", "10"]
        );
        assert_eq!(decades(1e-9, 1.0, 5).at.len(), 5);
    }
}
