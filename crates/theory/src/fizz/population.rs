//! Numbers of bubbles of each size while all merge with all: three kernels with a closed form.
//!
//! ```text
//! dn_k/dt = 1/2 sum_(i+j=k) K n_i n_j - n_k sum_j K n_j,     n_k(0) = N_0 for k = 1, else 0
//!
//! K = C          n_k/N_0 = (x/2)^(k-1) / (1 + x/2)^(k+1)           N/N_0 = 1/(1 + x/2)     M_2 = 1 + x
//! K = C (i + j)  n_k/N_0 = (1 - f) (k f)^(k-1) e^(-k f) / k!       N/N_0 = e^-x            M_2 = e^(2 x)       f = 1 - e^-x
//! K = C i j      n_k/N_0 = k^(k-2) x^(k-1) e^(-k x) / k!           N/N_0 = 1 - x/2         M_2 = 1/(1 - x)     x < 1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n_k`, `N` | number of bubbles made of `k` first ones, of all, per volume | 1/m^3 |
//! | `N_0` | number at the start, all of one size | 1/m^3 |
//! | `K`, `C` | rate at which two meet and merge, its factor | m^3/s |
//! | `x = C N_0 t` | time | 1 |
//! | `M_2` | sum of `k^2 n_k / N_0`: mean size by volume, in first bubbles | 1 |
//!
//! Source: \[Smoluchowski1916\] (constant), \[Golovin1963\] (sum), \[McLeod1962\] (product); from memory, recomputed by integration. Mind the factor 1/2:
//! with another normalisation in use, time counts double. For so many bubbles that chance evens out: [`crate::fizz::last`] for the last few. The third
//! makes one bubble of them all at x = 1, where the closed form ends.

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// How the rate of merging depends on the sizes, counted in first bubbles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kernel {
    /// The same for all: bubbles that find each other by diffusion, roughly.
    Constant,
    /// As the sum of the volumes: bubbles carried by shear, roughly.
    Sum,
    /// As the product of the volumes: large ones take all.
    Product,
}

/// Time in units of `1 / (C N_0)`: `rate` (m^3/s), `number` at the start (1/m^3), `time` (s).
///
/// # Errors
/// [`TheoryError::Quantity`] for a rate or number that is not positive, a negative time.
pub fn scaled_time(rate: f64, number: f64, time: f64) -> Result<f64, TheoryError> {
    Ok(positive("rate of merging", rate)? * positive("number", number)? * not_negative("time", time)?)
}

impl Kernel {
    /// Number of bubbles of size `k` (1 and up) over that of all at the start, after the scaled time `x`.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative time, a size of 0, or `x` of 1 and above with [`Kernel::Product`].
    ///
    /// ```
    /// use tremolet_theory::fizz::population::Kernel;
    /// assert!((Kernel::Constant.share(3, 2.0)? - 0.0625).abs() < 1e-15);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn share(self, k: u32, x: f64) -> Result<f64, TheoryError> {
        self.within(x)?;
        let size = f64::from(k);
        positive("size in first bubbles", size)?;
        if x == 0.0 {
            return Ok(if k == 1 { 1.0 } else { 0.0 });
        }
        let log = match self {
            Kernel::Constant => (size - 1.0) * (0.5 * x).ln() - (size + 1.0) * (1.0 + 0.5 * x).ln(),
            Kernel::Sum => {
                let f = -(-x).exp_m1();
                -x + (size - 1.0) * (size * f).ln() - size * f - log_factorial(k)
            }
            Kernel::Product => (size - 2.0) * size.ln() + (size - 1.0) * x.ln() - size * x - log_factorial(k),
        };
        Ok(log.exp())
    }

    /// Number of all bubbles over that at the start.
    ///
    /// # Errors
    /// As [`Kernel::share`].
    pub fn number(self, x: f64) -> Result<f64, TheoryError> {
        self.within(x)?;
        Ok(match self {
            Kernel::Constant => 1.0 / (1.0 + 0.5 * x),
            Kernel::Sum => (-x).exp(),
            Kernel::Product => 1.0 - 0.5 * x,
        })
    }

    /// Mean size by volume, in first bubbles.
    ///
    /// # Errors
    /// As [`Kernel::share`].
    pub fn mean_by_volume(self, x: f64) -> Result<f64, TheoryError> {
        self.within(x)?;
        Ok(match self {
            Kernel::Constant => 1.0 + x,
            Kernel::Sum => (2.0 * x).exp(),
            Kernel::Product => 1.0 / (1.0 - x),
        })
    }

    fn within(self, x: f64) -> Result<(), TheoryError> {
        let end = if self == Kernel::Product {
            1.0
        } else {
            f64::INFINITY
        };
        let inside = x >= 0.0 && x < end;
        required(
            "scaled time",
            x,
            inside,
            "0 or more, and below 1 for the product kernel",
        )
        .map(drop)
    }
}

