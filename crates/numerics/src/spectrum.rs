//! Spectra: the one door to the Fourier transform, and estimates of damped sinusoids.
//!
//! ```text
//! periodogram      P(f_k) = 2 dt / (sum_j w_j^2) |sum_j w_j y_j e^{-2 pi i f_k t_j}|^2     one-sided, unit^2 / Hz
//! damped scan      E(f, g) = 2 |sum_j y_j e^{-g t_j} e^{-2 pi i f t_j}|^2 / sum_j e^{-2 g t_j}
//! matrix pencil    y_j = sum_m c_m z_m^j,   z_m = eigenvalues of the shift of the signal subspace
//! ```
//!
//! `E` is the energy that the sinusoid `e^{-g t} cos(2 pi f t + p)` of best amplitude and phase takes from the series, so
//! its maximum is the least-squares start of a damped line; for white noise of variance `s^2`, `E / s^2` is chi-square with
//! two degrees of freedom at each (f, g).
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y_j` | series at the times `t_j = j dt` | any |
//! | `w_j` | window | 1 |
//! | `f`, `g` | frequency, decay rate | Hz, 1/s |
//!
//! Source: \[Scargle1982\] (periodogram as least squares), \[HuaSarkar1990\] (matrix pencil), \[WaxKailath1985\] (order).
//! Uneven times go through [`resample`] for a start and are fitted on the raw times elsewhere.

use std::cell::RefCell;
use std::f64::consts::{PI, TAU};

use rustfft::FftPlanner;
use rustfft::num_complex::Complex64;

use crate::dense::{DenseError, Matrix};

thread_local! {
    /// Plans are made once in a thread; they do not change results.
    static PLANNER: RefCell<FftPlanner<f64>> = RefCell::new(FftPlanner::new());
}

/// Transform of a real series zero-padded to `size` (at least its length): bins 0 to `size / 2`, unscaled.
pub fn transform(values: &[f64], size: usize) -> Vec<Complex64> {
    let mut buffer: Vec<Complex64> = values.iter().map(|&y| Complex64::new(y, 0.0)).collect();
    buffer.resize(size.max(values.len()), Complex64::new(0.0, 0.0));
    let plan = PLANNER.with_borrow_mut(|planner| planner.plan_fft_forward(buffer.len()));
    plan.process(&mut buffer);
    buffer.truncate(buffer.len() / 2 + 1);
    buffer
}

/// A one-sided power spectral density.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Frequencies, Hz, from 0 to half the sampling rate.
    pub frequency: Vec<f64>,
    /// Density in (unit of the series)^2 / Hz; white noise of variance `s^2` has `2 s^2 dt`.
    pub density: Vec<f64>,
}

/// Periodogram of an even series with spacing `step` (s), with a Hann window or none.
///
/// ```
/// use tremolet_numerics::spectrum::periodogram;
/// let y: Vec<f64> = (0..256).map(|j| (0.5 * f64::from(j)).sin()).collect();
/// let s = periodogram(&y, 0.01, true);
/// let top = (0..s.density.len()).max_by(|&a, &b| s.density[a].total_cmp(&s.density[b])).unwrap();
/// assert!((s.frequency[top] - 0.5 / 0.01 / std::f64::consts::TAU).abs() < 0.5 / 2.56);
/// ```
pub fn periodogram(values: &[f64], step: f64, hann: bool) -> Spectrum {
    let n = values.len();
    let window = |j: usize| {
        if hann {
            (PI * (j as f64 + 0.5) / n as f64).sin().powi(2)
        } else {
            1.0
        }
    };
    let windowed: Vec<f64> = values.iter().enumerate().map(|(j, y)| y * window(j)).collect();
    let norm: f64 = (0..n).map(|j| window(j).powi(2)).sum();
    let bins = transform(&windowed, n);
    let frequency = (0..bins.len()).map(|k| k as f64 / (n as f64 * step)).collect();
    Spectrum {
        frequency,
        density: bins.iter().map(|z| 2.0 * step * z.norm_sqr() / norm).collect(),
    }
}

/// Least-squares periodogram at any times: the variance-weighted decrease of the sum of squares by a sinusoid of
/// each frequency (Hz) with free offset; chi-square with two degrees of freedom for noise of the given variances.
pub fn periodogram_uneven(times: &[f64], values: &[f64], variances: &[f64], frequencies: &[f64]) -> Vec<f64> {
    let weight: f64 = variances.iter().map(|v| 1.0 / v).sum();
    let mean = values.iter().zip(variances).map(|(y, v)| y / v).sum::<f64>() / weight;
    let mut sums = vec![[0.0; 7]; frequencies.len()];
    let spacing = even_spacing(frequencies);
    for ((t, y), v) in times.iter().zip(values).zip(variances) {
        let (w, y) = (1.0 / v, y - mean);
        let first = frequencies.first().map_or(0.0, |f| TAU * f * t);
        let mut turn = Complex64::cis(first);
        let step = Complex64::cis(TAU * spacing.unwrap_or(0.0) * t);
        for (f, sums) in frequencies.iter().zip(&mut sums) {
            if spacing.is_none() {
                turn = Complex64::cis(TAU * f * t);
            }
            let (cos, sin) = (turn.re, turn.im);
            let terms = [cos, sin, cos * cos, sin * sin, cos * sin, y * cos, y * sin];
            sums.iter_mut()
                .zip(terms)
                .for_each(|(sum, term)| *sum += w * term);
            turn *= step;
        }
    }
    sums.iter().map(|sums| decrease(sums, weight)).collect()
}

