//! How much noise there is at the frequency of a line, in units of what is stated.
//!
//! ```text
//! P(f) = decrease of chi-square of the residuals by a sinusoid at f;   noise in a band = median P / (2 m_K)
//! m_K  = mean of the median of K exponential values of mean 1          (ln 2 for large K)
//! ```
//!
//! White noise of the stated size gives 1. The bands are f/2 to f and f to 2 f, without the line's own surroundings.
//!
//! A line's uncertainty is taken from the larger of the stated noise, which rests on all samples, and the noise found beside the line, which
//! rests on few frequencies. Student's factor goes with what it was taken from: with the samples unless the noise beside the line is larger than
//! three in ten records would show by chance. Where noise is normal, intervals of 95 % then hold the truth in 96.5 % of records
//! whose stated noise is right, and in at least 91.6 % (two degrees of freedom), 93.1 % (three), 94.5 % (six) whatever the noise is, by
//! 400 000 drawings.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `P` | power in units of the stated variance, chi-square with two degrees of freedom | 1 |
//! | `K` | frequencies in a band, 1/T apart | 1 |
//!
//! Source: \[Scargle1982\]; the choice of Student's factor has no published source. Noise with lines of its own is not described.

use tremolet_numerics::spectrum::periodogram_uneven;
use tremolet_numerics::statistics::{chi_square_tail, median};

use crate::line::Series;

/// Most frequencies looked at in a band.
const MOST: usize = 48;
/// Chance of noise beside a line, where the stated noise is right, from which on it is taken to be more than that.
const CHANCE: f64 = 0.3;

/// Noise at a line, over the stated noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// The larger of the two bands, at least 1: for saying whether a line is real.
    pub largest: f64,
    /// Between the two bands (their geometric mean), at least 1: for the uncertainty of a line that is.
    pub middle: f64,
    /// Degrees of freedom of the estimate beside the line.
    pub degrees_of_freedom: f64,
    /// Degrees of freedom of what `middle` was taken from.
    pub behind_middle: f64,
}

/// Noise of the `residual` at `frequency` (Hz) of a line of decay rate `decay` (1/s); none when the record is too short to
/// have neighbouring frequencies.
pub fn noise_at(series: &Series, residual: &[f64], frequency: f64, decay: f64) -> Option<Noise> {
    let [below, above] = bands(series.span(), series.times.len(), frequency, decay);
    let variances: Vec<f64> = series.deviations.iter().map(|d| d * d).collect();
    let band = |f: &[f64]| level(&periodogram_uneven(&series.times, residual, &variances, f));
    let (low, high) = (band(&below), band(&above));
    let middle = match (low, high) {
        (Some(a), Some(b)) => (a * b).sqrt(),
        (a, b) => a.or(b)?,
    };
    let beside = freedom(below.len() as f64, above.len() as f64);
    Some(Noise {
        largest: low.unwrap_or(0.0).max(high.unwrap_or(0.0)).max(1.0),
        middle: middle.max(1.0),
        degrees_of_freedom: beside,
        behind_middle: behind(middle, beside, series.times.len() as f64),
    })
}

/// The degrees of freedom behind the larger of the stated noise, known from `samples`, and the noise of `beside` degrees of freedom that
/// came out as `middle` of it.
fn behind(middle: f64, beside: f64, samples: f64) -> f64 {
    if chi_square_tail(beside * middle, beside) < CHANCE {
        beside
    } else {
        beside.max(samples)
    }
}

/// The frequencies (Hz) on both sides of a line at which the noise of a record of `span` (s) with `count` samples is judged.
pub(crate) fn bands(span: f64, count: usize, frequency: f64, decay: f64) -> [Vec<f64>; 2] {
    let highest = 0.5 * (count - 1) as f64 / span;
    let apart = (1.5 / span).max(decay.abs() / std::f64::consts::PI);
    let below = grid(
        1.0_f64.max(0.5 * frequency * span),
        (frequency - apart) * span,
        span,
    );
    let above = grid(
        (frequency + apart) * span,
        (2.0 * frequency).min(highest) * span,
        span,
    );
    [below, above]
}

/// Frequencies in Hz from `low` to `high` cycles of the record, a whole number of cycles apart.
fn grid(low: f64, high: f64, span: f64) -> Vec<f64> {
    if high < low {
        return Vec::new();
    }
    let count = (high - low).floor() as usize + 1;
    let stride = count.div_ceil(MOST);
    (0..count)
        .step_by(stride)
        .map(|k| (low + k as f64) / span)
        .collect()
}

