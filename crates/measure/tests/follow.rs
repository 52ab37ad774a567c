//! A back-lit body that is followed: the same edge as when it is sought, few pixels, and nothing new goes unseen.

use std::ops::ControlFlow;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::FramesInMemory;
use tremolet_measure::follow::{RUN, run, whole};
use tremolet_measure::measured::Lighting;
use tremolet_measure::scene::Scene;
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const WIDTH: usize = 640;
const HEIGHT: usize = 480;
const RADIUS: f64 = 100.0;

/// Uniform numbers from a multiplicative generator, and normal ones as sums of twelve.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// Distance outward from a body that swings in degrees two and three and drifts, px; nearly.
fn away(frame: u64, x: f64, y: f64) -> f64 {
    let t = frame as f64;
    let (dx, dy) = (x - 300.3 - 0.8 * t, y - 236.8 + 0.5 * t);
    let r = dx.hypot(dy).max(1e-9);
    let cos = -dy / r;
    let (two, three) = (1.5 * cos * cos - 0.5, 2.5 * cos.powi(3) - 1.5 * cos);
    r - RADIUS * (1.0 + 0.08 * (0.09 * t).cos() * two + 0.03 * (0.18 * t).sin() * three)
}

/// A frame of that body before uneven light, `more` darkening it further.
fn frame(index: u64, dice: &mut Dice, more: impl Fn(f64, f64) -> bool) -> Frame {
    let level = |i: usize| {
        let (x, y) = ((i % WIDTH) as f64, (i / WIDTH) as f64);
        let light = 200.0 * (1.0 + 0.05 * x / WIDTH as f64 - 0.04 * y / HEIGHT as f64);
        // The logistic step of this width is a blur of about 1.2 px.
        let cover = if more(x, y) {
            1.0
        } else {
            1.0 / (1.0 + (away(index, x, y) / 0.72).exp())
        };
        let level = light * (1.0 - 0.8 * cover);
        (level + dice.normal() * (0.01 * level + 0.2).sqrt())
            .round()
            .clamp(0.0, 255.0) as u8
    };
    Frame {
        index,
        stamp: None,
        plane: Plane::eight(WIDTH, HEIGHT, (0..WIDTH * HEIGHT).map(level).collect()),
    }
}

fn clip(count: u64, seed: u64, more: impl Fn(u64, f64, f64) -> bool) -> Vec<Frame> {
    let mut dice = Dice(seed);
    (0..count)
        .map(|k| frame(k, &mut dice, |x, y| more(k, x, y)))
        .collect()
}

fn scene(frames: &[Frame]) -> Scene {
    let scene = Scene::of(&[&frames[0].plane], None);
    assert_eq!(scene.lighting, Lighting::BackLit);
    scene
}

#[test]
fn what_is_followed_lies_where_what_is_sought_lies() {
    let frames = clip(RUN as u64, 3, |_, _, _| false);
    let (scene, settings) = (scene(&frames), Settings::default());
    let (followed, _) = run(&frames, &scene, &settings);
    let mut apart = Vec::new();
    for (frame, followed) in frames.iter().zip(&followed) {
        let (sought, trail) = whole(frame, &scene, &settings);
        assert!(trail.is_some() && sought.len() == 1 && followed.len() == 1);
        let (a, b) = (&sought[0], &followed[0]);
        let [a, b] = [a, b].map(|s| s.harmonics.as_ref().expect("whole"));
        for k in 2..7 {
            let off = (a.cosine[k] - b.cosine[k]).hypot(a.sine[k] - b.sine[k]) / a.uncertainty[k];
            assert!(off < 0.3, "harmonic {k} off by {off} of its uncertainty");
        }
        apart.push((a.cosine[0] - b.cosine[0]).abs() / a.uncertainty[0]);
        for k in 0..2 {
            let off = (a.centre[k] - b.centre[k]).abs() / a.uncertainty[1];
            assert!(off < 0.3, "centre off by {off} of its uncertainty");
        }
    }
    // Another term of the levels now and then moves the whole edge; apart from that nothing does.
    apart.sort_by(f64::total_cmp);
    assert!(
        apart[RUN / 2] < 0.5 && apart[RUN - 1] < 6.0,
        "mean radii apart by {apart:?}"
    );
}

/// Effort: the strip about the edge, once or twice, and one pixel of each cell.
#[test]
fn following_looks_at_few_pixels() {
    let frames = clip(RUN as u64, 5, |_, _, _| false);
    let (_, looked) = run(&frames, &scene(&frames), &Settings::default());
    let share = looked as f64 / ((RUN - 1) * WIDTH * HEIGHT) as f64;
    assert!(share > 0.05 && share < 0.18, "{share} of the pixels");
    // A frame that is looked at as a whole is not counted: nothing was followed.
    assert_eq!(run(&frames[..1], &scene(&frames), &Settings::default()).1, 0);
}

#[test]
fn a_second_body_and_a_wire_are_seen_in_the_frame_in_which_they_come() {
    let ball = |k: u64, x: f64, y: f64| k >= 5 && (x - 540.0).hypot(y - 90.0) < 20.0;
    let frames = clip(RUN as u64, 7, ball);
    let (found, _) = run(&frames, &scene(&frames), &Settings::default());
    let counts: Vec<usize> = found.iter().map(Vec::len).collect();
    assert_eq!(counts, [vec![1; 5], vec![2; RUN - 5]].concat());
    let wire = |k: u64, x: f64, y: f64| k >= 3 && (x - 310.0).abs() < 3.5 && y < 230.0;
    let frames = clip(RUN as u64, 8, wire);
    let (found, _) = run(&frames, &scene(&frames), &Settings::default());
    let held: Vec<bool> = found.iter().map(|s| s[0].touched).collect();
    assert_eq!(held, [vec![false; 3], vec![true; RUN - 3]].concat());
}

#[test]
fn a_body_that_goes_is_gone_and_one_that_leaps_is_found() {
    let mut frames = clip(RUN as u64, 9, |_, _, _| false);
    let scene = scene(&frames);
    let mut dice = Dice(10);
    let empty = |i: usize| (195.0 + (i % WIDTH) as f64 / 64.0 + dice.normal()).round() as u8;
    frames[4].plane = Plane::eight(WIDTH, HEIGHT, (0..WIDTH * HEIGHT).map(empty).collect());
    // Sixty frames later the body is elsewhere by 57 px.
    frames[6].plane = frame(66, &mut dice, |_, _| false).plane;
    let (found, _) = run(&frames, &scene, &Settings::default());
    let counts: Vec<usize> = found.iter().map(Vec::len).collect();
    assert_eq!(counts, [vec![1; 4], vec![0], vec![1; RUN - 5]].concat());
    assert!((found[6][0].centre[0] - found[5][0].centre[0]).abs() > 40.0);
}

#[test]
fn runs_are_the_same_whatever_the_number_of_threads() {
    let with = |threads| {
        let mut source = FramesInMemory::new("drawn", clip(45, 11, |_, _, _| false)).expect("alike");
        let settings = Settings {
            threads,
            ..Settings::default()
        };
        measure(&mut source, &settings, &mut |_| ControlFlow::Continue(())).expect("measured")
    };
    assert_eq!(with(1), with(3));
}
