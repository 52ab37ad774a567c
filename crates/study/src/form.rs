//! An experiment text that is being written: its fields, its faults, what to expect, and changes of single values.
//!
//! Texts come from a page and need not be on the disk; paths in them are relative to the folder where the file lies or will lie.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::Value;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::parse;
use tremolet_matter::quantity::print::print;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::clip::Empty;
use tremolet_record::experiment::faults::{Fault, Faults};
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::experiment::form::{Change, Field, changed, fields};
use tremolet_record::experiment::template::template;
use tremolet_record::sheet::Sheet;

use crate::check::{Checked, thought_through};
use crate::error::StudyError;
use crate::simulate;

/// What can be said of a text.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Read {
    /// Its values; empty for a text that is no TOML.
    pub fields: Vec<Field>,
    /// What is wrong in it.
    pub faults: Vec<Fault>,
    /// What follows from it, when nothing is wrong.
    pub checked: Option<Checked>,
    /// Why nothing follows, when no fault has a place: an unknown liquid, a value out of range.
    pub why: String,
    /// Whether its motion can be computed.
    pub simulates: bool,
}

/// Reads a text as the experiment file `file`, by its name in messages, in a folder.
///
/// # Errors
/// Everything that is wrong in it.
pub fn experiment(text: &str, file: &str, folder: &Path) -> Result<Experiment, Faults> {
    let mut experiment = Experiment::parse(text, file)?;
    experiment.folder = folder.to_owned();
    Ok(experiment)
}

/// Reads a text and thinks it through; opens the clip that it names, to see how long and how large it is.
pub fn read(text: &str, file: &str, folder: &Path) -> Read {
    let mut read = Read {
        fields: fields(text),
        faults: Vec::new(),
        checked: None,
        why: String::new(),
        simulates: false,
    };
    match experiment(text, file, folder) {
        Err(faults) => read.faults = faults.faults,
        Ok(experiment) => {
            match thought_through(&experiment) {
                Ok(checked) => read.checked = Some(checked),
                Err(why) => read.why = why.to_string(),
            }
            read.simulates = simulate::ready(&experiment).is_ok();
        }
    }
    read
}

/// The plan sheet of a text.
///
/// # Errors
/// Everything that is wrong in it; a liquid or gas that is unknown or out of range.
pub fn sheet(text: &str, file: &str) -> Result<Sheet, StudyError> {
    let experiment = experiment(text, file, Path::new(""))?;
    Ok(tremolet_plan::sheet::sheet(&experiment)?)
}

/// The files that an experiment names: clip, times, empty picture, log; as seen from where the program runs.
pub fn named(experiment: &Experiment) -> Vec<PathBuf> {
    let clip = experiment.clip.as_ref();
    let empty = clip.and_then(|clip| match &clip.empty {
        Some(Empty::Picture(path)) => Some(path),
        _ => None,
    });
    let clip = clip
        .into_iter()
        .flat_map(|clip| [Some(&clip.path), clip.times.as_ref()]);
    let log = experiment.log.as_ref().map(|log| &log.path);
    let all = clip.flatten().chain(empty).chain(log);
    all.map(|path| experiment.path_of(path)).collect()
}

/// A text after changes, one after the other.
///
/// # Errors
/// When the text is no TOML, or a change has no place in it.
pub fn altered(text: &str, changes: &[Change]) -> Result<String, StudyError> {
    let mut text = text.to_owned();
    for change in changes {
        text = changed(&text, change).ok_or_else(|| StudyError::Asked {
            what: format!("{change:?}"),
            why: "the file cannot be changed by the form while it does not read as TOML; mend the text first"
                .into(),
        })?;
    }
    Ok(text)
}

/// A short experiment file to start from: only what cannot be found out, with the values given.
///
/// # Errors
/// A kind that is not known, or a value that has no place.
pub fn begun(kind: &str, values: &[(String, Value)]) -> Result<String, StudyError> {
    let known = Kind::of_name(kind).ok_or_else(|| StudyError::Asked {
        what: format!("kind \"{kind}\""),
        why: "expected release, puff, column, shell or fizz".into(),
    })?;
    let start = format!("format = 1\nkind = \"{}\"\n", known.name());
    let changes: Vec<Change> = values
        .iter()
        .map(|(key, value)| Change::Set(key.clone(), value.clone()))
        .collect();
    altered(&start, &changes)
}

