//! The other side of the queue: a child process that does one job. Lines on its output tell how far it is and how it ended (`working`).
//!
//! Nothing is said to it; the end of its input is the wish to stop, so that it never outlives the server for long.

use std::io::{Read, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tremolet_study::error::StudyError;
use tremolet_study::live::Live;
use tremolet_study::{annotate, files, filmed, fit, measure, plan, simulate};

use crate::limits::WORKING;

/// What a child is asked for, with paths of the disk.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    /// Measure the clip of an experiment file.
    Measure {
        /// The experiment file.
        file: PathBuf,
        /// The run folder.
        out: PathBuf,
    },
    /// Simulate.
    Simulate {
        /// The experiment file.
        file: PathBuf,
        /// The run folder.
        out: PathBuf,
        /// A run to go on from.
        resume: Option<PathBuf>,
    },
    /// Film a simulated run.
    Film {
        /// The run.
        run: PathBuf,
        /// The folder of stills; an experiment file is written beside it.
        out: PathBuf,
        /// Clear, and not dark before an even light.
        clear: bool,
    },
    /// Fit the simulation to a run.
    Fit {
        /// The run.
        run: PathBuf,
    },
    /// Write a plan sheet.
    Plan {
        /// The experiment file.
        file: PathBuf,
        /// The page.
        out: PathBuf,
    },
    /// Make an annotated film.
    Overlay {
        /// The run.
        run: PathBuf,
        /// The film.
        out: PathBuf,
        /// What is drawn, by name.
        show: Vec<String>,
        /// First and last frame.
        stretch: (Option<u64>, Option<u64>),
        /// One frame of so many.
        every: u64,
        /// Frames that are played in a second.
        rate_fps: f64,
    },
}

/// What is being found is told no more often.
const PAUSE: Duration = Duration::from_millis(200);

/// Does it; a line for each progress, a last one with how it ended.
///
/// # Errors
/// When the output is gone.
pub fn work(work: &Work) -> std::io::Result<()> {
    WORKING.set();
    let stop = Arc::new(AtomicBool::new(false));
    let heard = stop.clone();
    std::thread::spawn(move || {
        // The server says nothing; its going is the wish to stop.
        let _ = std::io::stdin().lock().read_to_end(&mut Vec::new());
        heard.store(true, Ordering::Relaxed);
    });
    let last = match done(work, &Teller { stop: &stop }) {
        Ok(unfinished) => json!({ "made": true, "unfinished": unfinished }),
        Err(why) => json!({ "error": why.to_string() }),
    };
    writeln!(std::io::stdout(), "{last}")
}

/// Tells how far it is, and hears whether to go on.
struct Teller<'a> {
    stop: &'a AtomicBool,
}

impl Teller<'_> {
    fn line(&self, line: &Value) -> ControlFlow<()> {
        // The server reads every line; a page that is gone does not matter to it.
        let told = writeln!(std::io::stdout(), "{line}");
        if told.is_err() || self.stop.load(Ordering::Relaxed) {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    }

    fn told(&self, done: u64, all: Option<u64>) -> ControlFlow<()> {
        self.line(&json!({ "done": done, "all": all }))
    }
}

fn command() -> Vec<String> {
    vec!["tremolet".into(), "serve".into()]
}

/// Whether what was made is only a part of it.
fn done(work: &Work, teller: &Teller<'_>) -> Result<bool, StudyError> {
    match work {
        Work::Measure { file, out } => measured(file, out, teller).map(|()| false),
        Work::Simulate { file, out, resume } => {
            let request = simulate::Request {
                file,
                out: Some(out),
                replace: false,
                resume: resume.as_deref(),
                command: command(),
            };
            let run = simulate::simulate(&request, &mut |done, all| teller.told(done, all))?;
            Ok(simulate::kept::is_unfinished(&run))
        }
        Work::Film { run, out, clear } => shot(run, out, *clear, teller).map(|()| false),
        Work::Fit { run } => {
            let request = fit::Request {
                run,
                command: command(),
            };
            fit::fit(&request, &mut |done, all| teller.told(done, all)).map(|_| false)
        }
        Work::Plan { file, out } => plan::page(&plan::plan(file)?, out, false).map(|()| false),
        Work::Overlay {
            run,
            out,
            show,
            stretch,
            every,
            rate_fps,
        } => {
            let request = annotate::Request {
                run,
                out: Some(out),
                replace: false,
                shown: annotate::Shown::of(show)?,
                stretch: *stretch,
                every: *every,
                rate_fps: *rate_fps,
            };
            annotate::annotate(&request, &mut |done, all| teller.told(done, all)).map(|_| false)
        }
    }
}

fn measured(file: &Path, out: &Path, teller: &Teller<'_>) -> Result<(), StudyError> {
    let asked = files::Asked {
        file,
        clip: None,
        out: Some(out),
    };
    let (experiment, clip, out) = files::prepare(&asked)?;
    let request = measure::Request {
        experiment: &experiment,
        clip,
        out,
        replace: false,
        threads: 0,
        overlay: true,
        truth: Vec::new(),
        command: command(),
    };
    let mut last = Instant::now();
    let mut live = Live::default();
    let mut watch = |size: [usize; 2], seen: &[_]| {
        live.add(size, seen);
        if last.elapsed() >= PAUSE {
            last = Instant::now();
            // Whether to go on is heard with the progress.
            let _ = teller.line(&json!({ "live": live.seen() }));
        }
    };
    let run = measure::watched(&request, &mut watch, &mut |done, all| teller.told(done, all));
    run.map(drop)
}

/// Films a run and writes the experiment file with which the film can be measured.
fn shot(run: &Path, out: &Path, clear: bool, teller: &Teller<'_>) -> Result<(), StudyError> {
    let request = filmed::Request {
        run,
        look: if clear {
            filmed::Appearance::Clear
        } else {
            filmed::Appearance::Silhouette
        },
        out: Some(out),
        replace: false,
    };
    // A film that is there was finished by a child whose server ended before the file was written.
    if !out.exists() {
        filmed::film(&request, &mut |done, all| teller.told(done, all))?;
    }
    filmed::experiment_beside(run, out).map(drop)
}
