//! Damped lines on a slow baseline, fitted to one uneven weighted series.
//!
//! ```text
//! a(t) = b0 + b1 u + b2 u^2 + sum_l A_l e^{-g_l t} cos(p_l(t)) + sum_s (c_s C_s(t) + d_s S_s(t))
//! p_l(t) = phi_l + w_l (t + k_l A_l^2 s(g_l, t)),    s(g, t) = (1 - e^{-2 g t}) / (2 g)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `t` | time since the first sample | s |
//! | `u` | the same, from -1 to 1 over the record | 1 |
//! | `A`, `phi` | amplitude and phase at t = 0 | 1, rad |
//! | `w`, `g` | angular frequency at small amplitude, decay rate | rad/s, 1/s |
//! | `k` | finite-amplitude shift, dw/w = k A^2 | 1 |
//! | `C`, `S` | cosine and sine of a [`Shape`], known from elsewhere | 1 |
//!
//! Source: \[More1978\] for the minimum; \[Scargle1982\] for the energy of a line as a test. The covariance is that of the
//! stated deviations; what coloured noise adds is the caller's.

use std::f64::consts::TAU;

use tremolet_numerics::dense::Matrix;
use tremolet_numerics::least_squares::{LeastSquaresError, Minimum, Prior, Residuals, Stop, minimise};

/// Unknowns of the baseline.
pub const BASELINE: usize = 3;
/// Unknowns of a line, in the order A, phi, w, g, k.
pub const PER_LINE: usize = 5;

/// One series with the standard uncertainty of each value.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Times since the first sample, s, ascending.
    pub times: Vec<f64>,
    /// Values.
    pub values: Vec<f64>,
    /// Standard uncertainties, all positive.
    pub deviations: Vec<f64>,
}

impl Series {
    /// Length of the record, s.
    pub fn span(&self) -> f64 {
        self.times.last().copied().unwrap_or(0.0)
    }
}

/// One term of the phase of a [`Shape`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Angular frequency at small amplitude, rad/s; negative for a difference.
    pub angular_frequency: f64,
    /// Decay rate of the line that the term comes from, 1/s.
    pub decay: f64,
    /// Relative shift of the frequency at t = 0.
    pub shift: f64,
    /// Place of the line that the term comes from, among all lines found.
    pub owner: usize,
}

/// A damped oscillation of known course and unknown amplitude and phase; without turns, a plain decay.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Decay rate, 1/s.
    pub decay: f64,
    /// Terms of the phase.
    pub turns: Vec<Turn>,
}

impl Shape {
    /// Unknowns of the shape: cosine and sine, or the decay alone.
    pub fn unknowns(&self) -> usize {
        if self.turns.is_empty() { 1 } else { 2 }
    }

    /// Change of `c C + d S` at `t` (s) by the angular frequency and by the decay rate of line `owner`; the small part of the
    /// decay in the slowing of large swings is left out.
    pub fn by_owner(&self, [c, d]: [f64; 2], owner: usize, t: f64) -> [f64; 2] {
        let [cos, sin] = self.at(t);
        let own = self.turns.iter().filter(|turn| turn.owner == owner);
        let (mut by_phase, mut times) = (0.0, 0.0);
        for turn in own {
            by_phase += turn.angular_frequency.signum() * (t + turn.shift * slowed(turn.decay, t));
            times += 1.0;
        }
        [(d * cos - c * sin) * by_phase, -t * times * (c * cos + d * sin)]
    }

    /// Cosine and sine at `t` (s).
    pub fn at(&self, t: f64) -> [f64; 2] {
        let turn = |x: &Turn| x.angular_frequency * (t + x.shift * slowed(x.decay, t));
        let (sin, cos) = self.turns.iter().map(turn).sum::<f64>().sin_cos();
        let factor = (-self.decay * t).exp();
        [factor * cos, factor * sin]
    }
}

/// What is fitted besides the baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// Prior (mean, standard deviation) of `k` of each line.
    pub shifts: Vec<(f64, f64)>,
    /// Shapes, after the lines.
    pub shapes: Vec<Shape>,
}

impl Model {
    /// Number of unknowns: `[b0, b1, b2, A, phi, w, g, k, ..., c, d, ...]`.
    pub fn unknowns(&self) -> usize {
        self.first_shape() + self.shapes.iter().map(Shape::unknowns).sum::<usize>()
    }

    fn first_shape(&self) -> usize {
        BASELINE + PER_LINE * self.shifts.len()
    }

    /// The curve at `t` (s since the first sample) of a record of length `span` (s).
    pub fn at(&self, p: &[f64], t: f64, span: f64) -> f64 {
        let (mut sum, mut place) = (curve(&p[..self.first_shape()], t, span), self.first_shape());
        for shape in &self.shapes {
            let factors = shape.at(t);
            let n = shape.unknowns();
            sum += (0..n).map(|i| p[place + i] * factors[i]).sum::<f64>();
            place += n;
        }
        sum
    }

    /// Change of the curve at `t` (s) by the angular frequency and the decay rate of line `owner` of the shapes.
    pub fn by_owner(&self, p: &[f64], owner: usize, t: f64) -> [f64; 2] {
        let mut place = self.first_shape();
        let mut sum = [0.0; 2];
        for shape in &self.shapes {
            if let Some(&[c, d]) = p
                .get(place..place + shape.unknowns())
                .and_then(|two| two.first_chunk())
            {
                let change = shape.by_owner([c, d], owner, t);
                sum = [sum[0] + change[0], sum[1] + change[1]];
            }
            place += shape.unknowns();
        }
        sum
    }

