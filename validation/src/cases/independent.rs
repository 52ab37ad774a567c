//! A clip that shares nothing with the program: painted and rooted by a script of its own.
//!
//! The painter of the other cases and the inference both take the exact roots from `theory`, and the painter is ours. Here
//! `independent.py` solves the viscous two-fluid problem by its own determinant and draws the body as inside or outside on a
//! fine grid, so a common error would show.

use serde::Deserialize;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::exact_roots::{compare, honest};
use crate::door::measure;
use crate::python::{self, word};
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "independent",
    question: "A back-lit clip whose painter and roots are not ours",
    method: "12 mm drop of thin oil in air, 168 px, 120 frames/s, by a script of general libraries: roots of the viscous two-fluid problem \
             from its own determinant, the body drawn as inside or outside on a grid of 8 (coarse) or 16 (full) to a pixel, blurred \
             and summed; large swings slowed as published; uneven light, shot noise, 8-bit PNG. The script's roots are first held against a published-theory \
             value recomputed at 30 digits.",
    version: 2,
    run,
};

#[derive(Debug, Deserialize)]
struct Drawn {
    radius: f64,
    density: f64,
    tension: f64,
    viscosity: f64,
    scale: f64,
    rate: f64,
    frequency: Vec<f64>,
    decay: Vec<f64>,
}

#[derive(Debug, Deserialize)]
struct Checked {
    worst: f64,
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let checked: Checked = last(&python::run(bench, "independent.py", &["check".into()])?)?;
    outcome.within(
        "the script",
        "decay of water in air",
        Some(checked.worst),
        1e-9,
        "",
    );
    let scratch = bench.scratch()?;
    let (frames, fine) = bench.pick(("150", "8"), ("400", "16"));
    let words = [frames.into(), fine.into(), word(scratch.path())];
    let drawn: Drawn = last(&python::run(bench, "independent.py", &words)?)?;
    let truth = Ringing::in_air(
        drawn.radius,
        drawn.density,
        drawn.tension,
        drawn.viscosity,
        drawn.scale,
        drawn.rate,
    );
    let clip = format!("12 mm oil, {frames} frames");
    for (root, (frequency, decay)) in truth
        .roots()?
        .iter()
        .zip(drawn.frequency.iter().zip(&drawn.decay))
    {
        let off = (root.angular_frequency / std::f64::consts::TAU / frequency - 1.0)
            .abs()
            .max((root.decay / decay - 1.0).abs());
        outcome.within(&clip, "roots of theory against the script's", Some(off), 1e-9, "");
    }
    let found = measure(
        scratch.path(),
        "stills",
        &Stated::exactly(&truth, "stills").experiment(),
    )?;
    compare(&mut outcome, &clip, &found, &truth, [0.02, 0.1, 1.0])?;
    honest(&mut outcome, &clip, &found, &truth)?;
    Ok(outcome)
}

fn last<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, Failure> {
    serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|cause| Failure::Text {
        what: "what independent.py printed".into(),
        cause: cause.to_string(),
    })
}
