use std::f64::consts::PI;
use std::sync::Arc;

use super::*;
use crate::frame::Levels;
use crate::painted::body::{PaintedBody, Still};
use crate::painted::outline::outline;
use crate::painted::recipe::{Bright, Dust, Glint, Lamp, Obstacle, PaintedCamera, Silhouette};

fn quiet(size: usize) -> Recipe {
    Recipe {
        camera: PaintedCamera::noiseless(),
        // 0.8 of 65535 is a whole code: the empty field is free of rounding.
        lamp: Lamp {
            level: 0.8,
            falloff: 0.0,
            slope: [0.0; 2],
            ..Lamp::default()
        },
        scene: PaintedScene::Silhouette(Silhouette {
            dark: 0.0,
            middle: 0.0,
            middle_size: 0.3,
            ..Silhouette::default()
        }),
        ..Recipe::silhouette(size, size, 4, 100.0, 1e-5)
    }
}

fn levels(recipe: &Recipe, index: u64) -> Vec<f64> {
    let frame = Painter::new(recipe.clone()).unwrap().paint(index).unwrap();
    match frame.plane.levels {
        Levels::Eight(levels) => levels.into_iter().map(f64::from).collect(),
        Levels::Sixteen(levels) => levels.into_iter().map(f64::from).collect(),
    }
}

/// Sum of what is missing from the lamp's light, in pixels.
fn darkness(recipe: &Recipe) -> f64 {
    let lamp = recipe.lamp.level * recipe.camera.largest_code();
    levels(recipe, 0).iter().map(|level| 1.0 - level / lamp).sum()
}

#[test]
fn darkness_of_a_sphere_is_its_area() {
    for (radius, blur) in [(40.0, 1.25), (12.3, 0.6), (55.5, 3.0)] {
        let mut recipe = quiet(160);
        recipe.camera.blur_px = blur;
        recipe.bodies = vec![PaintedBody::sphere(radius, [80.37, 79.21])];
        let area = PI * radius * radius;
        assert!(
            (darkness(&recipe) / area - 1.0).abs() < 1e-5,
            "{radius} {blur}: {}",
            darkness(&recipe) / area - 1.0
        );
    }
}

#[test]
fn darkness_of_a_shape_is_the_integral_of_its_meridian() {
    let shape = vec![0.0, 0.0, 0.12, -0.06, 0.03];
    let mut recipe = quiet(200);
    recipe.bodies = vec![PaintedBody::moving(60.0, [100.2, 99.4], Still(shape)).turned(0.6)];
    let pose = recipe.bodies[0].at(0.0).unwrap();
    // Area of the meridian in polar coordinates, by the midpoint rule.
    let steps = 4000;
    let angle = |k: i32| 2.0 * PI * (f64::from(k) + 0.5) / f64::from(steps);
    let half_square = |k: i32| 0.5 * (60.0 * pose.relative_radius(angle(k).cos())).powi(2);
    let area: f64 = (0..steps)
        .map(|k| half_square(k) * 2.0 * PI / f64::from(steps))
        .sum();
    assert!((darkness(&recipe) / area - 1.0).abs() < 1e-5);
}

#[test]
fn the_edge_lies_where_the_truth_says() {
    // Along a row through the centre of a large sphere the missing light to the right is the radius, less what the
    // blur takes from a curved edge, s^2 / (2 R) with s^2 = blur^2 + 1/12.
    let (radius, blur) = (70.0, 1.25_f64);
    let mut recipe = quiet(160);
    recipe.bodies = vec![PaintedBody::sphere(radius, [80.0, 80.0])];
    let lamp = recipe.lamp.level * 65535.0;
    let row = &levels(&recipe, 0)[80 * 160..81 * 160];
    let right: f64 = row[80..].iter().map(|level| 1.0 - level / lamp).sum::<f64>() - 0.5;
    // The chord through the pixel row of height one is shorter than R by 1/(24 R); that is in s^2.
    let expected = radius - (blur * blur + 1.0 / 12.0) / (2.0 * radius);
    assert!((right - expected).abs() < 2e-4, "{right} {expected}");
}

#[test]
fn axis_turns_from_image_up_towards_the_right() {
    let mut recipe = quiet(160);
    recipe.bodies =
        vec![PaintedBody::moving(50.0, [80.0, 80.0], Still(vec![0.0, 0.0, 0.0, 0.12])).turned(PI / 2.0)];
    let grey = levels(&recipe, 0);
    // P_3 bulges at the pole on the axis, which points right: dark reaches further right than left.
    let row = &grey[80 * 160..81 * 160];
    let dark = |x: usize| row[x] < 0.2 * 65535.0;
    assert!(dark(80 + 53) && !dark(80 - 53));
    recipe.bodies = vec![PaintedBody::moving(
        50.0,
        [80.0, 80.0],
        Still(vec![0.0, 0.0, 0.0, 0.12]),
    )];
    let grey = levels(&recipe, 0);
    assert!(grey[(80 - 53) * 160 + 80] < 0.2 * 65535.0 && grey[(80 + 53) * 160 + 80] > 0.2 * 65535.0);
}

