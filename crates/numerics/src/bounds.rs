//! The smallest standard deviations that an unbiased estimate can have in white normal noise: a damped oscillation, a blurred edge, a circle.
//!
//! ```text
//! covariance >= s^2 (J^T J)^-1                                                  J: change of each sample by each unknown
//! ringing    A e^(-g t) cos(w t + p):   u(g) = u(w) = 4 g^(3/2) s sqrt(dt) / A                               long record
//!            u = sqrt(2 s^2 dt / A^2 * S0 / (S0 S2 - S1^2)),   S_k = integral_0^T t^k e^(-2 g t) dt          record T
//!            u(w) = sqrt(24 s^2 / (A^2 N (N^2 - 1))) / dt                                                    g = 0
//! edge       u(x0) = (s / C) sqrt(2 sqrt(pi) b)                                                              known levels
//! circle     u(R) = s / sqrt(M),   u(x0) = u(a_n R) = s sqrt(2 / M)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s` | standard deviation of the noise of a sample | of the sample |
//! | `A`, `g`, `w`, `p` | amplitude, decay rate, angular frequency, phase at t = 0 | of the sample, 1/time, rad/time, rad |
//! | `dt`, `N`, `T` | step, number of samples, length of the record | time, 1, time |
//! | `C`, `b` | height of an edge, width of its Gaussian blur | of the sample, pixel |
//! | `M` | points evenly on a circle of radius `R`, each with the deviation `s` along the radius | 1 |
//!
//! Source: \[Kay1993\] chapter 3 for the bound and the undamped line (from memory); the rest is derived here from the same bound and agrees
//! with the matrix in the tests. The closed forms hold for many samples in a cycle and many cycles in the record; that of
//! the edge for a blur of 1 pixel and more. Coloured noise is not described.

use std::f64::consts::{PI, TAU};

use crate::dense::{DenseError, Matrix};
use crate::statistics::normal_tail;

/// A damped oscillation `A e^(-g t) cos(w t + p)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ringing {
    /// Amplitude at t = 0.
    pub amplitude: f64,
    /// Decay rate, 1/time.
    pub decay: f64,
    /// Angular frequency, rad/time.
    pub angular_frequency: f64,
    /// Phase at t = 0, rad.
    pub phase: f64,
}

impl Ringing {
    /// Smallest standard deviations of amplitude, decay rate, angular frequency and phase, all unknown, from samples at `times` with
    /// white noise of standard deviation `noise`.
    ///
    /// # Errors
    /// [`DenseError`] when the samples do not determine the four.
    pub fn deviations(&self, times: &[f64], noise: f64) -> Result<[f64; 4], DenseError> {
        let slopes = |i: usize, j: usize| {
            let t = times[i];
            let factor = (-self.decay * t).exp();
            let (sin, cos) = (self.angular_frequency * t + self.phase).sin_cos();
            let by_phase = -self.amplitude * factor * sin;
            [
                factor * cos,
                -t * self.amplitude * factor * cos,
                t * by_phase,
                by_phase,
            ][j]
        };
        least_deviations(&Matrix::from_fn(times.len(), 4, slopes), noise)
            .map(|all| [0, 1, 2, 3].map(|i| all[i]))
    }

    /// Smallest standard deviation of decay rate and of angular frequency in a record far longer than `1 / g`.
    pub fn rate_in_long_record(&self, step: f64, noise: f64) -> f64 {
        4.0 * self.decay.powf(1.5) * noise * step.sqrt() / self.amplitude
    }

    /// The same in a record of length `record`; for a decay of at least a thousandth of `1 / record`.
    pub fn rate_in_record(&self, record: f64, step: f64, noise: f64) -> f64 {
        let (rate, y) = (2.0 * self.decay, 2.0 * self.decay * record);
        let left = (-y).exp();
        let s0 = (1.0 - left) / rate;
        let s1 = (1.0 - left * (1.0 + y)) / rate.powi(2);
        let s2 = (2.0 - left * (y * y + 2.0 * y + 2.0)) / rate.powi(3);
        (2.0 * step * s0 / (s0 * s2 - s1 * s1)).sqrt() * noise / self.amplitude
    }
}

/// Smallest standard deviation of the angular frequency of an undamped line of known decay, from `count` samples.
pub fn undamped_frequency(amplitude: f64, count: usize, step: f64, noise: f64) -> f64 {
    let n = count as f64;
    (24.0 / (n * (n * n - 1.0))).sqrt() * noise / (amplitude * step)
}

/// Smallest standard deviation of the place of an edge of known levels with a blur of `width` pixels, in pixels for a noise of the
/// height of the edge.
pub fn edge(width: f64) -> f64 {
    (2.0 * PI.sqrt() * width).sqrt()
}

/// The same for pixels that take the mean over their side, seen in `reach` pixels on either side of the one in whose middle the
/// edge lies; the levels are known, or unknown too.
///
/// # Errors
/// [`DenseError`] when the window does not determine place and levels.
pub fn edge_in_window(width: f64, reach: usize, levels_known: bool) -> Result<f64, DenseError> {
    let dark = |x: f64| normal_tail(x / width);
    let rest = |x: f64| width * (-0.5 * (x / width).powi(2)).exp() / TAU.sqrt() - x * dark(x);
    let slopes = |i: usize, j: usize| {
        let x = i as f64 - reach as f64;
        // Mean of the part below the edge over the pixel.
        let below = rest(x - 0.5) - rest(x + 0.5);
        [dark(x - 0.5) - dark(x + 0.5), below, 1.0 - below][j]
    };
    let unknowns = if levels_known { 1 } else { 3 };
    least_deviations(&Matrix::from_fn(2 * reach + 1, unknowns, slopes), 1.0).map(|all| all[0])
}

