//! One verb, one call: what `study` returns is said on stdout, what went wrong on stderr.
//!
//! Exit codes: 0 done, 1 failed or stopped, 2 bad input.

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use tremolet_page::worker::{self, Work};
use tremolet_page::{child, serve};
use tremolet_study::error::StudyError;
use tremolet_study::{
    annotate, bundle, catalogue, check, compare, demo, files, filmed, fit, liquids, measure, plan, recorded,
    simulate,
};

use crate::args::{Args, FilmLook, Job, Task, Verb, Which};
use crate::wait::Wait;

/// Does what was asked for.
pub fn run(args: &Args) -> ExitCode {
    match &args.verb {
        Verb::Serve { dir, port } => served(dir, *port),
        Verb::Work { task } => worked(task),
        verb => told(verb),
    }
}

fn failed(why: &dyn std::fmt::Display) -> ExitCode {
    eprintln!("tremolet: {why}");
    ExitCode::FAILURE
}

/// The page, until it is stopped.
fn served(dir: &Path, port: u16) -> ExitCode {
    let program = match std::env::current_exe() {
        Ok(program) => program,
        Err(why) => return failed(&why),
    };
    let wish = serve::Wish {
        folder: dir,
        port,
        program,
    };
    let done = serve::serve(&wish, |address| {
        println!("open {address}\nCtrl-C stops");
        // Whoever reads the address through a pipe wants it now.
        let _ = std::io::stdout().flush();
    });
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("tremolet: {why}");
            ExitCode::from(2)
        }
    }
}

/// A task of the page's child processes.
fn worked(task: &Task) -> ExitCode {
    let done = match task {
        Task::Look { clip, rate, times } => child::look(clip, *rate, times.as_deref()),
        Task::Check => child::check(),
        Task::Job(job) => worker::work(&work(job)),
    };
    done.map_or_else(|why| failed(&why), |()| ExitCode::SUCCESS)
}

/// What a child that works is asked for.
fn work(job: &Job) -> Work {
    match job.clone() {
        Job::Measure { file, out } => Work::Measure { file, out },
        Job::Simulate { file, out, resume } => Work::Simulate { file, out, resume },
        Job::Film { run, out, clear } => Work::Film { run, out, clear },
        Job::Fit { run } => Work::Fit { run },
        Job::Plan { file, out } => Work::Plan { file, out },
        Job::Overlay { run, out, drawn } => Work::Overlay {
            run,
            out,
            show: drawn.show,
            stretch: (drawn.first, drawn.last),
            every: drawn.every,
            rate_fps: drawn.rate,
        },
    }
}

fn told(verb: &Verb) -> ExitCode {
    match said(verb) {
        Ok(text) => match writeln!(std::io::stdout(), "{text}") {
            Err(why) if why.kind() != ErrorKind::BrokenPipe => {
                eprintln!("tremolet: cannot print: {why}");
                ExitCode::FAILURE
            }
            // Whoever reads may have read enough.
            _ => ExitCode::SUCCESS,
        },
        Err(error) => {
            eprintln!("tremolet: {error}");
            ExitCode::from(if error.is_bad_input() { 2 } else { 1 })
        }
    }
}

/// What is printed when all went well.
fn said(verb: &Verb) -> Result<String, StudyError> {
    match verb {
        Verb::Demo { dir } => {
            eprintln!("painting the clip into {} ...", dir.join("clip").display());
            let mut wait = Wait::new("painting and measuring");
            let run = demo::demo(dir, std::env::args().collect(), &mut |done, all| {
                wait.told(done, all)
            })?;
            wait.done();
            let summary = finished(&run, &files::summary(&run)?);
            Ok(format!("{summary}\nplan:   {}", dir.join("plan.html").display()))
        }
        Verb::New { kind, dir } => {
            let file = files::new(kind, dir)?;
            Ok(format!(
                "wrote {}; edit it, then: tremolet check {}",
                file.display(),
                file.display()
            ))
        }
        Verb::Check { file, json } => {
            let checked = check::check(file)?;
            Ok(if *json { checked.json()? } else { checked.text() })
        }
        Verb::Plan { .. } => planned(verb),
        Verb::Liquids {
            name,
            temperature,
            mass_fraction,
            pressure,
            json,
        } => liquids::said(
            name.as_deref(),
            temperature,
            mass_fraction.as_deref(),
            pressure,
            *json,
        ),
        Verb::Measure { .. } => measured(verb),
        Verb::Compare { .. } => compared(verb),
        Verb::Runs { dir, which, json } => {
            let listed = catalogue::list(dir, &filter(which))?;
            if *json {
                catalogue::json(&listed)
            } else {
                Ok(catalogue::text(&listed))
            }
        }
        Verb::Bundle { run, out, replace } => {
            let (file, packed) = bundle::bundle(run, out.as_deref(), *replace)?;
            let (files, bytes) = (packed.files, packed.bytes);
            Ok(format!(
                "packed {files} files, {bytes} bytes, into {}",
                file.display()
            ))
        }
        Verb::Unbundle { file, out } => {
            let (run, packed) = bundle::unbundle(file, out.as_deref())?;
            Ok(format!(
                "{} files as their checksums say; report: {}",
                packed.files,
                run.join("report.html").display()
            ))
        }
        Verb::Simulate { .. } => simulated(verb),
        Verb::Film { .. } => shot(verb),
        Verb::Overlay {
            run,
            drawn,
            out,
            replace,
        } => {
            let request = annotate::Request {
                run,
                out: out.as_deref(),
                replace: *replace,
                shown: annotate::Shown::of(&drawn.show)?,
                stretch: (drawn.first, drawn.last),
                every: drawn.every,
                rate_fps: drawn.rate,
            };
            let mut wait = Wait::new("drawing");
            let made = annotate::annotate(&request, &mut |done, all| wait.told(done, all))?;
            wait.done();
            let (frames, film) = (made.frames, made.film.display());
            Ok(format!("{frames} frames at {} per second: {film}", drawn.rate))
        }
        Verb::Fit { run, json } => {
            let command = std::env::args().collect();
            let mut wait = Wait::new("motions tried");
            fit::fit(&fit::Request { run, command }, &mut |done, all| {
                wait.told(done, all)
            })?;
            wait.done();
            if *json {
                files::findings(run)
            } else {
                Ok(finished(run, &files::summary(run)?))
            }
        }
        // Answered before: they speak for themselves.
        Verb::Serve { .. } | Verb::Work { .. } => Ok(String::new()),
        Verb::Report { run } => Ok(format!("report: {}", recorded::remake(run)?.display())),
    }
}

