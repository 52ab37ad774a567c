//! `simulate`: an experiment file in, the motion of its drop out, as a run folder like that of a measurement.
//!
//! The amplitudes go through the same door as measured ones: ring-down, properties, findings, report. A run that is stopped, or that the
//! solver ends early, is kept with what it has, the reason as a caution and a checkpoint to go on from.

pub mod given;
pub mod kept;
pub mod seen;

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use tremolet_infer::known::known;
use tremolet_infer::ringdown::{Options, analyse};
use tremolet_plan::given::Given;
use tremolet_record::crate_metadata;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Caution, ClipSummary, Findings};
use tremolet_record::folder::RunFolder;
use tremolet_record::provenance::Provenance;
use tremolet_simulate::run::{Course, Progress as Step, Run, begin, run};
use tremolet_simulate::stop::Stop;

use crate::body::{BodyFound, properties};
use crate::error::StudyError;
use crate::look::Progress;
use crate::measure::{correlations, source};
use crate::recorded;
use crate::simulate::given::{Body, body};
use crate::simulate::kept::Unfinished;
use crate::tables::{self, told};
use crate::wording;
use crate::write::{metadata, stamp};
use tremolet_report::input::Row;

/// What is asked for.
pub struct Request<'a> {
    /// The experiment file.
    pub file: &'a Path,
    /// The run folder, when given; beside the experiment file otherwise.
    pub out: Option<&'a Path>,
    /// Whether a folder that is there is moved aside.
    pub replace: bool,
    /// A run that was stopped, to go on from.
    pub resume: Option<&'a Path>,
    /// The command, word by word, for the provenance.
    pub command: Vec<String>,
}

/// Simulates and writes the run folder; returns where it lies.
///
/// # Errors
/// What is wrong or lacking in the file; what the solver refuses; a folder that cannot be read or written. Nothing is left half-written.
pub fn simulate(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<PathBuf, StudyError> {
    let started = SystemTime::now();
    let experiment = Experiment::read(request.file)?;
    let given = Given::new(&experiment)?;
    let mut body = body(&given)?;
    let before = request.resume.map(kept::read).transpose()?;
    let out = request
        .out
        .map_or_else(|| beside(request.file), Path::to_path_buf);
    let folder = RunFolder::begin(&out, request.replace)?;
    let done = solved(&mut body, before, progress)?;
    let found = found(&given, &body, &done);
    let findings = findings(&given, &found, &done);
    let text = experiment.text_moved_to(&out);
    folder.write("experiment.toml", text.as_bytes())?;
    let json = findings.to_json().map_err(|why| failed("findings.json", &why))?;
    folder.write("findings.json", json.as_bytes())?;
    seen::write(&folder, &body, &done, &given)?;
    tables::fitted(&folder, std::slice::from_ref(&found))?;
    tables::keep(&folder, &told::facts(&facts(&given, &body, &done)))?;
    tables::keep(&folder, &told::instants(&[]))?;
    if !done.stop.is_end() {
        kept::write(&folder, &done)?;
    }
    let provenance = provenance(request, &body, &done, started)?;
    let json = provenance
        .to_json()
        .map_err(|why| failed("provenance.json", &why))?;
    folder.write("provenance.json", json.as_bytes())?;
    for (name, content) in recorded::report(folder.path())? {
        folder.write(&name, content.as_bytes())?;
    }
    let text = metadata(folder.path(), experiment.title.as_deref(), &provenance)?;
    folder.write(crate_metadata::NAME, text.as_bytes())?;
    Ok(folder.finish(&stamp())?)
}

fn beside(file: &Path) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-simulated-{}", stamp()))
}

/// Runs the solver from the start or from where another run stands, whose samples come first.
fn solved(
    body: &mut Body,
    before: Option<Unfinished>,
    progress: &mut Progress<'_>,
) -> Result<Run, StudyError> {
    let course = Course::along(body.times.clone());
    let all = body.times.len() as u64;
    let (from, mut samples) = match before {
        Some(before) => (before.checkpoint, before.samples),
        None => (begin(&mut body.solver), Vec::new()),
    };
    let mut done = samples.len() as u64;
    let mut on = |p: Step<'_>| {
        done += u64::from(p.sample.is_some());
        progress(done.min(all), Some(all)) == ControlFlow::Continue(())
    };
    let Some(mut found) = run(&mut body.solver, &from, &course, &mut on) else {
        let what = "--resume".into();
        let why = "that run was not simulated from this experiment with these settings; simulate anew".into();
        return Err(StudyError::Asked { what, why });
    };
    // An instant on which the other run ended is told by both.
    samples.retain(|old| found.samples.first().is_none_or(|new| old.time < new.time));
    samples.append(&mut found.samples);
    found.samples = samples;
    Ok(found)
}

