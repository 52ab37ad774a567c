//! Shake, breathing and steps of the exposure.

use std::f64::consts::PI;
use std::sync::Arc;

use super::*;
use crate::painted::recipe::Mark;

const DOT: Mark = Mark::Dot {
    centre: [30.3, 110.8],
    radius_px: 7.0,
    light: 0.0,
};

/// Area and centre of what is missing in columns `from..until` of a square picture.
fn part(missing: &[f64], size: usize, from: usize, until: usize) -> (f64, [f64; 2]) {
    let inside = |i: usize| (from..until).contains(&(i % size));
    let only: Vec<f64> = (0..missing.len())
        .map(|i| if inside(i) { missing[i] } else { 0.0 })
        .collect();
    let (area, centre, _) = moments(&only, size);
    (area, centre)
}

#[test]
fn marks_lie_where_they_are_put() {
    let mut recipe = quiet(160);
    recipe.marks = vec![
        DOT,
        Mark::Bar {
            from: [90.0, 140.0],
            to: [130.0, 140.0],
            width_px: 4.0,
            light: 0.25,
        },
    ];
    let dark = missing(&recipe, 0);
    let (area, centre) = part(&dark, 160, 0, 60);
    assert!((area / (PI * 49.0) - 1.0).abs() < 1e-4, "{area}");
    assert!((centre[0] - 30.3).hypot(centre[1] - 110.8) < 1e-3, "{centre:?}");
    let (area, centre) = part(&dark, 160, 60, 160);
    // A bar of 40 by 4 with two half discs of radius 2, three quarters dark.
    assert!((area / (0.75 * (160.0 + 4.0 * PI)) - 1.0).abs() < 1e-3, "{area}");
    assert!((centre[0] - 110.0).hypot(centre[1] - 140.0) < 1e-2);
    // A body in front hides a mark.
    recipe.marks = vec![DOT];
    recipe.bodies = vec![PaintedBody::sphere(20.0, [30.0, 110.0])];
    let (area, ..) = moments(&missing(&recipe, 0), 160);
    assert!((area / (PI * 400.0) - 1.0).abs() < 1e-4);
}

#[test]
fn body_marks_and_wires_shake_together() {
    let mut recipe = quiet(160);
    recipe.marks = vec![DOT];
    recipe.bodies = vec![PaintedBody::sphere(20.0, [110.0, 60.0])];
    recipe.handling.shake = Some(Arc::new(|t| [300.0 * t, -450.0 * t]));
    let dark = missing(&recipe, 2);
    let (body, mark) = (part(&dark, 160, 70, 160), part(&dark, 160, 0, 70));
    assert!((body.1[0] - 116.0).hypot(body.1[1] - 51.0) < 1e-3, "{body:?}");
    assert!((mark.1[0] - 36.3).hypot(mark.1[1] - 101.8) < 1e-3, "{mark:?}");
    assert!((body.0 / (PI * 400.0) - 1.0).abs() < 1e-4 && (mark.0 / (PI * 49.0) - 1.0).abs() < 1e-4);
    recipe.obstacles = vec![Obstacle::Loop {
        centre: [60.0, 80.0],
        radius_px: 30.0,
        width_px: 3.0,
        light: 0.0,
    }];
    (recipe.marks, recipe.bodies) = (Vec::new(), Vec::new());
    let (_, centre, _) = moments(&missing(&recipe, 2), 160);
    assert!((centre[0] - 66.0).hypot(centre[1] - 71.0) < 1e-3, "{centre:?}");
}

#[test]
fn breathing_enlarges_about_the_middle_and_blurs() {
    // About (79.5, 79.5): lengths by z, areas by z^2; with a lens at a distance the sphere's outline too.
    let mut recipe = quiet(160);
    recipe.marks = vec![DOT];
    recipe.bodies = vec![PaintedBody::sphere(20.0, [110.0, 60.0])];
    recipe.distance_m = Some(100.0e-5);
    recipe.handling.zoom = Some(Arc::new(|t| 1.0 + 2.0 * t));
    let dark = missing(&recipe, 3);
    let (body, mark) = (part(&dark, 160, 70, 160), part(&dark, 160, 0, 70));
    let seen = |v: f64| 79.5 + 1.06 * (v - 79.5);
    let round = PI * 400.0 / (1.0 - 0.04) * 1.06 * 1.06;
    assert!((body.0 / round - 1.0).abs() < 1e-4, "{body:?} {round}");
    assert!((body.1[0] - seen(110.0)).hypot(body.1[1] - seen(60.0)) < 1e-3);
    assert!((mark.0 / (PI * 49.0 * 1.06 * 1.06) - 1.0).abs() < 1e-4);
    assert!((mark.1[0] - seen(30.3)).hypot(mark.1[1] - seen(110.8)) < 1e-3);
    // Blur adds its square to the second moments: 2.5^2 at frame 1 against 1.25^2.
    let mut recipe = quiet(96);
    recipe.bodies = vec![PaintedBody::sphere(20.0, [48.0, 47.0])];
    let (_, _, sharp) = moments(&missing(&recipe, 1), 96);
    recipe.handling.blur_px = Some(Arc::new(|t| 1.25 + 125.0 * t));
    let (_, _, soft) = moments(&missing(&recipe, 1), 96);
    let gained = 2.5 * 2.5 - 1.25 * 1.25;
    assert!((soft[0] - sharp[0] - gained).abs() < 0.01, "{soft:?} {sharp:?}");
}