fn filter(which: &Which) -> catalogue::Filter {
    catalogue::Filter {
        kind: which.kind.clone(),
        liquid: which.liquid.clone(),
        calibration: which.calibration.clone(),
        batch: which.batch.clone(),
    }
}

fn compared(verb: &Verb) -> Result<String, StudyError> {
    let Verb::Compare {
        runs,
        which,
        page,
        data,
        replace,
        json,
    } = verb
    else {
        return Ok(String::new());
    };
    let beside = compare::chosen(runs, &filter(which))?;
    let (comparison, courses) = (&beside.comparison, &beside.courses);
    if let Some(page) = page {
        compare::write::page(comparison, courses, page, *replace)?;
    }
    if let Some(data) = data {
        compare::write::folder(comparison, courses, data, *replace)?;
    }
    if *json {
        return compare::json(comparison);
    }
    let mut text = compare::said::text(comparison);
    let written = [("page: ", page), ("data: ", data)];
    for (what, path) in written
        .into_iter()
        .filter_map(|(what, path)| Some((what, path.as_ref()?)))
    {
        text += &format!("\n{what} {}", path.display());
    }
    Ok(text)
}

fn planned(verb: &Verb) -> Result<String, StudyError> {
    let Verb::Plan {
        file,
        page,
        replace,
        vary,
        show,
        json,
    } = verb
    else {
        return Ok(String::new());
    };
    if let Some(vary) = vary {
        let swept = plan::swept(file, vary, show, page.as_deref(), *replace)?;
        return if *json { swept.json() } else { Ok(swept.text()) };
    }
    let sheet = plan::plan(file)?;
    if let Some(page) = page {
        plan::page(&sheet, page, *replace)?;
    }
    let text = if *json {
        plan::json(&sheet)?
    } else {
        plan::words(&sheet)
    };
    Ok(match page {
        Some(page) if !json => format!("{text}\n\nsheet: {}", page.display()),
        _ => text,
    })
}

fn measured(verb: &Verb) -> Result<String, StudyError> {
    let Verb::Measure {
        file,
        clip,
        out,
        replace,
        threads,
        no_overlay,
        json,
    } = verb
    else {
        return Ok(String::new());
    };
    let asked = files::Asked {
        file,
        clip: clip.as_deref(),
        out: out.as_deref(),
    };
    let (experiment, clip, out) = files::prepare(&asked)?;
    let request = measure::Request {
        experiment: &experiment,
        clip,
        out,
        replace: *replace,
        threads: *threads,
        overlay: !no_overlay,
        truth: Vec::new(),
        command: std::env::args().collect(),
    };
    let mut wait = Wait::new("measuring");
    let run: PathBuf = measure::measure(&request, &mut |done, all| wait.told(done, all))?;
    wait.done();
    if *json {
        files::findings(&run)
    } else {
        Ok(finished(&run, &files::summary(&run)?))
    }
}

fn simulated(verb: &Verb) -> Result<String, StudyError> {
    let Verb::Simulate {
        file,
        out,
        replace,
        resume,
        json,
    } = verb
    else {
        return Ok(String::new());
    };
    let request = simulate::Request {
        file,
        out: out.as_deref(),
        replace: *replace,
        resume: resume.as_deref(),
        command: std::env::args().collect(),
    };
    let mut wait = Wait::new("simulating");
    let run = simulate::simulate(&request, &mut |done, all| wait.told(done, all))?;
    wait.done();
    if *json {
        files::findings(&run)
    } else {
        Ok(finished(&run, &files::summary(&run)?))
    }
}

fn shot(verb: &Verb) -> Result<String, StudyError> {
    let Verb::Film {
        run,
        look,
        out,
        replace,
    } = verb
    else {
        return Ok(String::new());
    };
    let request = filmed::Request {
        run,
        look: match look {
            FilmLook::Silhouette => filmed::Appearance::Silhouette,
            FilmLook::Clear => filmed::Appearance::Clear,
        },
        out: out.as_deref(),
        replace: *replace,
    };
    let mut wait = Wait::new("filming");
    let done = filmed::film(&request, &mut |done, all| wait.told(done, all))?;
    wait.done();
    let (clip, experiment) = (done.clip.display(), done.experiment.display());
    let mut lines = vec![format!("filmed {} frames into {clip}", done.frames)];
    lines.extend(done.assumptions.iter().map(|text| format!("assumed: {text}")));
    lines.push(format!("to measure it: tremolet measure {experiment} {clip}"));
    Ok(lines.join("\n"))
}

fn finished(run: &Path, summary: &str) -> String {
    format!("{summary}\nreport: {}", run.join("report.html").display())
}
