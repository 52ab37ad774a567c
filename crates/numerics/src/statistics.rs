//! Medians, quantiles, tails and bounds.
//!
//! | function | answers |
//! |---|---|
//! | [`median`], [`deviation_from_median`] | centre and spread that outliers do not move |
//! | [`normal_quantile`], [`student_quantile`] | how wide an interval must be |
//! | [`chi_square_tail`], [`normal_tail`], [`fisher_tail`] | how surprising a sum of squares is |
//! | [`binomial_bounds`] | what a count of hits says about a probability |
//!
//! Source: \[ClopperPearson1934\] for the bounds; tails by incomplete gamma and beta functions, quantiles by bisection to
//! the last digits. The tail of chi-square with many degrees of freedom is summed here \[AbramowitzStegun1972\] 6.5.29, 6.5.31. Accuracy about 1e-10 relative in the quantiles.

use puruspe::{betai, erfc, gammq, ln_gamma};

/// Median; the mean of the middle two of an even count; NaN for none.
pub fn median(values: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|x| !x.is_nan()).collect();
    if sorted.is_empty() {
        return f64::NAN;
    }
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted[half]
    } else {
        0.5 * (sorted[half - 1] + sorted[half])
    }
}

/// Median absolute deviation from the median times 1.4826, which for normal values is the standard deviation.
pub fn deviation_from_median(values: &[f64]) -> f64 {
    let centre = median(values);
    let distance: Vec<f64> = values.iter().map(|x| (x - centre).abs()).collect();
    1.482_602_218_505_602 * median(&distance)
}

/// Mean weighted by inverse variances, with its standard uncertainty for those variances; NaN for none.
pub fn weighted_mean(values: &[f64], variances: &[f64]) -> (f64, f64) {
    let weight: f64 = variances.iter().map(|v| 1.0 / v).sum();
    let sum: f64 = values.iter().zip(variances).map(|(x, v)| x / v).sum();
    (sum / weight, weight.sqrt().recip())
}

/// P(X > x) of the standard normal.
pub fn normal_tail(x: f64) -> f64 {
    0.5 * erfc(x / std::f64::consts::SQRT_2)
}

/// x with P(X <= x) = `probability` of the standard normal; infinite at 0 and 1.
pub fn normal_quantile(probability: f64) -> f64 {
    symmetric_quantile(probability, normal_tail)
}

/// P(T > t) of Student's t with `freedom` degrees of freedom (positive, may be infinite).
pub fn student_tail(t: f64, freedom: f64) -> f64 {
    if freedom.is_infinite() || freedom > 1e7 {
        return normal_tail(t);
    }
    let half = 0.5 * betai(0.5 * freedom, 0.5, freedom / (freedom + t * t));
    if t >= 0.0 { half } else { 1.0 - half }
}

/// t with P(T <= t) = `probability` of Student's t; `freedom` positive, may be infinite or fractional.
///
/// ```
/// use tremolet_numerics::statistics::student_quantile;
/// assert!((student_quantile(0.975, 10.0) - 2.228138852).abs() < 1e-8);
/// ```
pub fn student_quantile(probability: f64, freedom: f64) -> f64 {
    symmetric_quantile(probability, |t| student_tail(t, freedom))
}

fn symmetric_quantile(probability: f64, tail: impl Fn(f64) -> f64) -> f64 {
    if probability < 0.5 {
        return -symmetric_quantile(1.0 - probability, tail);
    }
    let wanted = 1.0 - probability;
    if wanted <= 0.0 {
        return f64::INFINITY;
    }
    let mut above = 1.0;
    while tail(above) > wanted && above < 1e300 {
        above *= 2.0;
    }
    bisect(0.0, above, |x| tail(x) > wanted)
}