/// What the amplitudes say, found as those of a clip are.
fn found(given: &Given<'_>, body: &Body, done: &Run) -> BodyFound {
    let series = seen::series(body, done);
    let ringdown = analyse(&series, &Options::default());
    let mut cautions: Vec<Caution> = ringdown
        .cautions
        .iter()
        .map(|c| wording::caution(c.code, &c.text, c.frames.map(|[first, last]| (first, last))))
        .collect();
    let mut estimates = Vec::new();
    if !ringdown.sure().is_empty() {
        let known = known(given.experiment, &given.materials, given.radius.clone());
        let properties = properties(&ringdown, &known, &mut cautions);
        estimates.extend(properties.estimates);
        let told = properties.cautions.iter();
        cautions.extend(told.map(|c| wording::caution(c.code, &c.text, None)));
    }
    BodyFound {
        body: 1,
        series,
        ringdown,
        radius: given.radius.clone(),
        estimates,
        cautions,
    }
}

fn findings(given: &Given<'_>, found: &BodyFound, done: &Run) -> Findings {
    let last = done.samples.last().map_or(0.0, |sample| sample.time);
    let mut findings = Findings::of_clip(ClipSummary {
        frames: done.samples.len() as u64,
        duration: wording::exact(last, "s"),
        sha256: None,
    });
    let estimates = found.estimates.iter();
    let materials = Some(&given.materials);
    findings.estimates.extend(
        estimates.map(|e| wording::estimate(found.body, e, e.quantity, &source(e.quantity, materials))),
    );
    let modes = found.ringdown.modes.iter();
    findings
        .modes
        .extend(modes.map(|mode| wording::mode(found.body, mode)));
    findings.correlations = correlations(found);
    findings.cautions.clone_from(&found.cautions);
    findings
        .cautions
        .extend(given.experiment.cautions.iter().cloned());
    findings.cautions.extend(ended_early(done));
    findings
}

fn ended_early(done: &Run) -> Option<Caution> {
    let text = match &done.stop {
        Stop::End => return None,
        stop @ Stop::Cancelled { .. } => format!(
            "the simulation was {stop}; what it had is kept, and simulate --resume with this folder goes on from there"
        ),
        stop => format!("the simulation {stop}; what it had until then is kept"),
    };
    Some(wording::caution("simulation_ended_early", &text, None))
}

fn facts(given: &Given<'_>, body: &Body, done: &Run) -> Vec<told::Fact> {
    let last = done.samples.last().map_or(0.0, |sample| sample.time);
    let summary = format!(
        "The motion of the drop was computed, not filmed: {} instants over {last:.3} s from the experiment file, in {} steps. The solver {}.",
        done.samples.len(),
        done.effort.steps,
        done.stop
    );
    let mut facts = vec![(told::SUMMARY, Row::new("", summary))];
    let rows = body.rows.iter().cloned();
    facts.extend(rows.map(|row| (told::EXPERIMENT, row)));
    let assumed = given.assumptions.iter().chain(&body.assumptions);
    facts.extend(assumed.map(|text| (told::ASSUMPTION, Row::new("", text.clone()))));
    facts
}

fn provenance(
    request: &Request<'_>,
    body: &Body,
    done: &Run,
    started: SystemTime,
) -> Result<Provenance, StudyError> {
    let mut provenance = Provenance::begin(&request.command, started);
    provenance.add_input("experiment", request.file)?;
    provenance.set("solver", done.checkpoint.solver.clone());
    provenance.set("highest_degree", body.settings.highest);
    provenance.set("step_error", body.settings.step_error);
    provenance.set("steps", done.effort.steps);
    provenance.finish(SystemTime::now());
    Ok(provenance)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}
