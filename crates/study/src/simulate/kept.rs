//! A simulation that did not reach its end, kept so that another can go on from it: `unfinished.json` in the run folder.

use std::path::Path;

use serde::{Deserialize, Serialize};
use tremolet_record::folder::RunFolder;
use tremolet_record::store::read_text;
use tremolet_simulate::checkpoint::Checkpoint;
use tremolet_simulate::run::Run;
use tremolet_simulate::sample::Sample;

use crate::error::StudyError;

const NAME: &str = "unfinished.json";

/// Where a run stands and what it has told.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unfinished {
    /// Where it stands.
    pub checkpoint: Checkpoint,
    /// What it has told.
    pub samples: Vec<Sample>,
}

/// Writes it.
///
/// # Errors
/// When the file cannot be written.
pub fn write(folder: &RunFolder, done: &Run) -> Result<(), StudyError> {
    let unfinished = Unfinished {
        checkpoint: done.checkpoint.clone(),
        samples: done.samples.clone(),
    };
    let text = serde_json::to_string(&unfinished).map_err(|why| StudyError::Write {
        what: NAME,
        why: why.to_string(),
    })?;
    Ok(folder.write(NAME, text.as_bytes())?)
}

/// Whether a run was kept before its end.
pub fn is_unfinished(run: &Path) -> bool {
    run.join(NAME).is_file()
}

/// Reads it from a run folder.
///
/// # Errors
/// When the run reached its end, was not simulated, or the file is damaged.
pub fn read(run: &Path) -> Result<Unfinished, StudyError> {
    let damaged = |why: &dyn std::fmt::Display| StudyError::Run {
        file: NAME.into(),
        why: why.to_string(),
    };
    let text = read_text(&run.join(NAME)).map_err(|why| damaged(&why))?;
    serde_json::from_str(&text).map_err(|why| damaged(&why))
}
