use super::*;
use crate::traced::meridian::{sphere, spheroid};

fn skin(meridian: Vec<[f64; 2]>, centre: Vector, axis: Vector) -> Skin {
    Skin {
        meridian,
        centre,
        axis,
        inside: Medium::WATER,
        outside: Medium::GAS,
    }
}

/// Ways at which a ray meets the sphere of radius 1 about the origin, by its quadratic.
fn by_hand(ray: &Ray) -> Option<[f64; 2]> {
    let (b, c) = (dot(ray.from, ray.direction), dot(ray.from, ray.from) - 1.0);
    let root = (b * b - c).sqrt();
    root.is_finite().then_some([-b - root, -b + root])
}

fn rays() -> impl Iterator<Item = Ray> {
    (0..4000).map(|k| {
        let k = f64::from(k);
        let from = [
            3.0 * (1.7 * k).sin(),
            3.0 * (2.3 * k).cos(),
            5.0 * (0.9 * k).sin(),
        ];
        let to = [
            0.9 * (5.1 * k).cos(),
            0.9 * (3.7 * k).sin(),
            0.9 * (1.3 * k + 1.0).cos(),
        ];
        Ray {
            from,
            direction: unit([to[0] - from[0], to[1] - from[1], to[2] - from[2]]),
        }
    })
}

#[test]
fn a_sphere_is_met_where_its_equation_says_from_outside_and_from_inside() {
    for axis in [[0.0, 0.0, 1.0], [0.0, 2.0, 0.0], [0.3, -0.5, 0.4]] {
        let surface = Surface::new(&skin(sphere(1.0, 180), [0.0; 3], axis)).expect("a sphere");
        let mut met = 0;
        for ray in rays().filter(|ray| dot(ray.from, ray.from) > 1.0) {
            let Some([near, far]) = by_hand(&ray).filter(|ways| ways[0] > 0.0) else {
                continue;
            };
            if far - near < 0.05 {
                continue;
            }
            let first = surface
                .hit(&ray, false, f64::INFINITY)
                .expect("it meets the sphere");
            assert!((first.way - near).abs() < 1e-6, "{} {near}", first.way);
            let place = along(ray.from, first.way, ray.direction);
            assert!((0..3).all(|i| (first.normal[i] - place[i]).abs() < 1e-5));
            let last = surface
                .hit(&ray, true, f64::INFINITY)
                .expect("it leaves the sphere");
            assert!((last.way - far).abs() < 1e-6, "{} {far}", last.way);
            assert!(surface.hit(&ray, false, near - 1e-5).is_none());
            met += 1;
        }
        assert!(met > 1000);
    }
}

#[test]
fn what_passes_by_or_looks_away_meets_nothing() {
    let surface = Surface::new(&skin(sphere(1.0, 180), [0.0, 0.0, 4.0], [0.0, 1.0, 0.0])).expect("a sphere");
    let ray = |x: f64, z: f64| Ray {
        from: [x, 0.0, 0.0],
        direction: [0.0, 0.0, z],
    };
    assert!(surface.hit(&ray(1.0 - 1e-5, 1.0), false, f64::INFINITY).is_some());
    assert!(surface.hit(&ray(1.0 + 1e-9, 1.0), false, f64::INFINITY).is_none());
    assert!(surface.hit(&ray(0.0, -1.0), false, f64::INFINITY).is_none());
}

/// A stretched ball is the ball in stretched space: the affine map takes ray and surface to those of the sphere.
#[test]
fn a_spheroid_is_met_where_the_stretched_sphere_is() {
    let (along_axis, across_axis) = (0.6, 1.3);
    let surface = Surface::new(&skin(
        spheroid(along_axis, across_axis, 240),
        [0.0; 3],
        [0.0, 1.0, 0.0],
    ))
    .expect("it");
    for ray in rays() {
        let squeeze = |v: Vector| [v[0] / across_axis, v[1] / along_axis, v[2] / across_axis];
        let direction = squeeze(ray.direction);
        let length = dot(direction, direction).sqrt();
        let image = Ray {
            from: squeeze(ray.from),
            direction: direction.map(|x| x / length),
        };
        let Some([near, far]) = by_hand(&image).filter(|ways| ways[0] > 0.0 && ways[1] - ways[0] > 0.05)
        else {
            continue;
        };
        let (enter, leave) = (
            surface.hit(&ray, false, f64::INFINITY).expect("met"),
            surface.hit(&ray, true, f64::INFINITY).expect("left"),
        );
        assert!((enter.way - near / length).abs() < 1e-6 && (leave.way - far / length).abs() < 1e-6);
    }
}

// A ray that starts on the surface and goes in leaves on the other side; one that is thrown back meets nothing.
#[test]
fn a_start_on_the_surface_is_no_hit() {
    let surface = Surface::new(&skin(sphere(1.0, 180), [0.0; 3], [0.0, 1.0, 0.0])).expect("a sphere");
    for ray in rays() {
        let Some(hit) = surface.hit(&ray, false, f64::INFINITY) else {
            continue;
        };
        let from = along(ray.from, hit.way, ray.direction);
        let cosine = -dot(hit.normal, ray.direction);
        let on = Ray { from, ..ray };
        let away = Ray {
            from,
            direction: along(ray.direction, 2.0 * cosine, hit.normal),
        };
        assert!(surface.hit(&away, false, f64::INFINITY).is_none());
        if cosine > 0.05 {
            let far = surface.hit(&on, true, f64::INFINITY).expect("a chord");
            assert!((far.way - 2.0 * cosine).abs() < 1e-4, "{} {cosine}", far.way);
        }
    }
}

/// A peanut is met up to four times along a line; each is found in turn.
#[test]
fn a_waist_is_crossed_in_turn() {
    let points: Vec<[f64; 2]> = (0..=240)
        .map(|k| {
            let (sin, cos) = (std::f64::consts::PI * f64::from(k) / 240.0).sin_cos();
            let r = 1.0 + 0.8 * (1.5 * cos * cos - 0.5);
            [r * cos, if k == 0 || k == 240 { 0.0 } else { r * sin }]
        })
        .collect();
    let surface = Surface::new(&skin(points, [0.0; 3], [0.0, 1.0, 0.0])).expect("a peanut");
    // Parallel to the axis, 0.7 from it: the waist is 0.6 wide.
    let mut ray = Ray {
        from: [0.7, -3.0, 0.0],
        direction: [0.0, 1.0, 0.0],
    };
    let mut ways = Vec::new();
    for inside in [false, true, false, true] {
        let hit = surface.hit(&ray, inside, f64::INFINITY).expect("four crossings");
        ray.from = along(ray.from, hit.way, ray.direction);
        ways.push(ray.from[1]);
    }
    assert!(surface.hit(&ray, false, f64::INFINITY).is_none());
    assert!((ways[0] + ways[3]).abs() < 1e-6 && (ways[1] + ways[2]).abs() < 1e-6 && ways[1] < ways[2]);
}
