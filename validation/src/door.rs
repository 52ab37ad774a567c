//! The front door: an experiment file and a clip go in, findings come out.
//!
//! The program under test is started as its user would, so that what is checked is what is shipped.

use std::fs;
use std::path::Path;
use std::process::Command;

use tremolet_record::findings::{Estimate, Findings, Mode};

use crate::bench::Bench;
use crate::case::Failure;
use crate::python::said;

/// What the program found, with a few ways of asking.
#[derive(Debug)]
pub struct Answer {
    /// All of it.
    pub findings: Findings,
}

/// Writes the experiment into `folder` and measures it.
///
/// # Errors
/// When the program fails or its findings cannot be read.
pub fn measure(bench: &Bench, folder: &Path, experiment: &str) -> Result<Answer, Failure> {
    let file = folder.join("experiment.toml");
    fs::write(&file, experiment).map_err(Failure::file(&file))?;
    let out = folder.join("run");
    let mut command = Command::new(&bench.program);
    command.arg("measure").arg(&file).arg("--out").arg(&out);
    let output = command.output().map_err(|cause| Failure::Absent {
        program: bench.program.display().to_string(),
        cause,
        advice: "build it first: cargo build --release",
    })?;
    said("tremolet measure", output)?;
    let path = out.join("findings.json");
    let text = fs::read_to_string(&path).map_err(Failure::file(&path))?;
    let broken = |cause: tremolet_record::findings::FindingsError| Failure::Text {
        what: "findings.json".into(),
        cause: cause.to_string(),
    };
    Ok(Answer {
        findings: Findings::from_json(&text).map_err(broken)?,
    })
}

impl Answer {
    /// The first estimate of a quantity.
    pub fn estimate(&self, quantity: &str) -> Option<&Estimate> {
        self.findings
            .estimates
            .iter()
            .find(|estimate| estimate.quantity == quantity)
    }

    /// Relative error of a quantity against its truth, in per cent.
    pub fn error_percent(&self, quantity: &str, truth: f64) -> Option<f64> {
        self.estimate(quantity)
            .map(|estimate| 100.0 * (estimate.value / truth - 1.0))
    }

    /// The axisymmetric mode of a degree.
    pub fn mode(&self, degree: u32) -> Option<&Mode> {
        self.findings
            .modes
            .iter()
            .find(|mode| mode.degree == degree && mode.order.unwrap_or(0) == 0)
    }

    /// The codes of all cautions, each once, in order.
    pub fn cautions(&self) -> String {
        let mut codes: Vec<&str> = self
            .findings
            .cautions
            .iter()
            .map(|caution| caution.code.as_str())
            .collect();
        codes.dedup();
        codes.join(", ")
    }
}
