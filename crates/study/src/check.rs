//! `check`: what an experiment file leaves open, what to expect of the run, and what in it cannot work as planned.
//!
//! ```text
//! s = a T^2 / 2,        loss_n = 1 - sin(pi f_n t) / (pi f_n t)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a`, `T` | residual acceleration, time that is filmed or available | m/s^2, s |
//! | `s` | way of a body that starts at rest | m |
//! | `f_n` | frequency of degree n | Hz |
//! | `t` | exposure of a frame | s |
//! | `loss_n` | share of an amplitude that the exposure averages away | 1 |
//!
//! A uniform acceleration moves a free body and does not deform it. Frequencies are exact viscous modes of the body in its gas
//! \[MillerScriven1968\]. Ten frames a period and three periods in a record are common practice, no published source.

use std::f64::consts::{PI, TAU};
use std::fmt::Write;
use std::path::{Path, PathBuf};

use serde::Serialize;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::faults::Fault;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Caution, Note};
use tremolet_theory::drift;
use tremolet_theory::modes::host::{Pair, root};

use crate::check::readout::{Moving, readout};
use crate::error::StudyError;
use crate::files::lacking;
use crate::hand::notes;
use crate::logged::log_of;
use crate::look::frames;
use crate::wording::caution;
use tremolet_infer::known::{Materials, materials};

mod readout;

/// Degrees that a ring-down is expected to show.
const DEGREES: std::ops::RangeInclusive<u32> = 2..=4;
/// Frames in a period of a mode that is to be measured well.
const FRAMES_A_PERIOD: f64 = 10.0;
/// Periods of the slowest mode in a record.
const PERIODS: f64 = 3.0;
/// Share of an amplitude that an exposure may average away unsaid.
const LOSS: f64 = 0.01;

/// A mode to expect.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// Degree n.
    pub degree: u32,
    /// Frequency, Hz; zero when it does not swing.
    pub frequency: f64,
    /// Decay rate, 1/s.
    pub decay_rate: f64,
}

/// What was found out about an experiment file without a fault.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checked {
    /// The file.
    pub file: String,
    /// What measuring a clip still needs.
    pub lacking: Vec<Fault>,
    /// Modes to expect, when liquid and size are known.
    pub expected: Vec<Expected>,
    /// What cannot work as planned, or is taken for granted.
    pub cautions: Vec<Caution>,
    /// What was drawn, decided or checked by hand.
    pub notes: Vec<Note>,
    /// What the file gives without stating it, by the key where it could be stated.
    pub given: Vec<Given>,
}

/// A value that follows from others in the file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Given {
    /// Key where it could be stated.
    pub key: &'static str,
    /// The value with unit and uncertainty, and by what.
    pub text: String,
}

/// What can be known of the clip before it is measured.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct View {
    /// Pixels in a row and rows.
    pub size_px: Option<[f64; 2]>,
    /// Frames that will be measured.
    pub frames: Option<f64>,
}

/// Reads an experiment file and thinks it through.
///
/// # Errors
/// Everything that is wrong in it; a liquid or gas that is unknown or out of range.
pub fn check(file: &Path) -> Result<Checked, StudyError> {
    thought_through(&Experiment::read(file)?)
}

/// As [`check`], for an experiment that has been read.
///
/// # Errors
/// A liquid or gas that is unknown or out of range.
pub fn thought_through(experiment: &Experiment) -> Result<Checked, StudyError> {
    let clip = experiment.clip.as_ref();
    let clip = clip.map_or(PathBuf::new(), |clip| experiment.path_of(&clip.path));
    let lacking = lacking(experiment, &clip);
    let materials = experiment
        .liquid
        .is_some()
        .then(|| materials(experiment))
        .transpose()?;
    let (view, of_clip) = view(experiment);
    let expected = materials.as_ref().map_or(Vec::new(), |m| expected(experiment, m));
    let mut cautions = experiment.cautions.clone();
    cautions.extend(of_clip);
    cautions.extend(of_log(experiment));
    cautions.extend(foreseen(experiment, materials.as_ref(), &expected, view));
    Ok(Checked {
        file: experiment.file.clone(),
        lacking,
        expected,
        cautions,
        notes: notes(experiment),
        given: given(experiment),
    })
}

/// Scale and rate where they come from what is seen in the picture.
fn given(experiment: &Experiment) -> Vec<Given> {
    let Some(camera) = &experiment.camera else {
        return Vec::new();
    };
    let from =
        |key: &str, value: &Uncertain| value.parts().iter().any(|part| part.input.key.starts_with(key));
    let scale = camera.scale.as_ref().filter(|_| camera.reference.is_some());
    let rate = camera
        .capture_rate
        .as_ref()
        .filter(|rate| from("camera.clock", rate));
    let scale = scale.map(|scale| told(scale, 1e3, "mm/px", "the known length"));
    let rate = rate.map(|rate| told(rate, 1.0, "fps", "the clock in the picture"));
    let all = [("camera.scale", scale), ("camera.capture_rate", rate)];
    all.into_iter()
        .filter_map(|(key, text)| Some(Given { key, text: text? }))
        .collect()
}

