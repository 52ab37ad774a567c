//! Drops on a wire and free drops, painted, as stills and as films coded with loss: the one is told, the other is not.

use std::f64::consts::TAU;
use std::ops::ControlFlow;
use tremolet_clip::encode::FilmWriter;
use tremolet_clip::frame::{Frame, Levels};
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Obstacle, Recipe};
use tremolet_clip::source::{FrameSource, FramesInMemory};
use tremolet_measure::measured::BodyShape;
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const SIDE: usize = 384;
const RADIUS: f64 = 112.0;

/// A painted drop of 112 px; a dark wire so wide, nil for none, runs from its rim to the border of the picture.
fn painted(seed: u64, wire: f64) -> Vec<Frame> {
    let part = |k: u64| ((seed * 2_654_435_761 + k * 40_503) % 997) as f64 / 997.0;
    let centre = [191.0 + 4.0 * part(1), 190.0 + 4.0 * part(2)];
    let mut recipe = Recipe::silhouette(SIDE, SIDE, 4, 100.0, 1e-4);
    recipe.seed = seed;
    recipe.bodies = vec![
        PaintedBody::moving(RADIUS, centre, Still(vec![0.0, 0.0, 0.03, 0.01]))
            .turned(3.0 * part(3))
            .along(move |t| [centre[0] + 30.0 * t, centre[1] - 20.0 * t]),
    ];
    if wire > 0.0 {
        let (sin, cos) = (TAU * part(4)).sin_cos();
        let at = |r: f64| [centre[0] + r * cos, centre[1] + r * sin];
        recipe.obstacles = vec![Obstacle::Rod {
            from: at(0.9 * RADIUS),
            to: at(3.0 * RADIUS),
            width_px: wire,
            light: 0.1,
            middle: None,
        }];
    }
    let mut painter = Painter::new(recipe).expect("a recipe that can be painted");
    (0..).map_while(|index| painter.paint(index)).collect()
}

fn shapes(source: &mut dyn FrameSource) -> Vec<BodyShape> {
    let found = measure(source, &Settings::default(), &mut |_| ControlFlow::Continue(()));
    let bodies = found.expect("measured").bodies;
    assert_eq!(bodies.len(), 1);
    bodies.into_iter().flat_map(|b| b.shapes).collect()
}

fn of_stills(frames: Vec<Frame>) -> Vec<BodyShape> {
    shapes(&mut FramesInMemory::new("painted", frames).expect("frames of one size"))
}

/// The same frames through an H.264 film, coded finely or coarsely.
fn of_film(frames: &[Frame], coarseness: u8) -> Vec<BodyShape> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("film.mp4");
    let mut film = FilmWriter::create(&path, SIDE, SIDE, 30.0, coarseness).expect("a film");
    for frame in frames {
        let Levels::Eight(levels) = &frame.plane.levels else {
            panic!("eight bits were asked for");
        };
        let rgb: Vec<u8> = levels.iter().flat_map(|level| [*level; 3]).collect();
        film.push(&rgb).expect("written");
    }
    film.finish().expect("closed");
    shapes(open(&path, &OpenOptions::default()).expect("readable").as_mut())
}

#[test]
fn a_thin_support_is_told_and_leaves_the_radius() {
    for (wire, seed) in [(1.5, 71), (2.0, 72), (2.0, 73), (3.0, 74), (5.0, 75), (10.0, 76)] {
        let found = of_stills(painted(seed, wire));
        assert_eq!(found.len(), 4);
        for s in &found {
            let off = s.equivalent_radius_px - RADIUS;
            assert!(s.touched && !s.touches_frame, "{wire} px, seed {seed}");
            assert!(
                off.abs() < 4.0 * s.u_radius_px && s.u_radius_px < 0.003,
                "{wire} px, seed {seed}: {off} +- {}",
                s.u_radius_px
            );
        }
    }
}

#[test]
fn a_thin_support_is_told_in_films_coded_with_loss() {
    for (wire, seed, coarseness) in [
        (2.0, 81, 22),
        (2.0, 82, 32),
        (3.0, 83, 32),
        (5.0, 84, 22),
        (10.0, 85, 36),
    ] {
        let found = of_film(&painted(seed, wire), coarseness);
        assert!(
            found.len() == 4 && found.iter().all(|s| s.touched),
            "{wire} px, {coarseness}"
        );
    }
}

#[test]
fn a_free_drop_is_not_touched() {
    for seed in 91..95 {
        let frames = painted(seed, 0.0);
        for coarseness in [22, 32, 38] {
            let found = of_film(&frames, coarseness);
            assert!(found.iter().all(|s| !s.touched), "seed {seed}, {coarseness}");
        }
        assert!(of_stills(frames).iter().all(|s| !s.touched && s.coverage > 0.99));
    }
}
