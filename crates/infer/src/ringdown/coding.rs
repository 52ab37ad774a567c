//! What a lossy coding of the clip may have done to an oscillation.
//!
//! ```text
//! var(g) += (r d / A)^2,    var(w) += (r d / A)^2,    r = max(K(g T) g, 1/T)
//! K(x) = slope of e^y on y, weighted by e^(-2y), for y from 0 to x;    K(0) = 1, K(infinity) = 4
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | scatter of the points of an outline about its smooth shape, over R | 1 |
//! | `A` | amplitude of a mode at the first free sample, over R | 1 |
//! | `w`, `g` | angular frequency, decay rate | rad/s, 1/s |
//! | `T` | length of the free record | s |
//!
//! A coder of video leaves out changes from frame to frame that are smaller than its coarseness, so an edge can lag by about as
//! much as its points scatter, and it does so in step with the motion: no averaging over frames takes that away, and the residuals of
//! a fit do not show it. A lag of `d` turns the phase and changes the logarithm of the amplitude by up to `d / a` where the
//! amplitude is `a = A e^(-g t)`, so the error grows as `e^(g t)`; a least-squares fit weighs it by `a^2`, which gives its slope in
//! time `K g d / A`. Where the record is short against the decay, the lag is taken to come within the record. The terms of different
//! modes are taken as independent: a correlation would let a fit over
//! modes infer the lag from its pattern, which nobody knows. A line of less than `2 d` can be made by the coder alone, in step with its key
//! frames or with another mode, and is no mode. No published source; that the size is right is checked in `validation/` on coded
//! clips with known answers.

use std::f64::consts::TAU;

use crate::caution::Caution;
use crate::ringdown::result::Ringdown;

impl Ringdown {
    /// Widens the uncertainties of all modes for a clip that was coded with loss; `scatter` is that of the points of an
    /// outline about its smooth shape, in units of R, of which the shares `left` may still be lag, for frequencies and for decay rates.
    pub fn coded_with_loss(&mut self, scatter: f64, left: [f64; 2]) {
        self.keep_above(MADE * scatter);
        let span = self.interval.1 - self.interval.0;
        let sizes: Vec<f64> = self
            .modes
            .iter()
            .map(|mode| lagged(mode.decay_rate, span, scatter, mode.amplitude))
            .collect();
        let count = 2 * sizes.len();
        for i in 0..count {
            self.covariance[i * count + i] += (left[i % 2] * sizes[i / 2]).powi(2);
        }
        for (i, mode) in self.modes.iter_mut().enumerate() {
            let at = |k: usize| self.covariance[k * count + k].sqrt();
            mode.u_angular_frequency = at(2 * i);
            mode.u_decay_rate = at(2 * i + 1);
            mode.u_amplitude = mode.u_amplitude.hypot(left[0] * scatter);
        }
    }
}

/// `r d / A`: error of frequency and decay rate of a mode by a lag of `scatter` in a record of `span` (s); rad/s and 1/s.
pub(crate) fn lagged(decay_rate: f64, span: f64, scatter: f64, amplitude: f64) -> f64 {
    let rate = decay_rate.max(0.0);
    (rate * growth(rate * span)).max(1.0 / span) * scatter / amplitude.abs()
}

/// Amplitude over the scatter of an outline below which coding alone may make a line.
pub(crate) const MADE: f64 = 2.0;

/// `K(x)`, the weighted slope of a growing lag.
fn growth(x: f64) -> f64 {
    if x < 0.05 {
        // The next terms of its series: 1 + x/2 + ...
        return 1.0 + 0.5 * x;
    }
    let (near, far) = ((-2.0 * x).exp(), (-x).exp());
    let weight = (1.0 - near) / 2.0;
    let mean = (1.0 - near * (1.0 + 2.0 * x)) / 4.0 / weight;
    let square = (1.0 - near * (1.0 + 2.0 * x + 2.0 * x * x)) / 4.0 / weight;
    let lag = (1.0 - far) / weight;
    let joint = (1.0 - far * (1.0 + x)) / weight;
    (joint - mean * lag) / (square - mean * mean)
}

