//! `fit`: the model of `simulate` adjusted to the outlines of a measured run; what it finds goes beside what free decay said.
//!
//! Reads the tables that measuring wrote, begins at their linear estimates, and adds estimates, cautions and tables (names that begin with
//! `fit`) to the run. Every body that was free and gave amplitudes is fitted; one that cannot be says why.

pub mod given;
pub mod kept;
pub mod model;
pub mod shown;
pub mod told;

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use tremolet_infer::fit::followed::followed;
use tremolet_infer::fit::{FitError, fit as search};
use tremolet_record::clock::utc;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_record::folder::remake_findings;
use tremolet_record::series::ModeSeries;

use crate::error::StudyError;
use crate::fit::given::{given, lacking, series};
use crate::fit::told::{Body, Trouble};
use crate::look::Progress;
use crate::recorded;
use crate::tables::keep_in;
use crate::write::stamp;

/// What is asked for.
pub struct Request<'a> {
    /// The folder of a measured run.
    pub run: &'a Path,
    /// The command, word by word, for the provenance.
    pub command: Vec<String>,
}

/// Fits and writes into the run; returns where its report lies. Findings that are replaced go to the history of the run. `progress` is told how
/// many motions have been tried; how many it will take is not known before.
///
/// # Errors
/// When the run lacks a table, a scale, or anything that rings; when the model can follow no body; when `progress` asks to stop. The run is then
/// as it was.
pub fn fit(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<PathBuf, StudyError> {
    let (run, started) = (request.run, SystemTime::now());
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let mut findings = recorded::findings(run)?;
    let (bodies, troubles) = bodies(run, &experiment, &findings, progress)?;
    told::into(&mut findings, &bodies, &troubles);
    for table in kept::tables(&bodies) {
        keep_in(run, &table)?;
    }
    let mut provenance = recorded::provenance(run)?;
    provenance.set("fit", request.command.join(" "));
    provenance.set("fit_begun", utc(started));
    let (new, origin) = (findings.to_json(), provenance.to_json());
    let new = new.map_err(|why| failed("findings.json", &why))?;
    let origin = origin.map_err(|why| failed("provenance.json", &why))?;
    remake_findings(run, new.as_bytes(), origin.as_bytes(), &stamp())?;
    recorded::remake(run)
}

/// All bodies that can be fitted, and what keeps the others from it; the first trouble when there is none to fit.
fn bodies(
    run: &Path,
    experiment: &Experiment,
    findings: &Findings,
    progress: &mut Progress<'_>,
) -> Result<(Vec<Body>, Vec<Trouble>), StudyError> {
    let (mut bodies, mut troubles) = (Vec::new(), Vec::new());
    let mut before = 0;
    let all = series(run)?;
    for series in &all {
        let mut tried = 0;
        let mut watch = |count: u64| {
            tried = count;
            progress(before + count, None)
        };
        let found = one(run, experiment, findings, series, &mut watch);
        before += tried;
        match found {
            Ok(body) => bodies.push(body),
            // A run of one body has nothing else to give.
            Err(why @ StudyError::Asked { .. }) if all.len() > 1 => troubles.push((series.body, why)),
            Err(why) => return Err(why),
        }
    }
    match troubles.pop() {
        Some((_, why)) if bodies.is_empty() => Err(why),
        last => {
            troubles.extend(last);
            Ok((bodies, troubles))
        }
    }
}

fn one(
    run: &Path,
    experiment: &Experiment,
    findings: &Findings,
    series: &ModeSeries,
    watch: &mut dyn FnMut(u64) -> std::ops::ControlFlow<()>,
) -> Result<Body, StudyError> {
    let given = given(run, experiment, findings, series)?;
    let fitted = search(&given.outlines, &given.begin, &given.model, watch).map_err(|why| match why {
        FitError::Stopped => StudyError::Stopped,
        other => lacking(&other.to_string()),
    })?;
    let followed = followed(&given.outlines, &fitted.at, &given.model);
    Ok(Body {
        number: series.body,
        given,
        fitted,
        followed,
    })
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}

#[cfg(test)]
mod tests;