fn log_factorial(k: u32) -> f64 {
    (2..=k).map(|i| f64::from(i).ln()).sum()
}

/// Where the equations of the many hold: `left` bubbles, at least 30 (their number scatters by its root), and a `share` of the volume that is gas of at most 0.1.
#[must_use]
pub fn validity(left: f64, share: f64) -> Validity {
    Validity::always()
        .with("bubbles left", left, 30.0, f64::INFINITY)
        .with("share of gas in the volume", share, 0.0, 0.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Closed forms against an integration over 400 sizes, recomputed independently.
    #[test]
    fn the_three_kernels() {
        let sizes = [1, 2, 3, 5, 10, 20];
        let rows = [
            (
                Kernel::Constant,
                2.0,
                [0.25, 0.125, 0.0625, 0.015_625, 4.882_812_5e-4, 4.768_37e-7],
                0.5,
                3.0,
            ),
            (
                Kernel::Sum,
                1.0,
                [
                    0.195_514_534_153,
                    0.065_682_926_161,
                    0.033_099_177_06,
                    0.012_970_944_405,
                    0.002_936_817_894,
                    4.205_520_93e-4,
                ],
                0.367_879_441_171,
                7.389_056_099,
            ),
            (
                Kernel::Product,
                0.5,
                [
                    0.606_530_659_713,
                    0.091_969_860_293,
                    0.027_891_270_019,
                    0.005_344_075_431,
                    3.626_557_74e-4,
                    9.330_407e-6,
                ],
                0.75,
                2.0,
            ),
        ];
        for (kernel, x, shares, number, mean) in rows {
            for (k, share) in sizes.into_iter().zip(shares) {
                let found = kernel.share(k, x).unwrap();
                assert!(
                    (found / share - 1.0).abs() < 2e-6 && (found - share).abs() < 2e-12,
                    "{kernel:?} {k}: {found}"
                );
            }
            assert!((kernel.number(x).unwrap() - number).abs() < 1e-11);
            assert!((kernel.mean_by_volume(x).unwrap() - mean).abs() < 1e-9);
        }
    }

    #[test]
    fn numbers_and_volume_add_up() {
        for kernel in [Kernel::Constant, Kernel::Sum, Kernel::Product] {
            let sum = |power: i32| {
                let term = |k: u32| f64::from(k).powi(power) * kernel.share(k, 0.4).unwrap();
                (1..=600).map(term).sum::<f64>()
            };
            assert!((sum(0) - kernel.number(0.4).unwrap()).abs() < 1e-12, "{kernel:?}");
            assert!((sum(1) - 1.0).abs() < 1e-10, "{kernel:?}");
            assert!(
                (sum(2) - kernel.mean_by_volume(0.4).unwrap()).abs() < 1e-8,
                "{kernel:?}"
            );
            assert_eq!(
                (kernel.share(1, 0.0).unwrap(), kernel.share(2, 0.0).unwrap()),
                (1.0, 0.0)
            );
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Kernel::Product.number(1.0).is_err() && Kernel::Constant.number(-0.1).is_err());
        assert!(Kernel::Sum.share(0, 1.0).is_err() && scaled_time(0.0, 1.0, 1.0).is_err());
        assert!((scaled_time(2.0, 3.0, 0.5).unwrap() - 3.0).abs() < 1e-15);
    }

    #[test]
    fn a_few_are_not_many() {
        assert!(
            validity(100.0, 0.01).holds() && !validity(5.0, 0.01).holds() && !validity(100.0, 0.3).holds()
        );
    }
}