#[test]
fn a_sphere_near_the_lens_looks_larger() {
    let mut recipe = quiet(160);
    recipe.bodies = vec![PaintedBody::sphere(50.0, [80.1, 79.8])];
    for ratio in [3.0, 10.0] {
        recipe.distance_m = Some(50.0 * ratio * recipe.scale_m_per_px);
        let seen = 50.0 / (1.0 - 1.0 / (ratio * ratio)).sqrt();
        assert!(
            (darkness(&recipe) / (PI * seen * seen) - 1.0).abs() < 1e-5,
            "{ratio}"
        );
    }
}

#[test]
fn from_afar_perspective_fades() {
    let mut recipe = quiet(160);
    recipe.bodies = vec![PaintedBody::moving(
        50.0,
        [80.0, 80.0],
        Still(vec![0.0, 0.0, 0.1, 0.03]),
    )];
    let flat = darkness(&recipe);
    recipe.distance_m = Some(5000.0 * 50.0 * recipe.scale_m_per_px);
    assert!((darkness(&recipe) / flat - 1.0).abs() < 1e-5);
}

#[test]
fn a_polar_dimple_hides_behind_its_rim() {
    // a_2 = -0.5: the meridian is concave at the poles, its silhouette is not.
    let pose = PaintedBody::moving(60.0, [0.0, 0.0], Still(vec![0.0, 0.0, -0.5]))
        .at(0.0)
        .unwrap();
    let ring = outline(&pose, None, 1.0, 0.5);
    let highest = ring.points.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let at_axis = ring
        .points
        .iter()
        .filter(|p| p[0].abs() < 1.0)
        .map(|p| p[1].abs())
        .fold(1e9, f64::min);
    assert!((at_axis - highest).abs() < 1e-9 && highest > 60.0 * pose.relative_radius(1.0) + 1.0);
}

#[test]
fn noise_grows_with_the_light_as_electrons_do() {
    // Variance of a code: M^2 (L / W + read^2) + 1/12, M the largest code, L the light, W the full well.
    let mut recipe = quiet(200);
    for level in [0.003, 0.1, 0.6] {
        recipe.lamp.level = level;
        recipe.camera = PaintedCamera {
            full_well: Some(4000.0),
            read_noise: 0.002,
            bits: 12,
            ..PaintedCamera::default()
        };
        recipe.lamp.level = level;
        let grey = levels(&recipe, 0);
        let count = grey.len() as f64;
        let mean = grey.iter().sum::<f64>() / count;
        let variance = grey.iter().map(|g| (g - mean).powi(2)).sum::<f64>() / count;
        let largest = 4095.0_f64;
        let expected = largest * largest * (level / 4000.0 + 0.002 * 0.002) + 1.0 / 12.0;
        // 40 000 samples: the variance is known to 0.7 % (1 sd); the floor at code 0 is far for all but the first level.
        assert!(
            (variance / expected - 1.0).abs() < if level < 0.01 { 0.15 } else { 0.03 },
            "{level}: {variance} {expected}"
        );
        assert!((mean / (level * largest) - 1.0).abs() < 0.02 || level < 0.01);
    }
}

#[test]
fn the_same_recipe_gives_the_same_frame_in_any_order() {
    let mut recipe = Recipe::bright(96, 80, 5, 100.0, 1e-5);
    recipe.clock.jitter = 0.05;
    recipe.dust.specks = 10;
    let wobble = |t: f64| vec![0.0, 0.0, 0.1 * (100.0 * t).cos()];
    recipe.bodies = vec![PaintedBody::moving(25.0, [48.0, 40.0], wobble).along(|t| [48.0 + 20.0 * t, 40.0])];
    let mut forward = Painter::new(recipe.clone()).unwrap();
    let first: Vec<_> = (0..5).map(|i| forward.paint(i).unwrap()).collect();
    let mut backward = Painter::new(recipe.clone()).unwrap();
    for i in (0..5).rev() {
        assert_eq!(backward.paint(i).unwrap(), first[i as usize]);
    }
    recipe.seed = 2;
    assert_ne!(Painter::new(recipe).unwrap().paint(0).unwrap(), first[0]);
}

