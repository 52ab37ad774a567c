//! Random numbers that depend only on where they are used: (seed, stream, place), never on the order of painting.
//!
//! A counter is scrambled by the 64-bit finaliser of SplitMix, `z = (z ^ z>>30) m1; z = (z ^ z>>27) m2; z ^ z>>31`
//! \[Steele2014\]; pairs of Gaussian numbers from a point `(u, v)` in
//! the unit disc, `(u, v) sqrt(-2 ln q / q)` with `q = u^2 + v^2` \[MarsagliaBray1964\]; small counts of electrons by multiplying uniforms until they fall
//! below `exp(-mean)`. From [`GAUSS_FROM`] electrons on, the camera takes the count as Gaussian with its mean as variance.
//!
//! Not for secrets; the painter has its own so that it shares nothing with what measures its pictures.

/// From this mean on, electrons are counted with a Gaussian (skewness 0.14).
pub const GAUSS_FROM: f64 = 50.0;

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct PaintedNoise {
    state: u64,
    spare: Option<f64>,
}

fn scramble(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

impl PaintedNoise {
    /// The stream of one place: a frame, a row, a speck.
    pub fn new(seed: u64, stream: u64, place: u64) -> Self {
        let a = scramble(seed.wrapping_add(GOLDEN));
        let b = scramble(a ^ stream.wrapping_mul(GOLDEN));
        Self {
            state: scramble(b ^ place.wrapping_add(GOLDEN).wrapping_mul(0xD6E8_FEB8_6659_FD93)),
            spare: None,
        }
    }

    /// Sixty-four random bits.
    #[inline]
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(GOLDEN);
        scramble(self.state)
    }

    /// Evenly between 0 (never reached) and 1.
    #[inline]
    pub fn even(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) * (1.0 / (1_u64 << 53) as f64)
    }

    /// Evenly between `low` and `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    /// Gaussian with mean 0 and variance 1.
    #[inline]
    pub fn gauss(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (u, v) = (2.0 * self.even() - 1.0, 2.0 * self.even() - 1.0);
            let square = u * u + v * v;
            if square < 1.0 {
                let stretch = (-2.0 * square.ln() / square).sqrt();
                self.spare = Some(v * stretch);
                return u * stretch;
            }
        }
    }

    /// Electrons counted where `mean` (below 700) are expected.
    #[inline]
    pub fn electrons(&mut self, mean: f64) -> f64 {
        let (limit, mut product, mut count) = ((-mean).exp(), self.even(), 0.0);
        while product > limit {
            product *= self.even();
            count += 1.0;
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Of 20000 draws: mean 0, variance 1, no correlation with the next draw, each within four standard deviations.
    #[test]
    fn gauss_is_of_unit_variance_and_forgets() {
        let mut noise = PaintedNoise::new(1, 2, 3);
        let draws: Vec<f64> = (0..20_000).map(|_| noise.gauss()).collect();
        let n = draws.len() as f64;
        let mean = draws.iter().sum::<f64>() / n;
        let variance = draws.iter().map(|x| x * x).sum::<f64>() / n;
        let next = draws.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / n;
        assert!(mean.abs() < 4.0 / n.sqrt(), "{mean}");
        assert!((variance - 1.0).abs() < 4.0 * (2.0 / n).sqrt(), "{variance}");
        assert!(next.abs() < 4.0 / n.sqrt(), "{next}");
    }

    // Poisson: mean and variance are the same.
    #[test]
    fn electrons_come_as_poisson_says() {
        let mut noise = PaintedNoise::new(1, 2, 4);
        let draws: Vec<f64> = (0..20_000).map(|_| noise.electrons(30.0)).collect();
        let n = draws.len() as f64;
        let mean = draws.iter().sum::<f64>() / n;
        let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
        assert!((mean - 30.0).abs() < 4.0 * (30.0 / n).sqrt(), "{mean}");
        assert!(
            (variance / 30.0 - 1.0).abs() < 4.0 * (2.0 / n).sqrt(),
            "{variance}"
        );
    }
}
