//! What is asked of a ring-down and what is found.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w`, `g` | angular frequency at small amplitude, decay rate | rad/s, 1/s |
//! | `k` | finite-amplitude shift, dw/w = k A^2 | 1 |
//!
//! Source: \[TsamopoulosBrown1983\] for the effect that `k` describes; its numbers were recomputed independently by a
//! Lindstedt-Poincare expansion to third order. Nothing is computed here but the fitted curve.

use crate::caution::Caution;
use crate::line::Model;
use crate::ringdown::split::Split;
use tremolet_theory::modes::inviscid::drop_unit;

/// What is expected of the finite-amplitude shift of one degree before the data speak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The degree.
    pub degree: u32,
    /// Mean of `k`.
    pub mean: f64,
    /// Standard deviation of `k`.
    pub deviation: f64,
}

/// How a ring-down is analysed.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Probability of a false line in a whole clip of noise.
    pub false_alarm: f64,
    /// Most lines looked for in one degree.
    pub most_lines: usize,
    /// Least amplitude of a second line close to a mode, 0 for what the noise allows.
    pub least_second: f64,
    /// Priors of `k`; a degree without one has 0 with a deviation of 2.
    pub shifts: Vec<Shift>,
}

impl Default for Options {
    fn default() -> Self {
        let shift = |(degree, mean): (u32, f64)| Shift {
            degree,
            mean,
            deviation: f64::abs(mean),
        };
        let known = [(2, -0.585_187), (3, -0.988_783), (4, -1.398_516)];
        Self {
            false_alarm: 1e-3,
            most_lines: 6,
            least_second: 0.0,
            shifts: known.into_iter().map(shift).collect(),
        }
    }
}

impl Options {
    /// Prior (mean, standard deviation) of `k` of a degree.
    pub fn shift(&self, degree: u32) -> (f64, f64) {
        let found = self.shifts.iter().find(|s| s.degree == degree);
        found.map_or((0.0, 2.0), |s| (s.mean, s.deviation))
    }
}

/// Residuals of so many stated deviations are a motion and no noise.
pub const MOVES: f64 = 10.0;

/// One ringing mode.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Degree n.
    pub degree: u32,
    /// Angular frequency at small amplitude, rad/s.
    pub angular_frequency: f64,
    /// Its standard uncertainty, rad/s.
    pub u_angular_frequency: f64,
    /// Decay rate of the amplitude, 1/s.
    pub decay_rate: f64,
    /// Its standard uncertainty, 1/s.
    pub u_decay_rate: f64,
    /// Amplitude `a_n` at the first free sample.
    pub amplitude: f64,
    /// Its standard uncertainty.
    pub u_amplitude: f64,
    /// Phase at the first free sample, rad, from -pi to pi.
    pub phase: f64,
    /// Degrees of freedom of the noise estimate behind the uncertainties.
    pub degrees_of_freedom: f64,
    /// Cycles within the record while the amplitude is above a twentieth of its first value.
    pub cycles: f64,
    /// Amplitude over the root mean square of the residuals of its degree.
    pub signal_to_noise: f64,
    /// Relative shift `k A^2` of the frequency at the first free sample.
    pub frequency_shift_at_start: f64,
    /// Degrees of three larger modes whose product this may be instead; such a line says nothing sure of the liquid.
    pub perhaps_product: Option<[u32; 3]>,
    /// Two close lines, where it is not one; frequency and its uncertainty are then those of both, and the decay rate is uncertain by
    /// itself.
    pub split: Option<Split>,
}

/// How far the residuals of one degree keep to the stated uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct DegreeResidual {
    /// Degree n.
    pub degree: u32,
    /// Root mean square of the stated standard uncertainties.
    pub stated_rms: f64,
    /// Root mean square of the residuals.
    pub found_rms: f64,
    /// Root of chi-square over its degrees of freedom; 1 when the stated uncertainties hold.
    pub inflation: f64,
}

/// Power spectral densities of one degree, with a Hann window.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Degree n.
    pub degree: u32,
    /// Frequencies, Hz, ascending from 0.
    pub frequency_hz: Vec<f64>,
    /// Density of the series less its slow baseline, 1/Hz.
    pub power: Vec<f64>,
    /// Density of the residuals, 1/Hz.
    pub residual_power: Vec<f64>,
}

/// The fitted curve of one degree.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fitted {
    pub degree: u32,
    pub model: Model,
    pub parameters: Vec<f64>,
}

