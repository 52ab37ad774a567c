//! `compare`: several runs beside each other; what repeats, what differs, what they share.
//!
//! Reads run folders, asks [`tremolet_infer::among`] for each quantity of each liquid, and says what clouds the answer. Holds no physics.

use std::collections::BTreeSet;
use std::path::PathBuf;

use tremolet_record::catalogue::file::Filter;
use tremolet_record::comparison::{Comparison, FORMAT};
use tremolet_report::compare::scaling::Course;

use crate::catalogue;
use crate::error::StudyError;

pub mod liquid;
pub mod quantity;
pub mod run;
pub mod said;
pub mod scaled;
pub mod shared;
pub mod write;

/// Runs beside each other.
pub struct Beside {
    /// What was found.
    pub comparison: Comparison,
    /// Courses of the amplitudes, to be drawn over each other.
    pub courses: Vec<Course>,
}

/// Lays the runs of these paths beside each other: a run folder stands for itself, any other folder for the whole runs below it that the filter
/// chooses.
///
/// # Errors
/// Fewer than two runs; a path that is no folder; a run that holds a damaged file.
pub fn chosen(paths: &[PathBuf], filter: &Filter) -> Result<Beside, StudyError> {
    let (folders, left_out) = catalogue::chosen(paths, filter)?;
    let mut beside = compare(&folders)?;
    beside.comparison.cautions.extend(left_out);
    Ok(beside)
}

/// Lays runs beside each other.
///
/// # Errors
/// Fewer than two runs; a folder that is no run or holds a damaged file.
pub fn compare(folders: &[PathBuf]) -> Result<Beside, StudyError> {
    let mut seen = BTreeSet::new();
    let mut folders = folders.to_vec();
    // A run that is named twice is one run.
    folders.retain(|folder| seen.insert(folder.canonicalize().unwrap_or_else(|_| folder.clone())));
    if folders.len() < 2 {
        return Err(StudyError::Asked {
            what: format!("{} to compare", if folders.is_empty() { "no run" } else { "one run" }),
            why: "give two run folders or more, or a folder that holds them; `tremolet runs` lists what is there".into(),
        });
    }
    let runs = run::read(&folders)?;
    let mut cautions = shared::cautions(&runs);
    let liquids = liquid::liquids(&runs);
    let quantities = quantity::quantities(&runs, &liquids, &mut cautions)?;
    let scaling = scaled::modes(&runs, &liquids);
    let courses = scaled::courses(&runs, &scaling)?;
    let comparison = Comparison {
        format: FORMAT,
        runs: runs.iter().map(run::Run::row).collect(),
        quantities,
        scaling,
        cautions,
    };
    Ok(Beside { comparison, courses })
}

/// The comparison as JSON, SI units.
///
/// # Errors
/// When a number has no form in JSON; no case is known.
pub fn json(comparison: &Comparison) -> Result<String, StudyError> {
    serde_json::to_string_pretty(comparison).map_err(|why| StudyError::Write {
        what: "the comparison as JSON",
        why: why.to_string(),
    })
}

#[cfg(test)]
mod tests;
