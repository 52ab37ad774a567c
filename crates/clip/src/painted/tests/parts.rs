//! Overlapping bodies, bodies in parts, and a drop on a loop.

use std::f64::consts::{PI, TAU};

use super::*;
use crate::painted::hoop::Hoop;
use crate::painted::parts::Meridian;

#[test]
fn two_bodies_that_overlap_cover_their_union() {
    // Two circles r, R at the distance d share r^2 acos((d^2 + r^2 - R^2)/(2 d r)) + R^2 acos((d^2 + R^2 - r^2)/(2 d R)) - 2 K,
    // K the triangle of sides r, R, d (Heron).
    let (r, big, d) = (28.0_f64, 40.0_f64, 45.0_f64);
    let mut recipe = quiet(160);
    recipe.bodies = vec![
        PaintedBody::sphere(r, [50.0, 80.0]),
        PaintedBody::sphere(big, [50.0 + d, 80.0]),
    ];
    let corner = |a: f64, b: f64| a * a * ((d * d + a * a - b * b) / (2.0 * d * a)).acos();
    let half = 0.5 * (r + big + d);
    let triangle = (half * (half - r) * (half - big) * (half - d)).sqrt();
    let union = PI * (r * r + big * big) - corner(r, big) - corner(big, r) + 2.0 * triangle;
    let (area, ..) = moments(&missing(&recipe, 0), 160);
    // At the two corners the blurred edges multiply: up to a square blur each.
    assert!((area - union).abs() < 2.0, "{area} {union}");
}

/// A cylinder of half-length `l` and radius `a` between two cones to the axis of height `h`.
fn spindle(shift: f64, l: f64, a: f64, h: f64) -> Meridian {
    [[l + h, 0.0], [l, a], [-l, a], [-l - h, 0.0]]
        .map(|[z, rho]| [z + shift, rho])
        .to_vec()
}

/// Two balls of radius `b` at `+-d`, a neck of radius `a` between them.
fn necked(b: f64, d: f64, a: f64) -> Meridian {
    let meet = (a / b).asin();
    let steps = 400;
    let arc = |k: i32| f64::from(k) / f64::from(steps) * (PI - meet);
    let upper: Meridian = (0..=steps)
        .map(|k| [d + b * arc(k).cos(), b * arc(k).sin()])
        .collect();
    let lower = upper.iter().rev().map(|[z, rho]| [-z, *rho]);
    upper.iter().copied().chain(lower).collect()
}

#[test]
fn a_necked_body_shows_neck_and_balls() {
    let (b, d, a) = (26.0_f64, 32.0_f64, 6.0_f64);
    let mut recipe = quiet(160);
    let body = PaintedBody::sphere(30.0, [80.0, 79.0]).turned(0.7);
    recipe.bodies = vec![body.in_parts(move |_| vec![necked(b, d, a)])];
    // Two discs less the segments that the neck cuts off, and the neck: 2 (pi b^2 - segment) + 2 a (2 (d - b cos m)).
    let meet = (a / b).asin();
    let segment = b * b * (meet - meet.sin() * meet.cos());
    let expected = 2.0 * (PI * b * b - segment) + 4.0 * a * (d - b * meet.cos());
    let (area, centre, second) = moments(&missing(&recipe, 0), 160);
    assert!((area / expected - 1.0).abs() < 1e-4, "{area} {expected}");
    assert!((centre[0] - 80.0).hypot(centre[1] - 79.0) < 1e-3);
    // The long axis points to 0.7 rad from image-up towards +x: along (sin, -cos), so xy is negative.
    let lean = 0.5 * (2.0 * second[1]).atan2(second[0] - second[2]);
    assert!((lean - (0.7 - PI / 2.0)).abs() < 1e-3, "{lean}");
}