/// The spacing of frequencies that rise evenly, so that one rotation leads from each to the next.
fn even_spacing(frequencies: &[f64]) -> Option<f64> {
    let (first, last) = (frequencies.first()?, frequencies.last()?);
    let spacing = (last - first) / (frequencies.len() - 1).max(1) as f64;
    let even = |(k, f): (usize, &f64)| (f - first - k as f64 * spacing).abs() < 1e-12 * last.abs();
    frequencies.iter().enumerate().all(even).then_some(spacing)
}

/// Decrease of the sum of squares from the weighted sums of cos, sin, cos^2, sin^2, cos sin, y cos, y sin.
fn decrease([c, s, cc, ss, cs, yc, ys]: &[f64; 7], weight: f64) -> f64 {
    let (cc, ss, cs) = (cc - c * c / weight, ss - s * s / weight, cs - c * s / weight);
    let determinant = cc * ss - cs * cs;
    if determinant <= 1e-12 * cc * ss {
        0.0
    } else {
        (ss * yc * yc - 2.0 * cs * yc * ys + cc * ys * ys) / determinant
    }
}

/// An even series by linear interpolation: as many points as `times` (ascending), from the first to the last.
/// Returns the spacing and the values; empty with a spacing of zero for fewer than two times.
pub fn resample(times: &[f64], values: &[f64]) -> (f64, Vec<f64>) {
    let n = times.len();
    if n < 2 || times[n - 1] <= times[0] {
        return (0.0, Vec::new());
    }
    let step = (times[n - 1] - times[0]) / (n - 1) as f64;
    let mut k = 0;
    let value = |j: usize| {
        let t = times[0] + j as f64 * step;
        while k + 2 < n && times[k + 1] < t {
            k += 1;
        }
        let share = ((t - times[k]) / (times[k + 1] - times[k])).clamp(0.0, 1.0);
        values[k] + share * (values[k + 1] - values[k])
    };
    (step, (0..n).map(value).collect())
}

/// A damped line found in a scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Frequency, Hz.
    pub frequency: f64,
    /// Decay rate of the amplitude, 1/s.
    pub decay: f64,
    /// Energy `E` that the line takes from the series, (unit)^2.
    pub energy: f64,
}

/// The damped line of most energy between two frequencies (Hz) at the given decay rates (1/s); none for an empty
/// band. The frequency grid is four times finer than 1 / (N dt).
pub fn strongest_line(values: &[f64], step: f64, decays: &[f64], band: (f64, f64)) -> Option<Line> {
    let size = (4 * values.len()).next_power_of_two();
    let spacing = 1.0 / (size as f64 * step);
    let mut best: Option<Line> = None;
    for &decay in decays {
        let factor = |j: usize| (-decay * step * j as f64).exp();
        let damped: Vec<f64> = values.iter().enumerate().map(|(j, y)| y * factor(j)).collect();
        let norm: f64 = (0..values.len()).map(|j| factor(j).powi(2)).sum();
        for (k, z) in transform(&damped, size).iter().enumerate() {
            let frequency = k as f64 * spacing;
            let energy = 2.0 * z.norm_sqr() / norm;
            let inside = frequency >= band.0 && frequency <= band.1;
            if inside && best.is_none_or(|line| energy > line.energy) {
                best = Some(Line {
                    frequency,
                    decay,
                    energy,
                });
            }
        }
    }
    best
}

/// Damped sinusoids of an even series by the matrix pencil, at most `most` of them, strongest singular values
/// first; the number by the minimum description length of the singular values.
///
/// The series is used as it is: thin it to some hundreds of points first, for the cost grows with the cube.
/// `energy` of the lines is left 0.
///
/// # Errors
/// When a decomposition does not converge.
pub fn matrix_pencil(values: &[f64], step: f64, most: usize) -> Result<Vec<Line>, DenseError> {
    let n = values.len();
    let width = n / 3;
    if width < 2 {
        return Ok(Vec::new());
    }
    let hankel = Matrix::from_fn(n - width, width + 1, |i, j| values[i + j]);
    let svd = hankel.svd()?;
    let order = signal_order(&svd.s, n - width, 2 * most);
    if order == 0 {
        return Ok(Vec::new());
    }
    let first = Matrix::from_fn(width, order, |i, j| svd.v[(i, j)]);
    let mut shift = Matrix::zeros(order, order);
    for j in 0..order {
        let next: Vec<f64> = (0..width).map(|i| svd.v[(i + 1, j)]).collect();
        for (i, x) in first.least_squares(&next)?.into_iter().enumerate() {
            shift[(i, j)] = x;
        }
    }
    let to_line = |(re, im): (f64, f64)| Line {
        frequency: im.atan2(re) / (TAU * step),
        decay: -re.hypot(im).ln() / step,
        energy: 0.0,
    };
    let mut lines: Vec<Line> = shift
        .eigenvalues()?
        .into_iter()
        .filter(|z| z.1 > 1e-9)
        .map(to_line)
        .collect();
    lines.sort_by(|a, b| a.frequency.total_cmp(&b.frequency));
    Ok(lines)
}

