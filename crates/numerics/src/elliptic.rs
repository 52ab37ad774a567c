//! The complete elliptic integrals of the first and second kind.
//!
//! ```text
//! K(k) = integral_0^(pi/2) da / sqrt(1 - k^2 sin^2 a) = pi / (2 M(1, k')),    k' = sqrt(1 - k^2)
//! E(k) = integral_0^(pi/2) da sqrt(1 - k^2 sin^2 a)   = K (1 - sum 2^(j-1) c_j^2)
//! K = (K'/pi) ln(1/k'^2) + ...,    E = ((K' - E')/pi) ln(1/k'^2) + ...,    K' = K(k'), E' = E(k'); the rest is analytic at k = 1
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | k, k' | modulus (not its square) and complementary modulus |
//! | M | arithmetic-geometric mean |
//! | c_j | half the gap between the two means at step j; c_0 = k |
//!
//! Source: \[DLMF\] 19.8.5, 19.8.6; the logarithms from 19.7.1 (Legendre's relation) and 19.5.6 with 19.5.8 (the nome). Relative error a
//! few roundings for all k' from 1e-300 to 1.
//!
//! Not here: incomplete integrals and those of the third kind.

use std::f64::consts::FRAC_PI_2;

/// `K` for the complementary modulus `k'` (0 to 1): K(k) grows as `ln(4 / k')` when `k'` goes to zero, so that digits are kept near
/// k = 1. Infinite at 0, not a number outside.
///
/// ```
/// use tremolet_numerics::elliptic::complete;
/// assert!((complete(1.0) - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
/// ```
#[must_use]
pub fn complete(complement: f64) -> f64 {
    if !(0.0..=1.0).contains(&complement) {
        return f64::NAN;
    }
    if complement == 0.0 {
        return f64::INFINITY;
    }
    let (mut upper, mut lower) = (1.0, complement);
    // Each step doubles the digits; from 1e-300 the mean needs a dozen.
    for _ in 0..40 {
        let (mean, root) = (0.5 * (upper + lower), f64::sqrt(upper * lower));
        let gap = (mean - root).abs();
        (upper, lower) = (mean, root);
        if gap <= f64::EPSILON * mean {
            break;
        }
    }
    FRAC_PI_2 / upper
}

/// `K` and `E` for the complementary modulus `k'` (0 to 1): infinite and 1 at 0, not numbers outside.
///
/// ```
/// let [first, second] = tremolet_numerics::elliptic::both(0.5);
/// assert!(first > std::f64::consts::FRAC_PI_2 && second < std::f64::consts::FRAC_PI_2);
/// ```
#[must_use]
pub fn both(complement: f64) -> [f64; 2] {
    if !(0.0..=1.0).contains(&complement) {
        return [f64::NAN; 2];
    }
    if complement == 0.0 {
        return [f64::INFINITY, 1.0];
    }
    over(1.0, complement)
}

/// `K / p` and `E / p` for `k' = d / p`, with `0 < d <= p`: the form in which potentials of rings need them, without a division before.
///
/// The means are taken until their relative gap x is below 0.006; the rest is the series `M(1+x, 1-x) = 1 - x^2/4 - 5 x^4/64 - 11 x^6/256`.
#[inline]
#[must_use]
pub fn over(p: f64, d: f64) -> [f64; 2] {
    let (mut upper, mut lower) = (p, d);
    let (mut sum, mut weight) = (0.5 * (p - d) * (p + d), 1.0);
    loop {
        let (mean, half_gap) = (0.5 * (upper + lower), 0.5 * (upper - lower));
        let square = half_gap * half_gap;
        if square <= 3.6e-5 * mean * mean {
            let x = square / (mean * mean);
            let limit = mean * (1.0 - x * (0.25 + x * (5.0 / 64.0 + x * (11.0 / 256.0))));
            let first = FRAC_PI_2 / limit;
            sum += weight * square * (1.0 + 0.125 * x * (1.0 + 0.5 * x));
            return [first, first * (1.0 - sum / (p * p))];
        }
        sum += weight * square;
        weight *= 2.0;
        (upper, lower) = (mean, f64::sqrt(upper * lower));
    }
}

#[cfg(test)]
mod tests {
    use super::{both, complete};

    #[test]
    fn legendre_relation_and_values_of_both() {
        for i in 1..40 {
            let complement = f64::from(i) / 40.0;
            let modulus = (1.0 - complement * complement).sqrt();
            let ([k, e], [k1, e1]) = (both(complement), both(modulus));
            let relation = e * k1 + e1 * k - k * k1;
            assert!(
                (relation / std::f64::consts::FRAC_PI_2 - 1.0).abs() < 1e-14,
                "{complement}: {relation}"
            );
            assert!((k / complete(complement) - 1.0).abs() < 4e-15);
        }
        // mpmath 1.3, ellipe(m) with 30 digits: m = 1/4, 1/2, and E near k = 1 from its series 1 + k'^2 (ln(4/k') - 1/2) / 2.
        assert!((both(0.75_f64.sqrt())[1] - 1.467_462_209_339_427_2).abs() < 4e-15);
        assert!((both(0.5_f64.sqrt())[1] - 1.350_643_881_047_675_5).abs() < 4e-15);
        let near = 1.0 + 0.5e-8 * (4e4_f64.ln() - 0.5);
        assert!((both(1e-4)[1] - near).abs() < 2e-15, "{}", both(1e-4)[1]);
        assert_eq!(both(0.0), [f64::INFINITY, 1.0]);
        assert!(both(1.5)[0].is_nan());
    }

    #[test]
    fn the_logarithm_taken_out_leaves_what_has_no_logarithm() {
        // The second difference of the rest falls with the square of the step; with the logarithm left in it would not.
        let rest = |square: f64| {
            let ([k, e], [k1, e1]) = (both(square.sqrt()), both((1.0 - square).sqrt()));
            let logarithm = -square.ln() / std::f64::consts::PI;
            [k - k1 * logarithm, e - (k1 - e1) * logarithm]
        };
        for which in [0, 1] {
            let bend = |h: f64| rest(3.0 * h)[which] - 2.0 * rest(2.0 * h)[which] + rest(h)[which];
            let ratio = bend(2e-3) / bend(1e-3);
            assert!((ratio - 4.0).abs() < 0.05, "{which}: {ratio}");
        }
    }

    // mpmath 1.3, ellipk(k^2) with 30 digits: k = 1/2, sqrt(1/2), 0.99, and k' = 1e-8.
    #[test]
    fn values_of_thirty_digits() {
        let rows = [
            (0.75_f64.sqrt(), 1.685_750_354_812_596),
            (0.5_f64.sqrt(), 1.854_074_677_301_371_9),
            (0.0199_f64.sqrt(), 3.356_600_523_361_192_4),
            (1e-8, 19.806_975_105_072_254),
        ];
        for (complement, value) in rows {
            let found = complete(complement);
            assert!((found / value - 1.0).abs() < 4e-15, "{complement}: {found}");
        }
    }

    #[test]
    fn ends_and_beyond() {
        assert_eq!(complete(0.0), f64::INFINITY);
        assert!(complete(1.5).is_nan() && complete(-0.1).is_nan());
    }
}
