//! Bodies that are tilted, rippled or out of the mid-plane, against the cone that touches an ellipsoid.
//!
//! Sight lines from `L` touch the ellipsoid `x A x = 1` on the cone `(L A x - 1)^2 = (L A L - 1)(x A x - 1)`. In the plane
//! through the centre this is a conic: with `v` and `A2` the parts of `A L` and `A` in the plane and `k = L A L - 1`,
//! `q B q + 2 v q = 1 + k`, `B = k A2 - v v`: an ellipse about `-v / B`, all of it scaled by focus over distance.

use std::f64::consts::{PI, TAU};

use super::*;
use crate::painted::space::Ripple;

/// `d^m P_n / dx^m` from the explicit sum of powers.
fn derivative(n: u32, m: u32, x: f64) -> f64 {
    let factorial = |k: u32| (1..=k).map(f64::from).product::<f64>();
    (0..=n / 2)
        .filter(|k| n - 2 * k >= m)
        .map(|k| {
            let top = factorial(2 * n - 2 * k) / (factorial(n - k) * factorial(k) * factorial(n - 2 * k));
            let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
            let power = n - 2 * k - m;
            sign * top / 2.0_f64.powi(n as i32) * factorial(n - 2 * k) / factorial(power)
                * x.powi(power as i32)
        })
        .sum()
}

/// Modes of an ellipsoid with semi-axes `[at azimuth 0, at azimuth 90 degrees, along the axis]` of product 1.
fn modes(axes: [f64; 3]) -> (Vec<f64>, Vec<Ripple>) {
    const HIGHEST: u32 = 14;
    // Even steps in theta err by (2 n + 1) h^2 / 24 at the poles: 7e-7 of the radius at most.
    let (polar, round) = (4000, if axes[0] == axes[1] { 1 } else { 32 });
    let mean = |n: u32, m: u32| -> f64 {
        let factorial = |k: u32| (1..=k).map(f64::from).product::<f64>();
        let scale = if m == 0 {
            1.0
        } else {
            (2.0 * factorial(n - m) / factorial(n + m)).sqrt()
        };
        (0..polar)
            .map(|i| (f64::from(i) + 0.5) * PI / f64::from(polar))
            .map(|theta| {
                let (s, c) = theta.sin_cos();
                let ring: f64 = (0..round)
                    .map(|j| TAU * f64::from(j) / f64::from(round))
                    .map(|phi| {
                        let at = [s * phi.cos() / axes[0], s * phi.sin() / axes[1], c / axes[2]];
                        let r = at.iter().map(|a| a * a).sum::<f64>().sqrt().recip();
                        r * (f64::from(m) * phi).cos() / f64::from(round)
                    })
                    .sum();
                let weight = 0.5 * s * PI / f64::from(polar);
                weight * ring * scale * s.powi(m as i32) * derivative(n, m, c)
            })
            .sum::<f64>()
            * f64::from(2 * n + 1)
    };
    let even = (0..=HIGHEST)
        .map(|n| if n > 0 { mean(n, 0) } else { 0.0 })
        .collect();
    let mut ripples = Vec::new();
    if axes[0] != axes[1] {
        for n in (2..=HIGHEST).step_by(2) {
            ripples.extend((2..=n).step_by(2).map(|m| Ripple {
                degree: n,
                order: m,
                amplitude: mean(n, m),
                phase: 0.0,
            }));
        }
    }
    (even, ripples)
}

/// `A` in the frame (along the axis in the image, to its right, towards the lens).
fn quadric(axes: [f64; 3], radius: f64, tilt: f64, turn: f64) -> [[f64; 3]; 3] {
    let ((st, ct), (sp, cp)) = (tilt.sin_cos(), turn.sin_cos());
    let lens_side = [-st, 0.0, ct];
    let directions = [
        [cp * lens_side[0], sp, cp * lens_side[2]],
        [-sp * lens_side[0], cp, -sp * lens_side[2]],
        [ct, 0.0, st],
    ];
    let mut a = [[0.0; 3]; 3];
    for (direction, axis) in directions.iter().zip(axes) {
        for i in 0..3 {
            for j in 0..3 {
                a[i][j] += direction[i] * direction[j] / (radius * axis).powi(2);
            }
        }
    }
    a
}