/// All that was found in a ring-down.
#[derive(Debug, Clone, PartialEq)]
pub struct Ringdown {
    /// The modes, ascending in degree; none when nothing rings.
    pub modes: Vec<Mode>,
    /// Covariance of `[w_1, g_1, w_2, g_2, ...]` in the order of `modes`, row by row.
    pub covariance: Vec<f64>,
    /// One for each degree that could be analysed.
    pub residuals: Vec<DegreeResidual>,
    /// One for each degree that could be analysed.
    pub spectra: Vec<Spectrum>,
    /// What to know.
    pub cautions: Vec<Caution>,
    /// Time of the first and the last free sample, s.
    pub interval: (f64, f64),
    pub(crate) fitted: Vec<Fitted>,
}

impl Ringdown {
    /// Degrees that move by more than noise without any mode of their own.
    pub fn unexplained(&self) -> impl Iterator<Item = &DegreeResidual> {
        let silent = |r: &&DegreeResidual| {
            r.inflation > MOVES && !self.modes.iter().any(|mode| mode.degree == r.degree)
        };
        self.residuals.iter().filter(silent)
    }

    /// Whether a mode of another degree has the frequency that goes with this one's, as products have not: the second harmonic of
    /// degree 2 in degree 4 lies at two thirds of mode 4.
    fn confirmed(&self, mode: &Mode) -> bool {
        const ALIKE: f64 = 0.1;
        let reduced = |m: &Mode| m.angular_frequency / drop_unit(m.degree);
        let others = self.modes.iter().filter(|m| m.degree != mode.degree);
        let mut sound = others.filter(|m| m.perhaps_product.is_none());
        sound.any(|m| (reduced(m) / reduced(mode) - 1.0).abs() < ALIKE)
    }

    /// Places of the modes that are surely modes of their degree, from which properties may be inferred: no possible products, and
    /// none beside a larger motion of another degree that no mode explains, for it may be a product of that, unless a mode of
    /// another degree confirms it.
    pub fn sure(&self) -> Vec<usize> {
        let beside = |mode: &Mode| self.unexplained().any(|r| r.found_rms > mode.amplitude);
        let sure = |i: &usize| {
            let mode = &self.modes[*i];
            mode.perhaps_product.is_none() && (!beside(mode) || self.confirmed(mode))
        };
        (0..self.modes.len()).filter(sure).collect()
    }

    /// The fitted `a_n` of a degree at the time `t` (s, the series' own clock); none outside the free interval or for a
    /// degree that was not analysed.
    pub fn curve(&self, degree: u32, t: f64) -> Option<f64> {
        let (first, last) = self.interval;
        let fitted = self.fitted.iter().find(|f| f.degree == degree)?;
        let inside = t >= first && t <= last;
        inside.then(|| fitted.model.at(&fitted.parameters, t - first, last - first))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mode(degree: u32, angular_frequency: f64) -> Mode {
        Mode {
            degree,
            angular_frequency,
            u_angular_frequency: 0.1,
            decay_rate: 1.0,
            u_decay_rate: 0.1,
            amplitude: 0.01,
            u_amplitude: 1e-4,
            phase: 0.0,
            degrees_of_freedom: 100.0,
            cycles: 5.0,
            signal_to_noise: 50.0,
            frequency_shift_at_start: 0.0,
            perhaps_product: None,
            split: None,
        }
    }

    fn beside_a_loud_degree_2(modes: Vec<Mode>, inflation: f64) -> Ringdown {
        Ringdown {
            covariance: Vec::new(),
            residuals: vec![DegreeResidual {
                degree: 2,
                stated_rms: 1e-4,
                found_rms: 0.1,
                inflation,
            }],
            spectra: Vec::new(),
            cautions: Vec::new(),
            interval: (0.0, 1.0),
            fitted: Vec::new(),
            modes,
        }
    }

    // Rayleigh 1879: squares 8, 30, 72 of degrees 2 to 4, so mode 4 lies at three times mode 2 and its product at twice.
    #[test]
    fn a_product_of_an_unexplained_motion_gives_no_property() {
        let (w2, w3, w4) = (8_f64.sqrt(), 30_f64.sqrt(), 72_f64.sqrt());
        let alone = beside_a_loud_degree_2(vec![mode(4, 2.0 * w2)], 1000.0);
        assert!(alone.sure().is_empty());
        let with_a_mode = beside_a_loud_degree_2(vec![mode(3, w3), mode(4, 2.0 * w2)], 1000.0);
        assert!(with_a_mode.sure().is_empty());
        let confirmed = beside_a_loud_degree_2(vec![mode(3, w3), mode(4, w4)], 1000.0);
        assert_eq!(confirmed.sure(), [0, 1]);
        let quiet = beside_a_loud_degree_2(vec![mode(4, w4)], 1.0);
        assert_eq!(quiet.sure(), [0]);
    }
}
