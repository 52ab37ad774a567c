//! The front door: an experiment file and a clip go in, findings come out, by the same function as `tremolet measure`.

use std::collections::BTreeSet;
use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

use tremolet_measure::measured::{BodyTrack, Taken};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Estimate, Findings, Mode};
use tremolet_study::measure::{Request, find};

use crate::case::Failure;

/// What the program found, with a few ways of asking.
#[derive(Debug)]
pub struct Answer {
    /// All of it, as recorded.
    pub findings: Findings,
    /// The bodies, frame by frame.
    pub bodies: Vec<BodyTrack>,
    /// When their shapes were taken, in the same order.
    pub taken: Vec<Taken>,
}

/// Writes the experiment into `folder`, reads it back and measures `clip` in that folder.
///
/// # Errors
/// When the program refuses.
pub fn measure(folder: &Path, clip: &str, experiment: &str) -> Result<Answer, Failure> {
    let file = folder.join("experiment.toml");
    fs::write(&file, experiment).map_err(Failure::file(&file))?;
    let experiment = Experiment::read(&file).map_err(|faults| Failure::Refused(faults.to_string()))?;
    let request = Request {
        experiment: &experiment,
        clip: folder.join(clip),
        out: folder.join("run"),
        replace: false,
        threads: 0,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    };
    let found =
        find(&request, &mut |_, _| ControlFlow::Continue(())).map_err(|e| Failure::Refused(e.to_string()))?;
    Ok(Answer {
        findings: found.findings,
        bodies: found.seen.measured.bodies,
        taken: found.seen.measured.taken,
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

    /// Frames that are neither measured nor named by a caution about single frames.
    pub fn lost_in_silence(&self) -> usize {
        let measured: BTreeSet<u64> = self
            .bodies
            .iter()
            .flat_map(|body| &body.shapes)
            .map(|shape| shape.frame)
            .collect();
        let named = |frame: u64| {
            let spans = self.findings.cautions.iter().filter_map(|caution| caution.frames);
            spans
                .into_iter()
                .any(|[first, last]| (first..=last).contains(&frame))
        };
        (0..self.findings.clip.frames)
            .filter(|&frame| !measured.contains(&frame) && !named(frame))
            .count()
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
