//! The last few bubbles: mean time until two, or one, is left, chance included.
//!
//! ```text
//! every pair merges at the rate k(i, j) = K / V:
//! K = C          t(N -> n) = (2 V / C) (1/n - 1/N)
//! K = C (i + j)  t(N -> n) = (V / (C N)) (H_(N-1) - H_(n-1)),       H_m = 1 + 1/2 + ... + 1/m
//! K = C i j      t(N -> 1) = (V / C) integral_0^inf (1 - P_1(s)) ds,   t(N -> 2) with P_1 + P_2
//!                P_1(N) = 1 - sum_(k<N) binom(N-1, k-1) P_1(k) q^(k (N-k)),   P_2(N) = sum_(k<N) binom(N-1, k-1) P_1(k) P_1(N-k) q^(k (N-k)),   q = e^-s
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `N`, `n` | number of bubbles at the start (equal), at the end | 1 |
//! | `C`, `V` | factor of the rate of merging, volume in which they are | m^3/s, m^3 |
//! | `i`, `j` | sizes, in first bubbles | 1 |
//! | `P_1`, `P_2` | chance that after the time `s V / C` all are one, are two | 1 |
//!
//! Source: the first two follow from the total rate, which depends on the number alone (`C n (n - 1) / 2` and `C N (n - 1)`); the third is the connection of a random graph whose
//! edges come one by one \[Gilbert1959\], derived here. The mean time from a few bubbles to one is dominated by the last pair: its scatter is as large as
//! its mean. For bubbles well mixed; in a drop at rest in weightlessness nothing mixes them.

use crate::error::{TheoryError, positive, required};
use crate::fizz::population::Kernel;
use crate::validity::Validity;
use tremolet_numerics::quadrature::gauss_legendre;

/// Most bubbles that are served with [`Kernel::Product`].
pub const MOST: u32 = 400;

/// Mean time, s, from `start` equal bubbles to `end` of them, in the `volume` (m^3) with the factor `rate` (m^3/s).
///
/// # Errors
/// [`TheoryError::Quantity`] for an end of 0 or above the start, a rate or volume that is not positive, and with [`Kernel::Product`] for an
/// end other than 1 and 2 or a start above [`MOST`].
///
/// ```
/// use tremolet_theory::fizz::{last::mean_time, population::Kernel};
/// // Half of all the time goes into the last pair.
/// let (all, last) = (mean_time(Kernel::Constant, 1_000_000, 1, 1.0, 1.0)?, mean_time(Kernel::Constant, 2, 1, 1.0, 1.0)?);
/// assert!((last / all - 0.5).abs() < 1e-5);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn mean_time(kernel: Kernel, start: u32, end: u32, rate: f64, volume: f64) -> Result<f64, TheoryError> {
    within("number of bubbles at the end", end, 1, start)?;
    let unit = positive("volume", volume)? / positive("rate of merging", rate)?;
    let (first, last) = (f64::from(start), f64::from(end));
    Ok(unit
        * match kernel {
            Kernel::Constant => 2.0 * (1.0 / last - 1.0 / first),
            Kernel::Sum => (end..start).map(|m| 1.0 / f64::from(m)).sum::<f64>() / first,
            Kernel::Product => connection(start, end)?,
        })
}

/// Mean time of the product kernel, in units of `V / C`.
fn connection(start: u32, end: u32) -> Result<f64, TheoryError> {
    within("number of bubbles at the start", start, 1, MOST)?;
    within("number of bubbles at the end", end, 1, start.min(2))?;
    if start == end {
        return Ok(0.0);
    }
    let logs: Vec<f64> = (0..=start)
        .scan(0.0, |sum, k| {
            *sum += f64::from(k.max(1)).ln();
            Some(*sum)
        })
        .collect();
    // The chance that all is one is that of s N = ln N or so; with s = -ln(1 - w) the last pair's e^-s is a straight line.
    let rule = gauss_legendre(40);
    let apart = |s: f64| {
        let (one, two) = chances(start as usize, s, &logs);
        1.0 - one - if end == 2 { two } else { 0.0 }
    };
    let (n, reach) = (f64::from(start), 45.0 / f64::from(start));
    let knots = [0.0, 0.15, 0.4, 1.0].map(|share| share * (n.ln() / n + reach));
    Ok(knots
        .windows(2)
        .map(|ends| rule.integral(ends[0], ends[1], apart))
        .sum())
}

