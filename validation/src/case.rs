//! A case: a question, and the rows that answer it.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::bench::Bench;

/// One question put to the program.
#[derive(Clone, Copy)]
pub struct Case {
    /// Short name, also of its file.
    pub name: &'static str,
    /// What is asked, as a heading.
    pub question: &'static str,
    /// What was done, for the reader of the table.
    pub method: &'static str,
    /// Raised whenever the case changes, so that kept results are not mixed.
    pub version: u32,
    /// Does it.
    pub run: fn(&Bench) -> Result<Outcome, Failure>,
}

/// What a case found.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Outcome {
    /// The rows of its table.
    pub rows: Vec<Row>,
    /// What a reader should know besides.
    pub notes: Vec<String>,
}

/// One thing measured.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Row {
    /// On which clip.
    pub clip: String,
    /// What.
    pub what: String,
    /// The figure found.
    pub found: String,
    /// What it must keep to; empty when it is only told.
    pub bound: String,
    /// Whether it kept to it.
    pub held: bool,
}

impl Outcome {
    /// Whether every bound held and there was at least one.
    pub fn held(&self) -> bool {
        self.rows.iter().all(|row| row.held) && self.rows.iter().any(|row| !row.bound.is_empty())
    }

    /// Adds a figure whose size must not pass `bound`; a figure that is not a number fails.
    pub fn within(&mut self, clip: &str, what: &str, figure: Option<f64>, bound: f64, unit: &str) {
        let held = figure.is_some_and(|figure| figure.abs() <= bound);
        let found = figure.map_or("absent".into(), |figure| format!("{}{unit}", signed(figure)));
        let bound = format!("within {bound}{unit}");
        self.rows.push(Row {
            clip: clip.into(),
            what: what.into(),
            found,
            bound,
            held,
        });
    }

    /// Adds a yes-or-no finding.
    pub fn must(&mut self, clip: &str, what: &str, found: String, bound: &str, held: bool) {
        self.rows.push(Row {
            clip: clip.into(),
            what: what.into(),
            found,
            bound: bound.into(),
            held,
        });
    }

    /// Adds a figure that is only told.
    pub fn tell(&mut self, clip: &str, what: &str, found: String) {
        self.rows.push(Row {
            clip: clip.into(),
            what: what.into(),
            found,
            bound: String::new(),
            held: true,
        });
    }
}

/// Three figures with a sign.
fn signed(figure: f64) -> String {
    if figure == 0.0 {
        return "0".into();
    }
    let digits = (2 - figure.abs().log10().floor() as i32).clamp(0, 9) as usize;
    format!("{figure:+.digits$}")
}

/// Why a case could not be run at all.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A file or folder.
    #[error("{}: {cause}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// What the system said.
        cause: std::io::Error,
    },
    /// Another program that did not do its part.
    #[error("{program} ended with {status}: {said}")]
    Program {
        /// Which.
        program: String,
        /// How it ended.
        status: String,
        /// Its last words.
        said: String,
    },
    /// A program that is not there.
    #[error("{program} cannot be started ({cause}); {advice}")]
    Absent {
        /// Which.
        program: String,
        /// What the system said.
        cause: std::io::Error,
        /// What to do.
        advice: &'static str,
    },
    /// A file that does not say what it must.
    #[error("{what} cannot be read: {cause}")]
    Text {
        /// Which.
        what: String,
        /// Why.
        cause: String,
    },
    /// The program under test refused to measure.
    #[error("not measured: {0}")]
    Refused(String),
    /// A recipe that cannot be painted.
    #[error(transparent)]
    Paint(#[from] tremolet_clip::painted::painter::PaintError),
    /// A clip that could not be written.
    #[error(transparent)]
    Clip(#[from] tremolet_clip::error::ClipError),
    /// A mode that theory does not give.
    #[error(transparent)]
    Mode(#[from] tremolet_theory::modes::error::ModeError),
}

impl Failure {
    /// For a file or folder.
    pub fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |cause| Self::File { path, cause }
    }
}