/// The point up to which `below` holds.
fn bisect(mut low: f64, mut high: f64, below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle == low || middle == high {
            break;
        }
        if below(middle) {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

/// P(X > x) of chi-square with `freedom` degrees of freedom.
pub fn chi_square_tail(x: f64, freedom: f64) -> f64 {
    if x <= 0.0 {
        1.0
    } else if freedom < MANY {
        gammq(0.5 * freedom, 0.5 * x)
    } else {
        upper_gamma(0.5 * freedom, 0.5 * x)
    }
}

/// The value below which chi-square with `freedom` degrees of freedom lies with `probability`, by bisection to rounding; nil for a
/// probability of 0 or less.
///
/// ```
/// let x = tremolet_numerics::statistics::chi_square_quantile(0.975, 4.0);
/// assert!((x - 11.143_286_78).abs() < 1e-7);
/// ```
pub fn chi_square_quantile(probability: f64, freedom: f64) -> f64 {
    if probability <= 0.0 {
        return 0.0;
    }
    let above = 1.0 - probability;
    let (mut low, mut high) = (0.0, freedom);
    while chi_square_tail(high, freedom) > above && high < 1e300 {
        (low, high) = (high, 2.0 * high);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if chi_square_tail(middle, freedom) > above {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Degrees of freedom from which the outside library fails below the mean.
const MANY: f64 = 200.0;

/// Share of the gamma function of `a` (large) above `x`: series below the mean, continued fraction above.
fn upper_gamma(a: f64, x: f64) -> f64 {
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    let steps = 40.0 * a.sqrt() + 100.0;
    if x < a {
        let (mut term, mut sum, mut k) = (1.0 / a, 1.0 / a, a);
        while term > 1e-17 * sum && k < a + steps {
            k += 1.0;
            term *= x / k;
            sum += term;
        }
        return 1.0 - front * sum;
    }
    // From the far end backwards.
    let (mut k, mut fraction) = (steps.floor(), x + 2.0 * steps.floor() + 1.0 - a);
    while k >= 1.0 {
        fraction = x + 2.0 * k - 1.0 - a - k * (k - a) / fraction;
        k -= 1.0;
    }
    front / fraction
}

/// P(F > f) of Fisher's ratio with `above` and `below` degrees of freedom.
pub fn fisher_tail(f: f64, above: f64, below: f64) -> f64 {
    if f <= 0.0 {
        1.0
    } else {
        betai(0.5 * below, 0.5 * above, below / (below + above * f))
    }
}

/// Bounds of a probability after `hits` of `trials`, each side missing with (1 - `confidence`) / 2.
///
/// ```
/// use tremolet_numerics::statistics::binomial_bounds;
/// let (low, high) = binomial_bounds(0, 10, 0.95);
/// assert!(low == 0.0 && (high - 0.3084971).abs() < 1e-6); // 1 - 0.025^(1/10)
/// ```
pub fn binomial_bounds(hits: u64, trials: u64, confidence: f64) -> (f64, f64) {
    let side = 0.5 * (1.0 - confidence);
    let (k, n) = (hits as f64, trials as f64);
    let low = if hits == 0 {
        0.0
    } else {
        bisect(0.0, 1.0, |p| betai(k, n - k + 1.0, p) < side)
    };
    let high = if hits == trials {
        1.0
    } else {
        bisect(0.0, 1.0, |p| betai(k + 1.0, n - k, p) < 1.0 - side)
    };
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outliers_do_not_move_the_median() {
        assert_eq!(median(&[3.0, 1.0, 1e9]), 3.0);
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), 2.5);
        assert!(median(&[]).is_nan());
        let x: Vec<f64> = (1..1000)
            .map(|i| normal_quantile(f64::from(i) / 1000.0))
            .collect();
        assert!((deviation_from_median(&x) - 1.0).abs() < 0.01);
    }

    // Table values, from memory: z(0.975) = 1.959963985; t(0.975; 1) = 12.7062047, (5) = 2.5705818,
    // (2.5) between those of 2 (4.3026527) and 3 (3.1824463).
    #[test]
    fn quantiles_of_the_tables() {
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-9);
        assert!((normal_quantile(0.025) + 1.959_963_984_540_054).abs() < 1e-9);
        assert!((student_quantile(0.975, 1.0) - 12.706_204_7).abs() < 1e-6);
        assert!((student_quantile(0.975, 5.0) - 2.570_581_8).abs() < 1e-6);
        assert!((student_quantile(0.975, 2.0) - 4.302_652_7).abs() < 1e-6);
        assert!((student_quantile(0.975, f64::INFINITY) - 1.959_963_985).abs() < 1e-8);
    }

    // Chi-square 95 % points 3.8414588 (1), 18.3070381 (10); F 95 % point 4.1028210 (2, 10). From memory.
    #[test]
    fn tails_of_the_tables() {
        assert!((chi_square_tail(3.841_458_8, 1.0) - 0.05).abs() < 1e-8);
        assert!((chi_square_tail(18.307_038_1, 10.0) - 0.05).abs() < 1e-8);
        assert!((fisher_tail(4.102_821_0, 2.0, 10.0) - 0.05).abs() < 1e-8);
    }

    // The bounds are where the binomial sums reach 0.025, summed term by term here.
    #[test]
    fn binomial_bounds_by_summation() {
        let (low, high) = binomial_bounds(7, 20, 0.95);
        let term = |k: i32, p: f64| {
            let choose: f64 = (1..=k).map(|i| f64::from(20 - k + i) / f64::from(i)).product();
            choose * p.powi(k) * (1.0 - p).powi(20 - k)
        };
        let above: f64 = (7..=20).map(|k| term(k, low)).sum();
        let below: f64 = (0..=7).map(|k| term(k, high)).sum();
        assert!((above - 0.025).abs() < 1e-9 && (below - 0.025).abs() < 1e-9);
        assert_eq!(binomial_bounds(10, 10, 0.95).1, 1.0);
    }

    #[test]
    fn weights_are_inverse_variances() {
        let (mean, u) = weighted_mean(&[1.0, 3.0], &[1.0, 3.0]);
        assert!((mean - 1.5).abs() < 1e-15 && (u - 0.75_f64.sqrt()).abs() < 1e-15);
    }

    // Recomputed independently at 25 digits.
    #[test]
    fn chi_square_of_many_degrees_of_freedom() {
        for (x, freedom, known) in [
            (284.0, 300.0, 0.738_211_427_413_82),
            (300.0, 300.0, 0.489_141_770_250_64),
            (350.0, 300.0, 0.024_730_797_264_387),
            (1000.0, 1200.0, 0.999_992_214_727_44),
        ] {
            let tail = chi_square_tail(x, freedom);
            assert!((tail / known - 1.0).abs() < 1e-9, "{x} {freedom}: {tail}");
        }
        // Across the change of method, at the mean and beside it.
        for x in [150.0, 199.0, 250.0] {
            let (below, above) = (chi_square_tail(x, 199.9999), chi_square_tail(x, 200.0001));
            assert!(below < above && above - below < 1e-5, "{x}: {below} {above}");
        }
    }
}
