//! Several runs beside each other as data, as `compare --json` prints them (format 1).
//!
//! Numbers are SI and carry their unit. A mean says apart what comes from errors of each run alone (`within`), from what differs from run to
//! run (`between`) and from what runs share (`shared`); the squares of the three add up to that of its standard uncertainty. What cannot be
//! said is absent and `why` or a caution says the reason. Nothing is computed here, nothing drawn.

use serde::{Deserialize, Serialize};

use crate::findings::{Caution, Quantity, Reference};

/// The format that this program writes.
pub const FORMAT: u32 = 1;

/// One run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunRow {
    /// Short name that no other of these runs has.
    pub name: String,
    /// Its folder as it was given.
    pub folder: String,
    /// Title.
    pub title: String,
    /// What was done to the liquid.
    pub kind: String,
    /// The liquid in words; absent where the file names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub liquid: Option<String>,
    /// Temperature of the liquid, K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<f64>,
    /// The calibration that it shares with others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration: Option<String>,
    /// The batch of liquid that it shares with others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// Frames that were looked at.
    pub frames: u64,
    /// When it was measured, UTC; absent where that is not recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<String>,
    /// How many cautions its findings carry.
    pub cautions: usize,
    /// Radius of its first body, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<Quantity>,
}

/// A quantity of one body of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Name of the run.
    pub run: String,
    /// Which body, from 1.
    pub body: u32,
    /// The value, at the common temperature and composition where there is one.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// The part of that which no other run here shares.
    pub own: f64,
    /// The value as the run gives it, where it was brought to a common temperature or composition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub as_found: Option<f64>,
    /// By which way it was found, in words.
    pub route: String,
    /// Weight in the mean; absent where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// Difference from the mean of the others that agree, over its standard uncertainty by the budgets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub normalised_deviation: Option<f64>,
    /// Whether that is more than chance explains.
    #[serde(default)]
    pub disagrees: bool,
}

/// What differs from run to run beyond the budgets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BetweenRuns {
    /// Standard deviation of it.
    pub standard_deviation: f64,
    /// 95 % interval of that.
    pub interval_95: [f64; 2],
    /// Weighted sum of squares about the mean where nothing differs.
    pub chi_square: f64,
    /// Runs less one.
    pub degrees_of_freedom: f64,
    /// Probability of such a sum or a larger one where the budgets tell all.
    pub probability: f64,
}

/// One input in a mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeanLine {
    /// Name of the input.
    pub input: String,
    /// Its part of the mean's standard uncertainty, with its sign.
    pub part: f64,
    /// Share of the variance of the mean, 0 to 1.
    pub share: f64,
    /// How many of the values depend on it.
    pub values: usize,
}

/// The mean of several runs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Effective degrees of freedom; null when infinite.
    pub degrees_of_freedom: Option<f64>,
    /// 95 % interval.
    pub interval_95: [f64; 2],
    /// Part from errors that each run has alone.
    pub within: f64,
    /// Part from what differs from run to run.
    pub between: f64,
    /// Part from inputs that runs share; more runs of the same kind do not lower it.
    pub shared: f64,
    /// What differs from run to run.
    pub between_runs: BetweenRuns,
    /// Where the uncertainty comes from, largest part first.
    pub budget: Vec<MeanLine>,
    /// What is expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
    /// (mean - reference) over the standard uncertainty of the difference.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub normalised_deviation: Option<f64>,
    /// Mean and standard uncertainty of the runs that agree, where some do not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of_those_that_agree: Option<[f64; 2]>,
}

/// One quantity over runs of one liquid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Compared {
    /// Lower_snake name.
    pub quantity: String,
    /// SI unit.
    pub unit: String,
    /// The liquid in words; absent for quantities that belong to none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub liquid: Option<String>,
    /// The values, in the order of the runs.
    pub entries: Vec<Entry>,
    /// Their mean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean: Option<Mean>,
    /// Why there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

/// A mode of a run on its capillary time and its viscous rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScaledMode {
    /// Name of the run.
    pub run: String,
    /// Which body, from 1.
    pub body: u32,
    /// Degree n.
    pub degree: u32,
    /// The liquid in words.
    pub liquid: String,
    /// Radius, m.
    pub radius: f64,
    /// Frequency, Hz.
    pub frequency: Quantity,
    /// Decay rate, 1/s.
    pub decay_rate: Quantity,
    /// `sqrt(sigma / (rho R^3))`, 1/s, and its standard uncertainty.
    pub capillary_rate: [f64; 2],
    /// `nu / R^2`, 1/s, and its standard uncertainty; absent where no viscosity is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub viscous_rate: Option<[f64; 2]>,
    /// `2 pi f / capillary_rate`, and its standard uncertainty.
    pub reduced_frequency: [f64; 2],
    /// What it is without viscosity and gas: `sqrt(n (n - 1) (n + 2))`.
    pub inviscid: f64,
    /// What it is by the exact root, with viscosity and gas; absent where it cannot be had.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<f64>,
    /// `decay_rate / viscous_rate`, and its standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reduced_decay: Option<[f64; 2]>,
    /// What that is by the exact root.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_decay: Option<f64>,
}

/// Several runs beside each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// Format of the data, [`FORMAT`].
    pub format: u32,
    /// The runs.
    pub runs: Vec<RunRow>,
    /// What was compared.
    pub quantities: Vec<Compared>,
    /// Modes on capillary time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scaling: Vec<ScaledMode>,
    /// What clouds the comparison.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<Caution>,
}
