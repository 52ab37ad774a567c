//! A bright transparent drop over clutter, without a frame of the empty scene.
//!
//! Three things are asked: does a ring give its properties; are radius and amplitudes of single clips within what is aimed
//! at, on walls of two painters that share nothing; and do the stated uncertainties hold the truth.

mod limit;

use serde::Deserialize;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::binomial;
use crate::case::{Case, Failure, Outcome};
use crate::cases::exact_roots::{Medium, SEED, compare, film};
use crate::door::{Answer, measure};
use crate::python::{self, word};
use crate::ringing::{Ringing, Stated};

use limit::{Limit, Pose};

/// See the module.
pub const CASE: Case = Case {
    name: "bright_drop",
    question: "A bright drop over clutter, without an empty frame",
    method: "A transparent drop with dark rim and glints before a cluttered wall, no frame without the drop is given. First a \
             ring painted with exact roots in air. Then clips of 32 frames, each on a wall of its own, by our painter and by the \
             independent generator: R 150 px, 512 x 512 px, swings up to 0.08 R. `amplitudes`: root mean square over frames and \
             clips of a_n less the truth, the worst degree. `slow`: R 100 px, swings of 0.02 R, where most of the wall under the \
             rim is never uncovered; there the amplitudes are only told. Aimed at are 0.1 px and 2e-4 on every wall; not every wall bears \
             it, so the bounds are four walls of five and twice that. Beside them stands the bound of Cramer and Rao for one frame, from pictures painted without noise a little to both sides of each unknown: with wall and rim known, and with the levels of every 1.5 px of the outline open. A frame counts as lost in silence when it is neither measured nor named by a caution.",
    version: 5,
    run,
};

/// Frames of a clip, frames a second.
const FRAMES: u64 = 32;
const RATE: f64 = 30.0;
/// What is aimed at: radius, px; amplitudes over the radius.
const RADIUS: f64 = 0.1;
const AMPLITUDE: f64 = 2e-4;
/// Not every wall bears the aim: four of five radii must be within it, and amplitudes over all walls within twice of it.
const SHARE: f64 = 0.8;
const TWICE: f64 = 2.0 * AMPLITUDE;
/// A count that honest intervals give less often than this fails.
const TAIL: f64 = 1e-3;

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    ring(bench, &mut outcome)?;
    let clips = bench.pick(2, 20);
    let large = |seed| painted(bench, seed, LARGE);
    let slow = |seed| painted(bench, seed, SLOW);
    let name = "our painter";
    let rms = sample(&mut outcome, name, clips, 7100, &large, true)?;
    bound(&mut outcome, name, LARGE, 7100..7100 + bench.pick(1, 5), &rms)?;
    sample(
        &mut outcome,
        "independent",
        clips,
        7200,
        &|seed| drawn(bench, seed),
        true,
    )?;
    let name = "our painter, slow";
    let rms = sample(&mut outcome, name, clips, 7300, &slow, false)?;
    bound(&mut outcome, name, SLOW, 7300..7300 + bench.pick(1, 5), &rms)?;
    Ok(outcome)
}

fn ring(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let name = "18 mm glycerol-water";
    let drop = Ringing::in_air(0.009, 1099.0, 0.0690, 3.68e-3, 9.0e-5, 120.0);
    let frames = bench.pick(150, 400);
    let found = film(bench, &drop, frames, Recipe::bright, (Medium::Stills, SEED))?;
    compare(outcome, name, &found, &drop, [RADIUS, 0.5, 5.0])?;
    let seen = found.findings.clip.frames;
    outcome.must(name, "frames read", seen.to_string(), "all", seen == frames);
    silent(outcome, name, found.lost_in_silence());
    Ok(())
}

fn silent(outcome: &mut Outcome, clip: &str, lost: usize) {
    outcome.must(
        clip,
        "frames lost in silence",
        lost.to_string(),
        "none",
        lost == 0,
    );
}

/// A clip that was measured, with its truth.
struct Measured {
    answer: Answer,
    /// Of the volume, px.
    radius: f64,
    scale: f64,
    /// Frame by frame, from degree 2.
    amplitudes: Vec<Vec<f64>>,
}

/// Size and motion of a clip of our painter: radius in m at 90 um for a px, pixels along a side, swings.
#[derive(Clone, Copy)]
struct Kind {
    radius: f64,
    side: usize,
    swings: [[f64; 2]; 3],
}

const LARGE: Kind = Kind {
    radius: 0.0135,
    side: 512,
    swings: [[0.08, 0.3], [0.04, 1.1], [0.02, -0.6]],
};
const SLOW: Kind = Kind {
    radius: 0.009,
    side: 320,
    swings: [[0.02, 0.3], [0.012, 1.1], [0.008, -0.6]],
};

