//! How well the lines of a ringing drop will be known, before it is filmed: the bound of Cramer and Rao for the very model that is fitted to
//! the amplitudes afterwards.
//!
//! ```text
//! C_n = (J_n^T J_n / s_n^2 + K)^-1,     h_n(t) = C_n J_n(t)^T / s_n
//! noise:  cov(p_m, p_n) = r_mn sum_t h_m(t) h_n(t),     all:  C_n in place of that for one degree by itself
//! exposure: A is seen as A sin(x) / x,  x = w T / 2
//! a line is found where   sum_t (A e^{-g t} cos(...))^2 / s^2   is what chance does not explain
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `J_n` | change of the amplitude of degree n at each frame by baseline (3), `A`, phase, `w`, `g`, `k`: [`crate::line`] | |
//! | `K` | what is known of `k`, the shift of the frequency by the size of the swing, beforehand | 1 |
//! | `s_n`, `r_mn` | standard deviation of an amplitude in one frame, correlation of two degrees in one frame | 1 |
//! | `A`, `w`, `g` | amplitude at the first frame, angular frequency, decay rate | 1, rad/s, 1/s |
//! | `T` | exposure | s |
//!
//! `noise` is the scatter that repeats of the same run would show; the rest is what nobody knows of `k`, the same in all of them.
//! Each degree is fitted by itself with a baseline of its own, as the meter does it; a fit of all pixels at once would know a little
//! more. Source: \[Kay1993\] chapter 3 (from memory) for the bound, \[Scargle1982\] for finding a line. Holds for free drops of
//! small swings in white noise, with what measuring adds for a coding with loss: nothing here of a film, of a turning drop, of lines that leak.

use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::statistics::fisher_tail;

use crate::line::{BASELINE, Model, PER_LINE, ring};
use crate::property::lines::Lines;
use crate::ringdown::{
    FEWEST_CYCLES, FEWEST_REST, MADE, MOVES, Options, REST, bands, cycles, freedom, lagged,
};

pub mod property;

/// A mode as it is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Degree n.
    pub degree: u32,
    /// Angular frequency at small amplitude, rad/s.
    pub angular_frequency: f64,
    /// Decay rate, 1/s.
    pub decay_rate: f64,
    /// Amplitude over R at the first frame.
    pub amplitude: f64,
    /// Phase at the first frame, rad.
    pub phase: f64,
}

/// How the drop is filmed.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Frames in one second.
    pub rate: f64,
    /// Frames in which the drop is free and in view.
    pub frames: usize,
    /// Exposure of a frame, s; 0 for an instant.
    pub exposure: f64,
    /// Covariance of the amplitudes of degree 2 and up in one frame.
    pub noise: Matrix,
    /// How it is coded; none without loss.
    pub coded: Option<Coded>,
}

/// A coding with loss, as it is taken into account afterwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coded {
    /// Scatter of the points of an outline about its smooth shape, over R.
    pub scatter: f64,
    /// Shares of it that may be lag, for frequencies and for decay rates: 1 each, or [`crate::ringdown::Lag::LEFT`] where key pictures show it.
    pub left: [f64; 2],
}

/// Whether a mode will be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Surely.
    Found,
    /// Perhaps: chance explains it in one clip and not in the other.
    Doubtful,
    /// It will, but beside a larger motion that no mode explains it says nothing sure of the liquid.
    Overshadowed,
    /// Its swing is lost in the noise.
    Faint,
    /// It has too few cycles in the record to be told from anything else.
    Short,
    /// It is faster than half the rate of the frames.
    Fast,
    /// Coding alone could make a line of its size.
    Made,
}

impl Standing {
    /// Whether properties are inferred from it, doubtful ones taken as found or not.
    fn counts(self, hopeful: bool) -> bool {
        self == Self::Found || (hopeful && self == Self::Doubtful)
    }
}

/// One mode as it will be known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mode {
    /// What was expected, its amplitude as the exposure leaves it.
    pub expected: Expected,
    /// Whether it will be found.
    pub standing: Standing,
    /// Decrease of chi-square by the line: the square of its amplitude over the noise, summed over the frames.
    pub gain: f64,
    /// Standard uncertainties of amplitude, phase (rad), angular frequency (rad/s) and decay rate (1/s); not numbers where the record
    /// determines none.
    pub u: [f64; 4],
    /// The same by noise alone.
    pub u_noise: [f64; 4],
}

