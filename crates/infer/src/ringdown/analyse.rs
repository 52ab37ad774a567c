//! From a series of amplitudes to its modes, room by room.
//!
//! ```text
//! dp/dq = -C J^T (dm/dq)/u
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p`, `q` | number of a mode; number of another degree's line that the fit takes as known | rad/s, 1/s |
//! | `m`, `u` | curve of the degree and the stated uncertainties of its samples | 1 |
//! | `C`, `J` | covariance and whitened Jacobian of the fit of a degree | |
//!
//! Source: \[GolubVanLoan2013\] section 5.3 for how a minimum answers to what it was given. Only free samples are looked at.

use tremolet_numerics::dense::dot;
use tremolet_numerics::spectrum::{periodogram, resample};
use tremolet_numerics::statistics::median;
use tremolet_record::series::{ModeSample, ModeSeries};

use crate::caution::Caution;
use crate::line::{BASELINE, Model, PER_LINE, Series, Shape};
use crate::ringdown::attribute::{Candidate, Role, allowed, roles};
use crate::ringdown::caution;
use crate::ringdown::covariance::{Found, covariance};
use crate::ringdown::detect::{Test, cycles, lines};
use crate::ringdown::kick::{breaks, longest_quiet};
use crate::ringdown::noise::Noise;
use crate::ringdown::result::{DegreeResidual, Fitted, MOVES, Mode, Options, Ringdown, Spectrum};
use crate::ringdown::settle::{Settled, left, settle};
use crate::ringdown::split::{of_both, split};
use crate::ringdown::third::perhaps_product;

/// Fewest free samples that are looked at.
const FEWEST: usize = 24;

/// Places of amplitude, angular frequency and decay rate in a line.
const PLACES: [usize; 3] = [0, 2, 3];

/// One degree on its way.
struct Degree {
    degree: u32,
    /// Place in the samples.
    place: usize,
    /// Which of the free samples are used.
    rows: Vec<usize>,
    series: Series,
    settled: Option<Settled>,
    /// Candidates that are lines of the final fit, in order.
    own: Vec<usize>,
}

/// Finds the modes in the free samples of a series.
///
/// A mode is an oscillation that chance does not explain, of at least 1.5 cycles, that is neither a leak from another degree nor
/// a product of other modes. Times need not be even. Nothing that rings is a result: no modes and the caution `nothing_rings`.
///
/// Where the ringing breaks off (the body was struck or touched), only the longest quiet part is fitted, and a caution
/// `interrupted` names the frames.
pub fn analyse(series: &ModeSeries, options: &Options) -> Ringdown {
    let whole = Look::at(series, options);
    let lines = |d: &Degree| {
        let own = whole.candidates.iter().filter(|c| c.degree == d.degree);
        own.collect::<Vec<&Candidate>>()
    };
    let pairs: Vec<(&Series, Vec<&Candidate>)> =
        whole.degrees.iter().map(|d| (&d.series, lines(d))).collect();
    let breaks = breaks(&pairs);
    let (Some(first), Some(last)) = (whole.free.first(), whole.free.last()) else {
        return whole.finished(series, options);
    };
    if breaks.is_empty() {
        return whole.finished(series, options);
    }
    let quiet = longest_quiet(&breaks, last.time - first.time);
    let mut part = series.clone();
    for sample in &mut part.samples {
        let time = sample.time - first.time;
        sample.free &= time >= quiet[0] && time <= quiet[1];
    }
    let mut found = Look::at(&part, options).finished(&part, options);
    found
        .cautions
        .insert(0, caution::of_breaks(&breaks, quiet, &whole.free));
    found
}

/// The free samples of a series, and what was seen in each degree by itself.
struct Look<'a> {
    free: Vec<&'a ModeSample>,
    degrees: Vec<Degree>,
    candidates: Vec<Candidate>,
}

impl<'a> Look<'a> {
    fn at(series: &'a ModeSeries, options: &Options) -> Self {
        let free: Vec<&ModeSample> = series
            .samples
            .iter()
            .filter(|s| s.free && s.time.is_finite())
            .collect();
        let degrees: Vec<Degree> = (0..series.degrees.len())
            .filter_map(|place| degree_of(series.degrees[place], place, &free))
            .collect();
        let trials: f64 = degrees.iter().map(|d| d.series.times.len() as f64).sum();
        let found = degrees.iter().flat_map(|d| candidates(d, options, trials));
        let candidates = found
            .enumerate()
            .map(|(place, line)| Candidate { place, ..line })
            .collect();
        Self {
            free,
            degrees,
            candidates,
        }
    }

    fn finished(mut self, series: &ModeSeries, options: &Options) -> Ringdown {
        let span = self.free.last().map_or(0.0, |last| last.time - self.free[0].time);
        let roles = roles(&self.candidates, span);
        for degree in &mut self.degrees {
            finish(degree, &self.candidates, &roles, options);
        }
        gather(
            series,
            &self.free,
            &self.degrees,
            (&self.candidates, &roles),
            options.least_second,
        )
    }
}

/// The series of one degree; none when it has too few samples.
fn degree_of(degree: u32, place: usize, free: &[&ModeSample]) -> Option<Degree> {
    let usable = |s: &ModeSample| s.amplitude[place].is_finite() && s.variance(place).is_finite();
    let rows: Vec<usize> = (0..free.len()).filter(|&i| usable(free[i])).collect();
    if rows.len() < FEWEST {
        return None;
    }
    let first = free[0].time;
    let values: Vec<f64> = rows.iter().map(|&i| free[i].amplitude[place]).collect();
    let largest = values.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    // A series without noise (a simulated one) gets the rounding of its numbers.
    let floor = (1e-9 * largest).max(1e-300);
    let deviation = |&i: &usize| free[i].variance(place).max(0.0).sqrt().max(floor);
    let series = Series {
        times: rows.iter().map(|&i| free[i].time - first).collect(),
        deviations: rows.iter().map(deviation).collect(),
        values,
    };
    let ascending = series.times.windows(2).all(|w| w[1] > w[0]);
    ascending.then_some(Degree {
        degree,
        place,
        rows,
        series,
        settled: None,
        own: Vec::new(),
    })
}

fn candidates(degree: &Degree, options: &Options, trials: f64) -> Vec<Candidate> {
    let test = Test {
        most: options.most_lines,
        shift: options.shift(degree.degree),
        probability: options.false_alarm / trials,
    };
    let Some(found) = lines(&degree.series, test) else {
        return Vec::new();
    };
    let chunks = found.parameters[BASELINE..].chunks_exact(PER_LINE).enumerate();
    let candidate = |(l, line): (usize, &[f64])| {
        let place = BASELINE + PER_LINE * l + 2;
        Candidate {
            place: 0,
            degree: degree.degree,
            line: [line[0], line[1], line[2], line[3], line[4]],
            deviation: found.covariance[(place, place)].sqrt(),
        }
    };
    chunks.map(candidate).collect()
}

/// The final fit of a degree.
fn finish(degree: &mut Degree, candidates: &[Candidate], roles: &[Role], options: &Options) {
    let mine = |i: &usize| candidates[*i].degree == degree.degree;
    let (mut seen, mut possible) = (Vec::new(), Vec::new());
    for i in (0..candidates.len())
        .filter(|i| matches!(roles[*i], Role::Mode | Role::Other | Role::OutOfOrder(_)) && !mine(i))
    {
        let leaks = (0..candidates.len()).any(|j| mine(&j) && roles[j] == Role::Leak(i));
        let list = if leaks { &mut seen } else { &mut possible };
        list.push(candidates[i].shape());
    }
    possible.extend(products(degree.degree, candidates, roles));
    let own: Vec<usize> = (0..candidates.len())
        .filter(|i| mine(i) && matches!(roles[*i], Role::Mode | Role::Other | Role::OutOfOrder(_)))
        .collect();
    let lines: Vec<[f64; PER_LINE]> = own.iter().map(|&i| candidates[i].line).collect();
    let shift = options.shift(degree.degree);
    degree.settled = settle(&degree.series, &lines, shift, seen, possible);
    degree.own = own;
}

/// The products of modes that a degree may show, plain decays included.
fn products(degree: u32, candidates: &[Candidate], roles: &[Role]) -> Vec<Shape> {
    let modes: Vec<&Candidate> = (0..candidates.len())
        .filter(|&i| roles[i] == Role::Mode)
        .map(|i| &candidates[i])
        .collect();
    let mut all = Vec::new();
    for (i, a) in modes.iter().enumerate() {
        for b in modes[i..].iter().filter(|b| allowed(a.degree, b.degree, degree)) {
            all.push(a.product(b, 1.0));
            all.push(a.product(b, -1.0));
        }
    }
    all
}

fn gather(
    series: &ModeSeries,
    free: &[&ModeSample],
    degrees: &[Degree],
    (candidates, roles): (&[Candidate], &[Role]),
    least_second: f64,
) -> Ringdown {
    let mut found: Vec<Found> = degrees
        .iter()
        .flat_map(|d| modes(d, roles, (free.len(), least_second)))
        .collect();
    found.sort_by_key(|f| f.mode.degree);
    let covariance = covariance(&mut found, free);
    let mut modes: Vec<Mode> = found.into_iter().map(|f| f.mode).collect();
    let ends = (
        free.first().map_or(0.0, |s| s.time),
        free.last().map_or(0.0, |s| s.time),
    );
    for place in 0..modes.len() {
        modes[place].perhaps_product = perhaps_product(&modes, place, ends.1 - ends.0);
    }
    let covariance = of_both(&mut modes, covariance, ends.1 - ends.0);
    let residuals: Vec<DegreeResidual> = degrees.iter().filter_map(residual).collect();
    let mut cautions = of_samples(series, free, degrees);
    cautions.extend(caution::of_modes(
        &modes,
        rate(free),
        ends.1 - ends.0,
        residuals.iter().any(|r| r.inflation > MOVES),
    ));
    cautions.extend(caution::of_lines(candidates, roles, &modes));
    cautions.extend(degrees.iter().filter_map(|d| unsettled(d, roles)));
    cautions.extend(caution::of_residuals(&residuals));
    let mut found = Ringdown {
        modes,
        covariance,
        residuals,
        spectra: degrees.iter().filter_map(spectrum).collect(),
        cautions,
        interval: ends,
        fitted: degrees.iter().filter_map(fitted).collect(),
    };
    let unexplained = caution::of_unexplained(&found);
    found.cautions.extend(unexplained);
    found
}

fn has_mode(degree: &Degree, roles: &[Role]) -> bool {
    let holds = |l: usize| degree.settled.as_ref().is_some_and(|s| s.noise[l].is_some());
    (0..degree.own.len()).any(|l| roles[degree.own[l]] == Role::Mode && holds(l))
}

/// Whether a degree that had a mode has none after its final fit.
fn unsettled(degree: &Degree, roles: &[Role]) -> Option<Caution> {
    let had = degree.own.iter().any(|&i| roles[i] == Role::Mode);
    let lost = had && !has_mode(degree, roles);
    let text = format!(
        "a line of degree {} did not hold when all lines were fitted together; it is not reported",
        degree.degree
    );
    lost.then(|| Caution::new("unsettled_line", text))
}

/// Samples a second, from the median spacing.
fn rate(free: &[&ModeSample]) -> f64 {
    let gaps: Vec<f64> = free.windows(2).map(|w| w[1].time - w[0].time).collect();
    1.0 / median(&gaps)
}

fn modes(degree: &Degree, roles: &[Role], samples: (usize, f64)) -> Vec<Found> {
    let Some(settled) = &degree.settled else {
        return Vec::new();
    };
    let is_mode = |&l: &usize| roles[degree.own[l]] == Role::Mode;
    (0..degree.own.len())
        .filter(is_mode)
        .filter_map(|l| Some(mode(degree, settled, l, settled.noise[l]?, samples)))
        .collect()
}

fn mode(
    degree: &Degree,
    settled: &Settled,
    l: usize,
    noise: Noise,
    (samples, least_second): (usize, f64),
) -> Found {
    let minimum = &settled.minimum;
    let first = BASELINE + PER_LINE * l;
    let line = &minimum.parameters[first..first + PER_LINE];
    let found_rms = rms(&left(&degree.series, minimum));
    let influence = |i: usize| {
        let mut all = vec![0.0; samples];
        let row = minimum.covariance.row(first + i);
        for (j, &sample) in degree.rows.iter().enumerate() {
            all[sample] = noise.middle.sqrt() * dot(row, minimum.jacobian.row(j));
        }
        all
    };
    let answers = [influence(0), influence(2), influence(3)];
    // What the samples give grows with the noise at the line; what the prior of k gives does not.
    let joint = |i: usize, j: usize| {
        let stated = minimum.covariance[(first + PLACES[i], first + PLACES[j])];
        stated + (1.0 - 1.0 / noise.middle) * dot(&answers[i], &answers[j])
    };
    let deviation = |i: usize| joint(i, i).sqrt();
    let between = joint(1, 2);
    let deviations = [deviation(0), deviation(1), deviation(2)];
    let [_, by_frequency, by_decay] = answers;
    let passed = owners(&settled.model)
        .into_iter()
        .map(|owner| (owner, [2, 3].map(|i| by_owner(degree, settled, first + i, owner))))
        .collect();
    Found {
        mode: Mode {
            degree: degree.degree,
            angular_frequency: line[2],
            u_angular_frequency: deviations[1],
            decay_rate: line[3],
            u_decay_rate: deviations[2],
            amplitude: line[0],
            u_amplitude: deviations[0],
            phase: line[1],
            degrees_of_freedom: noise.behind_middle,
            cycles: cycles(line[2] / std::f64::consts::TAU, line[3], degree.series.span()),
            signal_to_noise: line[0] / found_rms,
            frequency_shift_at_start: line[4] * line[0] * line[0],
            perhaps_product: None,
            split: split(&degree.series, settled, l, least_second),
        },
        place: degree.place,
        candidate: degree.own[l],
        influence: [by_frequency, by_decay],
        between,
        passed,
    }
}

/// Lines of other degrees whose courses are part of a model.
fn owners(model: &Model) -> Vec<usize> {
    let turns = model.shapes.iter().flat_map(|shape| &shape.turns);
    let mut all: Vec<usize> = turns.map(|turn| turn.owner).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// How the unknown at `place` of a degree's fit answers to the angular frequency and the decay rate of another degree's line,
/// which the fit took as known.
fn by_owner(degree: &Degree, settled: &Settled, place: usize, owner: usize) -> [f64; 2] {
    let (minimum, row) = (&settled.minimum, settled.minimum.covariance.row(place));
    let mut answer = [0.0; 2];
    for (j, (&t, deviation)) in degree
        .series
        .times
        .iter()
        .zip(&degree.series.deviations)
        .enumerate()
    {
        let weight = dot(row, minimum.jacobian.row(j)) / deviation;
        let change = settled.model.by_owner(&minimum.parameters, owner, t);
        answer
            .iter_mut()
            .zip(change)
            .for_each(|(sum, change)| *sum -= weight * change);
    }
    answer
}

fn rms(values: &[f64]) -> f64 {
    (dot(values, values) / values.len() as f64).sqrt()
}

fn residual(degree: &Degree) -> Option<DegreeResidual> {
    let minimum = &degree.settled.as_ref()?.minimum;
    Some(DegreeResidual {
        degree: degree.degree,
        stated_rms: rms(&degree.series.deviations),
        found_rms: rms(&left(&degree.series, minimum)),
        inflation: (minimum.chi_square / minimum.degrees_of_freedom).sqrt(),
    })
}

fn spectrum(degree: &Degree) -> Option<Spectrum> {
    let (series, minimum) = (&degree.series, &degree.settled.as_ref()?.minimum);
    let span = series.span();
    let slow = |t: f64| crate::line::curve(&minimum.parameters[..BASELINE], t, span);
    let pairs = series.times.iter().zip(&series.values);
    let moving: Vec<f64> = pairs.map(|(&t, y)| y - slow(t)).collect();
    let (step, even) = resample(&series.times, &moving);
    let all = periodogram(&even, step, true);
    let (_, rest) = resample(&series.times, &left(series, minimum));
    Some(Spectrum {
        degree: degree.degree,
        frequency_hz: all.frequency,
        power: all.density,
        residual_power: periodogram(&rest, step, true).density,
    })
}

fn fitted(degree: &Degree) -> Option<Fitted> {
    let settled = degree.settled.as_ref()?;
    Some(Fitted {
        degree: degree.degree,
        model: settled.model.clone(),
        parameters: settled.minimum.parameters.clone(),
    })
}

fn of_samples(series: &ModeSeries, free: &[&ModeSample], degrees: &[Degree]) -> Vec<Caution> {
    let mut all = Vec::new();
    if degrees.len() < series.degrees.len() {
        let text = format!(
            "{} of {} degrees have at least {FEWEST} free samples in ascending time; the others were not looked at",
            degrees.len(),
            series.degrees.len()
        );
        all.push(Caution::new("too_few_samples", text));
    }
    if let (Some(first), Some(last)) = (free.first(), free.last()) {
        let between = series
            .samples
            .iter()
            .filter(|s| !s.free && s.time > first.time && s.time < last.time);
        let count = between.count();
        if count > 0 {
            let text = format!(
                "{count} samples between the free ones are not free; if the drop was touched there, the ringing before and after is not one"
            );
            all.push(Caution::new("interrupted", text));
        }
    }
    all
}
