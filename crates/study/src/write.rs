//! Fills a run folder: the experiment as used, findings, tables, pictures, provenance, report.

use std::path::Path;
use std::time::SystemTime;

use tremolet_record::clock::utc_in_names;
use tremolet_record::crate_metadata::{self, About, crate_metadata};
use tremolet_record::folder::RunFolder;
use tremolet_record::provenance::Provenance;
use tremolet_report::input::Row;

use crate::document;
use crate::error::StudyError;
use crate::film::film;
use crate::look::Progress;
use crate::measure::{Found, Request};
use crate::recorded;
use crate::tables::{self, logged, told};

/// Everything that goes into a folder.
pub struct Whole<'a> {
    /// What was asked for.
    pub request: &'a Request<'a>,
    /// What was found.
    pub found: &'a Found,
    /// When the work began.
    pub started: SystemTime,
}

/// The time now, for a name.
pub fn stamp() -> String {
    utc_in_names(SystemTime::now())
}

/// Writes every file but the report and what lists them; returns the provenance.
///
/// # Errors
/// When the clip cannot be read a second time, a file cannot be written, or `progress` asked to stop.
pub fn fill(
    folder: &RunFolder,
    whole: &Whole<'_>,
    progress: &mut Progress<'_>,
) -> Result<Provenance, StudyError> {
    let request = whole.request;
    let moved = request.experiment.text_seen_from(&request.out, &request.clip);
    folder.write("experiment.toml", moved.as_bytes())?;
    let json = whole.found.findings.to_json();
    let json = json.map_err(|why| failed("findings.json", &why))?;
    folder.write("findings.json", json.as_bytes())?;
    let free_from = whole.request.experiment.free_from();
    tables::write(folder, &whole.found.seen, &whole.found.bodies, free_from)?;
    if let Some(table) = whole.found.logged.as_ref().and_then(logged::courses) {
        tables::keep(folder, &table)?;
    }
    tables::keep(folder, &told::facts(&facts(whole)))?;
    if !request.truth.is_empty() {
        tables::keep(folder, &told::truths(&request.truth))?;
    }
    let instants = film(folder, whole, progress)?;
    tables::keep(folder, &told::instants(&instants))?;
    let provenance = provenance(whole)?;
    let json = provenance.to_json();
    let json = json.map_err(|why| failed("provenance.json", &why))?;
    folder.write("provenance.json", json.as_bytes())?;
    Ok(provenance)
}

/// Writes the report and the crate metadata, from the files written before, as `report` remakes it.
///
/// # Errors
/// When a file cannot be read or written.
pub fn report(folder: &RunFolder, title: Option<&str>, provenance: &Provenance) -> Result<(), StudyError> {
    for (name, content) in recorded::report(folder.path())? {
        folder.write(&name, content.as_bytes())?;
    }
    let metadata = metadata(folder.path(), title, provenance)?;
    Ok(folder.write(crate_metadata::NAME, metadata.as_bytes())?)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}

/// The crate metadata, which lists every file of the folder.
///
/// # Errors
/// When the folder cannot be read.
pub fn metadata(run: &Path, title: Option<&str>, provenance: &Provenance) -> Result<String, StudyError> {
    let about = About {
        title: title.unwrap_or("A run"),
        description: "What was measured in a clip of a free liquid body.",
        license: None,
    };
    Ok(crate_metadata(run, about, provenance)?)
}

fn provenance(whole: &Whole<'_>) -> Result<Provenance, StudyError> {
    let request = whole.request;
    let mut provenance = Provenance::begin(&request.command, whole.started);
    provenance.add_input("clip", &request.clip)?;
    if let Some(times) = request
        .experiment
        .clip
        .as_ref()
        .and_then(|clip| clip.times.as_ref())
    {
        provenance.add_input("times", &request.experiment.path_of(times))?;
    }
    if let Some(log) = request.experiment.log.as_ref().filter(|log| log.has_axes()) {
        provenance.add_input("log", &request.experiment.path_of(&log.path))?;
    }
    let file = Path::new(&request.experiment.file);
    if file.is_file() {
        provenance.add_input("experiment", file)?;
    }
    provenance.set("overlay", request.overlay);
    provenance.set("threads", request.threads);
    provenance.set("decoder", whole.found.seen.info.decoder.clone());
    provenance.finish(SystemTime::now());
    Ok(provenance)
}

/// What is told in words, each with the part of the report it belongs to.
fn facts(whole: &Whole<'_>) -> Vec<told::Fact> {
    let found = whole.found;
    let materials = found.materials.as_ref();
    let scene = &found.seen.measured.scene;
    let mut facts = vec![(told::SUMMARY, Row::new("", summary(whole)))];
    let rows = document::experiment(whole.request.experiment, materials, scene);
    facts.extend(rows.into_iter().map(|row| (told::EXPERIMENT, row)));
    let assumed = materials.map_or(&[][..], |m| &m.assumptions);
    let revolution = "each body is one of revolution about an axis that lies in the picture";
    let sentences = assumed.iter().map(String::as_str).chain([revolution]);
    facts.extend(sentences.map(|text| (told::ASSUMPTION, Row::new("", text))));
    facts
}

fn summary(whole: &Whole<'_>) -> String {
    let seen = &whole.found.seen;
    let bodies = match seen.measured.bodies.len() {
        0 => "No free body was found.".into(),
        1 => "One body was found and followed.".into(),
        many => format!("{many} bodies were found and followed."),
    };
    let time = whole.found.findings.clip.duration.value;
    format!(
        "{} frames of {}x{} px ({}, {}) over {time:.3} s of real time were measured. {bodies}",
        seen.measured.frames, seen.info.width, seen.info.height, seen.info.container, seen.info.codec
    )
}