/// A value with two digits of its uncertainty, or to five digits without one.
fn told(value: &Uncertain, factor: f64, unit: &str, by: &str) -> String {
    let (value, u) = (factor * value.value(), factor * value.standard_uncertainty());
    let step = if u > 0.0 {
        u.log10().floor() - 1.0
    } else {
        value.abs().log10().floor() - 4.0
    };
    let decimals = (-step).clamp(0.0, 12.0) as usize;
    let spread = if u > 0.0 {
        format!(" +- {u:.decimals$}")
    } else {
        String::new()
    };
    format!("{value:.decimals$}{spread} {unit}, by {by}")
}

/// Size and length of the clip with what its reader noticed, or why it cannot be opened yet.
fn view(experiment: &Experiment) -> (View, Vec<Caution>) {
    let Some(clip) = &experiment.clip else {
        return (View::default(), Vec::new());
    };
    match frames(experiment, &experiment.path_of(&clip.path)) {
        Err(why) => (
            View::default(),
            vec![caution("clip_unread", &why.to_string(), None)],
        ),
        Ok(source) => {
            let info = source.info();
            let asked = clip.frames.as_ref().map(|range| range.end - range.start);
            let count = match (info.frame_count, asked) {
                (Some(all), Some(asked)) => Some(all.min(asked)),
                (all, asked) => all.or(asked),
            };
            let view = View {
                size_px: Some([info.width as f64, info.height as f64]),
                frames: count.map(|count| count as f64),
            };
            (view, source.cautions())
        }
    }
}

/// Why the log cannot be read yet.
fn of_log(experiment: &Experiment) -> Option<Caution> {
    let why = log_of(experiment).err()?;
    Some(caution("log_unread", &why.to_string(), None))
}

/// Radius of the body as the file states it, m.
fn radius(experiment: &Experiment, materials: Option<&Materials>) -> Option<f64> {
    let density = materials.map(|m| &m.liquid.density.value);
    tremolet_plan::given::radius(experiment, density).map(|radius| radius.value())
}

/// A drop of the liquid in the gas, of a radius in m; nothing where tension or viscosity is not known.
pub fn pair(materials: &Materials, radius: f64) -> Option<Pair> {
    let gas = &materials.gas;
    Some(Pair {
        radius,
        tension: materials.tension()?.value.value(),
        density: materials.liquid.density.value.value(),
        viscosity: materials.viscosity()?.value.value(),
        host_density: gas.density.value.value(),
        host_viscosity: gas.dynamic_viscosity.value.value(),
    })
}

fn expected(experiment: &Experiment, materials: &Materials) -> Vec<Expected> {
    let radius = radius(experiment, Some(materials));
    let Some(pair) = radius.and_then(|radius| pair(materials, radius)) else {
        return Vec::new();
    };
    let one = |degree| {
        let root = root(degree, &pair).ok()?;
        Some(Expected {
            degree,
            frequency: root.angular_frequency / TAU,
            decay_rate: root.decay,
        })
    };
    DEGREES.filter_map(one).collect()
}

/// What in the plan cannot work.
fn foreseen(
    experiment: &Experiment,
    materials: Option<&Materials>,
    expected: &[Expected],
    view: View,
) -> Vec<Caution> {
    let value = |stated: Option<&Uncertain>| stated.map(Uncertain::value);
    let camera = experiment.camera.as_ref();
    let rate = value(camera.and_then(|c| c.capture_rate.as_ref()));
    let exposure = value(camera.and_then(|c| c.exposure.as_ref()));
    let around = experiment.surroundings.as_ref();
    let available = value(around.and_then(|s| s.available_time.as_ref()));
    let filmed = view.frames.zip(rate).map(|(frames, rate)| frames / rate);
    let time = filmed.or(available);
    let radius = radius(experiment, materials);
    let mut found: Vec<Caution> = sampling(expected, rate).into_iter().collect();
    found.extend(smear(expected, exposure));
    found.extend(length(expected, time));
    found.extend(contradiction(experiment, materials));
    let scale = value(camera.and_then(|c| c.scale.as_ref()));
    if let (Some(radius), Some(scale), Some(size)) = (radius, scale, view.size_px) {
        let margin = size[0].min(size[1]) * scale / 2.0 - radius;
        let acceleration = value(around.and_then(|s| s.residual_acceleration.as_ref()));
        found.extend(leaving(radius, margin, acceleration, time));
        let speed = acceleration.zip(time).map_or(0.0, |(a, t)| a.abs() * t);
        found.extend(readout(experiment, expected, view, Moving { radius, speed }));
    }
    found
}

