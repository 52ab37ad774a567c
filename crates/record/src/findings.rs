//! Findings: what was found in a run, as `findings.json` holds it (format 1).
//!
//! A number that cannot be known is absent and a caution says why. Names are lower_snake, units are written beside each
//! value. The published schema is `docs/findings.schema.json`. Nothing is computed here.

use serde::{Deserialize, Serialize};

/// The newest format that this program reads and the one that it writes.
pub const FORMAT: u32 = 1;

/// Why findings could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum FindingsError {
    /// Written by a newer program.
    #[error("findings have format {found}, this program reads up to {FORMAT}: use a newer version of it")]
    Newer {
        /// The format that the file states.
        found: u64,
    },
    /// Not findings at all, damaged, or a number that JSON cannot hold.
    #[error("findings cannot be read or written as format {FORMAT}: {0}; remake them from the run's series")]
    Json(#[from] serde_json::Error),
    /// No format is stated.
    #[error(
        "no `format` in the findings, expected a whole number from 1 to {FORMAT}: is this a findings.json?"
    )]
    NoFormat,
    /// A value is not a finite number.
    #[error("{what} is not a finite number: leave it out and add a caution that says why")]
    NotFinite {
        /// Which value.
        what: String,
    },
}

/// A value with its unit and, where known, its standard uncertainty in the same unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// The value, in `unit`.
    pub value: f64,
    /// Its unit, e.g. `"Hz"`.
    pub unit: String,
    /// Standard uncertainty (k = 1), in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<f64>,
}

/// The clip that the findings are of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClipSummary {
    /// Number of frames looked at.
    pub frames: u64,
    /// Real time from the first to the last of them.
    pub duration: Quantity,
    /// SHA-256 of the file, lower-case hexadecimal; absent for a folder of stills or a simulation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

/// What is expected of a quantity by somebody else, in the unit of the estimate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reference {
    /// The value.
    pub value: f64,
    /// Standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<f64>,
    /// Where it is from.
    pub source: String,
}

/// One line of an uncertainty budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BudgetLine {
    /// Name of the input.
    pub input: String,
    /// Its standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// Unit of the input.
    pub unit: String,
    /// Derivative of the estimate by the input, unit of the estimate per `unit`.
    pub sensitivity: f64,
    /// Share of the variance of the estimate, 0 to 1.
    pub share: f64,
}

/// How a 95 % interval was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Coverage {
    /// `welch_satterthwaite` (linear propagation, Student's distribution with effective degrees of freedom) or `monte_carlo`.
    pub method: String,
    /// The trials that confirmed the linear interval or took its place; absent when none were made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trials: Option<Trials>,
}

/// What trials of the full model gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trials {
    /// How many.
    pub count: u64,
    /// Their mean, in the unit of the estimate.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_deviation: f64,
    /// Their interval of 95 % with equal tails.
    pub interval_95: [f64; 2],
    /// The linear interval.
    pub linear_interval_95: [f64; 2],
    /// Largest difference of the ends at which the linear interval stands.
    pub tolerance: f64,
}

/// One quantity that was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Lower_snake name, e.g. `surface_tension`.
    pub quantity: String,
    /// Which body, from 1.
    pub body: u32,
    /// The value, in `unit`.
    pub value: f64,
    /// SI unit.
    pub unit: String,
    /// Standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// Effective degrees of freedom by Welch and Satterthwaite; null when infinite.
    pub degrees_of_freedom: Option<f64>,
    /// Ends of the 95 % coverage interval, in `unit`; not always symmetric.
    pub interval_95: [f64; 2],
    /// By which method the interval came.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coverage: Option<Coverage>,
    /// By which way it was found, in words.
    pub route: String,
    /// Key of the method, for machines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub method: Option<String>,
    /// What is expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
    /// (value - reference) over the standard uncertainty of the difference.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub normalised_deviation: Option<f64>,
    /// Where the uncertainty comes from, largest share first.
    #[serde(default)]
    pub budget: Vec<BudgetLine>,
    /// What was taken for granted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumptions: Vec<String>,
    /// One sentence for a reader.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explanation: Option<String>,
}

/// Correlation coefficient of two estimates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Correlation {
    /// The two quantities.
    pub between: [String; 2],
    /// -1 to 1.
    pub value: f64,
}

/// One mode of one body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mode {
    /// Which body, from 1.
    pub body: u32,
    /// Degree n.
    pub degree: u32,
    /// Order m; null when the view cannot tell.
    pub order: Option<i32>,
    /// Frequency, Hz.
    pub frequency: Quantity,
    /// Decay rate, 1/s.
    pub decay_rate: Quantity,
    /// Amplitude at the start of the fit, in units of R.
    pub amplitude: Quantity,
    /// Quality factor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quality: Option<f64>,
    /// Number of cycles that were seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cycles: Option<f64>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Lower_snake name, e.g. `pinch_off`.
    pub name: String,
    /// When, s of real time.
    pub time: Quantity,
    /// First and last frame between which it happened.
    pub frames: [u64; 2],
    /// Who found it, e.g. `program`.
    pub found_by: String,
}