impl Kind {
    fn drop(self) -> Ringing {
        let mut drop = Ringing::in_air(self.radius, 1099.0, 0.0690, 3.68e-3, 9.0e-5, RATE);
        drop.swings = self.swings.to_vec();
        drop
    }

    fn centre(self) -> [f64; 2] {
        let middle = self.side as f64 / 2.0;
        [middle + 0.4, middle - 1.3]
    }

    fn recipe(self, seed: u64) -> Result<Recipe, Failure> {
        let drop = self.drop();
        let mut recipe = Recipe::bright(self.side, self.side, FRAMES, RATE, drop.scale);
        recipe.bodies = vec![drop.body(self.centre(), [6.0, -4.0])?];
        recipe.seed = seed;
        Ok(recipe)
    }

    /// The least possible deviations in the first frame of a clip.
    fn limit(self, seed: u64) -> Result<Limit, Failure> {
        let drop = self.drop();
        let pose = Pose {
            centre: self.centre(),
            radius: drop.radius_px(),
            amplitudes: drop.swing()?(0.0),
        };
        limit::of_frame(&self.recipe(seed)?, &pose)
    }
}

/// A clip of our painter.
fn painted(bench: &Bench, seed: u64, kind: Kind) -> Result<Measured, Failure> {
    let drop = kind.drop();
    let scratch = bench.scratch()?;
    let recipe = kind.recipe(seed)?;
    let path = scratch.path().join("stills");
    write_stills(&mut Painter::new(recipe)?, &path).map_err(Failure::file(&path))?;
    let swing = drop.swing()?;
    Ok(Measured {
        answer: measure(
            scratch.path(),
            "stills",
            &Stated::exactly(&drop, "stills").experiment(),
        )?,
        radius: drop.radius_px(),
        scale: drop.scale,
        amplitudes: (0..FRAMES).map(|i| swing(i as f64 / RATE)).collect(),
    })
}

/// What the independent generator says it drew.
#[derive(Debug, Deserialize)]
struct Drawn {
    radius_px: f64,
    amplitudes: Vec<Vec<f64>>,
}

fn drawn(bench: &Bench, seed: u64) -> Result<Measured, Failure> {
    let scratch = bench.scratch()?;
    let words = [
        seed.to_string(),
        FRAMES.to_string(),
        RATE.to_string(),
        word(scratch.path()),
    ];
    let text = python::run(bench, "make_bright.py", &words)?;
    let drawn: Drawn =
        serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|cause| Failure::Text {
            what: "what make_bright.py printed".into(),
            cause: cause.to_string(),
        })?;
    let like = Ringing::in_air(60e-6 * drawn.radius_px, 1150.0, 0.067, 1e-2, 60e-6, RATE);
    Ok(Measured {
        answer: measure(
            scratch.path(),
            "stills",
            &Stated::exactly(&like, "stills").experiment(),
        )?,
        radius: drawn.radius_px,
        scale: like.scale,
        amplitudes: drawn.amplitudes,
    })
}

/// Sums over the clips of one painter.
#[derive(Default)]
struct Sums {
    within: u64,
    radius_held: u64,
    worst_radius: f64,
    amplitudes_within: u64,
    /// Squares and frames, by degree.
    squares: Vec<[f64; 2]>,
    /// Mean amplitudes within two of their uncertainties, and how many there were.
    held: [u64; 2],
    lost: usize,
    silent: usize,
}

impl Sums {
    fn add(&mut self, clip: &Measured) {
        let estimate = clip.answer.estimate("equivalent_radius");
        let off = estimate.map_or(f64::INFINITY, |e| e.value / clip.scale - clip.radius);
        let stated = estimate.map_or(0.0, |e| e.standard_uncertainty / clip.scale);
        self.within += u64::from(off.abs() <= RADIUS);
        self.radius_held += u64::from(off.abs() <= 2.0 * stated);
        self.worst_radius = self.worst_radius.max(off.abs());
        self.silent += clip.answer.lost_in_silence();
        let shapes = clip.answer.bodies.first().map_or(&[][..], |b| &b.shapes[..]);
        self.lost += clip.amplitudes.len() - shapes.len();
        let degrees = clip.amplitudes[0].len();
        self.squares.resize(degrees, [0.0; 2]);
        let mut worst = 0.0_f64;
        for k in 0..degrees {
            let (mut sum, mut square, mut variance, mut count) = (0.0, 0.0, 0.0, 0.0);
            for s in shapes.iter().filter(|s| s.star_shaped) {
                let (n, off) = (k + 2, s.amplitude[k] - clip.amplitudes[s.frame as usize][k]);
                (sum, square, count) = (sum + off, square + off * off, count + 1.0);
                variance += s.covariance[n * (n + 1) / 2 + n] / s.equivalent_radius_px.powi(2);
            }
            let mean = sum / f64::max(count, 1.0);
            let stated = (variance / f64::max(count, 1.0)).sqrt();
            self.held[0] += u64::from(mean.abs() <= 2.0 * stated);
            self.held[1] += 1;
            self.squares[k][0] += square;
            self.squares[k][1] += count;
            worst = worst.max((square / f64::max(count, 1.0)).sqrt());
        }
        self.amplitudes_within += u64::from(worst <= AMPLITUDE);
    }
}

