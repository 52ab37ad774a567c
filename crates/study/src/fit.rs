//! `fit`: the model of `simulate` adjusted to the outlines of a measured run; what it finds goes beside what free decay said.
//!
//! Reads the tables that measuring wrote, begins at their linear estimates, and adds estimates, cautions and three tables to the
//! run: `fit` (frame by frame), `fit-residuals` (round the outline) and `fit-unknowns`. The first body is fitted.

pub mod given;
pub mod model;
pub mod told;

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use tremolet_infer::fit::fit as search;
use tremolet_record::clock::utc;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::folder::remake_findings;

use crate::error::StudyError;
use crate::fit::given::given;
use crate::recorded;
use crate::tables::keep_in;
use crate::write::stamp;

/// Fits and writes into the run; returns where its report lies. Findings that are replaced go to the history of the run.
///
/// # Errors
/// When the run lacks a table, a scale, or anything that rings; when the model cannot follow its motion.
pub fn fit(run: &Path, command: &[String]) -> Result<PathBuf, StudyError> {
    let started = SystemTime::now();
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let mut findings = recorded::findings(run)?;
    let given = given(run, &experiment, &findings)?;
    let fitted = search(&given.outlines, &given.begin, &given.model).map_err(|why| StudyError::Asked {
        what: "fit".into(),
        why: why.to_string(),
    })?;
    told::into(&mut findings, &given, &fitted);
    for table in told::tables(&given, &fitted) {
        keep_in(run, &table)?;
    }
    let mut provenance = recorded::provenance(run)?;
    provenance.set("fit", command.join(" "));
    provenance.set("fit_begun", utc(started));
    let (new, origin) = (findings.to_json(), provenance.to_json());
    let new = new.map_err(|why| failed("findings.json", &why))?;
    let origin = origin.map_err(|why| failed("provenance.json", &why))?;
    remake_findings(run, new.as_bytes(), origin.as_bytes(), &stamp())?;
    recorded::remake(run)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}