fn level(power: &[f64]) -> Option<f64> {
    (!power.is_empty()).then(|| 0.5 * median(power) / median_of_exponentials(power.len()))
}

/// Mean of the median of `count` exponential values of mean 1.
fn median_of_exponentials(count: usize) -> f64 {
    let order = |k: usize| (count - k + 1..=count).map(|i| 1.0 / i as f64).sum::<f64>();
    if count % 2 == 1 {
        order(count / 2 + 1)
    } else {
        0.5 * (order(count / 2) + order(count / 2 + 1))
    }
}

/// The relative variance of a median over ln 2 is 1 / (K ln^2 2), and that of the mean of n degrees of freedom 2 / n.
pub(crate) fn freedom(below: f64, above: f64) -> f64 {
    let squared = std::f64::consts::LN_2.powi(2);
    if below * above == 0.0 {
        2.0 * squared * (below + above)
    } else {
        8.0 * squared / (1.0 / below + 1.0 / above)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::random::Generator;
    use tremolet_numerics::statistics::student_quantile;

    fn series(count: usize) -> Series {
        Series {
            times: (0..count).map(|i| 0.01 * i as f64).collect(),
            values: vec![0.0; count],
            deviations: vec![0.1; count],
        }
    }

    // White noise three times the stated: 9 in power, within four deviations of the mean of 40 estimates.
    #[test]
    fn white_noise_is_measured_without_bias() {
        for count in [60, 1000] {
            let data = series(count);
            let runs = 40;
            let mut sum = 0.0;
            let mut freedom = 0.0;
            for run in 0..runs {
                let mut g = Generator::stream(8, run);
                let noise: Vec<f64> = (0..count).map(|_| 0.3 * g.normal()).collect();
                let found = noise_at(&data, &noise, 12.0, 0.2).unwrap();
                sum += found.middle / 9.0 / runs as f64;
                freedom = found.degrees_of_freedom;
                assert!(found.largest >= found.middle);
            }
            let allowed = 4.0 * (2.0 / freedom / runs as f64).sqrt() + 1.0 / freedom;
            assert!((sum - 1.0).abs() < allowed, "{count}: {sum} +- {allowed}");
        }
    }

    // The 70 % point of chi-square with four degrees of freedom is 4.878 (handbook table, from memory): 1.2195 a degree.
    #[test]
    fn the_freedom_is_that_of_the_larger_noise() {
        assert_eq!(behind(0.4, 4.0, 120.0), 120.0);
        assert_eq!(behind(1.21, 4.0, 120.0), 120.0);
        assert_eq!(behind(1.23, 4.0, 120.0), 4.0);
        assert_eq!(behind(1.0, 30.0, 12.0), 30.0);
    }

    // Intervals of 95 % from records whose noise is 1, 2 or 3 times the stated variance, with four degrees of freedom beside the line:
    // held by 96.5, 94.0 and 93.9 in a hundred, integrated independently in Python; bounds of four deviations of 20 000 drawings.
    #[test]
    fn intervals_hold_whatever_the_noise() {
        let mut g = Generator::new(5);
        for (noise, expected) in [(1.0_f64, 0.965), (2.0, 0.940), (3.0, 0.939)] {
            let runs = 20_000;
            let mut held = 0;
            for _ in 0..runs {
                let found = noise * g.chi_square(4.0) / 4.0;
                let factor = student_quantile(0.975, behind(found, 4.0, 1e6));
                held += usize::from((noise.sqrt() * g.normal()).abs() < factor * found.max(1.0).sqrt());
            }
            let share = held as f64 / runs as f64;
            assert!(
                (share - expected).abs() < 4.0 * (0.06 / runs as f64).sqrt(),
                "{noise}: {share}"
            );
        }
    }

    // Medians by hand: of one value 1, of two the mean (1), of three 1/3 + 1/2.
    #[test]
    fn medians_of_few() {
        assert!((median_of_exponentials(1) - 1.0).abs() < 1e-15);
        assert!((median_of_exponentials(2) - 1.0).abs() < 1e-15);
        assert!((median_of_exponentials(3) - 5.0 / 6.0).abs() < 1e-15);
        assert!((median_of_exponentials(1001) - std::f64::consts::LN_2).abs() < 1e-3);
    }

    #[test]
    fn never_below_the_stated_noise_and_none_without_neighbours() {
        let data = series(200);
        let quiet = noise_at(&data, &[1e-6; 200], 12.0, 0.2).unwrap();
        assert_eq!((quiet.largest, quiet.middle), (1.0, 1.0));
        assert!(noise_at(&data, &[0.1; 200], 0.75, 0.0).is_none());
    }
}
