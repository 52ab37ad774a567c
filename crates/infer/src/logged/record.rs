//! A record of acceleration, integrated twice: the path of a free body that starts at rest where the record begins.
//!
//! ```text
//! D(s) = D_k + V_k h + a_k h^2 / 2 + (a_{k+1} - a_k) / (s_{k+1} - s_k) h^3 / 6,      h = s - s_k
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s_k`, `a_k` | time and acceleration of a sample, taken as straight between | s, m/s^2 |
//! | `V_k`, `D_k` | speed and way there | m/s, m |
//!
//! How much of it is noise is judged by its second differences, which changes that are slow beside its steps leave alone; fast vibration
//! counts as noise. The integrals are exact for such an acceleration. Place and speed at the start of a comparison are the comparison's.

use tremolet_numerics::statistics::deviation_from_median;

/// A record that can be asked for the way at any time.
#[derive(Debug, Clone)]
pub struct Record<'a> {
    times: &'a [f64],
    values: Vec<f64>,
    speeds: Vec<f64>,
    ways: Vec<f64>,
}

impl<'a> Record<'a> {
    /// Of accelerations (m/s^2) at `times` (s, ascending); as many as the shorter of the two has.
    pub fn new(times: &'a [f64], values: Vec<f64>) -> Self {
        let count = times.len().min(values.len());
        let (mut speeds, mut ways) = (vec![0.0; count], vec![0.0; count]);
        for k in 1..count {
            let h = times[k] - times[k - 1];
            let (a, b) = (values[k - 1], values[k]);
            ways[k] = ways[k - 1] + speeds[k - 1] * h + (2.0 * a + b) * h * h / 6.0;
            speeds[k] = speeds[k - 1] + (a + b) * h / 2.0;
        }
        Self {
            times: &times[..count],
            values,
            speeds,
            ways,
        }
    }

    /// The same with every value times `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self::new(self.times, self.values.iter().map(|a| factor * a).collect())
    }

    /// Share of noise in the variance of means over `time` (s); 1 where nothing else is left.
    pub fn noise_share(&self, time: f64) -> f64 {
        let Some((first, last)) = self.span() else {
            return 1.0;
        };
        let step = (last - first) / (self.times.len() - 1).max(1) as f64;
        let count = ((time / step).round() as usize).max(1);
        let noise = second_differences(&self.values) / count as f64;
        let means: Vec<f64> = self
            .values
            .chunks_exact(count)
            .map(|c| c.iter().sum::<f64>() / count as f64)
            .collect();
        let middle = means.iter().sum::<f64>() / means.len() as f64;
        let variance = means.iter().map(|a| (a - middle).powi(2)).sum::<f64>() / (means.len() as f64 - 1.0);
        if variance > noise { noise / variance } else { 1.0 }
    }

    /// Density of its noise, m^2/s^3.
    pub fn density(&self) -> f64 {
        let span = self.span().map_or(0.0, |(first, last)| last - first);
        second_differences(&self.values) * span / (self.times.len() as f64 - 1.0).max(1.0)
    }

    /// First and last time, s; nothing for an empty record.
    pub fn span(&self) -> Option<(f64, f64)> {
        Some((*self.times.first()?, *self.times.last()?))
    }

    /// The way at `time`, m; beyond the ends the acceleration there goes on.
    pub fn way(&self, time: f64) -> f64 {
        let count = self.times.len();
        if count < 2 {
            return 0.0;
        }
        let k = self.times.partition_point(|t| *t <= time).clamp(1, count - 1) - 1;
        let h = time - self.times[k];
        let step = self.times[k + 1] - self.times[k];
        let beyond = h < 0.0 || h > step;
        let slope = if beyond {
            0.0
        } else {
            (self.values[k + 1] - self.values[k]) / step
        };
        if h > step {
            let h = time - self.times[k + 1];
            return self.ways[k + 1] + h * (self.speeds[k + 1] + h * self.values[k + 1] / 2.0);
        }
        self.ways[k] + h * (self.speeds[k] + h * (self.values[k] / 2.0 + h * slope / 6.0))
    }

    /// The ways at `times` of a clock that is `offset` (s) ahead of the record's.
    pub fn ways(&self, times: &[f64], offset: f64) -> Vec<f64> {
        times.iter().map(|time| self.way(time - offset)).collect()
    }
}

/// Variance of white noise by second differences, which have six times as much; what bends slowly does not count.
pub fn second_differences(values: &[f64]) -> f64 {
    let seconds: Vec<f64> = values.windows(3).map(|w| w[0] - 2.0 * w[1] + w[2]).collect();
    let found = deviation_from_median(&seconds).powi(2) / 6.0;
    if found.is_finite() { found } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    // a = 6 s: D = s^3, straight between samples, so exact; beyond the end a = 12 stays: D = 8 + 12 h + 6 h^2.
    #[test]
    fn a_straight_record_is_integrated_exactly() {
        let times = [0.0, 0.5, 0.6, 2.0];
        let record = Record::new(&times, times.iter().map(|s| 6.0 * s).collect());
        for s in [0.0, 0.1, 0.55, 0.6, 1.3, 2.0] {
            assert!((record.way(s) - s.powi(3)).abs() < 1e-12, "{s}");
        }
        assert!((record.way(3.0) - 26.0).abs() < 1e-12 && record.way(-1.0) == 0.0);
        assert!((record.scaled(-2.0).ways(&[1.5], 0.5)[0] + 2.0).abs() < 1e-12);
    }
}