/// A blemish that still allowed a result, or the reason why a number is absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Caution {
    /// Lower_snake code, for machines.
    pub code: String,
    /// What and what it means, for people.
    pub text: String,
    /// First and last frame that it concerns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames: Option<[u64; 2]>,
}

/// What a person drew, decided or checked, and what came of it; no blemish.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Lower_snake code, for machines.
    pub code: String,
    /// What was done, for people.
    pub text: String,
    /// First and last frame that it concerns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames: Option<[u64; 2]>,
}

/// All that was found in a run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Findings {
    /// Format of the file, [`FORMAT`].
    pub format: u32,
    /// The clip.
    pub clip: ClipSummary,
    /// Quantities.
    #[serde(default)]
    pub estimates: Vec<Estimate>,
    /// Correlations of the quantities.
    #[serde(default)]
    pub correlations: Vec<Correlation>,
    /// Modes.
    #[serde(default)]
    pub modes: Vec<Mode>,
    /// Events, ascending in time.
    #[serde(default)]
    pub events: Vec<Event>,
    /// Cautions.
    #[serde(default)]
    pub cautions: Vec<Caution>,
    /// What was done by hand.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<Note>,
}

impl Findings {
    /// Findings of a clip, with nothing found yet.
    pub fn of_clip(clip: ClipSummary) -> Self {
        Self {
            format: FORMAT,
            clip,
            estimates: Vec::new(),
            correlations: Vec::new(),
            modes: Vec::new(),
            events: Vec::new(),
            cautions: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Reads the text of a `findings.json`.
    ///
    /// # Errors
    /// A newer format, no format, or text that is not findings.
    pub fn from_json(text: &str) -> Result<Self, FindingsError> {
        let tree: serde_json::Value = serde_json::from_str(text)?;
        let format = tree.get("format").and_then(serde_json::Value::as_u64);
        match format {
            None | Some(0) => Err(FindingsError::NoFormat),
            Some(found) if found > u64::from(FORMAT) => Err(FindingsError::Newer { found }),
            Some(_) => Ok(serde_json::from_value(tree)?),
        }
    }

    /// The text of `findings.json`, with a newline at its end.
    ///
    /// # Errors
    /// A value, uncertainty or interval that is not finite, which JSON would turn into null.
    pub fn to_json(&self) -> Result<String, FindingsError> {
        self.refuse_infinite()?;
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    fn refuse_infinite(&self) -> Result<(), FindingsError> {
        finite_quantity("clip duration", &self.clip.duration)?;
        self.estimates.iter().try_for_each(finite_estimate)?;
        for pair in &self.correlations {
            finite(
                &format!("correlation of {} and {}", pair.between[0], pair.between[1]),
                pair.value,
            )?;
        }
        for mode in &self.modes {
            let name = format!("mode {} of body {}", mode.degree, mode.body);
            finite_quantity(&format!("frequency of {name}"), &mode.frequency)?;
            finite_quantity(&format!("decay rate of {name}"), &mode.decay_rate)?;
            finite_quantity(&format!("amplitude of {name}"), &mode.amplitude)?;
            finite(&format!("quality of {name}"), mode.quality.unwrap_or(0.0))?;
            finite(&format!("cycles of {name}"), mode.cycles.unwrap_or(0.0))?;
        }
        self.events
            .iter()
            .try_for_each(|event| finite_quantity(&event.name, &event.time))
    }
}

fn finite(what: &str, value: f64) -> Result<(), FindingsError> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(FindingsError::NotFinite {
            what: what.to_owned(),
        })
    }
}

fn finite_quantity(what: &str, quantity: &Quantity) -> Result<(), FindingsError> {
    finite(what, quantity.value)?;
    finite(what, quantity.standard_uncertainty.unwrap_or(0.0))
}

fn finite_estimate(estimate: &Estimate) -> Result<(), FindingsError> {
    let what = &estimate.quantity;
    let reference = estimate
        .reference
        .iter()
        .flat_map(|r| [r.value, r.standard_uncertainty.unwrap_or(0.0)]);
    let budget = estimate
        .budget
        .iter()
        .flat_map(|b| [b.standard_uncertainty, b.sensitivity, b.share]);
    let own = [
        estimate.value,
        estimate.standard_uncertainty,
        estimate.interval_95[0],
        estimate.interval_95[1],
    ];
    let optional = [estimate.degrees_of_freedom, estimate.normalised_deviation]
        .into_iter()
        .flatten();
    let trials = estimate.coverage.iter().filter_map(|c| c.trials.as_ref());
    let trials = trials.flat_map(|t| {
        let [[low, high], [from, to]] = [t.interval_95, t.linear_interval_95];
        [t.mean, t.standard_deviation, t.tolerance, low, high, from, to]
    });
    own.into_iter()
        .chain(optional)
        .chain(reference)
        .chain(budget)
        .chain(trials)
        .try_for_each(|value| finite(what, value))
}

#[cfg(test)]
mod tests;