/// The lines of a planned run.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    /// All modes that were expected, in the order given.
    pub modes: Vec<Mode>,
    /// Those that are found, with their whole covariance.
    pub lines: Lines,
    /// Covariance of the same numbers by noise alone.
    pub of_noise: Matrix,
    /// Variances of the same numbers by coding.
    pub of_coding: Vec<f64>,
}

/// Frames in a cycle of the fastest line that are enough: more of them count by their number.
const IN_A_CYCLE: f64 = 16.0;
/// Standard deviations of the root of a gain that make it sure that a line is found or not.
const SURE: f64 = 2.0;
/// A gain that would do in noise that is known: what falls short of being found with more has too few cycles to know the noise by.
const PLAIN: f64 = 100.0;

/// The lines of the `expected` modes, each of another degree, in the `record`; modes that may or may not be found are where `hopeful`.
pub fn lines(expected: &[Expected], record: &Record, options: &Options, hopeful: bool) -> Foreseen {
    let thinned = Thinned::of(expected, record);
    let mut fits: Vec<Fit> = expected
        .iter()
        .map(|one| Fit::of(one, record, &thinned, options))
        .collect();
    overshadow(&mut fits, record.frames as f64, hopeful);
    let found: Vec<&Fit> = fits
        .iter()
        .filter(|fit| fit.mode.standing.counts(hopeful))
        .collect();
    let of_noise = Matrix::from_fn(2 * found.len(), 2 * found.len(), |i, j| {
        found[i / 2].shared(i % 2, found[j / 2], j % 2, record)
    });
    let of_coding: Vec<f64> = (0..2 * found.len())
        .map(|i| by_coding(&found[i / 2].mode.expected, record, thinned.span)[i % 2])
        .collect();
    let covariance = Matrix::from_fn(2 * found.len(), 2 * found.len(), |i, j| {
        if i / 2 == j / 2 {
            let coding = if i == j { of_coding[i] } else { 0.0 };
            found[i / 2].whole[i % 2][j % 2] + coding
        } else {
            of_noise[(i, j)]
        }
    });
    let numbers = |fit: &&Fit| [fit.mode.expected.angular_frequency, fit.mode.expected.decay_rate];
    Foreseen {
        lines: Lines {
            degrees: found.iter().map(|fit| fit.mode.expected.degree).collect(),
            values: found.iter().flat_map(numbers).collect(),
            covariance,
            degrees_of_freedom: vec![f64::INFINITY; found.len()],
        },
        of_noise,
        of_coding,
        modes: fits.iter().map(|fit| fit.mode).collect(),
    }
}

/// Variances of angular frequency and decay rate by a coding with loss.
fn by_coding(mode: &Expected, record: &Record, span: f64) -> [f64; 2] {
    let Some(coded) = record.coded else {
        return [0.0; 2];
    };
    let size = lagged(mode.decay_rate, span, coded.scatter, mode.amplitude);
    coded.left.map(|left| (left * size).powi(2))
}

/// A single mode beside a larger motion of another degree that is not found as a mode is not surely one: see
/// [`crate::ringdown::Ringdown::sure`]. Two confirm each other.
fn overshadow(fits: &mut [Fit], frames: f64, hopeful: bool) {
    let counting: Vec<usize> = (0..fits.len())
        .filter(|&i| fits[i].mode.standing.counts(hopeful))
        .collect();
    let [one] = counting[..] else {
        return;
    };
    let amplitude = fits[one].mode.expected.amplitude;
    let larger = |fit: &Fit| {
        let moves = fit.mode.gain > MOVES * MOVES * frames;
        let root_mean_square = fit.deviation * (fit.mode.gain / frames).sqrt();
        !fit.mode.standing.counts(hopeful) && moves && root_mean_square > amplitude
    };
    if fits.iter().any(larger) {
        fits[one].mode.standing = Standing::Overshadowed;
    }
}

/// Frames that stand for all, each for so many.
struct Thinned {
    times: Vec<f64>,
    span: f64,
    each: f64,
}

