//! What a folder holds: runs, experiment files and clips, wherever they lie in it.
//!
//! A run is a folder with findings; an experiment file is TOML that states a `kind`; a clip is a film by the ending of its name, or a
//! folder of stills. Hidden names and links are passed over, so that nothing outside the folder is told. Opens no clip.

use std::path::Path;
use std::time::UNIX_EPOCH;

use serde::Serialize;
use tremolet_record::experiment::form::fields;
use tremolet_record::store::{entries, read_text};
use tremolet_report::number::shown;
use tremolet_report::text::words;

use crate::recorded;

/// Folders below each other that are looked into.
const DEPTH: usize = 6;
/// Most things that are told.
const MOST: usize = 2000;
/// Endings of films, of pictures.
const FILMS: &[&str] = &[
    "mp4", "mov", "m4v", "avi", "mkv", "webm", "y4m", "gif", "cine", "apng",
];
const STILLS: &[&str] = &["png", "tif", "tiff", "jpg", "jpeg"];
/// Quantities that stand for a run.
const TOLD: &[&str] = &["surface_tension", "kinematic_viscosity", "equivalent_radius"];

/// A run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    /// Its folder, seen from the folder that was asked for.
    pub path: String,
    /// Title of the experiment.
    pub title: String,
    /// Kind of the run.
    pub kind: String,
    /// Name of the liquid, calibration and batch as the file states them; empty where it does not.
    pub liquid: String,
    /// Calibration.
    pub calibration: String,
    /// Batch of liquid.
    pub batch: String,
    /// What was found, in words and numbers.
    pub found: Vec<[String; 2]>,
    /// Number of modes.
    pub modes: usize,
    /// Number of cautions.
    pub cautions: usize,
    /// Frames of the clip.
    pub frames: u64,
    /// When the measurement began, as recorded.
    pub begun: String,
    /// Why it cannot be read; empty when it can.
    pub fault: String,
}

/// An experiment file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExperimentFile {
    /// Its path.
    pub path: String,
    /// Its title, empty without one.
    pub title: String,
    /// Its kind.
    pub kind: String,
    /// When it was last written, s since 1970.
    pub written: u64,
}

/// What a folder holds.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Held {
    /// Name of the folder.
    pub name: String,
    /// Runs, the latest first.
    pub runs: Vec<Run>,
    /// Experiment files that are not part of a run.
    pub experiments: Vec<ExperimentFile>,
    /// Clips.
    pub clips: Vec<String>,
    /// Whether there is more than is told.
    pub more: bool,
}

/// Looks through a folder.
pub fn held(root: &Path) -> Held {
    let mut held = Held {
        name: root.file_name().map_or_else(
            || root.display().to_string(),
            |n| n.to_string_lossy().into_owned(),
        ),
        ..Held::default()
    };
    look_into(root, root, DEPTH, &mut held);
    held.runs
        .sort_by(|a, b| b.begun.cmp(&a.begun).then(a.path.cmp(&b.path)));
    held.experiments.sort_by(|a, b| a.path.cmp(&b.path));
    held.clips.sort();
    held
}

fn ending(path: &Path) -> String {
    path.extension()
        .map_or(String::new(), |e| e.to_string_lossy().to_ascii_lowercase())
}