/// Area, centre and second moments of the ellipse seen, in the image frame, about the sight line.
fn seen(a: [[f64; 3]; 3], distance: f64, focus: f64, axis: f64) -> (f64, [f64; 2], [f64; 3]) {
    let (v, k) = (
        [a[0][2] * distance, a[1][2] * distance],
        a[2][2] * distance * distance - 1.0,
    );
    let b = |i: usize, j: usize| k * a[i][j] - v[i] * v[j];
    let det = b(0, 0) * b(1, 1) - b(0, 1) * b(0, 1);
    let inverse = [b(1, 1) / det, -b(0, 1) / det, b(0, 0) / det];
    let centre = [
        -(inverse[0] * v[0] + inverse[1] * v[1]),
        -(inverse[1] * v[0] + inverse[2] * v[1]),
    ];
    let size = 1.0 + k - centre[0] * v[0] - centre[1] * v[1];
    let scale = focus / distance;
    // Second moments of q B q = size are size / 4 of the inverse of B.
    let s = inverse.map(|i| 0.25 * size * i * scale * scale);
    let (sin, cos) = axis.sin_cos();
    // x = u sin + s cos, y = -u cos + s sin.
    let turn = |u: f64, w: f64| [u * sin + w * cos, -u * cos + w * sin];
    let second = [
        s[0] * sin * sin + 2.0 * s[1] * sin * cos + s[2] * cos * cos,
        (s[2] - s[0]) * sin * cos + s[1] * (sin * sin - cos * cos),
        s[0] * cos * cos - 2.0 * s[1] * sin * cos + s[2] * sin * sin,
    ];
    let centre = turn(centre[0] * scale, centre[1] * scale);
    (PI * size / det.sqrt() * scale * scale, centre, second)
}

/// Area to 2e-5, centre to 2e-3 px, and the moments that blur leaves alone.
fn agree(recipe: &Recipe, index: u64, expected: (f64, [f64; 2], [f64; 3])) {
    let (area, centre, second) = moments(&missing(recipe, index), recipe.width);
    let middle = (recipe.bodies[0].centre)(0.0);
    assert!((area / expected.0 - 1.0).abs() < 2e-5, "{area} {expected:?}");
    for i in 0..2 {
        let off = centre[i] - middle[i] - expected.1[i];
        assert!(off.abs() < 2e-3, "{off} {expected:?}");
    }
    let (tall, wide) = (second[0] - second[2], expected.2[0] - expected.2[2]);
    assert!((tall - wide).abs() < 0.02, "{tall} {wide}");
    let (leaning, leant) = (second[1], expected.2[1]);
    assert!((leaning - leant).abs() < 0.02, "{leaning} {leant}");
}

const STOUT: [f64; 3] = [0.92, 0.92, 1.0 / (0.92 * 0.92)];

fn spheroid(radius: f64, tilt: f64) -> PaintedBody {
    let (even, _) = modes(STOUT);
    PaintedBody::moving(radius, [80.3, 79.6], Still(even))
        .turned(0.5)
        .tilted(tilt)
}

#[test]
fn a_tilted_spheroid_shows_its_shortened_shadow() {
    // From infinity: semi-axes b and sqrt((a cos)^2 + (b sin)^2).
    for tilt in [0.0, 0.4, -0.9, 1.5] {
        let mut recipe = quiet(160);
        recipe.bodies = vec![spheroid(50.0, tilt)];
        let long = (50.0 * STOUT[2] * tilt.cos()).hypot(50.0 * STOUT[0] * tilt.sin());
        let (area, ..) = moments(&missing(&recipe, 0), 160);
        let expected = PI * 50.0 * STOUT[0] * long;
        assert!(
            (area / expected - 1.0).abs() < 2e-5,
            "{tilt}: {}",
            area / expected - 1.0
        );
    }
}

#[test]
fn a_tilted_spheroid_is_seen_in_perspective() {
    for (tilt, distance, nearer) in [(0.6, 300.0, 1.0), (-0.3, 200.0, 1.0), (0.5, 400.0, 0.85)] {
        let mut recipe = quiet(160);
        recipe.distance_m = Some(distance * 1e-5);
        recipe.bodies = vec![spheroid(45.0, tilt)];
        if nearer != 1.0 {
            recipe.bodies[0] = recipe.bodies[0]
                .clone()
                .in_depth(move |_| distance * nearer * 1e-5);
        }
        let a = quadric(STOUT, 45.0, tilt, 0.0);
        agree(&recipe, 0, seen(a, distance * nearer, distance, 0.5));
    }
}