impl Thinned {
    fn of(expected: &[Expected], record: &Record) -> Self {
        let fastest = expected
            .iter()
            .map(|one| one.angular_frequency)
            .fold(0.0, f64::max);
        let in_a_cycle = std::f64::consts::TAU * record.rate / fastest.max(1e-300);
        let most = (record.frames / 256).max(1);
        let stride = ((in_a_cycle / IN_A_CYCLE) as usize).clamp(1, most);
        let count = record.frames.div_ceil(stride);
        // Each in the middle of those that it stands for.
        let time = |k: usize| {
            let (first, last) = (k * stride, ((k + 1) * stride).min(record.frames) - 1);
            0.5 * (first + last) as f64 / record.rate
        };
        Self {
            times: (0..count).map(time).collect(),
            span: record.frames.saturating_sub(1) as f64 / record.rate,
            each: record.frames as f64 / count.max(1) as f64,
        }
    }
}

/// The fit of one degree.
struct Fit {
    mode: Mode,
    /// Place of its degree in the noise, and its standard deviation there.
    place: usize,
    deviation: f64,
    /// Answers of angular frequency and decay rate to noise of one standard deviation in each frame.
    influence: [Vec<f64>; 2],
    /// Covariance of both.
    whole: [[f64; 2]; 2],
}

impl Fit {
    fn of(expected: &Expected, record: &Record, thinned: &Thinned, options: &Options) -> Self {
        let half = 0.5 * expected.angular_frequency * record.exposure;
        let seen = Expected {
            amplitude: expected.amplitude.abs()
                * if half == 0.0 {
                    1.0
                } else {
                    (half.sin() / half).abs()
                },
            ..*expected
        };
        let place = (expected.degree as usize).saturating_sub(2);
        let known = place < record.noise.rows();
        let deviation = if known {
            record.noise[(place, place)].sqrt()
        } else {
            f64::INFINITY
        };
        let line = unknowns(&seen, options);
        let square = |t: &f64| (ring(&line[BASELINE..], *t) / deviation).powi(2) * thinned.each;
        let gain = thinned.times.iter().map(square).sum::<f64>().max(0.0);
        let standing = standing(&seen, gain, record, thinned.span, options);
        let fit = covariances(&line, deviation, thinned, options.shift(expected.degree));
        let nothing = Self {
            mode: Mode {
                expected: seen,
                standing,
                gain,
                u: [f64::NAN; 4],
                u_noise: [f64::NAN; 4],
            },
            place,
            deviation,
            influence: [Vec::new(), Vec::new()],
            whole: [[0.0; 2]; 2],
        };
        let Ok([whole, of_noise, answers]) = fit else {
            let standing = if standing.counts(true) {
                Standing::Short
            } else {
                standing
            };
            return Self {
                mode: Mode {
                    standing,
                    ..nothing.mode
                },
                ..nothing
            };
        };
        let deviations = |of: &Matrix| [0, 1, 2, 3].map(|k| of[(BASELINE + k, BASELINE + k)].sqrt());
        let two = [BASELINE + 2, BASELINE + 3];
        Self {
            mode: Mode {
                u: deviations(&whole),
                u_noise: deviations(&of_noise),
                ..nothing.mode
            },
            influence: two.map(|k| answers.row(k).to_vec()),
            whole: two.map(|i| two.map(|j| whole[(i, j)])),
            ..nothing
        }
    }

    /// Covariance by noise of number `i` of this mode and number `j` of another (or the same).
    fn shared(&self, i: usize, other: &Fit, j: usize, record: &Record) -> f64 {
        let noise = &record.noise;
        let [a, b] = [self.place, other.place];
        let correlation = noise[(a, b)] / (noise[(a, a)] * noise[(b, b)]).sqrt();
        let pairs = self.influence[i].iter().zip(&other.influence[j]);
        correlation * pairs.map(|(x, y)| x * y).sum::<f64>()
    }
}

/// `[b0, b1, b2, A, phi, w, g, k]`.
fn unknowns(mode: &Expected, options: &Options) -> [f64; BASELINE + PER_LINE] {
    let (shift, _) = options.shift(mode.degree);
    [
        0.0,
        0.0,
        0.0,
        mode.amplitude,
        mode.phase,
        mode.angular_frequency,
        mode.decay_rate,
        shift,
    ]
}

