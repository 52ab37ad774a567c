//! `report`: a run folder read back and its report drawn. `measure` draws by the same door, so a report that is remade by
//! the same program is the same to the last byte.

use std::path::{Path, PathBuf};

use tremolet_record::crate_metadata;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_record::folder::FolderError;
use tremolet_record::provenance::Provenance;
use tremolet_record::store::{WholeFile, make_folder, read_bytes, read_text};
use tremolet_report::document::page::render;
use tremolet_report::input::{FileRow, Picture, ReportInput, Row};

use crate::document;
use crate::error::StudyError;
use crate::fit;
use crate::measure::truth_rows;
use crate::methods::{fitted, methods, simulated};
use crate::tables::{line, logged, read, read_if_there, told};
use crate::write::metadata;

fn damaged(file: &str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Run {
        file: file.into(),
        why: why.to_string(),
    }
}

fn text(run: &Path, file: &str) -> Result<String, StudyError> {
    read_text(&run.join(file)).map_err(|why| damaged(file, &why))
}

/// The findings of a run.
///
/// # Errors
/// When they are absent or damaged.
pub fn findings(run: &Path) -> Result<Findings, StudyError> {
    Findings::from_json(&text(run, "findings.json")?).map_err(|why| damaged("findings.json", &why))
}

/// The title of a run.
///
/// # Errors
/// When its experiment file is absent or damaged.
pub fn title(run: &Path) -> Result<String, StudyError> {
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    Ok(titled(experiment.title))
}

fn titled(title: Option<String>) -> String {
    title.unwrap_or_else(|| "A run without a title".into())
}

/// The provenance of a run.
///
/// # Errors
/// When it is absent or damaged.
pub fn provenance(run: &Path) -> Result<Provenance, StudyError> {
    Provenance::from_json(&text(run, "provenance.json")?).map_err(|why| damaged("provenance.json", &why))
}

/// Report and figures of the run in this folder: path in the folder, and content.
///
/// # Errors
/// When the folder lacks a file or one is damaged.
pub fn report(run: &Path) -> Result<Vec<(String, String)>, StudyError> {
    let findings = findings(run)?;
    let report = render(&input(run, &findings)?);
    let figures = report.figures.into_iter();
    let mut files: Vec<_> = figures.map(|f| (format!("figures/{}", f.name), f.svg)).collect();
    files.push(("report.html".into(), report.html));
    Ok(files)
}

/// Remakes the report and figures of a run, and the crate metadata that lists them; returns where the report lies. Every file is
/// whole on the disk before the first takes its place.
///
/// # Errors
/// When this is no run folder, it lacks a file or one is damaged, or the disk refuses; the old report is then still there.
pub fn remake(run: &Path) -> Result<PathBuf, StudyError> {
    if !run.join("findings.json").is_file() {
        return Err(FolderError::NoRun(run.to_owned()).into());
    }
    make_folder(&run.join("figures"))?;
    let staged = |name: &str, content: &str| -> Result<WholeFile, StudyError> {
        let mut file = WholeFile::create(&run.join(name))?;
        file.add(content.as_bytes())?;
        file.settle()?;
        Ok(file)
    };
    let files = report(run)?;
    let files: Result<Vec<WholeFile>, StudyError> = files.iter().map(|(n, c)| staged(n, c)).collect();
    for file in files? {
        file.finish()?;
    }
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let text = metadata(run, experiment.title.as_deref(), &provenance(run)?)?;
    staged(crate_metadata::NAME, &text)?.finish()?;
    Ok(run.join("report.html"))
}

fn input<'a>(run: &Path, findings: &'a Findings) -> Result<ReportInput<'a>, StudyError> {
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let scale = experiment
        .camera
        .as_ref()
        .and_then(|c| c.scale.as_ref())
        .map(|s| s.value());
    let (facts, shapes) = (read(run, "facts")?, read(run, "shapes")?);
    let says = |part| -> Result<Vec<String>, StudyError> {
        let rows = told::facts_of(&facts, part)?;
        Ok(rows.into_iter().map(|row| row.value).collect())
    };
    let mut input = ReportInput::of(titled(experiment.title), findings);
    input.summary = says(told::SUMMARY)?.join(" ");
    input.experiment = told::facts_of(&facts, told::EXPERIMENT)?;
    input.pictures = pictures(run)?;
    input.amplitudes = line::amplitudes(&read(run, "fits")?, &read(run, "curves")?)?;
    input.spectra = line::spectra_of(&read(run, "spectra")?, findings)?;
    input.drifts = document::drifts(&shapes, scale)?;
    input.paths = document::paths(&shapes, scale)?;
    if let Some(truth) = read_if_there(run, "truth")? {
        input.truth = truth_rows(&told::truths_of(&truth)?, findings);
    }
    if let Some(courses) = read_if_there(run, logged::NAME)? {
        input.logged = logged::courses_of(&courses)?;
    }
    input.fitted = fit::shown::fitted(run, findings)?;
    let origin_of_run = provenance(run)?;
    let solver = origin_of_run.settings.get("solver").and_then(|s| s.as_str());
    input.methods = if let Some(solver) = solver {
        simulated(solver.ends_with("boundary"), !findings.modes.is_empty())
    } else {
        methods(!findings.modes.is_empty(), !input.logged.is_empty())
    };
    if !input.fitted.is_empty() {
        input.methods.push(fitted());
    }
    input.assumptions = says(told::ASSUMPTION)?;
    input.files = files(run);
    input.provenance = origin(&origin_of_run, findings);
    Ok(input)
}

fn pictures(run: &Path) -> Result<Vec<Picture>, StudyError> {
    let one = |instant: told::Instant| {
        let png = read_bytes(&run.join(&instant.file)).map_err(|why| damaged(&instant.file, &why))?;
        Ok(Picture {
            png,
            width: instant.size[0],
            height: instant.size[1],
            caption: instant.caption,
            time: instant.time,
            frame: instant.frame,
        })
    };
    told::instants_of(&read(run, "instants")?)?
        .into_iter()
        .map(one)
        .collect()
}

/// The files of a run with what each holds; only those that are there, and the report and what is made after it.
pub fn files(run: &Path) -> Vec<FileRow> {
    let mut all = vec![
        FileRow::new("experiment.toml", "the experiment file as used"),
        FileRow::new("findings.json", "everything found, for programs"),
        FileRow::new("report.html", "this report"),
        FileRow::new("overlay.mp4", "the clip with what was found drawn on it"),
        FileRow::new(
            "series/",
            "shapes, outlines, amplitudes and fits as Parquet, units inside",
        ),
        FileRow::new("tables/", "the same as CSV, without the outlines"),
        FileRow::new("provenance.json", "program, inputs with hashes, settings"),
        FileRow::new("ro-crate-metadata.json", "the folder described for archives"),
        FileRow::new("figures/", "the figures as SVG, the pictures as PNG"),
    ];
    all.retain(|row| row.path != "overlay.mp4" || run.join(&row.path).is_file());
    all
}

/// Where a run comes from, as rows.
pub fn origin(provenance: &Provenance, findings: &Findings) -> Vec<Row> {
    let program = &provenance.program;
    let mut rows = vec![
        Row::new("Program", format!("{} {}", program.name, program.version)),
        Row::new("Begun", provenance.started.clone()),
    ];
    if let Some(decoder) = provenance.settings.get("decoder").and_then(|d| d.as_str()) {
        rows.push(Row::new("Decoder", decoder));
    }
    if let Some(hash) = &findings.clip.sha256 {
        rows.push(Row::new("SHA-256 of the clip", hash.clone()));
    }
    rows
}