impl Ringdown {
    /// Keeps the modes of at least this amplitude; the others become cautions.
    fn keep_above(&mut self, least: f64) {
        let kept: Vec<usize> = (0..self.modes.len())
            .filter(|&i| self.modes[i].amplitude.abs() >= least)
            .collect();
        let count = 2 * self.modes.len();
        let places: Vec<usize> = kept.iter().flat_map(|i| [2 * i, 2 * i + 1]).collect();
        let rows = places
            .iter()
            .flat_map(|i| places.iter().map(move |j| i * count + j));
        self.covariance = rows.map(|k| self.covariance[k]).collect();
        let lost = (0..self.modes.len()).filter(|i| !kept.contains(i));
        let told = lost.map(|i| {
            let mode = &self.modes[i];
            let text = format!(
                "degree {} has a line at {:.4} Hz with amplitude {:.2e}; coding with loss can make lines up to {least:.2e}, so it is not reported \
                 as a mode",
                mode.degree,
                mode.angular_frequency / TAU,
                mode.amplitude
            );
            Caution::new("line_within_coding", text)
        });
        let told: Vec<Caution> = told.collect();
        self.cautions.extend(told);
        self.modes = kept.iter().map(|&i| self.modes[i].clone()).collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ringdown::result::Mode;

    fn mode(degree: u32, amplitude: f64, decay_rate: f64) -> Mode {
        Mode {
            degree,
            angular_frequency: 10.0,
            u_angular_frequency: 3e-3,
            decay_rate,
            u_decay_rate: 4e-3,
            amplitude,
            u_amplitude: 3e-4,
            phase: 0.0,
            degrees_of_freedom: 100.0,
            cycles: 10.0,
            signal_to_noise: 100.0,
            frequency_shift_at_start: 0.0,
            perhaps_product: None,
            split: None,
        }
    }

    #[test]
    fn the_slope_of_a_growing_lag_is_that_of_its_integrals() {
        // By sums over a fine grid.
        for x in [0.02, 0.06, 0.5, 2.0, 12.0] {
            let y = |i: usize| (i as f64 + 0.5) / 20_000.0 * x;
            let sum =
                |f: &dyn Fn(f64) -> f64| (0..20_000).map(|i| (-2.0 * y(i)).exp() * f(y(i))).sum::<f64>();
            let (w, m, l) = (sum(&|_| 1.0), sum(&|y| y), sum(&f64::exp));
            let slope = (sum(&|y| y * y.exp()) - m * l / w) / (sum(&|y| y * y) - m * m / w);
            assert!(
                (growth(x) / slope - 1.0).abs() < 2e-3,
                "{x}: {} {slope}",
                growth(x)
            );
        }
        assert!((growth(60.0) - 4.0).abs() < 1e-9);
    }

    #[test]
    fn each_mode_is_widened_by_its_own_size() {
        let variances = [9e-6, 16e-6, 9e-6, 16e-6];
        let covariance = (0..16).map(|k| if k % 5 == 0 { variances[k / 5] } else { 0.0 });
        let mut found = Ringdown {
            modes: vec![mode(2, 0.05, 0.5), mode(3, 0.01, 0.1)],
            covariance: covariance.collect(),
            residuals: Vec::new(),
            spectra: Vec::new(),
            cautions: Vec::new(),
            interval: (1.0, 6.0),
            fitted: Vec::new(),
        };
        found.coded_with_loss(8e-4, [0.5, 0.5]);
        // K(2.5) = 2.6157 by hand: 2.6157 * 0.5 * 4e-4 / 0.05 = 1.04628e-2. The second mode outlives the record of 5 s:
        // 4e-4 / 0.01 / 5 = 8e-3.
        let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-4;
        assert!(close(found.modes[0].u_angular_frequency, 1.088_44e-2));
        assert!(close(found.modes[0].u_decay_rate, 1.120_13e-2));
        assert!(close(found.modes[1].u_decay_rate, (80e-6_f64).sqrt()));
        assert!(close(found.modes[0].u_amplitude, 5e-4));
        assert_eq!(found.covariance[1..5], [0.0; 4]);
        assert!(close(found.covariance[0], 1.184_70e-4) && close(found.covariance[10], 73e-6));
    }

    #[test]
    fn a_line_that_the_coder_can_make_is_no_mode() {
        let mut found = Ringdown {
            modes: vec![mode(2, 0.05, 0.5), mode(3, 7e-5, 0.1), mode(4, 0.01, 1.0)],
            covariance: (0..36).map(f64::from).collect(),
            residuals: Vec::new(),
            spectra: Vec::new(),
            cautions: Vec::new(),
            interval: (0.0, 5.0),
            fitted: Vec::new(),
        };
        found.keep_above(4.6e-4);
        let degrees: Vec<u32> = found.modes.iter().map(|m| m.degree).collect();
        assert_eq!(degrees, [2, 4]);
        let rest = [0, 1, 4, 5, 6, 7, 10, 11, 24, 25, 28, 29, 30, 31, 34, 35].map(f64::from);
        assert_eq!(found.covariance, rest);
        assert!(
            found.cautions[0].code == "line_within_coding" && found.cautions[0].text.contains("degree 3")
        );
    }
}