fn sampling(expected: &[Expected], rate: Option<f64>) -> Option<Caution> {
    let rate = rate?;
    let swings = || expected.iter().filter(|mode| mode.frequency > 0.0);
    if let Some(mode) = swings().find(|mode| 2.0 * mode.frequency >= rate) {
        let text = format!(
            "degree {} is expected at {:.3} Hz, more than half the capture rate of {rate} fps: it would be seen at a false frequency; \
             film at {:.0} fps or more",
            mode.degree,
            mode.frequency,
            (FRAMES_A_PERIOD * mode.frequency).ceil()
        );
        return Some(caution("rate_below_modes", &text, None));
    }
    let mode = swings().find(|mode| FRAMES_A_PERIOD * mode.frequency > rate)?;
    let text = format!(
        "degree {} is expected at {:.3} Hz, which leaves {:.1} frames a period at {rate} fps; {FRAMES_A_PERIOD} or more are usual",
        mode.degree,
        mode.frequency,
        rate / mode.frequency
    );
    Some(caution("few_frames_a_period", &text, None))
}

fn smear(expected: &[Expected], exposure: Option<f64>) -> Option<Caution> {
    let exposure = exposure?;
    let loss = |mode: &Expected| {
        let turn = PI * mode.frequency * exposure;
        if turn > 0.0 { 1.0 - turn.sin() / turn } else { 0.0 }
    };
    let mode = expected.iter().find(|mode| loss(mode) > LOSS)?;
    let text = format!(
        "an exposure of {:.3} ms averages {:.1} % of the swing of degree {} away; amplitudes come out too small by that",
        1e3 * exposure,
        1e2 * loss(mode),
        mode.degree
    );
    Some(caution("exposure_smears", &text, None))
}

fn length(expected: &[Expected], time: Option<f64>) -> Option<Caution> {
    let mode = expected.first()?;
    if mode.frequency == 0.0 {
        let text = format!(
            "degree {} is expected to creep back with {:.3} 1/s and not to swing: no frequency will be found",
            mode.degree, mode.decay_rate
        );
        return Some(caution("no_swing_expected", &text, None));
    }
    let periods = time? * mode.frequency;
    let text = format!(
        "{:.2} s hold {periods:.1} periods of degree {} ({:.3} Hz); fewer than {PERIODS} seldom determine its frequency and decay",
        time?, mode.degree, mode.frequency
    );
    (periods < PERIODS).then(|| caution("short_record", &text, None))
}

fn contradiction(experiment: &Experiment, materials: Option<&Materials>) -> Option<Caution> {
    let density = materials.map(|m| &m.liquid.density.value);
    let both = experiment.body.as_ref()?.contradiction(density)?;
    let text = format!(
        "{} gives a volume of {:.4} mL and {} one of {:.4} mL with the liquid's density: they differ by more than three standard \
         uncertainties; trust one of them",
        both.first,
        1e6 * both.first_volume,
        both.second,
        1e6 * both.second_volume
    );
    Some(caution("sizes_disagree", &text, None))
}

fn leaving(radius: f64, margin: f64, acceleration: Option<f64>, time: Option<f64>) -> Option<Caution> {
    if margin <= 0.0 {
        let text = format!(
            "a body of {:.2} mm across does not fit into the view, which is {:.2} mm across",
            2e3 * radius,
            2e3 * (radius + margin)
        );
        return Some(caution("too_large_for_view", &text, None));
    }
    let (acceleration, time) = (acceleration?.abs(), time?);
    let way = drift::way(acceleration, time);
    let gone = drift::time(acceleration, margin);
    let text = format!(
        "a residual acceleration of {acceleration} m/s^2 carries the body {:.1} mm in {time:.2} s, and {:.1} mm are free around it: if it starts \
         at rest in the middle it begins to leave the view after {gone:.2} s; show more around it or film a shorter time",
        1e3 * way,
        1e3 * margin
    );
    (way > margin).then(|| caution("drifts_out_of_view", &text, None))
}

impl Checked {
    /// In words, for a person.
    pub fn text(&self) -> String {
        let mut text = format!("{}: read without a fault", self.file);
        // Writing to a string cannot fail.
        for mode in &self.expected {
            let (n, f, g) = (mode.degree, mode.frequency, mode.decay_rate);
            let _ = write!(text, "\nexpected: degree {n} at {f:.3} Hz, decay rate {g:.3} 1/s");
        }
        for given in &self.given {
            let _ = write!(text, "\n{}: {}", given.key, given.text);
        }
        for note in &self.notes {
            let _ = write!(text, "\nby hand: {}", note.text);
        }
        for caution in &self.cautions {
            let _ = write!(text, "\ncaution ({}): {}", caution.code, caution.text);
        }
        if self.lacking.is_empty() {
            text.push_str("\nenough to measure a clip");
        } else {
            text.push_str("\nnot yet enough to measure a clip:");
            self.lacking.iter().for_each(|fault| {
                let _ = write!(text, "\n{fault}");
            });
        }
        text
    }

    /// As JSON, for a machine; SI units.
    ///
    /// # Errors
    /// When a number has no form in JSON, which no file that was read without a fault gives.
    pub fn json(&self) -> Result<String, StudyError> {
        serde_json::to_string_pretty(self).map_err(|why| StudyError::Write {
            what: "the answer as JSON",
            why: why.to_string(),
        })
    }
}

#[cfg(test)]
mod tests;