fn standing(seen: &Expected, gain: f64, record: &Record, span: f64, options: &Options) -> Standing {
    let frequency = seen.angular_frequency / std::f64::consts::TAU;
    if frequency >= 0.5 * record.rate {
        return Standing::Fast;
    }
    if span <= 0.0 || cycles(frequency, seen.decay_rate, span) < FEWEST_CYCLES {
        return Standing::Short;
    }
    if record
        .coded
        .is_some_and(|coded| seen.amplitude < MADE * coded.scatter)
    {
        return Standing::Made;
    }
    let all = gain_that_explains_all(record);
    let [lowest, highest] =
        least_gains(frequency, seen.decay_rate, record, span, options).map(|least| least.min(all));
    if gain.sqrt() > highest.sqrt() + SURE {
        Standing::Found
    } else if gain.sqrt() > lowest.sqrt() - SURE {
        Standing::Doubtful
    } else if gain > PLAIN {
        Standing::Short
    } else {
        Standing::Faint
    }
}

/// Gain at which a line leaves so little of what was there that it stands without a test: the frames leave about one unit of chi-square each.
fn gain_that_explains_all(record: &Record) -> f64 {
    let frames = record.frames as f64;
    if frames - (BASELINE + PER_LINE) as f64 > FEWEST_REST {
        frames * (1.0 / REST - 1.0)
    } else {
        f64::INFINITY
    }
}

/// Gains that chance explains as often as the search for lines allows, in noise that is judged in bands beside the line, where these show
/// little noise, and much; without end where there are no bands.
fn least_gains(frequency: f64, decay: f64, record: &Record, span: f64, options: &Options) -> [f64; 2] {
    let trials = (record.noise.rows() * record.frames).max(1) as f64;
    let probability = options.false_alarm / trials;
    let [below, above] = bands(span, record.frames, frequency, decay).map(|band| band.len() as f64);
    if below + above == 0.0 {
        return [f64::INFINITY; 2];
    }
    // The larger of two bands, each known by the median of its powers; never less than what is stated.
    let scatter = [below, above].map(|k: f64| {
        if k > 0.0 {
            1.0 / (k.sqrt() * std::f64::consts::LN_2)
        } else {
            0.0
        }
    });
    let scatter = 0.5 * scatter[0].hypot(scatter[1]);
    let ratio = least_ratio(probability, freedom(below, above));
    [1.0, 1.0 + 3.0 * scatter].map(|largest| 2.0 * largest * ratio)
}

/// The `F` of two and `freedom` degrees of freedom that chance passes with this probability.
fn least_ratio(probability: f64, freedom: f64) -> f64 {
    let (mut low, mut high) = (0.0_f64, 60.0_f64);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if fisher_tail(middle.exp_m1(), 2.0, freedom) < probability {
            high = middle;
        } else {
            low = middle;
        }
    }
    high.exp_m1()
}

/// Covariance of all unknowns, the part by noise, and the answers (one row an unknown, one column a frame).
fn covariances(
    unknowns: &[f64],
    deviation: f64,
    thinned: &Thinned,
    shift: (f64, f64),
) -> Result<[Matrix; 3], DenseError> {
    let model = Model {
        shifts: vec![shift],
        shapes: Vec::new(),
    };
    let count = unknowns.len();
    let (rows, weight) = (thinned.times.len(), thinned.each.sqrt() / deviation);
    if rows < count {
        return Err(DenseError::Rank {
            rank: rows,
            columns: count,
        });
    }
    let mut slopes = Matrix::zeros(rows, count);
    for (i, &t) in thinned.times.iter().enumerate() {
        let row = slopes.row_mut(i);
        model.gradient(unknowns, t, thinned.span, row);
        row.iter_mut().for_each(|d| *d *= weight);
    }
    let mut information = slopes.gram();
    let last = count - 1;
    information.row_mut(last)[last] += shift.1.powi(-2);
    let sizes: Vec<f64> = (0..count).map(|i| information[(i, i)].sqrt()).collect();
    let even = Matrix::from_fn(count, count, |i, j| information[(i, j)] / (sizes[i] * sizes[j]));
    let inverse = even.inverse_positive()?;
    let whole = Matrix::from_fn(count, count, |i, j| inverse[(i, j)] / (sizes[i] * sizes[j]));
    let answers = whole.product(&slopes.transpose());
    let of_noise = answers.product(&answers.transpose());
    Ok([whole, of_noise, answers])
}

#[cfg(test)]
mod tests;
