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
    version: 4,
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

/// A clip, and what CPU time may be at most over that of another program: with slack, for machines are shared.
struct Size {
    name: &'static str,
    pixels: &'static str,
    lengths: [&'static str; 2],
    over_decoder: f64,
    over_script: f64,
}

impl Size {
    /// A grey picture, MiB.
    fn picture_mib(&self) -> f64 {
        let sides = self.pixels.split('x').filter_map(|side| side.parse::<f64>().ok());
        sides.product::<f64>() / f64::from(1 << 20)
    }
}

const SMALL: Size = Size {
    name: "small",
    pixels: "512x512",
    lengths: ["200", "600"],
    over_decoder: 3.5,
    over_script: 1.4,
};

const HD: Size = Size {
    name: "hd",
    pixels: "1280x720",
    lengths: ["100", "300"],
    over_decoder: 2.0,
    over_script: 1.2,
};

const FULL_HD: Size = Size {
    name: "fhd",
    pixels: "1920x1080",
    lengths: ["60", "180"],
    over_decoder: 1.7,
    over_script: 1.0,
};

/// Pictures that are in memory at most: 8 read ahead, 6 of telling instants.
const PICTURES: f64 = 14.0;

/// Peak memory that suffices at any length and size up to 1920x1080, MiB.
const ENOUGH: f64 = 150.0;

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let sizes = bench.pick(
        vec![Size {
            lengths: ["100", "300"],
            ..SMALL
        }],
        vec![SMALL, HD, FULL_HD],
    );
    for size in &sizes {
        let timed = time(bench, size.name, size.lengths)?;
        tell(&mut outcome, size, &timed);
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

fn tell(outcome: &mut Outcome, size: &Size, timed: &Timed) {
    let pixels = size.pixels;
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
    // piece by piece; no pictures are kept but those read ahead and those of telling instants, which a short clip may not fill.
    let pictures = PICTURES * size.picture_mib();
    outcome.must(
        &clip,
        "growth of peak memory",
        format!("{growth:.1} MiB"),
        &format!("0.02 MiB a frame and {pictures:.1}"),
        growth <= 0.02 * frames + pictures,
    );
    let most = own.peak_mib[1];
    outcome.must(
        &clip,
        "peak memory",
        format!("{most:.0} MiB"),
        &format!("{ENOUGH} MiB"),
        most <= ENOUGH,
    );
    let wall = own.wall_s[1] - own.wall_s[0];
    outcome.tell(
        &clip,
        "frames a second of the clock",
        format!("{:.0}", frames / wall),
    );
    for other in timed.runs.iter().filter(|program| program.name != own.name) {
        let what = format!("CPU of {OWN} over {}", other.name);
        let ratio = slope(own) / slope(other);
        let bound = match &other.name[..] {
            "embedded decoder alone" => Some(size.over_decoder),
            "script" => Some(size.over_script),
            _ => None,
        };
        match bound {
            Some(bound) => outcome.must(
                &clip,
                &what,
                format!("{ratio:.2}"),
                &format!("{bound}"),
                ratio <= bound,
            ),
            None => outcome.tell(&clip, &what, format!("{ratio:.2}")),
        }
    }
}
