//! `simulate`: an experiment file in, the motion of its liquid out, as a run folder like that of a measurement.
//!
//! ```text
//! experiment -> problem (by kind) -> method (which solver) -> run -> bodies -> found, seen -> run folder
//! ```
//! The amplitudes go through the same door as measured ones: ring-down, properties, findings, report. A run that is stopped, or that the
//! solver ends early, is kept with what it has, the reason as a caution and a checkpoint to go on from. A shape that leaves the range of the modal solver is
//! solved anew by the other one, unless a solver was asked for.

pub mod bodies;
pub mod found;
pub mod kept;
pub mod method;
pub mod pictured;
pub mod problem;
pub mod seen;

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::Given;
use tremolet_record::crate_metadata;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::folder::RunFolder;
use tremolet_record::provenance::Provenance;
use tremolet_simulate::run::{Course, Progress as Step, Run, begin, run};
use tremolet_simulate::stop::Stop;

use crate::error::StudyError;
use crate::look::Progress;
use crate::recorded;
use crate::simulate::found::VOLUME_DRIFT;
use crate::simulate::kept::Unfinished;
use crate::simulate::method::{Chosen, Method, choose, instead};
use crate::simulate::problem::{Problem, problem};
use crate::tables::{self, told};
use crate::write::{metadata, stamp};

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
    let mut problem = problem(&given)?;
    let times = instants(&given, &mut problem);
    let chosen = choose(&given, &problem)?;
    let before = request.resume.map(kept::read).transpose()?;
    let out = request
        .out
        .map_or_else(|| beside(request.file), Path::to_path_buf);
    let folder = RunFolder::begin(&out, request.replace)?;
    let solved = solved(&given, &problem, chosen, (&times, before), progress)?;
    let text = experiment.text_moved_to(&out);
    folder.write("experiment.toml", text.as_bytes())?;
    told(&folder, &given, &problem, &solved)?;
    let provenance = provenance(request, &solved, started)?;
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

/// Instants in a swing when no capture rate is stated.
const INSTANTS: f64 = 60.0;

/// The frames of the camera, or sixty instants a swing, for as long as is asked or as there is something to see.
fn instants(given: &Given<'_>, problem: &mut Problem) -> Vec<f64> {
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    let camera = given.experiment.camera.as_ref();
    let stated = value(camera.and_then(|c| c.capture_rate.as_ref()));
    let rate_fps = stated.unwrap_or(INSTANTS / problem.swing);
    let asked = value(
        given
            .experiment
            .simulation
            .as_ref()
            .and_then(|s| s.until.as_ref()),
    );
    let until = asked.unwrap_or_else(|| {
        let available = value(given.time.as_ref()).unwrap_or(f64::INFINITY);
        let until = available.min(problem.lasts);
        problem.assumptions.push(format!(
            "computed over {until:.3} s, the shorter of the available time and {}",
            if problem.star.is_ok() || problem.bubble.is_some() {
                format!("{} swings of degree 2", problem::SWINGS)
            } else {
                "twice the time in which theory has it part or draw in".into()
            }
        ));
        until
    });
    if stated.is_none() {
        problem.assumptions.push(format!(
            "no capture rate is stated: told at {rate_fps:.1} instants per second"
        ));
    }
    // The last instant is there whatever the rounding of a product.
    (0..=(until * rate_fps * (1.0 + 1e-12)).floor() as u64)
        .map(|k| k as f64 / rate_fps)
        .collect()
}

/// What came of it.
struct Solved {
    done: Run,
    method: Method,
    why: String,
}

/// Runs the solver from the start or from where another run stands, whose samples come first.
fn solved(
    given: &Given<'_>,
    problem: &Problem,
    chosen: Chosen,
    (times, before): (&[f64], Option<Unfinished>),
    progress: &mut Progress<'_>,
) -> Result<Solved, StudyError> {
    let Chosen {
        mut method,
        mut why,
        is_free,
    } = chosen;
    // The run that is to go on may have changed its solver.
    if is_free
        && before
            .as_ref()
            .is_some_and(|b| b.checkpoint.solver != method.solver().name())
    {
        method = instead(given, problem)?;
        why = "the boundary solver, as in the run that goes on".into();
    }
    let mut done = along(&mut method, times, before, progress)?;
    let left = matches!(done.stop, Stop::OutOfRange { .. } | Stop::LostAccuracy { .. });
    if left && is_free && method.is_modal() {
        why = format!("the boundary solver: the modal one {}", done.stop);
        method = instead(given, problem)?;
        done = along(&mut method, times, None, progress)?;
    }
    Ok(Solved { done, method, why })
}

fn along(
    method: &mut Method,
    times: &[f64],
    before: Option<Unfinished>,
    progress: &mut Progress<'_>,
) -> Result<Run, StudyError> {
    let mut course = Course::along(times.to_vec());
    if !method.is_modal() {
        course.volume_drift = VOLUME_DRIFT;
    }
    let all = times.len() as u64;
    let (from, mut samples) = match before {
        Some(before) => (before.checkpoint, before.samples),
        None => (begin(method.solver()), Vec::new()),
    };
    let mut done = samples.len() as u64;
    let mut on = |p: Step<'_>| {
        done += u64::from(p.sample.is_some());
        progress(done.min(all), Some(all)) == ControlFlow::Continue(())
    };
    let Some(mut found) = run(method.solver(), &from, &course, &mut on) else {
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

/// Writes everything that the run says.
fn told(folder: &RunFolder, given: &Given<'_>, problem: &Problem, solved: &Solved) -> Result<(), StudyError> {
    let Solved { done, why, .. } = solved;
    let bodies = bodies::bodies(done);
    let found = found::of_bodies(given, problem, &bodies);
    let findings = found::findings(given, &found, done);
    let json = findings.to_json().map_err(|why| failed("findings.json", &why))?;
    folder.write("findings.json", json.as_bytes())?;
    seen::write(folder, &bodies, done, (given, problem))?;
    tables::fitted(folder, &found)?;
    let facts = found::facts(given, problem, &bodies, (done, why));
    tables::keep(folder, &told::facts(&facts))?;
    let pictures = pictured::pictures(folder, &bodies, done)?;
    tables::keep(folder, &told::instants(&pictures))?;
    if !done.stop.is_end() {
        kept::write(folder, done)?;
    }
    Ok(())
}

fn provenance(request: &Request<'_>, solved: &Solved, started: SystemTime) -> Result<Provenance, StudyError> {
    let mut provenance = Provenance::begin(&request.command, started);
    provenance.add_input("experiment", request.file)?;
    provenance.set("solver", solved.done.checkpoint.solver.clone());
    provenance.set("solver_because", solved.why.clone());
    solved.method.told(&mut provenance);
    provenance.set("steps", solved.done.effort.steps);
    provenance.finish(SystemTime::now());
    Ok(provenance)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}
