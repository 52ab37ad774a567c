//! What may be asked for that takes a while: which verb, of which file or run, and where its result will be.
//!
//! Paths are as the page names them, relative to the served folder, so that a queue that was kept finds its files when the folder was moved.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use tremolet_record::experiment::file::Experiment;
use tremolet_study::annotate::Shown;
use tremolet_study::error::StudyError;
use tremolet_study::{files, write};

use crate::error::PageError;
use crate::experiments::confines;
use crate::place::Root;

/// A wish.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase", deny_unknown_fields)]
pub enum Task {
    /// Measure the clip of an experiment file.
    Measure {
        /// The experiment file.
        experiment: String,
    },
    /// Compute the motion of the drop of an experiment file.
    Simulate {
        /// The experiment file.
        experiment: String,
        /// A simulated run that was stopped, to go on from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<String>,
    },
    /// Film a simulated run with the synthetic camera.
    Film {
        /// The run.
        run: String,
        /// Clear before a board in a room, and not dark before an even light.
        #[serde(default)]
        clear: bool,
    },
    /// Adjust the simulated motion to the outlines of a measured run.
    Fit {
        /// The run.
        run: String,
    },
    /// Write the plan sheet of an experiment file, to be read or printed.
    Plan {
        /// The experiment file.
        experiment: String,
    },
    /// Make a film of the clip of a run with what was found drawn on it.
    Overlay {
        /// The run.
        run: String,
        /// What is drawn, by name.
        show: Vec<String>,
        /// First frame; that of the run when absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first: Option<u64>,
        /// Last frame; that of the run when absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        last: Option<u64>,
        /// One frame of so many is taken.
        every: u64,
        /// Frames that are played in a second.
        rate: f64,
    },
}

/// What a result is, and so how a page opens it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A run folder.
    Run,
    /// An experiment file, whose clip was just made.
    Experiment,
    /// Any other file.
    File,
}

/// Something that was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Made {
    /// What it is.
    pub kind: Kind,
    /// Where it is.
    pub path: String,
}

impl Task {
    /// The file or run that it is about.
    pub fn about(&self) -> &str {
        match self {
            Self::Measure { experiment } | Self::Simulate { experiment, .. } | Self::Plan { experiment } => {
                experiment
            }
            Self::Film { run, .. } | Self::Fit { run } | Self::Overlay { run, .. } => run,
        }
    }

    /// What will be there in the end, of a result at `out`.
    pub fn makes(&self, out: &str) -> Made {
        match self {
            Self::Film { .. } => Made {
                kind: Kind::Experiment,
                path: format!("{out}.toml"),
            },
            Self::Plan { .. } | Self::Overlay { .. } => Made {
                kind: Kind::File,
                path: out.to_owned(),
            },
            _ => Made {
                kind: Kind::Run,
                path: out.to_owned(),
            },
        }
    }

    /// Whether its result is a folder of its own that is whole or absent, and not a change of one that is there.
    pub fn is_new(&self) -> bool {
        !matches!(self, Self::Fit { .. })
    }

    /// Refuses what cannot be done: a file with faults, one that names files outside the folder, a run that is none.
    ///
    /// # Errors
    /// As said.
    pub fn check(&self, root: &Root) -> Result<(), PageError> {
        match self {
            Self::Measure { experiment } => {
                let file = root.existing(experiment)?;
                let asked = files::Asked {
                    file: &file,
                    clip: None,
                    out: None,
                };
                confines(root, &files::prepare(&asked)?.0)
            }
            Self::Simulate { experiment, from } => {
                let file = root.existing(experiment)?;
                let read = Experiment::read(&file).map_err(StudyError::from)?;
                if let Some(from) = from {
                    holds(root, from, "unfinished.json", "has reached its end")?;
                }
                confines(root, &read)
            }
            Self::Film { run, .. } => holds(root, run, "series/meridians.parquet", "was not simulated"),
            Self::Fit { run } => holds(root, run, "series/outlines.parquet", "was not measured"),
            Self::Plan { experiment } => {
                let file = root.existing(experiment)?;
                let read = Experiment::read(&file).map_err(StudyError::from)?;
                confines(root, &read)
            }
            Self::Overlay { run, show, .. } => {
                Shown::of(show)?;
                holds(root, run, "series/outlines.parquet", "was not measured")?;
                let file = root.existing(run)?.join("experiment.toml");
                confines(root, &Experiment::read(&file).map_err(StudyError::from)?)
            }
        }
    }

