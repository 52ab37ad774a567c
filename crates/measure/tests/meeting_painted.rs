//! Painted bodies that have necks, part, pass before each other, or carry glints and wires: what the session makes of them.

use std::ops::ControlFlow;
use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::hoop::Hoop;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::parts::volume;
use tremolet_clip::painted::recipe::{Glint, Obstacle, PaintedScene, Recipe};
use tremolet_measure::measured::Measured;
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const RATE: f64 = 100.0;

fn recipe(frames: u64, bodies: Vec<PaintedBody>) -> Recipe {
    let mut recipe = Recipe::silhouette(240, 240, frames, RATE, 1e-4);
    recipe.bodies = bodies;
    recipe
}

fn measured(recipe: Recipe) -> Measured {
    let mut painter = Painter::new(recipe).expect("a recipe");
    let settings = Settings {
        threads: 1,
        ..Settings::default()
    };
    measure(&mut painter, &settings, &mut |_| ControlFlow::Continue(())).expect("frames in memory")
}

/// `rho^4 = ball_1^4 + ball_2^4 + neck^4`: balls of 36 and 28 px, `half` to both sides of the middle.
fn dumbbell(half: f64, width: f64) -> Vec<[f64; 2]> {
    let (low, high) = (-half - 36.0, half + 28.0);
    let ball = |z: f64, at: f64, b: f64| (b * b - (z - at).powi(2)).max(0.0).sqrt();
    (0..=800)
        .map(|k| {
            let z = low + (high - low) * (0.5 - 0.5 * (std::f64::consts::PI * f64::from(k) / 800.0).cos());
            let neck = width * (1.0 - (z / half).powi(2)).max(0.0).sqrt();
            let parts = [ball(z, -half, 36.0), ball(z, half, 28.0), neck];
            let rho = parts.iter().map(|p| p.powi(4)).sum::<f64>().powf(0.25);
            [z, if k % 800 == 0 { 0.0 } else { rho }]
        })
        .collect()
}

fn codes(found: &Measured) -> Vec<&str> {
    found.cautions.iter().map(|c| c.code).collect()
}

#[test]
fn a_neck_is_one_body_of_its_whole_volume() {
    for (width, axis) in [(30.0, 0.3), (18.0, -0.8), (8.0, 1.2)] {
        let truth = volume(&dumbbell(44.0, width));
        let body = PaintedBody::sphere(40.0, [120.3, 118.8])
            .turned(axis)
            .in_parts(move |_| vec![dumbbell(44.0, width)]);
        let found = measured(recipe(6, vec![body]));
        assert_eq!(found.bodies.len(), 1, "neck of {width} px");
        for shape in &found.bodies[0].shapes {
            let off = shape.volume_px3 / truth - 1.0;
            assert!(off.abs() < 5e-3, "neck of {width} px: {off}");
            let u = 3.0 * shape.u_radius_px / shape.equivalent_radius_px;
            assert!(off.abs() < 5.0 * u.max(2e-4), "neck of {width} px: {off} +- {u}");
        }
        assert!(
            (found.bodies[0].axis_angle - axis).abs() < 5e-3,
            "{}",
            found.bodies[0].axis_angle
        );
        assert!(codes(&found).contains(&"necked"));
    }
}

#[test]
fn a_neck_that_breaks_is_told_with_its_frames() {
    let parts = |t: f64| {
        if t < 0.105 {
            return vec![dumbbell(44.0, 12.0)];
        }
        let away = 47.0 + 100.0 * (t - 0.1);
        let ball = |at: f64, b: f64| {
            let place = move |k: i32| {
                let (sin, cos) = (std::f64::consts::PI * f64::from(k) / 400.0).sin_cos();
                [at - b * cos, if k % 400 == 0 { 0.0 } else { b * sin }]
            };
            (0..=400).map(place).collect::<Vec<[f64; 2]>>()
        };
        vec![ball(-away, 36.0), ball(away, 28.5)]
    };
    let body = PaintedBody::sphere(40.0, [119.0, 121.0])
        .turned(0.6)
        .in_parts(parts);
    let found = measured(recipe(24, vec![body]));
    let names: Vec<_> = found.happenings.iter().map(|h| (h.name, h.frames)).collect();
    assert_eq!(names, [("pinch_off", (10, 11))]);
    assert_eq!(found.bodies.len(), 3);
}

#[test]
fn bodies_that_pass_before_each_other_keep_name_and_size() {
    let one =
        PaintedBody::moving(38.0, [0.0; 2], Still(vec![0.0, 0.0, 0.03])).along(|t| [70.0 + 300.0 * t, 140.0]);
    let two = PaintedBody::moving(30.0, [0.0; 2], Still(vec![0.0, 0.0, -0.03, 0.01]))
        .along(|t| [170.0 - 300.0 * t, 100.0])
        .turned(0.7);
    let found = measured(recipe(34, vec![one, two]));
    assert_eq!(found.bodies.len(), 2);
    for (body, radius) in found.bodies.iter().zip([38.0, 30.0]) {
        assert_eq!(body.shapes.len(), 34, "an outline in every frame");
        for shape in &body.shapes {
            let off = (shape.equivalent_radius_px - radius).abs();
            let u = shape.u_radius_px.hypot(body.u_edge_px);
            assert!(off < 0.15 && off < 5.0 * u, "frame {}: {off} +- {u}", shape.frame);
        }
        let middle = &body.shapes[17];
        assert!(
            middle.touched && middle.coverage < 0.9,
            "no free shape while they overlap"
        );
        assert!(!body.shapes[0].touched && !body.shapes[33].touched);
    }
    let overlap: Vec<_> = found.happenings.iter().filter(|h| h.name == "overlap").collect();
    assert!(overlap.len() == 1 && overlap[0].bodies == [1, 2]);
    assert!(codes(&found).contains(&"bodies_overlap"));
}