    /// Change of the curve at `t` (s) of a record of length `span` (s) by each unknown, into `out`.
    pub(crate) fn gradient(&self, p: &[f64], t: f64, span: f64, out: &mut [f64]) {
        let u = 2.0 * t / span - 1.0;
        out[..BASELINE].copy_from_slice(&[1.0, u, u * u]);
        let mut place = BASELINE;
        for _ in &self.shifts {
            let end = place + PER_LINE;
            out[place..end].copy_from_slice(&ring_gradient(&p[place..end], t));
            place = end;
        }
        for shape in &self.shapes {
            let n = shape.unknowns();
            out[place..place + n].copy_from_slice(&shape.at(t)[..n]);
            place += n;
        }
    }
}

/// The curve at `t` (s since the first sample) for unknowns `[b0, b1, b2, A, phi, w, g, k, ...]`.
pub fn curve(p: &[f64], t: f64, span: f64) -> f64 {
    let u = 2.0 * t / span - 1.0;
    let lines = p[BASELINE..].chunks_exact(PER_LINE).map(|line| ring(line, t));
    p[0] + p[1] * u + p[2] * u * u + lines.sum::<f64>()
}

/// `s(g, t)`, s.
pub fn slowed(g: f64, t: f64) -> f64 {
    slowed_by(g, t, (-g * t).exp())
}

/// `s(g, t)` (s) with `factor = e^{-g t}` known; the difference from one is taken exactly only where it is small.
fn slowed_by(g: f64, t: f64, factor: f64) -> f64 {
    let turns = (g * t).abs();
    if turns < 1e-9 {
        t
    } else if turns < 0.1 {
        -(-2.0 * g * t).exp_m1() / (2.0 * g)
    } else {
        (1.0 - factor * factor) / (2.0 * g)
    }
}

/// `ds/dg`, s^2.
pub fn slowed_by_decay(g: f64, t: f64, factor: f64) -> f64 {
    if (g * t).abs() < 1e-4 {
        t * t * (4.0 / 3.0 * g * t - 1.0)
    } else {
        (t * factor * factor - slowed_by(g, t, factor)) / g
    }
}

/// One line `[A, phi, w, g, k]` at `t` (s).
pub fn ring(line: &[f64], t: f64) -> f64 {
    let [a, phi, w, g, k] = [line[0], line[1], line[2], line[3], line[4]];
    let factor = (-g * t).exp();
    a * factor * (phi + w * (t + k * a * a * slowed_by(g, t, factor))).cos()
}

fn ring_gradient(line: &[f64], t: f64) -> [f64; PER_LINE] {
    let [a, phi, w, g, k] = [line[0], line[1], line[2], line[3], line[4]];
    let factor = (-g * t).exp();
    let s = slowed_by(g, t, factor);
    let (sin, cos) = (phi + w * (t + k * a * a * s)).sin_cos();
    let by_phase = -a * factor * sin;
    [
        factor * cos + by_phase * 2.0 * w * k * a * s,
        by_phase,
        by_phase * (t + k * a * a * s),
        -t * a * factor * cos + by_phase * w * k * a * a * slowed_by_decay(g, t, factor),
        by_phase * w * a * a * s,
    ]
}

/// A start for a line of given frequency (Hz) and decay rate: amplitude and phase by projection.
pub fn start(series: &Series, residual: &[f64], frequency: f64, decay: f64, shift: f64) -> [f64; PER_LINE] {
    let (mut c, mut s, mut norm) = (0.0, 0.0, 0.0);
    for (t, r) in series.times.iter().zip(residual) {
        let factor = (-decay * t).exp();
        let (sin, cos) = (TAU * frequency * t).sin_cos();
        c += r * factor * cos;
        s += r * factor * sin;
        norm += 0.5 * factor * factor;
    }
    let (c, s) = (c / norm, s / norm);
    [c.hypot(s), (-s).atan2(c), TAU * frequency, decay, shift]
}

struct Problem<'a> {
    series: &'a Series,
    model: &'a Model,
}

impl Residuals for Problem<'_> {
    fn count(&self) -> usize {
        self.series.times.len()
    }

    fn residuals(&self, p: &[f64], out: &mut [f64]) {
        let (s, span) = (self.series, self.series.span());
        for (i, r) in out.iter_mut().enumerate() {
            *r = (self.model.at(p, s.times[i], span) - s.values[i]) / s.deviations[i];
        }
    }

    fn jacobian(&self, p: &[f64], out: &mut Matrix) -> usize {
        let (s, span) = (self.series, self.series.span());
        for (i, &t) in s.times.iter().enumerate() {
            let row = out.row_mut(i);
            self.model.gradient(p, t, span, row);
            row.iter_mut().for_each(|d| *d /= s.deviations[i]);
        }
        1
    }
}

/// Fits the baseline, the lines and the shapes from `from`, which has [`Model::unknowns`] numbers.
///
/// # Errors
/// As [`minimise`].
pub fn fit(series: &Series, model: &Model, from: &[f64], stop: Stop) -> Result<Minimum, LeastSquaresError> {
    let prior = |(l, &(mean, deviation)): (usize, &(f64, f64))| Prior {
        place: BASELINE + PER_LINE * l + 4,
        mean,
        deviation,
    };
    let priors: Vec<Prior> = model.shifts.iter().enumerate().map(prior).collect();
    minimise(&Problem { series, model }, from, &priors, stop)
}

#[cfg(test)]
mod tests;