#[test]
fn dropped_slots_leave_gaps_and_repeated_ones_show_the_last_picture() {
    let mut recipe = Recipe::silhouette(32, 32, 6, 50.0, 1e-5);
    recipe.clock.dropped = vec![1];
    recipe.clock.repeated = vec![3, 4];
    let mut painter = Painter::new(recipe).unwrap();
    let slots: Vec<u64> = painter.shots().iter().map(|shot| shot.slot).collect();
    assert_eq!(slots, [0, 2, 3, 4, 5]);
    let frames: Vec<_> = (0..5).map(|i| painter.paint(i).unwrap()).collect();
    assert_eq!(frames[1].plane, frames[2].plane);
    assert_eq!(frames[1].plane, frames[3].plane);
    assert_ne!(frames[3].plane, frames[4].plane);
    let stamps: Vec<i64> = frames.iter().map(|f| f.stamp.unwrap().ticks).collect();
    assert_eq!(stamps, [0, 40_000, 60_000, 80_000, 100_000]);
    let truth = painter.truth();
    assert_eq!(truth.frames[3].time, 0.04);
    assert_eq!(truth.frames[3].stamp, 0.08);
    assert!(painter.paint(5).is_none());
}

#[test]
fn uneven_times_are_told_by_their_stamps() {
    let mut recipe = Recipe::silhouette(32, 32, 400, 100.0, 1e-5);
    recipe.clock.jitter = 0.1;
    let truth = Painter::new(recipe).unwrap().truth();
    let shifts: Vec<f64> = truth
        .frames
        .iter()
        .enumerate()
        .map(|(i, f)| f.time * 100.0 - i as f64)
        .collect();
    let spread = (shifts.iter().map(|s| s * s).sum::<f64>() / 400.0).sqrt();
    assert!((spread / 0.1 - 1.0).abs() < 0.15, "{spread}");
    assert!(truth.frames.iter().all(|f| (f.time - f.stamp).abs() <= 0.5e-6));
    assert!(truth.frames.windows(2).all(|w| w[1].time > w[0].time));
}

#[test]
fn obstacles_cover_and_flicker_dims() {
    let mut recipe = quiet(120);
    recipe.obstacles = vec![Obstacle::Rod {
        from: [60.0, -20.0],
        to: [60.0, 60.0],
        width_px: 6.0,
        light: 0.0,
        middle: None,
    }];
    // A bar of 6 px from the top down to row 60 (the frame begins at -0.5), and half a disc of radius 3.
    let area = 6.0 * 60.5 + 0.5 * PI * 9.0;
    assert!(
        (darkness(&recipe) - area).abs() < 0.02,
        "{} {area}",
        darkness(&recipe)
    );
    recipe.obstacles = vec![Obstacle::Loop {
        centre: [60.0, 60.0],
        radius_px: 30.0,
        width_px: 4.0,
        light: 0.0,
    }];
    assert!((darkness(&recipe) / (2.0 * PI * 30.0 * 4.0) - 1.0).abs() < 1e-4);
    let mut recipe = quiet(32);
    recipe.lamp = Lamp {
        flicker: 0.1,
        flicker_hz: 25.0,
        ..recipe.lamp
    };
    let middle = |index| levels(&recipe, index)[0] / (recipe.lamp.level * 65535.0);
    assert!(
        (middle(0) - 1.0).abs() < 1e-4 && (middle(1) - 1.1).abs() < 1e-4 && (middle(3) - 0.9).abs() < 1e-4
    );
}

#[test]
fn a_glint_on_a_silhouette_brightens_its_place_and_goes_with_the_body() {
    let glint = Glint {
        at: [0.9, 0.0],
        size: 0.06,
        light: 0.3,
    };
    let mut recipe = quiet(64);
    recipe.bodies = vec![PaintedBody::sphere(20.0, [30.0, 31.0]).along(|t| [30.0 + 100.0 * t, 31.0])];
    let without = levels(&recipe, 1);
    if let PaintedScene::Silhouette(look) = &mut recipe.scene {
        look.glints = vec![glint];
    }
    let with = levels(&recipe, 1);
    let gain = |x: usize, y: usize| (with[y * 64 + x] - without[y * 64 + x]) / 65535.0;
    // The body is at 31 when frame 1 is taken: the glint lies at 31 + 18 = 49 and 0.3 is its peak in the dark.
    assert!((gain(49, 31) - 0.3).abs() < 0.01, "{}", gain(49, 31));
    assert!(gain(40, 31).abs() < 1e-4 && gain(49, 40).abs() < 1e-4);
}

#[test]
fn dust_darkens_a_little() {
    let mut recipe = quiet(120);
    recipe.dust = Dust {
        specks: 12,
        ..Dust::default()
    };
    let lost = darkness(&recipe);
    assert!(lost > 5.0 && lost < 12.0 * PI * 9.0, "{lost}");
}