fn within(name: &'static str, count: u32, least: u32, most: u32) -> Result<(), TheoryError> {
    let inside = (least..=most).contains(&count);
    required(
        name,
        f64::from(count),
        inside,
        "from 1 to the start, and as far as the kernel is served",
    )
    .map(drop)
}

/// `P_1` and `P_2` of `count` bubbles at the time `s`.
fn chances(count: usize, s: f64, logs: &[f64]) -> (f64, f64) {
    let mut one = vec![0.0; count + 1];
    let (mut whole, mut split) = (1.0, 0.0);
    for n in 1..=count {
        // binom(n-1, k-1) q^(k (n-k)): the part with the first bubble has k members.
        let weight = |k: usize| (logs[n - 1] - logs[k - 1] - logs[n - k] - s * (k * (n - k)) as f64).exp();
        let parts = (1..n).map(|k| (weight(k) * one[k], one[n - k]));
        let (apart, two) = parts.fold((0.0, 0.0), |(a, b), (w, rest)| (a + w, b + w * rest));
        one[n] = f64::max(1.0 - apart, 0.0);
        (whole, split) = (one[n], two);
    }
    (whole, split)
}

/// Where every pair meets at its rate: the drop is stirred through `turns` times (at least 1) between two mergers, and the `share` of gas in the volume is at
/// most 0.1.
#[must_use]
pub fn validity(turns: f64, share: f64) -> Validity {
    Validity::always()
        .with(
            "turns of the mixing between two mergers",
            turns,
            1.0,
            f64::INFINITY,
        )
        .with("share of gas in the volume", share, 0.0, 0.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Every state of the chain one by one, in fractions: validation/theory/fizz.py.
    #[test]
    fn mean_times_of_the_chain() {
        let rows = [
            (Kernel::Constant, 6, 2, 2.0 / 3.0),
            (Kernel::Constant, 9, 1, 1.777_777_777_777_777_7),
            (Kernel::Sum, 6, 2, 0.213_888_888_888_888_88),
            (Kernel::Sum, 6, 1, 0.380_555_555_555_555_54),
            (Kernel::Sum, 9, 1, 0.301_984_126_984_126_97),
            (Kernel::Product, 2, 1, 1.0),
            (Kernel::Product, 6, 2, 0.320_662_670_662_670_7),
            (Kernel::Product, 6, 1, 0.498_631_923_631_923_66),
            (Kernel::Product, 9, 2, 0.250_759_709_982_695_76),
            (Kernel::Product, 9, 1, 0.359_601_799_978_045_05),
        ];
        for (kernel, start, end, due) in rows {
            let found = mean_time(kernel, start, end, 1.0, 1.0).unwrap();
            assert!(
                (found / due - 1.0).abs() < 1e-8,
                "{kernel:?} {start} {end}: {found}"
            );
        }
    }

    // A random graph of many becomes whole at (ln N + 0.5772) / N in the mean (Erdos and Renyi 1959, from memory).
    #[test]
    fn many_are_whole_at_the_logarithm_of_their_number() {
        let found = mean_time(Kernel::Product, 300, 1, 1.0, 1.0).unwrap();
        assert!(
            (300.0 * found / (300.0_f64.ln() + 0.577_215_7) - 1.0).abs() < 0.02,
            "{found}"
        );
    }

    #[test]
    fn rate_and_volume_set_the_scale() {
        let one = mean_time(Kernel::Sum, 9, 1, 1.0, 1.0).unwrap();
        assert!((mean_time(Kernel::Sum, 9, 1, 4.0, 2.0).unwrap() / one - 0.5).abs() < 1e-14);
        assert_eq!(mean_time(Kernel::Product, 2, 2, 1.0, 1.0).unwrap(), 0.0);
        assert!(
            mean_time(Kernel::Sum, 2, 3, 1.0, 1.0).is_err()
                && mean_time(Kernel::Product, 9, 3, 1.0, 1.0).is_err()
        );
        assert!(
            mean_time(Kernel::Sum, 2, 0, 1.0, 1.0).is_err()
                && mean_time(Kernel::Sum, 2, 1, 0.0, 1.0).is_err()
        );
        assert!(mean_time(Kernel::Product, 401, 1, 1.0, 1.0).is_err());
    }

    #[test]
    fn a_still_drop_is_not_mixed() {
        assert!(validity(3.0, 0.05).holds() && !validity(0.1, 0.05).holds() && !validity(3.0, 0.5).holds());
    }
}
