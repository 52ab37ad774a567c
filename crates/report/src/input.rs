//! What a report is made from: everything that is drawn or said, already computed.
//!
//! Values are in SI units and times in seconds of real time, unless a field says otherwise; the drawing rooms choose
//! the units a reader sees. Empty lists leave their part of the report out.

pub mod fitted;

use tremolet_record::findings::Findings;

use crate::input::fitted::FittedBody;

/// A line of a list of facts: a label and what it says, both plain text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What the line is about.
    pub label: String,
    /// What it says.
    pub value: String,
}

impl Row {
    /// A row from two texts.
    pub fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            value: value.into(),
        }
    }
}

/// The amplitude of one degree of one body over time, with what was fitted to it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AmplitudeSeries {
    /// Which body, from 1.
    pub body: u32,
    /// Degree n.
    pub degree: u32,
    /// Times of the samples, s, ascending.
    pub time: Vec<f64>,
    /// Amplitudes a_n at those times, in units of R.
    pub value: Vec<f64>,
    /// Standard uncertainties of the amplitudes, in units of R; may be empty.
    pub u: Vec<f64>,
    /// The fitted curve as (time, amplitude), on its own, finer times; empty when nothing was fitted.
    pub fitted: Vec<[f64; 2]>,
    /// Measured less fitted at the times of the samples; NaN where not fitted; empty when nothing was fitted.
    pub residual: Vec<f64>,
}

/// The spectrum of one degree of one body, before and after the fit is taken away.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spectrum {
    /// Which body, from 1.
    pub body: u32,
    /// Degree n.
    pub degree: u32,
    /// Frequencies, Hz, ascending.
    pub frequency: Vec<f64>,
    /// Power at those frequencies.
    pub power: Vec<f64>,
    /// Power of the residual at those frequencies; may be empty.
    pub residual_power: Vec<f64>,
    /// Unit of the power as `matter` writes it, e.g. `1/Hz`, or empty.
    pub power_unit: String,
    /// Frequencies to mark, Hz, each with a short label such as `f₂` or `2 f₂`.
    pub marks: Vec<(f64, String)>,
}

/// A quantity that ought to stay constant, over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drift {
    /// Which body, from 1.
    pub body: u32,
    /// Lower_snake name, e.g. `volume` or `equivalent_radius`.
    pub quantity: String,
    /// SI unit.
    pub unit: String,
    /// Times, s, ascending.
    pub time: Vec<f64>,
    /// Values, in `unit`.
    pub value: Vec<f64>,
    /// Standard uncertainties, in `unit`; may be empty.
    pub u: Vec<f64>,
    /// The level that the values are compared with, e.g. their median, in `unit`.
    pub level: Option<f64>,
    /// A sentence that says how large the drift is, already worded; may be empty.
    pub note: String,
}

/// Where the centre of a body was.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CentrePath {
    /// Which body, from 1.
    pub body: u32,
    /// Times, s, ascending.
    pub time: Vec<f64>,
    /// Rightwards in the image, in `unit`.
    pub x: Vec<f64>,
    /// Downwards in the image, in `unit`.
    pub y: Vec<f64>,
    /// `m`, or `px` when there is no scale.
    pub unit: String,
}

/// The acceleration of a body in one direction, from its path and from a log beside the clip.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoggedCourse {
    /// Which body, from 1.
    pub body: u32,
    /// Direction in the picture, e.g. `rightwards`.
    pub way: String,
    /// Times, s, ascending.
    pub time: Vec<f64>,
    /// From the path, m/s^2.
    pub seen: Vec<f64>,
    /// Standard uncertainties of those, m/s^2.
    pub u: Vec<f64>,
    /// From the log, m/s^2.
    pub logged: Vec<f64>,
}

/// A frame with its outline drawn on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// The bytes of a PNG file.
    pub png: Vec<u8>,
    /// Its width in pixels.
    pub width: usize,
    /// Its height in pixels.
    pub height: usize,
    /// What is seen and why this instant was chosen, one sentence.
    pub caption: String,
    /// Time, s.
    pub time: f64,
    /// Frame in the clip.
    pub frame: u64,
}