#[test]
fn absent_bodies_leave_the_lamp_alone_and_no_truth() {
    let mut recipe = quiet(48);
    recipe.bodies = vec![PaintedBody {
        present: [0.015, 1.0],
        ..PaintedBody::sphere(10.0, [24.0, 24.0])
    }];
    assert!(darkness(&recipe).abs() < 0.05);
    let truth = Painter::new(recipe).unwrap().truth();
    let there: Vec<bool> = truth.frames.iter().map(|f| f.bodies[0].is_some()).collect();
    assert_eq!(there, [false, false, true, true]);
    let mut csv = Vec::new();
    truth.write_csv(&mut csv).unwrap();
    let text = String::from_utf8(csv).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[0],
        "frame,time_s,stamp_s,body,radius_px,centre_x_px,centre_y_px,axis_rad,a_0"
    );
    assert_eq!(lines[1], "0,0,0,0,,,,,");
    assert_eq!(lines[3], "2,0.02,0.02,0,10,24,24,0,0");
}

#[test]
fn a_body_leaving_the_frame_is_cut_at_its_border() {
    let mut recipe = quiet(100);
    recipe.bodies = vec![PaintedBody::sphere(30.0, [-0.5, 50.0])];
    assert!((darkness(&recipe) / (0.5 * PI * 900.0) - 1.0).abs() < 2e-4);
    recipe.bodies = vec![PaintedBody::sphere(30.0, [99.5, 50.0])];
    assert!((darkness(&recipe) / (0.5 * PI * 900.0) - 1.0).abs() < 2e-4);
    recipe.bodies = vec![PaintedBody::sphere(30.0, [50.0, 250.0])];
    assert!(darkness(&recipe).abs() < 0.1);
}

#[test]
fn the_bright_edge_lies_where_the_truth_says() {
    // Inside and outside plain: what is gained by the drop over the dark field is its area.
    let mut recipe = quiet(160);
    recipe.lamp.level = 1.0;
    recipe.scene = PaintedScene::Bright(Bright {
        rim_width: 1e-3,
        rim_light: 1.0,
        haze: 0.0,
        glints: Vec::new(),
        background: [0.4, 0.4],
        things: 0,
        ..Bright::default()
    });
    recipe.bodies = vec![PaintedBody::sphere(50.0, [80.0, 80.0])];
    let lost: f64 = levels(&recipe, 0)
        .iter()
        .map(|level| 1.0 - level / (0.4 * 65535.0))
        .sum();
    assert!((lost / (0.25 * PI * 2500.0) - 1.0).abs() < 1e-3, "{lost}");
}

#[test]
fn recipes_that_cannot_be_painted_are_refused() {
    let bad = |change: &dyn Fn(&mut Recipe)| {
        let mut recipe = Recipe {
            bodies: vec![PaintedBody::sphere(10.0, [20.0; 2])],
            ..quiet(40)
        };
        change(&mut recipe);
        Painter::new(recipe).err().map(|e| e.to_string())
    };
    assert_eq!(bad(&|_| ()), None);
    let message = bad(&|r| r.camera.blur_px = 0.1).unwrap();
    assert_eq!(message, "blur (px) is 0.1: must lie between 0.3 and 12");
    assert!(bad(&|r| r.width = 0).is_some());
    assert!(bad(&|r| r.camera.bits = 4).is_some());
    assert!(bad(&|r| r.bodies[0].radius_px = f64::NAN).is_some());
    assert!(bad(&|r| r.distance_m = Some(1e-5)).is_some());
    assert!(bad(&|r| r.clock.jitter = 0.5).is_some());
}

#[test]
fn two_bodies_keep_their_own_truth() {
    let mut recipe = quiet(160);
    recipe.bodies = vec![
        PaintedBody::sphere(20.0, [40.0, 80.0]),
        PaintedBody::sphere(30.0, [110.0, 80.0]),
    ];
    assert!((darkness(&recipe) / (PI * 1300.0) - 1.0).abs() < 1e-4);
    let centre = Arc::clone(&recipe.bodies[1].centre);
    let truth = Painter::new(recipe).unwrap().truth();
    assert_eq!(truth.frames[1].bodies[1].as_ref().unwrap().centre, centre(0.01));
    assert_eq!(truth.radius_m, [20.0 * 1e-5, 30.0 * 1e-5]);
}

#[test]
fn as_a_source_it_gives_every_frame_once() {
    let mut painter = Painter::new(quiet(32)).unwrap();
    assert_eq!(
        (
            painter.info().width,
            painter.info().bits,
            painter.info().frame_count
        ),
        (32, 16, Some(4))
    );
    let mut indices = Vec::new();
    while let Some(frame) = painter.next_frame().unwrap() {
        indices.push(frame.index);
    }
    assert_eq!(indices, [0, 1, 2, 3]);
}
