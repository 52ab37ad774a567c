//! Random numbers: the one door to the generator.
//!
//! A [`Generator`] is xoshiro256++ from a seed; stream `k` of a seed starts `k 2^128` draws further on, so streams
//! never overlap and a run split over threads gives the same numbers as one that is not.
//!
//! Source: \[BlackmanVigna2021\] for the generator, \[KnuthTAOCP2\] section 3.4.1 for the polar method and Poisson by
//! multiplication, \[MarsagliaTsang2000\] for chi-square. The generator is not for secrets.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A seeded generator.
///
/// ```
/// use tremolet_numerics::random::Generator;
/// let (mut a, mut b) = (Generator::new(7), Generator::stream(7, 0));
/// assert_eq!(a.normal(), b.normal());
/// ```
#[derive(Debug, Clone)]
pub struct Generator {
    source: Xoshiro256PlusPlus,
    spare: Option<f64>,
}

impl Generator {
    /// The first stream of a seed.
    pub fn new(seed: u64) -> Self {
        Self::stream(seed, 0)
    }

    /// Stream `index` of a seed; the cost grows linearly with `index` (about a microsecond each).
    pub fn stream(seed: u64, index: u64) -> Self {
        let mut source = Xoshiro256PlusPlus::seed_from_u64(seed);
        for _ in 0..index {
            source.jump();
        }
        Self { source, spare: None }
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.source.next_u64()
    }

    /// Uniform in [0, 1), in steps of 2^-53.
    pub fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / (1_u64 << 53) as f64)
    }

    /// Standard normal, by the polar method.
    pub fn normal(&mut self) -> f64 {
        if let Some(value) = self.spare.take() {
            return value;
        }
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = x * x + y * y;
            if square < 1.0 && square > 0.0 {
                let factor = (-2.0 * square.ln() / square).sqrt();
                self.spare = Some(y * factor);
                return x * factor;
            }
        }
    }

    /// Chi-square with `freedom` degrees of freedom, positive, not necessarily whole.
    ///
    /// Half of it is a gamma variate, drawn by rejection from the cube of a normal \[MarsagliaTsang2000\].
    pub fn chi_square(&mut self, freedom: f64) -> f64 {
        let shape = 0.5 * freedom;
        if shape < 1.0 {
            let larger = self.chi_square(freedom + 2.0);
            return larger * self.uniform().powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            let u = 1.0 - self.uniform();
            if v > 0.0 && u.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return 2.0 * d * v;
            }
        }
    }

    /// Poisson with the given mean; above 60 by splitting into independent parts, so exact at any mean.
    /// A mean that is not positive gives 0.
    pub fn poisson(&mut self, mean: f64) -> u64 {
        let mut rest = mean;
        let mut count = 0;
        while rest > 60.0 {
            count += self.poisson_small(60.0);
            rest -= 60.0;
        }
        if rest > 0.0 {
            count + self.poisson_small(rest)
        } else {
            count
        }
    }

    fn poisson_small(&mut self, mean: f64) -> u64 {
        let limit = (-mean).exp();
        let mut product = self.uniform();
        let mut count = 0;
        while product > limit {
            product *= self.uniform();
            count += 1;
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Bounds are 4 standard deviations of the sample statistics of N draws.
    #[test]
    fn moments_of_the_normal() {
        let mut g = Generator::new(1);
        let n = 200_000;
        let x: Vec<f64> = (0..n).map(|_| g.normal()).collect();
        let moment = |k: i32| x.iter().map(|v| v.powi(k)).sum::<f64>() / n as f64;
        assert!(moment(1).abs() < 4.0 * (1.0 / n as f64).sqrt());
        assert!((moment(2) - 1.0).abs() < 4.0 * (2.0 / n as f64).sqrt());
        assert!((moment(4) - 3.0).abs() < 4.0 * (96.0 / n as f64).sqrt());
    }

    #[test]
    fn mean_and_variance_of_poisson() {
        let mut g = Generator::new(2);
        for mean in [0.3, 7.0, 500.0] {
            let n = 20_000;
            let x: Vec<f64> = (0..n).map(|_| g.poisson(mean) as f64).collect();
            let m = x.iter().sum::<f64>() / n as f64;
            let v = x.iter().map(|k| (k - m).powi(2)).sum::<f64>() / n as f64;
            assert!((m - mean).abs() < 4.0 * (mean / n as f64).sqrt(), "{m} {mean}");
            assert!(
                (v / mean - 1.0).abs() < 4.0 * ((2.0 + 1.0 / mean) / n as f64).sqrt(),
                "{v} {mean}"
            );
        }
        assert_eq!(g.poisson(0.0), 0);
    }

    // Mean k, variance 2 k, third central moment 8 k; bounds are 5 standard deviations of the sample statistics.
    #[test]
    fn moments_of_chi_square() {
        let mut g = Generator::new(3);
        for freedom in [0.7, 1.0, 4.5, 60.0] {
            let n = 100_000;
            let x: Vec<f64> = (0..n).map(|_| g.chi_square(freedom)).collect();
            let m = x.iter().sum::<f64>() / n as f64;
            let v = x.iter().map(|k| (k - m).powi(2)).sum::<f64>() / n as f64;
            let relative = (2.0 * freedom / n as f64).sqrt();
            assert!((m - freedom).abs() < 5.0 * relative, "{m} {freedom}");
            let kurtosis = 3.0 + 12.0 / freedom;
            let of_variance = 2.0 * freedom * ((kurtosis - 1.0) / n as f64).sqrt();
            assert!((v - 2.0 * freedom).abs() < 5.0 * of_variance, "{v} {freedom}");
        }
    }

    #[test]
    fn streams_differ_and_repeat() {
        assert_ne!(Generator::stream(5, 1).bits(), Generator::stream(5, 2).bits());
        assert_ne!(Generator::new(5).bits(), Generator::new(6).bits());
        assert_eq!(Generator::stream(5, 3).bits(), Generator::stream(5, 3).bits());
    }
}
