//! `film`: the synthetic camera looks at a simulated run; stills or a film out, the truth beside them.
//!
//! The run folder gives the experiment file and the meridians of every surface (`series/meridians.parquet`), the experiment's `[camera]` the
//! camera. What it does not state is assumed and said. The picture can be measured like any other.

pub mod camera;
pub mod course;

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tremolet_clip::encode::FINE;
use tremolet_clip::traced::scene::{Look, Motion, TracedScene};
use tremolet_clip::traced::shown::TracedClip;
use tremolet_clip::traced::written;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::form::{Change, changed};
use tremolet_record::store::{make_folder, remove_folder, rename, write_whole};

use crate::error::StudyError;
use crate::filmed::camera::Setting;
use crate::filmed::course::Course;
use crate::look::Progress;

/// What bodies look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Appearance {
    /// Dark before an even light.
    Silhouette,
    /// Clear before a board in a room.
    Clear,
}

/// What is asked for.
pub struct Request<'a> {
    /// The folder of a simulated run.
    pub run: &'a Path,
    /// What bodies look like.
    pub look: Appearance,
    /// A folder for stills, or a file that ends in `.mp4`; a folder beside the run otherwise.
    pub out: Option<&'a Path>,
    /// Whether a clip that is there is replaced.
    pub replace: bool,
}

/// What was filmed.
pub struct Filmed {
    /// The folder of stills or the film.
    pub clip: PathBuf,
    /// Frames.
    pub frames: usize,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
    /// The experiment file of the run.
    pub experiment: PathBuf,
}

/// Films a run.
///
/// # Errors
/// When the folder holds no simulated run, a number cannot be filmed, the clip is there already or cannot be written, or `progress` asked to stop.
pub fn film(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<Filmed, StudyError> {
    let experiment_file = request.run.join("experiment.toml");
    let experiment = Experiment::read(&experiment_file)?;
    let course = Course::read(request.run)?;
    let setting = Setting::new(&experiment, &course)?;
    let out = request.out.map_or_else(|| beside(request), Path::to_path_buf);
    if out.exists() && !request.replace {
        return Err(StudyError::There { file: out });
    }
    let assumptions = setting.assumptions.clone();
    let clip = TracedClip::new(scene(setting, course, request.look)).map_err(|why| painting(&why))?;
    let frames = clip.shots().len();
    let mut told = |done| progress(done, Some(frames as u64));
    let is_film = out
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("mp4"));
    let whole = if is_film {
        as_film(&clip, &out, &mut told)?
    } else {
        written::write_stills(&clip, &out, &mut told).map_err(|why| painting(&why))?
    };
    if !whole {
        return Err(StudyError::Stopped);
    }
    Ok(Filmed {
        clip: out,
        frames,
        assumptions,
        experiment: experiment_file,
    })
}

/// Writes the experiment file of the run beside a film of it, `FILM.toml`, with the film as its clip, so that it can be measured; returns where it lies.
/// What the file says of another clip (its times, frames, masks) is left out.
///
/// # Errors
/// When the run has no experiment file, or the disk refuses.
pub fn experiment_beside(run: &Path, film: &Path) -> Result<PathBuf, StudyError> {
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let mut name = film.file_name().unwrap_or_default().to_os_string();
    name.push(".toml");
    let file = film.with_file_name(name);
    let mut text = experiment.text_seen_from(film.parent().unwrap_or(Path::new("")), film);
    let others = ["times", "frames", "empty"].map(|key| Change::Remove(format!("clip.{key}")));
    let masks = experiment.clip.as_ref().map_or(0, |clip| clip.masks.len());
    let masks = (0..masks).map(|_| Change::Drop("clip.mask".into(), 0));
    for change in others.into_iter().chain(masks) {
        text = changed(&text, &change).unwrap_or(text);
    }
    write_whole(&file, text.as_bytes())?;
    Ok(file)
}

/// The film under its name when it is whole, its truth in a folder beside it.
fn as_film(
    clip: &TracedClip,
    out: &Path,
    told: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> Result<bool, StudyError> {
    let part = named(out, ".unfinished.mp4");
    let written = written::write_mp4(clip, &part, FINE, told);
    if !matches!(written, Ok(true)) {
        // What led here is the thing to tell.
        drop(std::fs::remove_file(&part));
        return Ok(written?);
    }
    let truth = named(out, "-truth");
    if truth.exists() {
        remove_folder(&truth)?;
    }
    make_folder(&truth)?;
    written::write_tables(clip, &truth).map_err(|why| painting(&why))?;
    rename(&part, out)?;
    Ok(true)
}

/// A name beside a file's own.
fn named(out: &Path, ending: &str) -> PathBuf {
    let mut name = out.file_stem().unwrap_or_default().to_os_string();
    name.push(ending);
    out.with_file_name(name)
}

fn beside(request: &Request<'_>) -> PathBuf {
    let mut name = request.run.file_name().unwrap_or_default().to_os_string();
    name.push(match request.look {
        Appearance::Silhouette => "-film",
        Appearance::Clear => "-film-clear",
    });
    request.run.with_file_name(name)
}

fn scene(setting: Setting, course: Course, look: Appearance) -> TracedScene {
    let placing = setting.placing;
    let motion: Motion = Arc::new(move |time| {
        course
            .at(time)
            .into_iter()
            .map(|surface| placing.skin(surface))
            .collect()
    });
    let new = match look {
        Appearance::Silhouette => TracedScene::silhouette,
        Appearance::Clear => TracedScene::clear,
    };
    let mut scene = new(setting.pinhole, setting.clock, motion);
    scene.camera = setting.camera;
    scene.instants = setting.instants;
    if look == Appearance::Silhouette {
        let [dark, light] = setting.levels;
        scene.world = tremolet_clip::traced::world::World::even(light);
        scene.look = Look::Silhouette { dark: dark / light };
    }
    scene
}

fn painting(why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Paint(why.to_string())
}

#[cfg(test)]
mod tests;
