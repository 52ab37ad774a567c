//! Small verbs on files: start an experiment file, check one, prepare a measurement, sum up a run.

use std::path::{Path, PathBuf};

use tremolet_matter::quantity::print::print;
use tremolet_record::experiment::clip::Clip;
use tremolet_record::experiment::faults::{Fault, Faults};
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::experiment::template::template;
use tremolet_record::findings::{Estimate, Quantity};
use tremolet_record::store::{read_text, write_whole};

use crate::error::StudyError;
use crate::recorded;
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
    let Some(known) = Kind::of_name(kind) else {
        let expected = "release, puff, column, shell or fizz";
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
    let mut experiment = Experiment::read(asked.file)?;
    if let Some(given) = asked.clip {
        let stated = experiment.clip.take();
        experiment.clip = Some(Clip {
            path: given.to_path_buf(),
            frames: stated.as_ref().and_then(|clip| clip.frames.clone()),
            times: stated.as_ref().and_then(|clip| clip.times.clone()),
            empty: stated.as_ref().and_then(|clip| clip.empty.clone()),
            region: stated.as_ref().and_then(|clip| clip.region.clone()),
            judged: stated.as_ref().map_or(Vec::new(), |clip| clip.judged.clone()),
            masks: stated.map_or(Vec::new(), |clip| clip.masks),
        });
    }
    let clip = match (asked.clip, &experiment.clip) {
        (Some(given), _) => given.to_path_buf(),
        (None, Some(clip)) => experiment.path_of(&clip.path),
        (None, None) => PathBuf::new(),
    };
    // Without liquid or scale shapes are still measured, and cautions say what is missing.
    let needed = |fault: &Fault| matches!(fault.key.as_str(), "clip" | "camera.capture_rate");
    let faults: Vec<Fault> = lacking(&experiment, &clip).into_iter().filter(needed).collect();
    if !faults.is_empty() {
        return Err(Faults { faults }.into());
    }
    let stem = asked.file.file_stem().unwrap_or_default().to_string_lossy();
    let beside = asked.file.with_file_name(format!("{stem}-{}", stamp()));
    Ok((experiment, clip, asked.out.map_or(beside, Path::to_path_buf)))
}

/// What measuring needs and neither the experiment nor its clip says; times that lie beside the clip take the place of a
/// capture rate.
pub fn lacking(experiment: &Experiment, clip: &Path) -> Vec<Fault> {
    let faults = experiment
        .needed_to_measure()
        .err()
        .map_or(Vec::new(), |f| f.faults);
    let timed = |fault: &Fault| fault.key == "camera.capture_rate" && has_times(clip);
    faults.into_iter().filter(|fault| !timed(fault)).collect()
}

/// Whether a clip carries a real time for each frame itself, so that no capture rate is needed.
pub fn has_times(clip: &Path) -> bool {
    tremolet_clip::open::has_times(clip)
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
    let findings = recorded::findings(run)?;
    let mut lines: Vec<String> = findings.estimates.iter().map(line).collect();
    for mode in &findings.modes {
        let (frequency, decay) = (short(&mode.frequency), short(&mode.decay_rate));
        lines.push(format!("mode {}: {frequency}, decay rate {decay}", mode.degree));
    }
    lines.extend(
        findings
            .cautions
            .iter()
            .map(|c| format!("caution ({}): {}", c.code, c.text)),
    );
    Ok(lines.join("\n"))
}

/// A value to two significant digits of its uncertainty.
fn short(quantity: &Quantity) -> String {
    let u = quantity.standard_uncertainty.unwrap_or(0.0);
    let digits = if u > 0.0 {
        (1.0 - u.log10().floor()).clamp(0.0, 12.0) as usize
    } else {
        6
    };
    format!("{:.digits$} +- {u:.digits$} {}", quantity.value, quantity.unit)
}

fn line(estimate: &Estimate) -> String {
    let name = estimate.quantity.replace('_', " ");
    let units = [
        ("N/m", "mN/m"),
        ("m", "mm"),
        ("m^3", "mL"),
        ("m^2/s", "mm^2/s"),
        ("Pa s", "mPa s"),
        ("m/s^2", "mm/s^2"),
    ];
    let unit = units
        .iter()
        .find(|(si, _)| *si == estimate.unit)
        .map_or(estimate.unit.as_str(), |(_, u)| u);
    let u = Some(estimate.standard_uncertainty);
    let said = crate::document::dimension(&estimate.unit)
        .and_then(|dimension| print(estimate.value, u, unit, dimension).ok())
        .unwrap_or_else(|| format!("{:e} {}", estimate.value, estimate.unit));
    format!("{name}: {said}{} (by {})", skewed(estimate, unit), estimate.route)
}

/// The interval, where trials gave it: it need not be symmetric.
fn skewed(estimate: &Estimate, unit: &str) -> String {
    let by_trials = estimate
        .coverage
        .as_ref()
        .is_some_and(|c| c.method == "monte_carlo");
    let end = |value: f64| {
        let u = Some(estimate.standard_uncertainty);
        let said = crate::document::dimension(&estimate.unit).and_then(|d| print(value, u, unit, d).ok())?;
        Some(said.split([' ', '(']).find(|word| !word.is_empty())?.to_string())
    };
    let [low, high] = estimate.interval_95;
    match (by_trials, end(low), end(high)) {
        (true, Some(low), Some(high)) => format!(", 95 % from {low} to {high} by Monte Carlo"),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_end_where_their_uncertainty_does() {
        let quantity = |value, u| Quantity {
            value,
            unit: "Hz".into(),
            standard_uncertainty: Some(u),
        };
        assert_eq!(short(&quantity(4.979_812, 0.000_042)), "4.979812 +- 0.000042 Hz");
        assert_eq!(short(&quantity(120.4, 13.0)), "120 +- 13 Hz");
    }

    #[test]
    fn an_interval_of_trials_is_said_with_both_ends() {
        let text = r#"{ "format": 1, "clip": { "frames": 1, "duration": { "value": 1, "unit": "s" } }, "estimates": [ {
            "quantity": "surface_tension", "body": 1, "value": 0.069, "unit": "N/m", "standard_uncertainty": 0.0207,
            "degrees_of_freedom": null, "interval_95": [0.0358, 0.118], "coverage": { "method": "monte_carlo" }, "route": "mode 2" } ] }"#;
        let mut findings = tremolet_record::findings::Findings::from_json(text).expect("findings");
        let said = line(&findings.estimates[0]);
        assert_eq!(
            said,
            "surface tension: 69 +- 21 mN/m, 95 % from 36 to 118 by Monte Carlo (by mode 2)"
        );
        findings.estimates[0].coverage = None;
        assert_eq!(
            line(&findings.estimates[0]),
            "surface tension: 69 +- 21 mN/m (by mode 2)"
        );
    }

    #[test]
    fn a_kind_that_is_not_known_is_refused_and_a_file_is_never_overwritten() {
        let dir = tempfile::tempdir().expect("a folder");
        assert!(
            new("splash", dir.path()).is_err_and(|e| e.is_bad_input() && e.to_string().contains("release"))
        );
        let file = new("release", dir.path()).expect("written");
        assert!(Experiment::read(&file).is_ok());
        assert!(new("release", dir.path()).is_err_and(|e| e.is_bad_input()));
    }
}
