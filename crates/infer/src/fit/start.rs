//! Where a fit begins: amplitudes and rates at the first frame from the measured series.
//!
//! ```text
//! a_n(t) = a + v t + c t^2 over the first eighth of a swing of degree 2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, v | amplitude at the first frame, its rate | -, 1/s |
//!
//! Source: least squares. Only a start: the fit finds its own.

use tremolet_numerics::dense::Matrix;
use tremolet_record::series::ModeSeries;

/// Share of a period of degree 2.
const WINDOW: f64 = 0.15;
/// Fewest samples for a parabola.
const FEWEST: usize = 5;

/// Amplitudes and rates (1/s) of degrees 2 to `highest` at the first free sample; nothing when the series is too short.
#[must_use]
pub fn amplitudes(series: &ModeSeries, highest: u32, period: f64) -> Option<(Vec<f64>, Vec<f64>)> {
    let free: Vec<_> = series.samples.iter().filter(|s| s.free).collect();
    let first = free.first()?.time;
    let count = free
        .iter()
        .filter(|s| s.time - first <= WINDOW * period)
        .count()
        .max(FEWEST);
    let near = free.get(..count)?;
    let span = near[count - 1].time - first;
    let powers = Matrix::from_fn(count, 3, |i, k| ((near[i].time - first) / span).powi(k as i32));
    let (mut shape, mut velocity) = (Vec::new(), Vec::new());
    for degree in 2..=highest {
        let place = series.degrees.iter().position(|n| *n == degree);
        let fitted = place.and_then(|place| {
            let values: Vec<f64> = near.iter().map(|s| s.amplitude[place]).collect();
            powers.least_squares(&values).ok()
        });
        shape.push(fitted.as_ref().map_or(0.0, |c| c[0]));
        velocity.push(fitted.as_ref().map_or(0.0, |c| c[1] / span));
    }
    Some((shape, velocity))
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_record::series::ModeSample;

    #[test]
    fn a_parabola_gives_its_beginning() {
        let sample = |k: u64| {
            let t = 0.01 * k as f64;
            let amplitude = vec![0.2 - 0.5 * t - t * t, 0.01 + 0.1 * t];
            ModeSample {
                frame: k,
                time: 3.0 + t,
                amplitude,
                covariance: vec![1.0, 0.0, 1.0],
                free: true,
            }
        };
        let series = ModeSeries {
            body: 1,
            degrees: vec![2, 3],
            samples: (0..100).map(sample).collect(),
        };
        let (shape, velocity) = amplitudes(&series, 4, 1.0).expect("long enough");
        assert!((shape[0] - 0.2).abs() < 1e-9 && (velocity[0] + 0.5).abs() < 1e-9);
        assert!((shape[1] - 0.01).abs() < 1e-9 && (velocity[1] - 0.1).abs() < 1e-9);
        assert_eq!((shape[2], velocity[2]), (0.0, 0.0));
        let short = ModeSeries {
            samples: series.samples[..3].to_vec(),
            ..series
        };
        assert!(amplitudes(&short, 4, 1.0).is_none());
    }
}