/// Smallest standard deviations of the radius, and of a place or an amplitude (as a length), from `points` evenly on a circle, each
/// with the standard deviation `noise` along the radius.
pub fn circle(points: usize, noise: f64) -> [f64; 2] {
    let one = noise / (points as f64).sqrt();
    [one, 2.0_f64.sqrt() * one]
}

fn least_deviations(slopes: &Matrix, noise: f64) -> Result<Vec<f64>, DenseError> {
    let (rank, columns) = (slopes.rows(), slopes.columns());
    if rank < columns {
        return Err(DenseError::Rank { rank, columns });
    }
    let covariance = slopes.gram().inverse_positive()?;
    Ok((0..slopes.columns())
        .map(|i| noise * covariance[(i, i)].sqrt())
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, known: f64, relative: f64) {
        assert!((found / known - 1.0).abs() < relative, "{found} {known}");
    }

    fn times(count: usize) -> Vec<f64> {
        (0..count).map(|i| 0.01 * i as f64).collect()
    }

    // A = 1, f = 2 Hz, tau = 3 s, 100 samples/s, T = 10 s, s = 0.05, p = 0.3: matrix and formulas recomputed independently.
    #[test]
    fn a_damped_oscillation() {
        let ringing = Ringing {
            amplitude: 1.0,
            decay: 1.0 / 3.0,
            angular_frequency: TAU * 2.0,
            phase: 0.3,
        };
        let found = ringing.deviations(&times(1000), 0.05).unwrap();
        for (found, known) in found
            .iter()
            .zip([0.008_330_21, 0.003_981_89, 0.003_941_65, 0.008_148_81])
        {
            close(*found, known, 1e-6);
        }
        close(found[2] / TAU, 6.2733e-4, 2e-5);
        close(ringing.rate_in_long_record(0.01, 0.05), 0.003_849_001_8, 2e-8);
        close(ringing.rate_in_record(10.0, 0.01, 0.05), 0.003_965_528_2, 1e-8);
        close(ringing.rate_in_record(1e3, 0.01, 0.05), 0.003_849_001_8, 1e-6);
    }

    // N = 1000 of the same: 7.74597e-4 by the formula, 7.74802e-4 rad/s by the matrix; recomputed independently.
    #[test]
    fn an_undamped_line() {
        close(undamped_frequency(1.0, 1000, 0.01, 0.05), 7.745_97e-4, 1e-6);
        let ringing = Ringing {
            amplitude: 1.0,
            decay: 0.0,
            angular_frequency: TAU * 2.0,
            phase: 0.3,
        };
        close(
            ringing.deviations(&times(1000), 0.05).unwrap()[2],
            7.748_02e-4,
            1e-6,
        );
        assert!(ringing.deviations(&times(3), 0.05).is_err());
    }

    // Blurs of 1, 1.5 and 2 pixels; known levels by formula and over pixels, unknown ones in windows of 21 and 11 pixels; matrix
    // recomputed independently, twice.
    #[test]
    fn a_blurred_edge() {
        let rows = [
            (1.0, 1.882_792_528, 1.921_250_734, 2.116_217, 2.356_989),
            (1.5, 2.305_940_492, 2.327_114_690, 2.701_348, 3.265_255),
            (2.0, 2.662_670_728, 2.676_473_966, 3.297_310, 4.483_110),
        ];
        for (width, formula, pixels, wide, narrow) in rows {
            close(edge(width), formula, 1e-9);
            close(edge_in_window(width, 40, true).unwrap(), pixels, 1e-9);
            close(edge_in_window(width, 10, false).unwrap(), wide, 1e-6);
            close(edge_in_window(width, 5, false).unwrap(), narrow, 1e-6);
        }
        // Where the blur is no longer sampled the formula fails: 1.3313 against 1.3927.
        close(edge(0.5), 1.3313, 1e-4);
        close(edge_in_window(0.5, 40, true).unwrap(), 1.3927, 1e-4);
    }

    // M = 360, 0.1 px each: 0.005270463 and 0.007453560 px; by hand, and by the matrix of radius, centre and two amplitudes.
    #[test]
    fn points_on_a_circle() {
        let [radius, other] = circle(360, 0.1);
        close(radius, 0.005_270_463, 1e-6);
        close(other, 0.007_453_560, 1e-6);
        let slopes = |i: usize, j: usize| {
            let angle = f64::from(i as u32) * TAU / 360.0;
            [
                1.0,
                angle.cos(),
                angle.sin(),
                (2.0 * angle).cos(),
                (3.0 * angle).cos(),
            ][j]
        };
        let found = least_deviations(&Matrix::from_fn(360, 5, slopes), 0.1).unwrap();
        close(found[0], radius, 1e-12);
        found[1..].iter().for_each(|u| close(*u, other, 1e-12));
    }
}