#[test]
fn the_ends_of_a_loop_that_goes_around_hold_the_body() {
    let mut painted = recipe(10, vec![PaintedBody::sphere(50.0, [120.2, 119.6])]);
    painted.obstacles = vec![Obstacle::Hoop(Hoop {
        centre: [120.2, 119.6],
        radius_px: 51.0,
        width_px: 4.0,
        turn: 0.9,
        opening: 0.4,
        light: 0.12,
    })];
    let found = measured(painted);
    assert!(found.bodies[0].shapes.iter().all(|s| s.touched));
    assert!(codes(&found).contains(&"outline_disturbed"));
}

#[test]
fn a_glint_on_the_rim_is_left_out_and_holds_nothing() {
    let truth = [0.04, 0.02, 0.01];
    let body = PaintedBody::moving(60.0, [120.4, 119.3], Still(vec![0.0, 0.0, 0.04, 0.02, 0.01]));
    let mut painted = recipe(8, vec![body]);
    if let PaintedScene::Silhouette(look) = &mut painted.scene {
        look.glints = vec![Glint {
            at: [0.72, -0.66],
            size: 0.05,
            light: 0.9,
        }];
    }
    let found = measured(painted);
    let turned = found.bodies[0].axis_angle.cos() < 0.0;
    for shape in &found.bodies[0].shapes {
        assert!(!shape.touched && shape.coverage < 0.99);
        for (n, (found, truth)) in (2..).zip(shape.amplitude.iter().zip(truth)) {
            let truth = if turned && n % 2 == 1 { -truth } else { truth };
            assert!((found - truth).abs() < 1e-3, "a_{n} {found} {truth}");
        }
    }
}

/// The same noise with and without glints: what they take of the rim, and their faint fringe, must not move the rest. Bound: the
/// standard uncertainty of one frame.
#[test]
fn glints_do_not_move_the_rest_of_the_rim() {
    let glint = |at: [f64; 2], size: f64, light: f64| Glint { at, size, light };
    let kinds = [
        Vec::new(),
        vec![glint([0.70, -0.68], 0.05, 0.9), glint([-0.97, 0.15], 0.02, 0.7)],
        vec![glint([0.68, -0.66], 0.10, 0.15)],
    ];
    let radius = |glints: &Vec<Glint>| {
        let body = PaintedBody::sphere(60.0, [119.4, 121.2]).along(|t| [119.4 + 4.0 * t, 121.2 - 3.0 * t]);
        let mut painted = recipe(40, vec![body]);
        if let PaintedScene::Silhouette(look) = &mut painted.scene {
            look.glints.clone_from(glints);
        }
        let found = measured(painted);
        let shapes = &found.bodies[0].shapes;
        shapes.iter().map(|s| s.equivalent_radius_px).sum::<f64>() / shapes.len() as f64
    };
    let [without, two, faint] = kinds.each_ref().map(radius);
    assert!((two - without).abs() < 0.002, "{}", two - without);
    assert!((faint - without).abs() < 0.002, "{}", faint - without);
}

/// Threads thinner than the blur take light from pixel to pixel: their bodies are one, with the volume of both.
#[test]
fn bodies_on_a_thread_are_one_however_thin_it_is() {
    for (width, axis) in [(2.2, 0.6), (1.5, -1.1), (0.8, 0.3), (0.4, 1.4)] {
        let truth = volume(&dumbbell(52.0, width));
        let body = PaintedBody::sphere(40.0, [121.3, 118.8])
            .turned(axis)
            .in_parts(move |_| vec![dumbbell(52.0, width)]);
        let found = measured(recipe(4, vec![body]));
        assert_eq!(found.bodies.len(), 1, "thread of {width} px to both sides");
        for shape in &found.bodies[0].shapes {
            let off = shape.volume_px3 / truth - 1.0;
            assert!(off.abs() < 2e-3 && !shape.touched, "thread of {width} px: {off}");
        }
        assert!(codes(&found).contains(&"necked"));
    }
}

/// What is left of a broken thread sticks out of both bodies, and light lies between.
#[test]
fn bodies_on_a_broken_thread_are_two() {
    let tailed = |at: f64, b: f64, tail: f64, side: f64| {
        let mut curve: Vec<[f64; 2]> = (0..=800)
            .map(|k| {
                let share = 0.5 - 0.5 * (std::f64::consts::PI * f64::from(k) / 800.0).cos();
                let z = -b + (2.0 * b + tail) * share;
                let ball = (b * b - z * z).max(0.0).sqrt();
                let rho = if z > 0.0 { ball.max(1.6) } else { ball };
                [at + side * z, if k % 800 == 0 { 0.0 } else { rho }]
            })
            .collect();
        if side < 0.0 {
            curve.reverse();
        }
        curve
    };
    let parts = move |_| vec![tailed(-52.0, 36.0, 16.0, 1.0), tailed(52.0, 28.0, 17.0, -1.0)];
    let body = PaintedBody::sphere(40.0, [121.3, 118.8])
        .turned(0.6)
        .in_parts(parts);
    let found = measured(recipe(4, vec![body]));
    assert_eq!(found.bodies.len(), 2);
    assert!(!codes(&found).contains(&"necked"));
}
