//! Small verbs on files: start an experiment file, check one, prepare a measurement, sum up a run.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use tremolet_matter::quantity::print::print;
use tremolet_record::experiment::faults::{Fault, Faults};
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::experiment::template::template;
use tremolet_record::findings::{Estimate, Findings};
use tremolet_record::store::{read_text, write_whole};

use crate::error::StudyError;
use crate::write::stamp;

/// Writes the commented experiment file of a kind into `dir` and returns its path; never over one that is there.
///
/// # Errors
/// When the kind has no template or the file is there or cannot be written.
pub fn new(kind: &str, dir: &Path) -> Result<PathBuf, StudyError> {
    let told = |key: &str, found: String, expected: &str| Faults {
        faults: vec![Fault {
            file: "(command line)".into(),
            line: 0,
            column: 0,
            key: key.into(),
            found,
            expected: expected.into(),
        }],
    };
    let Some(known @ Kind::Release) = Kind::of_name(kind) else {
        let expected = "release, the kind that this version measures";
        return Err(told("KIND", format!("\"{kind}\""), expected).into());
    };
    let file = dir.join("experiment.toml");
    if file.symlink_metadata().is_ok() {
        let found = format!("{} is there already", file.display());
        return Err(told("DIR", found, "a folder without an experiment.toml").into());
    }
    write_whole(&file, template(known).as_bytes())?;
    Ok(file)
}

/// Says what a good experiment file leaves open.
///
/// # Errors
/// Everything that is wrong in it.
pub fn check(file: &Path) -> Result<String, StudyError> {
    let experiment = Experiment::read(file)?;
    let mut text = format!("{}: read without a fault", file.display());
    for caution in &experiment.cautions {
        let _ = write!(text, "\ncaution ({}): {}", caution.code, caution.text);
    }
    match experiment.needed_to_measure() {
        Ok(()) => text.push_str("\nenough to measure a clip"),
        Err(faults) => {
            let _ = write!(text, "\nnot yet enough to measure a clip:\n{faults}");
        }
    }
    if experiment.liquid.is_some() {
        crate::known::materials(&experiment)?;
    }
    Ok(text)
}

/// What was asked on the command line.
pub struct Asked<'a> {
    /// The experiment file.
    pub file: &'a Path,
    /// The clip, when given apart.
    pub clip: Option<&'a Path>,
    /// The run folder, when given.
    pub out: Option<&'a Path>,
}

/// Reads the experiment and settles which clip and which run folder.
///
/// # Errors
/// Everything that is wrong in the file, and what measuring needs and the file lacks.
pub fn prepare(asked: &Asked<'_>) -> Result<(Experiment, PathBuf, PathBuf), StudyError> {
    let experiment = Experiment::read(asked.file)?;
    let named = experiment
        .clip
        .as_ref()
        .map(|clip| experiment.path_of(&clip.path));
    let clip = asked.clip.map(Path::to_path_buf).or(named);
    let Some(clip) = clip else {
        experiment.needed_to_measure()?;
        return Err(StudyError::Stopped);
    };
    let stem = asked.file.file_stem().unwrap_or_default().to_string_lossy();
    let beside = asked.file.with_file_name(format!("{stem}-{}", stamp()));
    Ok((experiment, clip, asked.out.map_or(beside, Path::to_path_buf)))
}

/// The findings of a run as JSON.
///
/// # Errors
/// When the file cannot be read.
pub fn findings(run: &Path) -> Result<String, StudyError> {
    Ok(read_text(&run.join("findings.json"))?)
}

/// The findings of a run in a few lines.
///
/// # Errors
/// When the file cannot be read.
pub fn summary(run: &Path) -> Result<String, StudyError> {
    let text = findings(run)?;
    let findings = Findings::from_json(&text).map_err(|why| StudyError::Write {
        what: "the summary of findings.json",
        why: why.to_string(),
    })?;
    let mut lines: Vec<String> = findings.estimates.iter().map(line).collect();
    for mode in &findings.modes {
        let (f, g) = (&mode.frequency, &mode.decay_rate);
        let u = |u: Option<f64>| u.unwrap_or(f64::NAN);
        lines.push(format!(
            "mode {}: {:.5} +- {:.5} Hz, decay {:.4} +- {:.4} 1/s",
            mode.degree,
            f.value,
            u(f.standard_uncertainty),
            g.value,
            u(g.standard_uncertainty)
        ));
    }
    lines.extend(
        findings
            .cautions
            .iter()
            .map(|c| format!("caution ({}): {}", c.code, c.text)),
    );
    Ok(lines.join("\n"))
}

fn line(estimate: &Estimate) -> String {
    let name = estimate.quantity.replace('_', " ");
    let units = [
        ("N/m", "mN/m"),
        ("m", "mm"),
        ("m^3", "mL"),
        ("m^2/s", "mm^2/s"),
        ("Pa s", "mPa s"),
    ];
    let unit = units
        .iter()
        .find(|(si, _)| *si == estimate.unit)
        .map_or(estimate.unit.as_str(), |(_, u)| u);
    let u = Some(estimate.standard_uncertainty);
    let said = crate::document::dimension(&estimate.unit)
        .and_then(|dimension| print(estimate.value, u, unit, dimension).ok())
        .unwrap_or_else(|| format!("{:e} {}", estimate.value, estimate.unit));
    format!("{name}: {said} (by {})", estimate.route)
}