/// The commented file of a kind.
///
/// # Errors
/// A kind that is not known.
pub fn commented(kind: &str) -> Result<String, StudyError> {
    let known = Kind::of_name(kind).ok_or_else(|| StudyError::Asked {
        what: format!("kind \"{kind}\""),
        why: "expected release, puff, column, shell or fizz".into(),
    })?;
    Ok(template(known))
}

/// The diameter of the sphere of a volume, both as texts with units and uncertainty.
///
/// # Errors
/// A text that is no volume above zero.
pub fn diameter_of_volume(volume: &str) -> Result<String, StudyError> {
    let refused = |why: String| StudyError::Asked {
        what: format!("volume \"{volume}\""),
        why,
    };
    let stated = parse(volume, Dimension::Volume).map_err(|why| refused(why.to_string()))?;
    let volume_of_drop = stated.uncertain("volume", "stated");
    if volume_of_drop.value() <= 0.0 {
        return Err(refused(
            "expected a volume above zero, e.g. \"2.1 +- 0.05 mL\"".into(),
        ));
    }
    let diameter = Uncertain::propagate(&[&volume_of_drop], |v| (6.0 * v[0] / std::f64::consts::PI).cbrt());
    let u = Some(diameter.standard_uncertainty()).filter(|u| *u > 0.0);
    print(diameter.value(), u, "mm", Dimension::Length).map_err(|why| refused(why.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_start_reads_and_says_what_is_lacking() {
        let values = [
            ("title".to_owned(), Value::from("First drop")),
            ("liquid.name".to_owned(), Value::from("water")),
            ("camera.capture_rate".to_owned(), Value::from("240 fps")),
        ];
        let text = begun("release", &values).expect("begun");
        let read = read(&text, "x.toml", Path::new(""));
        let checked = read.checked.expect("thought through");
        let lacking: Vec<&str> = checked.lacking.iter().map(|f| f.key.as_str()).collect();
        assert!(
            lacking.contains(&"clip") && lacking.contains(&"camera.scale"),
            "{lacking:?}"
        );
        assert!(!read.simulates, "no size is known");
        let sized = altered(&text, &[Change::Set("body.diameter".into(), "16 mm".into())]).expect("altered");
        let sized = altered(
            &sized,
            &[Change::Set("release.aspect_ratio".into(), "1.1".into())],
        )
        .expect("altered");
        assert!(super::read(&sized, "x.toml", Path::new("")).simulates);
        assert!(begun("splash", &[]).is_err());
    }

    #[test]
    fn a_fault_keeps_its_place_and_an_unknown_liquid_is_said() {
        let read_ = |text: &str| read(text, "x.toml", Path::new(""));
        let wrong = read_("format = 1\nkind = \"release\"\n[body]\ndiameter = 24\n");
        assert_eq!(
            (wrong.faults[0].line, wrong.faults[0].key.as_str()),
            (4, "body.diameter")
        );
        assert!(wrong.fields.iter().any(|f| f.key == "body.diameter"));
        let odd = read_("format = 1\nkind = \"release\"\n[liquid]\nname = \"treacle\"\n");
        assert!(odd.checked.is_none() && odd.why.contains("treacle"), "{odd:?}");
    }

    #[test]
    fn the_files_an_experiment_names_are_all_told() {
        let text = "format = 1\nkind = \"release\"\n[clip]\npath = \"a.mp4\"\ntimes = \"t.csv\"\nempty = \"e.png\"\n";
        let of = experiment(text, "x.toml", Path::new("f")).expect("read");
        assert_eq!(named(&of), ["f/a.mp4", "f/t.csv", "f/e.png"].map(PathBuf::from));
    }

    #[test]
    fn a_volume_gives_its_diameter_with_a_third_of_its_relative_uncertainty() {
        // A sphere of 10 mm has pi/6 mL; 3 % of volume are 1 % of diameter.
        let said = diameter_of_volume("0.5235988 +- 0.0157080 mL").expect("a volume");
        assert_eq!(said, "10.00 +- 0.10 mm");
        assert!(diameter_of_volume("3 mm").is_err() && diameter_of_volume("0 mL").is_err());
    }
}
