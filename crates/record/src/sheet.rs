//! The plan sheet as data: what a run is expected to do, as `plan.json` holds it (format 1).
//!
//! Numbers are SI and carry their unit; `text` is the same for a person. A quantity that cannot be said has no number and `why`
//! says what is missing. The published schema is `docs/sheet.schema.json`. Nothing is computed here, nothing drawn.

use serde::{Deserialize, Serialize};

use crate::findings::Caution;

/// The format that this program writes.
pub const FORMAT: u32 = 1;

/// How far a thing can be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// As it should be.
    Good,
    /// It may fail or be poor.
    Marginal,
    /// It cannot work.
    Impossible,
}

/// One expectation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Name, lower_snake.
    pub key: String,
    /// In words.
    pub quantity: String,
    /// Value, in `unit`; the middle of a range.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Standard uncertainty from what the file states and the properties of the liquid, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<f64>,
    /// Least and greatest value where authors or models differ, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<[f64; 2]>,
    /// SI unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// The value for a person, with its unit.
    pub text: String,
    /// The input with the largest share of the uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mostly: Option<String>,
    /// The formula.
    pub formula: String,
    /// Its source.
    pub source: String,
    /// Whether the formula holds for this run.
    pub holds: bool,
    /// Why it does not, or why there is no number.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
    /// Whether that is good enough, where it matters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<Mark>,
}

/// Expectations that belong together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Heading.
    pub title: String,
    /// The rows.
    pub rows: Vec<Row>,
}

/// Something that breaks the plan, with the number that breaks and the nearest that works.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alarm {
    /// Name, lower_snake.
    pub code: String,
    /// What breaks, at which number, and the nearest that works.
    pub text: String,
}

/// An instant or a span on the time strip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// When, s after the beginning (release, puff, parting from the nozzle, mixing).
    pub time: f64,
    /// End of a span, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<f64>,
    /// What.
    pub text: String,
}

/// The body at one instant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shape {
    /// When, s.
    pub time: f64,
    /// What instant it is.
    pub label: String,
    /// The outline in a plane through the axis, `[across, along]`, m; closed. Several where there are several surfaces.
    pub outlines: Vec<Vec<[f64; 2]>>,
}

/// A quantity against time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Curve {
    /// What, in words.
    pub name: String,
    /// Name of the axis it belongs to, with unit.
    pub axis: String,
    /// Points `[time (s), value]`.
    pub points: Vec<[f64; 2]>,
}

/// Height of the surface against angle and time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WaveMap {
    /// Times, s.
    pub times: Vec<f64>,
    /// Angles from the axis, rad.
    pub angles: Vec<f64>,
    /// Heights, m; one row for each time.
    pub heights: Vec<Vec<f64>>,
}

/// One line of the procedure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// When, for a person: `T-10 min`.
    pub when: String,
    /// What to do.
    pub what: String,
}

/// A value that was taken in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// What.
    pub name: String,
    /// Its value with unit.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// Format of this record.
    pub format: u32,
    /// The experiment file.
    pub file: String,
    /// Title of the experiment.
    pub title: String,
    /// Kind of run.
    pub kind: String,
    /// What breaks the plan.
    pub alarms: Vec<Alarm>,
    /// What was taken in.
    pub given: Vec<Entry>,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
    /// What to expect.
    pub groups: Vec<Group>,
    /// The time strip.
    pub moments: Vec<Moment>,
    /// Shapes at telling instants.
    pub shapes: Vec<Shape>,
    /// Courses in time.
    pub curves: Vec<Curve>,
    /// Waves on the surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waves: Option<WaveMap>,
    /// What to do, in order.
    pub procedure: Vec<Step>,
    /// What can go wrong or hurt.
    pub cautions: Vec<Caution>,
}

impl Sheet {
    /// The row with this key, if there is one.
    pub fn row(&self, key: &str) -> Option<&Row> {
        self.groups
            .iter()
            .flat_map(|group| &group.rows)
            .find(|row| row.key == key)
    }
}
