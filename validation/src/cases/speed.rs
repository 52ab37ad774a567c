//! Time and memory of a measurement against decoding alone and against the script, as ratios within one run.

use serde::Deserialize;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::python::{self, word};

/// See the module.
pub const CASE: Case = Case {
    name: "speed",
    question: "Speed and memory, as ratios within one run",
    method: "H.264 clips (crf 14) at two lengths. CPU time and peak memory of whole processes, medians of three taken in turn: \
             `tremolet measure` with its report, with and without the annotated clip; the embedded decoder alone; `ffmpeg` with one \
             thread decoding to nothing, where it is installed; the script, which makes no report. CPU a frame is the difference \
             of the two lengths over the frames between.",
    version: 3,
    run,
};

/// The program that is timed.
const OWN: &str = "tremolet measure --no-overlay";

/// What `speed.py` prints: for each program and length CPU seconds, wall seconds, peak MiB.
#[derive(Debug, Deserialize)]
struct Timed {
    machine: String,
    frames: [u64; 2],
    runs: Vec<Program>,
}

#[derive(Debug, Deserialize)]
struct Program {
    name: String,
    cpu_s: [f64; 2],
    wall_s: [f64; 2],
    peak_mib: [f64; 2],
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let sizes: &[(&str, &str, [&str; 2])] = bench.pick(
        &[("small", "512x512", ["100", "300"])],
        &[
            ("small", "512x512", ["200", "600"]),
            ("hd", "1280x720", ["100", "300"]),
            ("fhd", "1920x1080", ["60", "180"]),
        ],
    );
    for (size, pixels, lengths) in sizes {
        let timed = time(bench, size, *lengths)?;
        tell(&mut outcome, pixels, &timed);
        if outcome.notes.is_empty() {
            outcome.notes.push(format!("Machine: {}.", timed.machine));
        }
    }
    Ok(outcome)
}

fn time(bench: &Bench, size: &str, lengths: [&str; 2]) -> Result<Timed, Failure> {
    let scratch = bench.scratch()?;
    let own = std::env::current_exe().map_err(Failure::file("this program"))?;
    let words = [
        word(&bench.program),
        word(&own),
        size.into(),
        lengths[0].into(),
        lengths[1].into(),
        word(scratch.path()),
    ];
    let text = python::run(bench, "speed.py", &words)?;
    serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|cause| Failure::Text {
        what: "what speed.py printed".into(),
        cause: cause.to_string(),
    })
}

fn tell(outcome: &mut Outcome, pixels: &str, timed: &Timed) {
    let frames = (timed.frames[1] - timed.frames[0]) as f64;
    // From the difference of two lengths, so that the start of a program does not count.
    let slope = |program: &Program| 1e3 * (program.cpu_s[1] - program.cpu_s[0]) / frames;
    for program in &timed.runs {
        let figures = format!(
            "{:.2} ms CPU a frame, {:.1} s wall, {:.0} MiB",
            slope(program),
            program.wall_s[1],
            program.peak_mib[1]
        );
        outcome.tell(
            &format!("{pixels}, {} frames", timed.frames[1]),
            &program.name,
            figures,
        );
    }
    let Some(own) = timed.runs.iter().find(|program| program.name == OWN) else {
        return;
    };
    let clip = format!("{pixels}, {} against {} frames", timed.frames[1], timed.frames[0]);
    let growth = own.peak_mib[1] - own.peak_mib[0];
    // A few numbers are kept for every frame, and the points of the outline: 0.005 MiB. The tables made of them are written
    // piece by piece; no pictures are kept: 512 x 512 px would be 0.25 MiB each.
    outcome.must(
        &clip,
        "growth of peak memory",
        format!("{growth:.1} MiB"),
        "0.02 MiB a frame",
        growth <= 0.02 * frames,
    );
    for other in timed.runs.iter().filter(|program| program.name != own.name) {
        outcome.tell(
            &clip,
            &format!("CPU of {OWN} over {}", other.name),
            format!("{:.2}", slope(own) / slope(other)),
        );
    }
}
