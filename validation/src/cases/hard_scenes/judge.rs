//! Holds what was found of a scene against its truth, frame by frame and body by body.
//!
//! A number is silent when nothing said about its frame warns of it: the shape counts as free or, for volumes, no caution about
//! single frames names it. Silent numbers must keep to their stated uncertainty.

use std::collections::BTreeSet;

use tremolet_clip::painted::body::Pose;
use tremolet_clip::painted::parts::{middle, volume};
use tremolet_clip::painted::truth::{TrueFrame, Truth};
use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_study::series::free;

use crate::case::Outcome;
use crate::cases::hard_scenes::scenes::{Scene, Wanted};
use crate::door::Answer;

/// A body as it was painted in a frame.
struct Real {
    centre: [f64; 2],
    volume: f64,
    radius: f64,
    /// Axis and amplitudes from degree 2, where it has an expansion.
    series: Option<(f64, Vec<f64>)>,
}

fn sphere(radius: f64) -> f64 {
    4.0 / 3.0 * std::f64::consts::PI * radius.powi(3)
}

fn reals(frame: &TrueFrame) -> Vec<Real> {
    frame.bodies.iter().flatten().flat_map(real).collect()
}

fn real(pose: &Pose) -> Vec<Real> {
    if pose.stance.parts.is_empty() {
        return vec![Real {
            centre: pose.centre,
            volume: sphere(pose.radius_px),
            radius: pose.radius_px,
            series: Some((pose.axis, pose.amplitudes.get(2..).unwrap_or(&[]).to_vec())),
        }];
    }
    let part = |curve: &Vec<[f64; 2]>| {
        let (z, volume) = (middle(curve), volume(curve));
        Real {
            centre: [
                pose.centre[0] + z * pose.axis.sin(),
                pose.centre[1] - z * pose.axis.cos(),
            ],
            volume,
            radius: (volume / sphere(1.0)).cbrt(),
            series: None,
        }
    };
    pose.stance.parts.iter().map(part).collect()
}

/// What was counted over a scene.
#[derive(Default)]
struct Tally {
    /// Errors over stated uncertainties of numbers that nothing warns of.
    silent: Vec<(f64, String)>,
    /// Largest error of an amplitude in a free frame.
    amplitude: f64,
    /// Frames in which bodies count as free, of all.
    free: usize,
    bodies: usize,
    /// Bodies that were not found, and found things that are no bodies, without a word.
    missed: usize,
    ghosts: usize,
    /// Relative errors of volumes and of their sum, largest.
    volume: f64,
    sum: f64,
    /// The same over their uncertainty.
    sum_over_u: f64,
    /// Frames with another number of outlines than bodies, of those in which the program can tell.
    miscounted: usize,
    /// Frames in which it says that it cannot.
    undecided: usize,
    flagged: usize,
}

/// Cautions about single frames that warn of a size.
const WARNINGS: [&str; 8] = [
    "outline_disturbed",
    "leaves_frame",
    "volume_across_gap",
    "rim_partly_seen",
    "no_body",
    "bodies_overlap",
    "neck_or_overlap",
    "glint_on_rim",
];

/// Adds the rows of a scene.
pub fn judge(outcome: &mut Outcome, clip: &str, scene: &Scene, truth: &Truth, found: &Answer) {
    let warned = named_by(found, &WARNINGS);
    let undecided = named_by(found, &["neck_or_overlap"]);
    let mut tally = Tally::default();
    for (index, frame) in (0_u64..).zip(&truth.frames) {
        let said = Said {
            warned: warned.contains(&index),
            undecided: undecided.contains(&index),
        };
        look(&mut tally, index, &reals(frame), found, said);
    }
    rows(outcome, clip, scene, &tally, found);
}

/// What cautions say of a frame.
#[derive(Debug, Clone, Copy)]
struct Said {
    warned: bool,
    undecided: bool,
}