/// Number of signal directions by the minimum description length.
fn signal_order(singular: &[f64], rows: usize, most: usize) -> usize {
    let p = singular.len();
    let floor = (1e-13 * singular[0]).powi(2).max(f64::MIN_POSITIVE);
    let eigen: Vec<f64> = singular.iter().map(|s| (s * s).max(floor)).collect();
    let length = |k: usize| {
        let rest = &eigen[k..];
        let m = rest.len() as f64;
        let geometric = rest.iter().map(|e| e.ln()).sum::<f64>() / m;
        let arithmetic = (rest.iter().sum::<f64>() / m).ln();
        let free = k as f64 * (2.0 * p as f64 - k as f64);
        rows as f64 * m * (arithmetic - geometric) + 0.5 * free * (rows as f64).ln()
    };
    (0..=most.min(p - 1))
        .min_by(|&a, &b| length(a).total_cmp(&length(b)))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Generator;

    fn ring(n: usize, step: f64, lines: &[(f64, f64, f64)]) -> Vec<f64> {
        let at = |t: f64| {
            lines
                .iter()
                .map(|(f, g, a)| a * (-g * t).exp() * (TAU * f * t + 0.4).cos())
                .sum()
        };
        (0..n).map(|j| at(j as f64 * step)).collect()
    }

    #[test]
    fn the_pencil_is_exact_without_noise() {
        let y = ring(120, 0.01, &[(4.0, 1.0, 0.1), (4.6, 2.0, 0.05)]);
        let lines = matrix_pencil(&y, 0.01, 4).unwrap();
        assert_eq!(lines.len(), 2, "{lines:?}");
        assert!((lines[0].frequency - 4.0).abs() < 1e-6 && (lines[0].decay - 1.0).abs() < 1e-5);
        assert!((lines[1].frequency - 4.6).abs() < 1e-6 && (lines[1].decay - 2.0).abs() < 1e-5);
    }

    #[test]
    fn the_scan_finds_a_damped_line_in_noise() {
        let mut g = Generator::new(3);
        let y: Vec<f64> = ring(500, 0.01, &[(7.3, 0.8, 0.1)])
            .iter()
            .map(|y| y + 0.02 * g.normal())
            .collect();
        let line = strongest_line(&y, 0.01, &[0.0, 0.4, 0.8, 1.6], (1.0, 50.0)).unwrap();
        assert!((line.frequency - 7.3).abs() < 0.06, "{line:?}");
        assert!(line.decay > 0.3 && line.decay < 2.0);
        assert!(strongest_line(&y, 0.01, &[0.0], (60.0, 70.0)).is_none());
    }

    // White noise of variance s^2 has the one-sided density 2 s^2 dt: mean over 500 bins within 4 / sqrt(500).
    #[test]
    fn density_of_white_noise() {
        let mut g = Generator::new(4);
        let y: Vec<f64> = (0..1000).map(|_| 0.3 * g.normal()).collect();
        for (hann, bins) in [(false, 500.0_f64), (true, 250.0)] {
            let s = periodogram(&y, 0.02, hann);
            let mean = s.density[1..500].iter().sum::<f64>() / 499.0 / (2.0 * 0.09 * 0.02);
            assert!((mean - 1.0).abs() < 4.0 / bins.sqrt(), "{mean}");
        }
    }

    // For even times and unit variance it is the periodogram 2 / N |sum|^2 at the Fourier frequencies.
    #[test]
    fn uneven_agrees_with_even() {
        let mut g = Generator::new(5);
        let y: Vec<f64> = (0..64).map(|_| g.normal()).collect();
        let t: Vec<f64> = (0..64).map(f64::from).collect();
        let f: Vec<f64> = (1..20).map(|k| f64::from(k) / 64.0).collect();
        let power = periodogram_uneven(&t, &y, &[1.0; 64], &f);
        for (k, p) in power.iter().enumerate() {
            let known = 2.0 / 64.0 * transform(&y, 64)[k + 1].norm_sqr();
            assert!((p - known).abs() < 1e-10 * known.max(1.0));
        }
    }

    #[test]
    fn resampling_keeps_a_line() {
        let t = [0.0, 1.0, 1.5, 4.0];
        let (step, y) = resample(&t, &t);
        assert!((step - 4.0 / 3.0).abs() < 1e-15);
        assert!(
            y.iter()
                .enumerate()
                .all(|(j, y)| (y - step * j as f64).abs() < 1e-14)
        );
        assert_eq!(resample(&[1.0], &[1.0]), (0.0, Vec::new()));
    }
}