#[test]
fn parts_lie_apart_along_the_axis_and_keep_their_volumes() {
    let parts = |t: f64| {
        let apart = 20.0 + 500.0 * t;
        vec![spindle(apart, 8.0, 9.0, 5.0), spindle(-apart, 4.0, 7.0, 3.0)]
    };
    let mut recipe = quiet(160);
    recipe.bodies = vec![PaintedBody::sphere(20.0, [80.0, 80.0]).in_parts(parts)];
    let dark = missing(&recipe, 1);
    // Areas 4 a l + 2 a h.
    let (upper, lower) = (
        4.0 * 9.0 * 8.0 + 2.0 * 9.0 * 5.0,
        4.0 * 7.0 * 4.0 + 2.0 * 7.0 * 3.0,
    );
    let (above, below) = dark.split_at(80 * 160);
    for (half, area, y) in [(above, upper, 55.0), (below, lower, 25.0)] {
        let (found, centre, _) = moments(half, 160);
        assert!((found / area - 1.0).abs() < 1e-3, "{found} {area}");
        assert!((centre[1] - y).abs() < 1e-2 && (centre[0] - 80.0).abs() < 1e-3);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clip");
    crate::painted::stills::write_stills(&mut Painter::new(recipe.clone()).unwrap(), &path).unwrap();
    let table = std::fs::read_to_string(path.join("truth-parts.csv")).unwrap();
    let cells: Vec<f64> = table
        .lines()
        .nth(3)
        .unwrap()
        .split(',')
        .map(|c| c.parse().unwrap())
        .collect();
    // Cylinder and two cones.
    let volume = PI * 81.0 * (16.0 + 2.0 / 3.0 * 5.0);
    assert_eq!(&cells[..3], &[1.0, 0.0, 0.0]);
    assert!((cells[3] / volume - 1.0).abs() < 1e-12 && (cells[4] - 25.0).abs() < 1e-12);
    let truth = std::fs::read_to_string(path.join("truth.csv")).unwrap();
    assert!(truth.lines().nth(1).unwrap().ends_with(",80,80,0,"), "{truth}");
    recipe.distance_m = Some(0.1);
    assert!(Painter::new(recipe).is_err_and(|why| why.to_string().contains("in parts")));
}

fn hoop() -> Hoop {
    Hoop {
        centre: [80.0, 78.0],
        radius_px: 55.0,
        width_px: 4.0,
        turn: PI / 2.0,
        opening: 0.5,
        light: 0.0,
    }
}

#[test]
fn a_hoop_is_a_band_about_an_ellipse() {
    // Between two parallel curves of a closed curve lies width times its length.
    let mut recipe = quiet(160);
    recipe.obstacles = vec![Obstacle::Hoop(hoop())];
    let b = 0.5_f64.sin();
    let length: f64 = (0..2000)
        .map(|k| TAU * f64::from(k) / 2000.0)
        .map(|s| 55.0 * s.sin().hypot(b * s.cos()) * TAU / 2000.0)
        .sum();
    let (area, centre, _) = moments(&missing(&recipe, 0), 160);
    assert!((area / (4.0 * length) - 1.0).abs() < 2e-3, "{area} {length}");
    assert!((centre[0] - 80.0).hypot(centre[1] - 78.0) < 1e-2, "{centre:?}");
    recipe.obstacles = vec![Obstacle::Hoop(Hoop {
        opening: 0.05,
        ..hoop()
    })];
    assert!(Painter::new(recipe).is_err());
}

#[test]
fn a_hoop_passes_behind_and_before_the_drop() {
    let mut recipe = quiet(160);
    recipe.obstacles = vec![Obstacle::Hoop(hoop())];
    recipe.bodies = vec![PaintedBody::sphere(40.0, [80.0, 78.0])];
    if let PaintedScene::Silhouette(look) = &mut recipe.scene {
        (look.dark, look.middle) = (0.5, 0.5);
    }
    let dark = missing(&recipe, 0);
    let at = |x: usize, y: f64| dark[y.round() as usize * 160 + x];
    // The long diameter points to +x, the nearer half lies to its right: downwards.
    let short = 55.0 * 0.5_f64.sin();
    assert!(at(80, 78.0 + short) > 0.8, "in front");
    assert!((at(80, 78.0 - short) - 0.5).abs() < 0.01, "behind");
    // Beyond the drop both halves are seen.
    let (x, y) = (80.0 + 55.0 * 0.5_f64.cos(), short * 0.5_f64.sin());
    assert!(at(x as usize, 78.0 + y) > 0.8 && at(x as usize, 78.0 - y) > 0.8);
}
