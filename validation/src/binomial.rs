//! How many of n intervals may miss when each covers with probability p.
//!
//! `P(X = k) = C(n, k) p^k (1 - p)^(n - k)`, summed from the end; exact in double precision for a few hundred runs.

/// Probability that `k` or fewer of `n` succeed.
pub fn at_most(k: u64, n: u64, p: f64) -> f64 {
    (0..=k.min(n)).map(|j| chance(j, n, p)).sum::<f64>().min(1.0)
}

fn chance(k: u64, n: u64, p: f64) -> f64 {
    let choose: f64 = (0..k).map(|j| (((n - j) as f64) / ((j + 1) as f64)).ln()).sum();
    (choose + k as f64 * p.ln() + (n - k) as f64 * (1.0 - p).ln()).exp()
}

/// The smallest and largest count of successes that an honest `p` does not make less likely than `tail` on its side.
pub fn bounds(n: u64, p: f64, tail: f64) -> (u64, u64) {
    let low = (0..=n).find(|&k| at_most(k, n, p) > tail).unwrap_or(n);
    let high = (0..=n)
        .rev()
        .find(|&k| k == 0 || 1.0 - at_most(k - 1, n, p) > tail)
        .unwrap_or(0);
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_counts_by_hand() {
        // n = 3, p = 1/2: 1/8, 4/8, 7/8, 1.
        for (k, sum) in [(0, 0.125), (1, 0.5), (2, 0.875), (3, 1.0)] {
            assert!((at_most(k, 3, 0.5) - sum).abs() < 1e-12);
        }
        assert_eq!(bounds(3, 0.5, 0.2), (1, 2));
    }

    #[test]
    fn honest_intervals_pass_and_poor_ones_do_not() {
        let (low, high) = bounds(200, 0.95, 0.001);
        assert!(low > 170 && low <= 182 && high >= 198, "{low} {high}");
        assert!(at_most(low, 200, 0.95) > 0.001 && at_most(low - 1, 200, 0.95) <= 0.001);
    }
}