    /// A name for the result that is not taken, as the page names it.
    pub fn place(&self, root: &Root, taken: impl Fn(&str) -> bool) -> String {
        let about = self.about();
        let (folder, name) = about.rsplit_once('/').unwrap_or(("", about));
        let stem = name.strip_suffix(".toml").unwrap_or(name);
        let (start, ending) = match self {
            Self::Fit { .. } => return about.to_owned(),
            Self::Measure { .. } => (format!("{stem}-{}", write::stamp()), ""),
            Self::Simulate { .. } => (format!("{stem}-simulated-{}", write::stamp()), ""),
            Self::Film { clear: false, .. } => (format!("{stem}-film"), ""),
            Self::Film { clear: true, .. } => (format!("{stem}-film-clear"), ""),
            Self::Plan { .. } => (format!("{stem}-plan"), ".html"),
            Self::Overlay { .. } => (format!("{stem}-annotated"), ".mp4"),
        };
        let named = |number: usize| {
            let name = match number {
                1 => format!("{start}{ending}"),
                number => format!("{start}-{number}{ending}"),
            };
            if folder.is_empty() {
                name
            } else {
                format!("{folder}/{name}")
            }
        };
        let free = |out: &String| {
            let there = |path: &str| root.path().join(path).symlink_metadata().is_ok();
            !there(out) && !there(&format!("{out}.toml")) && !taken(out)
        };
        (1..).map(named).find(free).unwrap_or_default()
    }

    /// The words after `work` for the child that does it, with the result at `out`.
    ///
    /// # Errors
    /// A path that is not in the folder.
    pub fn words(&self, root: &Root, out: &Path) -> Result<Vec<OsString>, PageError> {
        let mut words: Vec<OsString> = Vec::new();
        match self {
            Self::Measure { experiment } => {
                words.extend(["measure".into(), path(root, experiment)?, out.into()]);
            }
            Self::Simulate { experiment, from } => {
                words.extend(["simulate".into(), path(root, experiment)?, out.into()]);
                if let Some(from) = from {
                    words.extend(["--resume".into(), path(root, from)?]);
                }
            }
            Self::Film { run, clear } => {
                words.extend(["film".into(), path(root, run)?, out.into()]);
                words.extend(clear.then(|| "--clear".into()));
            }
            Self::Fit { run } => words.extend(["fit".into(), path(root, run)?]),
            Self::Plan { experiment } => words.extend(["plan".into(), path(root, experiment)?, out.into()]),
            Self::Overlay {
                run,
                show,
                first,
                last,
                every,
                rate,
            } => {
                words.extend(["overlay".into(), path(root, run)?, out.into()]);
                words.push(format!("--show={}", show.join(",")).into());
                words.extend(first.map(|frame| format!("--first={frame}").into()));
                words.extend(last.map(|frame| format!("--last={frame}").into()));
                words.extend([format!("--every={every}").into(), format!("--rate={rate}").into()]);
            }
        }
        Ok(words)
    }
}

fn path(root: &Root, named: &str) -> Result<OsString, PageError> {
    root.existing(named).map(PathBuf::into_os_string)
}

/// Refuses a run without a file that the task needs.
fn holds(root: &Root, run: &str, file: &str, why: &str) -> Result<(), PageError> {
    if root.existing(run)?.join(file).is_file() {
        Ok(())
    } else {
        Err(PageError::Asked(format!("{run} {why}: it holds no {file}")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_task_is_read_as_the_page_writes_it_and_nothing_else_is() {
        let read = |text: &str| serde_json::from_str::<Task>(text);
        let film = read(r#"{"do":"film","run":"a/run"}"#).unwrap();
        let run = "a/run".to_owned();
        assert_eq!(film, Task::Film { run, clear: false });
        assert_eq!(film.makes("a/run-film").path, "a/run-film.toml");
        assert!(read(r#"{"do":"delete","run":"a"}"#).is_err());
        assert!(read(r#"{"do":"fit","run":"a","out":"/etc"}"#).is_err());
    }

    #[test]
    fn results_have_names_beside_what_they_are_of_and_none_is_taken_twice() {
        let place = tempfile::tempdir().unwrap();
        std::fs::create_dir(place.path().join("a")).unwrap();
        let root = Root::at(place.path()).unwrap();
        let task = Task::Film {
            run: "a/run".into(),
            clear: true,
        };
        assert_eq!(task.place(&root, |_| false), "a/run-film-clear");
        std::fs::write(place.path().join("a/run-film-clear.toml"), "").unwrap();
        assert_eq!(task.place(&root, |_| false), "a/run-film-clear-2");
        let second = task.place(&root, |taken| taken == "a/run-film-clear-2");
        assert_eq!(second, "a/run-film-clear-3");
        let fit = Task::Fit { run: "a/run".into() };
        assert_eq!(fit.place(&root, |_| true), "a/run");
    }

    #[test]
    fn a_run_that_lacks_what_the_task_needs_is_refused() {
        let place = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(place.path().join("run/series")).unwrap();
        let root = Root::at(place.path()).unwrap();
        let fit = Task::Fit { run: "run".into() };
        assert!(fit.check(&root).is_err());
        std::fs::write(place.path().join("run/series/outlines.parquet"), "x").unwrap();
        assert!(fit.check(&root).is_ok());
        let away = Task::Fit { run: "../run".into() };
        assert!(away.check(&root).is_err());
    }
}