/// Clips of one painter from `first` on, held against what is aimed at where they are `aimed`.
fn sample(
    outcome: &mut Outcome,
    painter: &str,
    clips: u64,
    first: u64,
    clip: &dyn Fn(u64) -> Result<Measured, Failure>,
    aimed: bool,
) -> Result<Vec<f64>, Failure> {
    let mut sums = Sums::default();
    for seed in first..first + clips {
        sums.add(&clip(seed)?);
    }
    let name = format!("{painter}, {clips} walls");
    let of = |count: u64, all: u64| format!("{count} of {all}");
    let most = (SHARE * clips as f64).floor() as u64;
    held(outcome, &name, "radius within 0.1 px", sums.within, clips, most);
    outcome.tell(
        &name,
        "largest error of the radius",
        format!("{:.3} px", sums.worst_radius),
    );
    let (low, _) = binomial::bounds(clips, 0.95, TAIL);
    held(
        outcome,
        &name,
        "radius within two of its uncertainties",
        sums.radius_held,
        clips,
        low,
    );
    let by_degree: Vec<f64> = sums
        .squares
        .iter()
        .map(|[s, n]| (s / n.max(1.0)).sqrt())
        .collect();
    let rms = by_degree.iter().copied().fold(0.0, f64::max);
    if aimed {
        outcome.within(&name, "amplitudes", Some(rms), TWICE, "");
    } else {
        outcome.tell(&name, "amplitudes", format!("{rms:.2e}"));
    }
    let within = of(sums.amplitudes_within, clips);
    outcome.tell(&name, "clips with every amplitude within 0.0002", within);
    // The errors of one clip are of one wall: its degrees do not count as so many clips.
    let share = sums.held[0] as f64 / sums.held[1] as f64;
    let clips_held = (share * clips as f64).round() as u64;
    let text = format!("{} of {}", sums.held[0], sums.held[1]);
    let bound = format!("{low} of {clips}");
    outcome.must(
        &name,
        "mean amplitudes within two of their uncertainties",
        text,
        &bound,
        clips_held >= low,
    );
    outcome.tell(&name, "frames without an outline", sums.lost.to_string());
    silent(outcome, &name, sums.silent);
    Ok(by_degree)
}

/// Tells what was found of each degree beside the least that the noise of the pixels allows.
fn bound(
    outcome: &mut Outcome,
    painter: &str,
    kind: Kind,
    seeds: std::ops::Range<u64>,
    found: &[f64],
) -> Result<(), Failure> {
    let limits: Vec<Limit> = seeds.map(|seed| kind.limit(seed)).collect::<Result<_, _>>()?;
    let mean = |of: &dyn Fn(&Limit) -> f64| {
        (limits.iter().map(|l| of(l).powi(2)).sum::<f64>() / limits.len() as f64).sqrt()
    };
    let (mut known, mut open) = (0.0_f64, 0.0_f64);
    for (k, rms) in found.iter().enumerate() {
        let (least, most) = (mean(&|l| l.known[k]), mean(&|l| l.open[k]));
        (known, open) = (known.max(least), open.max(most));
        outcome.tell(
            painter,
            &format!(
                "a_{} of a frame: found / least by noise, levels open / all known",
                k + 2
            ),
            format!("{rms:.1e} / {most:.1e} / {least:.1e}"),
        );
    }
    let reach = if open < AMPLITUDE {
        "would allow"
    } else {
        "does not allow"
    };
    outcome.tell(
        painter,
        "what the noise of the pixels allows",
        format!("{reach} 2e-4: at best {open:.1e}, with wall and rim known {known:.1e}"),
    );
    Ok(())
}

fn held(outcome: &mut Outcome, clip: &str, what: &str, count: u64, all: u64, low: u64) {
    let (found, bound) = (format!("{count} of {all}"), format!("{low} and more"));
    outcome.must(clip, what, found, &bound, count >= low);
}