#[test]
fn a_sphere_grows_as_it_comes_nearer() {
    let mut recipe = quiet(160);
    recipe.distance_m = Some(400.0e-5);
    recipe.bodies =
        vec![PaintedBody::sphere(40.0, [80.2, 79.9]).in_depth(|t| (400.0 + 8000.0 * (t - 0.015)) * 1e-5)];
    for (index, distance) in [(0, 280.0_f64), (1, 360.0), (3, 520.0)] {
        let radius = 400.0 * 40.0 / (distance * distance - 1600.0).sqrt();
        let (area, ..) = moments(&missing(&recipe, index), 160);
        assert!(
            (area / (PI * radius * radius) - 1.0).abs() < 2e-5,
            "{distance}: {area}"
        );
    }
    // From infinity the distance is not seen.
    recipe.distance_m = None;
    let (area, ..) = moments(&missing(&recipe, 3), 160);
    assert!((area / (PI * 1600.0) - 1.0).abs() < 2e-5);
}

#[test]
fn an_ellipsoid_rotates_about_its_tilted_axis() {
    let axes = [1.1, 0.95, 1.0 / (1.1 * 0.95)];
    let (even, ripples) = modes(axes);
    for (tilt, spin, phase) in [(0.0, 0.0, 0.7), (0.35, 40.0, 0.2), (-0.5, -25.0, 0.0)] {
        let mut recipe = quiet(160);
        recipe.distance_m = Some(350.0e-5);
        let turned: Vec<Ripple> = ripples.iter().map(|ripple| Ripple { phase, ..*ripple }).collect();
        recipe.bodies = vec![
            PaintedBody::moving(48.0, [80.3, 79.6], Still(even.clone()))
                .turned(-0.8)
                .tilted(tilt)
                .rippled(move |_| turned.clone(), spin),
        ];
        for index in [0, 2] {
            let turn = spin * 0.01 * index as f64 + phase;
            agree(
                &recipe,
                index,
                seen(quadric(axes, 48.0, tilt, turn), 350.0, 350.0, -0.8),
            );
        }
    }
}

#[test]
fn the_truth_tells_what_is_new() {
    let mut recipe = quiet(64);
    let ripple = |t: f64| {
        vec![Ripple {
            degree: 3,
            order: 2,
            amplitude: 0.1 * t,
            phase: 0.25,
        }]
    };
    recipe.bodies = vec![
        PaintedBody::sphere(10.0, [20.0, 30.0])
            .tilted(0.5)
            .rippled(ripple, 2.0)
            .in_depth(|t| 0.5 + t),
        PaintedBody::sphere(5.0, [50.0, 30.0]),
    ];
    recipe.distance_m = Some(0.5);
    let mut csv = Vec::new();
    Painter::new(recipe).unwrap().truth().write_csv(&mut csv).unwrap();
    let text = String::from_utf8(csv).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].ends_with(",a_0,distance_m,tilt_rad,turn_rad,a_3_2,phase_3_2_rad"));
    let cells: Vec<&str> = lines[3].split(',').collect();
    assert_eq!(&cells[..4], &["1", "0.01", "0.01", "0"]);
    assert_eq!(&cells[9..], &["0.51", "0.5", "0.02", "0.001", "0.25"]);
    assert!(lines[4].ends_with(",0,0.5,0,0,0,0"), "{}", lines[4]);
}

#[test]
fn what_cannot_stand_in_space_is_refused() {
    let told = |change: fn(PaintedBody) -> PaintedBody| {
        let mut recipe = quiet(64);
        recipe.distance_m = Some(0.01);
        recipe.bodies = vec![change(PaintedBody::sphere(10.0, [20.0, 30.0]))];
        Painter::new(recipe).err().map(|why| why.to_string())
    };
    fn ripple(degree: u32, order: u32) -> Vec<Ripple> {
        vec![Ripple {
            degree,
            order,
            amplitude: 0.1,
            phase: 0.0,
        }]
    }
    assert_eq!(told(|body| body.tilted(1.5).in_depth(|_| 3e-4)), None);
    assert!(told(|body| body.tilted(2.0)).is_some_and(|why| why.contains("tilt")));
    assert!(
        told(|body| body.in_depth(|t| 3e-4 - 0.1 * t)).is_some_and(|why| why.contains("distance of a body"))
    );
    assert!(told(|body| body.rippled(move |_| ripple(2, 3), 0.0)).is_some_and(|why| why.contains("order")));
    assert!(told(|body| body.rippled(move |_| ripple(2, 0), 0.0)).is_some_and(|why| why.contains("order")));
    assert!(told(|body| body.rippled(|_| Vec::new(), f64::NAN)).is_some_and(|why| why.contains("spin")));
}