/// Frames that cautions of these codes name.
fn named_by(found: &Answer, codes: &[&str]) -> BTreeSet<u64> {
    let named = found.findings.cautions.iter();
    named
        .filter(|caution| codes.contains(&caution.code.as_str()))
        .filter_map(|caution| caution.frames)
        .flat_map(|[first, last]| first..=last)
        .collect()
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn look(tally: &mut Tally, index: u64, reals: &[Real], found: &Answer, said: Said) {
    let warned = said.warned;
    let mut seen: Vec<(&BodyTrack, &BodyShape)> = Vec::new();
    for track in &found.bodies {
        seen.extend(
            track
                .shapes
                .iter()
                .filter(|s| s.frame == index)
                .map(|s| (track, s)),
        );
    }
    tally.undecided += usize::from(said.undecided);
    if seen.len() != reals.len() && !said.undecided {
        tally.miscounted += 1;
    }
    let (mut sum, mut true_sum, mut variance) = (0.0, 0.0, 0.0);
    for real in reals {
        tally.bodies += 1;
        true_sum += real.volume;
        let nearest = (0..seen.len())
            .filter(|k| distance(seen[*k].1.centre_px, real.centre) < 0.8 * real.radius)
            .min_by(|a, b| {
                let to = |k: usize| distance(seen[k].1.centre_px, real.centre);
                to(*a).total_cmp(&to(*b))
            });
        let Some(place) = nearest else {
            tally.missed += usize::from(!warned);
            continue;
        };
        let (track, shape) = seen.remove(place);
        sum += shape.volume_px3;
        let u_radius = shape.u_radius_px.hypot(track.u_edge_px).hypot(track.u_axis_px);
        variance += (3.0 * shape.volume_px3 * u_radius / shape.equivalent_radius_px).powi(2);
        compare(tally, (index, track, u_radius), shape, real, warned);
    }
    if !seen.is_empty() && !seen.iter().all(|(_, s)| s.touched || s.touches_frame) {
        tally.ghosts += usize::from(!warned);
    }
    tally.flagged += usize::from(warned);
    let off = sum / true_sum - 1.0;
    tally.sum = if off.abs() > tally.sum.abs() {
        off
    } else {
        tally.sum
    };
    tally.sum_over_u = tally
        .sum_over_u
        .max((sum - true_sum).abs() / variance.sqrt().max(1e-9));
}

fn compare(
    tally: &mut Tally,
    (index, track, u_radius): (u64, &BodyTrack, f64),
    shape: &BodyShape,
    real: &Real,
    warned: bool,
) {
    let off = shape.volume_px3 / real.volume - 1.0;
    tally.volume = if off.abs() > tally.volume.abs() {
        off
    } else {
        tally.volume
    };
    if !warned {
        let z = (shape.equivalent_radius_px - real.radius) / u_radius;
        tally.silent.push((z, format!("R in frame {index}")));
    }
    // About an axis that is only assumed there is no sign of an amplitude; the caution says so.
    if !free(shape) || track.u_axis_px > 0.0 {
        return;
    }
    tally.free += 1;
    let Some((axis, amplitudes)) = &real.series else {
        return;
    };
    let turned = (track.axis_angle - axis).cos() < 0.0;
    for (k, found) in shape.amplitude.iter().enumerate() {
        let truth = amplitudes.get(k).copied().unwrap_or(0.0);
        let truth = if turned && k % 2 == 1 { -truth } else { truth };
        let place = k + 2;
        let u = shape.covariance[place * (place + 3) / 2].sqrt() / shape.equivalent_radius_px;
        tally.amplitude = tally.amplitude.max((found - truth).abs());
        tally
            .silent
            .push(((found - truth) / u, format!("a_{place} in frame {index}")));
    }
}

fn rows(outcome: &mut Outcome, clip: &str, scene: &Scene, tally: &Tally, found: &Answer) {
    let count = tally.silent.len();
    let beyond = tally
        .silent
        .iter()
        .filter(|(z, _)| z.is_nan() || z.abs() > 3.0)
        .count();
    let worst = tally.silent.iter().max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    let text = worst.map_or("none".into(), |(z, what)| {
        format!("{beyond} of {count}, largest {z:+.1} ({what})")
    });
    // Noise alone puts 2.7 in a thousand beyond three, few of them beyond five.
    let allowed = 2 + count / 100;
    let held = beyond <= allowed && worst.is_none_or(|(z, _)| z.abs() < 5.5);
    outcome.must(
        clip,
        "beyond 3 uncertainties without a word",
        text,
        &format!("{allowed}, none beyond 5.5"),
        held,
    );
    outcome.must(
        clip,
        "bodies missed / things taken for bodies, without a word",
        format!("{} / {}", tally.missed, tally.ghosts),
        "0 / 0",
        tally.missed + tally.ghosts == 0,
    );
    outcome.within(
        clip,
        "largest error of an amplitude in a free frame",
        Some(tally.amplitude),
        1e-3,
        "",
    );
    match scene.wanted {
        Wanted::Free => {
            outcome.must(
                clip,
                "free",
                format!("{} of {}", tally.free, tally.bodies),
                "9 of 10",
                10 * tally.free >= 9 * tally.bodies,
            );
            tension(outcome, clip, scene, found);
        }
        Wanted::Flagged => tension_or_none(outcome, clip, scene, found, tally),
        Wanted::Held => nothing(outcome, clip, found),
        Wanted::Whole => {
            outcome.within(clip, "volume", Some(100.0 * tally.volume), 0.5, " %");
            counted(outcome, clip, tally);
        }
        Wanted::Bodies(event) => {
            outcome.within(clip, "sum of volumes", Some(100.0 * tally.sum), 1.0, " %");
            counted(outcome, clip, tally);
            named(outcome, clip, event, found);
        }
    }
    outcome.tell(
        clip,
        "volume / sum / sum over u / flagged / free",
        format!(
            "{:+.3} % / {:+.3} % / {:.1} / {} / {}",
            100.0 * tally.volume,
            100.0 * tally.sum,
            tally.sum_over_u,
            tally.flagged,
            tally.free
        ),
    );
    outcome.tell(clip, "cautions", found.cautions());
}

fn counted(outcome: &mut Outcome, clip: &str, tally: &Tally) {
    outcome.must(
        clip,
        "frames with another number of outlines than bodies",
        tally.miscounted.to_string(),
        "0",
        tally.miscounted == 0,
    );
    outcome.must(
        clip,
        "frames in which it says that it cannot tell",
        tally.undecided.to_string(),
        "one in ten",
        10 * tally.undecided <= tally.bodies,
    );
}

fn named(outcome: &mut Outcome, clip: &str, event: &str, found: &Answer) {
    let told: Vec<String> = found
        .findings
        .events
        .iter()
        .map(|e| format!("{} {}-{}", e.name, e.frames[0], e.frames[1]))
        .collect();
    let held = found.findings.events.iter().any(|e| e.name == event);
    outcome.must(clip, "events", told.join(", "), event, held);
}

fn tension(outcome: &mut Outcome, clip: &str, scene: &Scene, found: &Answer) {
    let estimate = found.estimate("surface_tension");
    let z = estimate.map(|e| (e.value - scene.drop.pair.tension) / e.standard_uncertainty);
    outcome.within(clip, "surface tension over its uncertainty", z, 3.5, "");
}

fn tension_or_none(outcome: &mut Outcome, clip: &str, scene: &Scene, found: &Answer, tally: &Tally) {
    if found.estimate("surface_tension").is_some() && tally.bodies > 0 {
        tension(outcome, clip, scene, found);
    }
}

fn nothing(outcome: &mut Outcome, clip: &str, found: &Answer) {
    let claims = ["surface_tension", "kinematic_viscosity", "dynamic_viscosity"];
    let claimed: Vec<&str> = claims
        .into_iter()
        .filter(|quantity| found.estimate(quantity).is_some())
        .collect();
    outcome.must(
        clip,
        "properties",
        format!("{} {}", claimed.len(), claimed.join(" ")),
        "none",
        claimed.is_empty(),
    );
}