/// The path as seen from the root, with forward slashes.
fn seen(root: &Path, path: &Path) -> String {
    let path = path.strip_prefix(root).unwrap_or(path);
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

fn look_into(root: &Path, folder: &Path, depth: usize, held: &mut Held) {
    if folder.join("findings.json").is_file() {
        held.runs.push(run(root, folder));
        return;
    }
    let plain = |path: &Path| {
        let hidden = path
            .file_name()
            .is_none_or(|n| n.to_string_lossy().starts_with('.'));
        !hidden && !path.is_symlink()
    };
    let inside: Vec<_> = entries(folder).into_iter().filter(|path| plain(path)).collect();
    let stills = inside
        .iter()
        .filter(|path| STILLS.contains(&ending(path).as_str()));
    if stills.take(2).count() == 2 {
        held.clips.push(seen(root, folder));
    }
    for path in inside {
        if held.runs.len() + held.experiments.len() + held.clips.len() >= MOST {
            held.more = true;
            return;
        }
        if path.is_dir() {
            if depth > 0 {
                look_into(root, &path, depth - 1, held);
            }
        } else if FILMS.contains(&ending(&path).as_str()) {
            held.clips.push(seen(root, &path));
        } else if ending(&path) == "toml" {
            held.experiments.extend(experiment(root, &path));
        }
    }
}

fn experiment(root: &Path, path: &Path) -> Option<ExperimentFile> {
    let text = read_text(path).ok()?;
    let all = fields(&text);
    let said = |key: &str| {
        let field = all.iter().find(|field| field.key == key)?;
        Some(field.value.as_str()?.to_owned())
    };
    let written = path.metadata().ok().and_then(|meta| meta.modified().ok());
    let written = written.and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    Some(ExperimentFile {
        path: seen(root, path),
        title: said("title").unwrap_or_default(),
        kind: said("kind")?,
        written: written.map_or(0, |since| since.as_secs()),
    })
}

fn run(root: &Path, folder: &Path) -> Run {
    let text = read_text(&folder.join("experiment.toml")).unwrap_or_default();
    let all = fields(&text);
    let said = |key: &str| {
        let field = all.iter().find(|field| field.key == key);
        field
            .and_then(|f| f.value.as_str())
            .unwrap_or_default()
            .to_owned()
    };
    let mut run = Run {
        path: seen(root, folder),
        title: said("title"),
        kind: said("kind"),
        liquid: said("liquid.name"),
        calibration: said("camera.calibration"),
        batch: said("liquid.batch"),
        found: Vec::new(),
        modes: 0,
        cautions: 0,
        frames: 0,
        begun: recorded::provenance(folder).map_or(String::new(), |p| p.started),
        fault: String::new(),
    };
    match recorded::findings(folder) {
        Err(why) => run.fault = why.to_string(),
        Ok(findings) => {
            let of = |name: &&str| findings.estimates.iter().find(|e| e.quantity == **name);
            let told = TOLD.iter().filter_map(of);
            run.found = told
                .map(|e| {
                    let number = shown(e.value, Some(e.standard_uncertainty), &e.unit);
                    [words(&e.quantity), number.text()]
                })
                .collect();
            run.modes = findings.modes.len();
            run.cautions = findings.cautions.len();
            run.frames = findings.clip.frames;
        }
    }
    run
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn runs_files_and_clips_are_told_apart_and_links_passed_over() {
        let place = tempfile::tempdir().expect("a folder");
        let root = place.path();
        let make = |name: &str, text: &str| {
            let path = root.join(name);
            fs::create_dir_all(path.parent().expect("inside")).expect("made");
            fs::write(path, text).expect("written");
        };
        make("a/experiment.toml", "kind = \"puff\"\ntitle = \"Tap 3\"\n");
        make("a/other.toml", "x = 1\n");
        make("a/run/findings.json", "{}");
        make("a/run/inner/kind.toml", "kind = \"puff\"\n");
        make("b/one.MP4", "");
        make("b/stills/1.png", "");
        make("b/stills/2.png", "");
        make(".hidden/three.mp4", "");
        let held = held(root);
        assert_eq!(held.clips, ["b/one.MP4", "b/stills"]);
        assert_eq!(held.experiments.len(), 1);
        assert_eq!(held.experiments[0].title, "Tap 3");
        assert_eq!((held.runs.len(), held.runs[0].path.as_str()), (1, "a/run"));
        assert!(!held.runs[0].fault.is_empty() && !held.more);
    }

    #[cfg(unix)]
    #[test]
    fn what_lies_outside_is_not_told() {
        let place = tempfile::tempdir().expect("a folder");
        let (inside, outside) = (place.path().join("in"), place.path().join("out"));
        fs::create_dir(&inside).expect("made");
        fs::create_dir(&outside).expect("made");
        fs::write(outside.join("secret.mp4"), "").expect("written");
        std::os::unix::fs::symlink(&outside, inside.join("link")).expect("linked");
        assert_eq!(held(&inside).clips.len(), 0);
    }
}
