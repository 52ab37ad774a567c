//! The scripts of general libraries that stand beside the program, in surroundings of their own.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::bench::Bench;
use crate::case::Failure;

/// Packages of the scripts, from the Python package index.
const PACKAGES: [&str; 5] = ["numpy", "scipy", "opencv-python-headless", "scikit-image", "av"];

/// Runs a script of `validation/` and gives what it printed.
///
/// # Errors
/// When Python, its packages or the script fail.
pub fn run(bench: &Bench, script: &str, words: &[String]) -> Result<String, Failure> {
    let python = interpreter(bench)?;
    let mut command = Command::new(&python);
    command
        .arg(bench.root.join("validation").join(script))
        .args(words);
    said(&format!("{script} {}", words.join(" ")), output(&mut command)?)
}

/// The interpreter with the packages, made on first use.
fn interpreter(bench: &Bench) -> Result<PathBuf, Failure> {
    let home = bench.root.join("target/venv-validation");
    let python = home.join("bin/python");
    let ready = home.join("ready");
    if !ready.exists() {
        said(
            "python3 -m venv",
            output(Command::new("python3").args(["-m", "venv"]).arg(&home))?,
        )?;
        said(
            "pip install",
            output(
                Command::new(&python)
                    .args(["-m", "pip", "install", "-q"])
                    .args(PACKAGES),
            )?,
        )?;
        std::fs::write(&ready, "").map_err(Failure::file(&ready))?;
    }
    Ok(python)
}

fn output(command: &mut Command) -> Result<Output, Failure> {
    command.output().map_err(|cause| Failure::Absent {
        program: command.get_program().to_string_lossy().into_owned(),
        cause,
        advice: "install Python 3.10 or later with its venv module",
    })
}

/// Standard output of a program that ended well.
pub fn said(program: &str, output: Output) -> Result<String, Failure> {
    if output.status.success() {
        return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
    }
    let words = String::from_utf8_lossy(&output.stderr);
    let last: Vec<&str> = words.lines().rev().take(6).collect();
    let said = last.into_iter().rev().collect::<Vec<_>>().join("; ");
    Err(Failure::Program {
        program: program.into(),
        status: output.status.to_string(),
        said,
    })
}

/// A path as a word on a command line.
pub fn word(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}