/// One quantity beside its true value, when the clip was painted.
#[derive(Debug, Clone, PartialEq)]
pub struct TruthRow {
    /// Lower_snake or plain name.
    pub quantity: String,
    /// Unit of all numbers of the row.
    pub unit: String,
    /// The true value.
    pub truth: f64,
    /// What was found; absent when it was not.
    pub found: Option<f64>,
    /// Standard uncertainty of what was found.
    pub u: Option<f64>,
    /// (found - truth) over the standard uncertainty.
    pub deviation: Option<f64>,
}

/// A symbol of a formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// As it stands in the formula, e.g. `omega_n`.
    pub symbol: String,
    /// What it means.
    pub meaning: String,
    /// Its SI unit.
    pub unit: String,
}

impl Symbol {
    /// A symbol from three texts.
    pub fn new(symbol: impl Into<String>, meaning: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            symbol: symbol.into(),
            meaning: meaning.into(),
            unit: unit.into(),
        }
    }
}

/// How a number was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Method {
    /// What was found by it, as a heading.
    pub name: String,
    /// How, in plain words; one paragraph each.
    pub text: Vec<String>,
    /// Formulas in the plain notation of [`crate::document::formula`], one a line.
    pub formulas: Vec<String>,
    /// The symbols of the formulas.
    pub symbols: Vec<Symbol>,
    /// Sources, in full.
    pub sources: Vec<String>,
}

/// A file of the run folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRow {
    /// Its path relative to the run folder.
    pub path: String,
    /// What it holds.
    pub what: String,
}

impl FileRow {
    /// A row from two texts.
    pub fn new(path: impl Into<String>, what: impl Into<String>) -> Self {
        Self {
            path: path.into(),
            what: what.into(),
        }
    }
}

/// Everything that goes into a report.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportInput<'a> {
    /// Title of the experiment.
    pub title: String,
    /// What was done, in a sentence or two.
    pub summary: String,
    /// A notice across the top, e.g. that the numbers are invented; none as a rule.
    pub notice: Option<String>,
    /// The experiment: liquid, gas, size, place, camera.
    pub experiment: Vec<Row>,
    /// What was found, could not be found, and why.
    pub findings: &'a Findings,
    /// Frames at telling instants.
    pub pictures: Vec<Picture>,
    /// Amplitudes, by body and degree.
    pub amplitudes: Vec<AmplitudeSeries>,
    /// Spectra, by body and degree.
    pub spectra: Vec<Spectrum>,
    /// What ought to be constant.
    pub drifts: Vec<Drift>,
    /// Paths of the centres.
    pub paths: Vec<CentrePath>,
    /// Accelerations beside those of a log.
    pub logged: Vec<LoggedCourse>,
    /// The fitted simulation, body by body.
    pub fitted: Vec<FittedBody>,
    /// The true values, for a painted clip.
    pub truth: Vec<TruthRow>,
    /// How each number was found.
    pub methods: Vec<Method>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
    /// The files of the run folder.
    pub files: Vec<FileRow>,
    /// Program, inputs, hashes, settings.
    pub provenance: Vec<Row>,
}

impl<'a> ReportInput<'a> {
    /// A report of these findings and nothing else, to be filled.
    pub fn of(title: impl Into<String>, findings: &'a Findings) -> Self {
        Self {
            title: title.into(),
            summary: String::new(),
            notice: None,
            experiment: Vec::new(),
            findings,
            pictures: Vec::new(),
            amplitudes: Vec::new(),
            spectra: Vec::new(),
            drifts: Vec::new(),
            paths: Vec::new(),
            logged: Vec::new(),
            fitted: Vec::new(),
            truth: Vec::new(),
            methods: Vec::new(),
            assumptions: Vec::new(),
            files: Vec::new(),
            provenance: Vec::new(),
        }
    }

    /// Whether there is more than one body, so that each must be named.
    pub fn several_bodies(&self) -> bool {
        let estimates = self.findings.estimates.iter().map(|e| e.body);
        let modes = self.findings.modes.iter().map(|m| m.body);
        let series = self.amplitudes.iter().map(|a| a.body);
        let drifts = self.drifts.iter().map(|d| d.body);
        let paths = self.paths.iter().map(|p| p.body);
        let all = estimates.chain(modes).chain(series).chain(drifts).chain(paths);
        all.collect::<std::collections::BTreeSet<_>>().len() > 1
    }
}