#[test]
fn the_exposure_steps() {
    let mut recipe = quiet(32);
    recipe.lamp.level = 0.4;
    recipe.handling.exposure_steps = vec![[0.01, 1.5], [0.025, 0.75]];
    for (index, factor) in [(0, 1.0), (1, 1.5), (2, 1.5), (3, 0.75)] {
        let level = 1.0 - missing(&recipe, index)[40];
        assert!((level - factor).abs() < 1e-4, "{index}: {level}");
    }
}

/// A shift by whole pixels shows the same wall and the same body; only the border is new.
#[test]
fn a_wall_shakes_as_a_whole() {
    let mut recipe = Recipe::bright(96, 80, 2, 100.0, 1e-4);
    recipe.camera = PaintedCamera::noiseless();
    (recipe.lamp.falloff, recipe.lamp.slope) = (0.0, [0.0; 2]);
    recipe.bodies = vec![PaintedBody::sphere(20.0, [40.0, 36.0])];
    let levels = |recipe: &Recipe| {
        let frame = Painter::new(recipe.clone()).unwrap().paint(1).unwrap();
        move |x: usize, y: usize| frame.plane.at(x, y)
    };
    let still = levels(&recipe);
    recipe.handling.shake = Some(Arc::new(|_| [5.0, -3.0]));
    let shaken = levels(&recipe);
    let differ = (0..70)
        .flat_map(|y| (0..80).map(move |x| (x, y + 5)))
        .map(|(x, y)| (still(x, y) - shaken(x + 5, y - 3)).abs())
        .fold(0.0, f32::max);
    assert!(differ <= 2.0, "{differ}");
    assert!((still(40, 20) - shaken(40, 20)).abs() > 2.0);
}

#[test]
fn shake_goes_row_by_row_in_a_rolling_shutter() {
    // As the leaning disc of a moving body: xy moment R^2/4 a s, for a scene that shakes at a px/s.
    let mut recipe = quiet(160);
    recipe.camera.readout = 0.008;
    recipe.bodies = vec![PaintedBody::sphere(40.0, [80.0; 2])];
    recipe.handling.shake = Some(Arc::new(|t| [400.0 * t, 0.0]));
    let (_, _, second) = moments(&missing(&recipe, 0), 160);
    let lean = (400.0 + 1.25 * 1.25 + 1.0 / 12.0) * 400.0 * 0.008 / 159.0;
    assert!((second[1] - lean).abs() < 0.005, "{} {lean}", second[1]);
}

#[test]
fn the_truth_tells_how_the_camera_was_handled() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clip");
    let mut recipe = quiet(32);
    recipe.handling.shake = Some(Arc::new(|t| [100.0 * t, 0.5]));
    recipe.handling.exposure_steps = vec![[0.015, 0.5]];
    recipe.handling.blur_px = Some(Arc::new(|_| 2.0));
    crate::painted::stills::write_stills(&mut Painter::new(recipe.clone()).unwrap(), &path).unwrap();
    let view = std::fs::read_to_string(path.join("truth-view.csv")).unwrap();
    let lines: Vec<&str> = view.lines().collect();
    assert_eq!(lines[0], "frame,time_s,shift_x_px,shift_y_px,zoom,blur_px,light");
    assert_eq!(
        (lines[2], lines[3]),
        ("1,0.01,1,0.5,1,2,1", "2,0.02,2,0.5,1,2,0.5")
    );
    for bad in [f64::NAN, 0.0] {
        recipe.handling.zoom = Some(Arc::new(move |_| bad));
        assert!(Painter::new(recipe.clone()).is_err());
    }
}
