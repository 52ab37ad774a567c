use super::*;
use crate::traced::meridian::{sphere, spheroid};
use crate::traced::pinhole::{Pinhole, axis};
use crate::traced::vector::Vector;
use crate::traced::world::{Board, Pattern, Room, RoomLamp};
use tremolet_optics::refraction::bubble::Bubble;
use tremolet_optics::refraction::sight::Sight;

const CAMERA: Pinhole = Pinhole {
    width: 200,
    height: 200,
    scale_m_per_px: 2e-4,
    distance: 0.3,
    opening: None,
};
const RADIUS: f64 = 0.01;

fn skin(meridian: Vec<[f64; 2]>, centre: Vector, inside: Medium, outside: Medium) -> Skin {
    Skin {
        meridian,
        centre,
        axis: axis(0.4, 0.2),
        inside,
        outside,
    }
}

fn drop() -> Skin {
    skin(
        sphere(RADIUS, 180),
        [0.0, 0.0, CAMERA.distance],
        Medium::WATER,
        Medium::GAS,
    )
}

/// The light seen by rays over the whole picture.
fn all_over(tracer: &Tracer) -> Vec<f64> {
    let place = |k: u32| {
        let (x, y) = (f64::from(k % 100), f64::from(k / 100));
        [50.0 + x, 50.0 + y]
    };
    (0..10_000)
        .map(|k| tracer.look(&CAMERA.ray(place(k), [0.0; 2])).0)
        .collect()
}

// What neither absorbs nor shines is not seen in even light, whatever its shape: no light is lost or made at any surface.
#[test]
fn a_clear_body_in_even_light_is_invisible() {
    let inner = |at: Vector, index: f64| {
        Medium {
            index,
            absorption: 0.0,
        }
        .at(at)
    };
    for skins in [
        vec![drop()],
        vec![skin(
            spheroid(0.006, 0.012, 200),
            [0.002, 0.0, 0.3],
            Medium::WATER,
            Medium::GAS,
        )],
        vec![drop(), inner([0.002, 0.001, 0.302], 1.0)],
        vec![drop(), inner([0.002, 0.001, 0.302], 1.6)],
    ] {
        let tracer = Tracer::new(&skins, World::even(1.0), Medium::GAS).expect("bodies");
        for light in all_over(&tracer) {
            assert!((light - 1.0).abs() < 1e-9, "{light}");
        }
    }
}

trait Inside {
    fn at(self, centre: Vector) -> Skin;
}

impl Inside for Medium {
    /// A ball of 3 mm of it in water.
    fn at(self, centre: Vector) -> Skin {
        skin(sphere(0.003, 120), centre, self, Medium::WATER)
    }
}

// Straight through the middle: R + (1 - R)^2 E (1 + R E + (R E)^2 + ...), E what is left after a diameter.
#[test]
fn an_absorbing_ball_is_dark_by_beer_and_lambert() {
    let ink = Medium {
        index: 1.4,
        absorption: 60.0,
    };
    let ball = skin(sphere(RADIUS, 180), [0.0, 0.0, 0.3], ink, Medium::GAS);
    let tracer = Tracer::new(&[ball], World::even(1.0), Medium::GAS)
        .expect("a ball")
        .down_to(1e-9);
    let (light, surface) = tracer.look(&CAMERA.ray([99.5, 99.5], [0.0; 2]));
    let (back, left) = ((0.4_f64 / 2.4).powi(2), (-1.2_f64).exp());
    let due = back + (1.0 - back).powi(2) * left / (1.0 - back * left);
    assert!((light - due).abs() < 1e-8 && surface == Some(0), "{light} {due}");
}

/// Where along the picture (px from the middle, downwards) the light passes a half.
fn edge(tracer: &Tracer, mut low: f64, mut high: f64) -> f64 {
    let seen = |off: f64| tracer.look(&CAMERA.ray([99.5, 99.5 + off], [0.0; 2])).0 > 0.5;
    let start = seen(low);
    assert!(start != seen(high));
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if seen(middle) == start {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// A black ball in the drop, of the same index, so that it throws nothing back.
fn black(centre: Vector, radius: f64) -> Skin {
    let soot = Medium {
        absorption: 1e9,
        ..Medium::WATER
    };
    skin(sphere(radius, 180), centre, soot, Medium::WATER)
}

// An inner ball of radius a in the middle looks n a, and off the middle as Bouguer's formula has it (room `refraction` of optics: closed forms).
#[test]
fn what_is_inside_looks_larger_and_shifted_as_the_closed_forms_say() {
    let sight = Sight::near(1.333, CAMERA.distance / RADIUS).expect("in front");
    let px = |b: f64| sight.in_picture(b) * RADIUS / CAMERA.scale_m_per_px;
    for (across, towards, radius) in [
        (0.0, 0.0, 0.3),
        (0.0, 0.3, 0.25),
        (0.2, 0.0, 0.3),
        (0.2, -0.3, 0.3),
    ] {
        let centre = [0.0, across * RADIUS, CAMERA.distance - towards * RADIUS];
        let skins = [drop(), black(centre, radius * RADIUS)];
        let tracer = Tracer::new(&skins, World::even(1.0), Medium::GAS).expect("balls");
        let edges = sight.edges(&Bubble::new(across, towards, radius).expect("inside"), 0.0);
        assert_eq!(edges.len(), 2);
        let middle = px(0.5 * (edges[0] + edges[1]));
        for due in edges.iter().copied() {
            let far = if due > 0.5 * (edges[0] + edges[1]) {
                3.0
            } else {
                -3.0
            };
            let found = edge(&tracer, middle, px(due) + far);
            assert!((found - px(due)).abs() < 2e-3, "{found} {}", px(due));
        }
    }
}

// A ball lens has the focal length n R / (2 (n - 1)) from its middle: a near-axis ray at the height h crosses the axis there.
#[test]
fn a_ball_lens_has_its_focal_length() {
    let far = 0.5;
    let period = 0.4;
    let board = Board {
        distance: CAMERA.distance + far,
        middle: [0.05, 0.0],
        half: [1.0; 2],
        border: 0.0,
        pattern: Pattern::Waves {
            periods: [period, 1e9],
        },
        levels: [0.0, 1.0],
    };
    let world = World {
        board: Some(board),
        ..World::even(0.0)
    };
    // Coarse enough that only the light that passes straight through is followed.
    let tracer = Tracer::new(&[drop()], world, Medium::GAS)
        .expect("a drop")
        .down_to(0.1);
    let place = |x_px: f64| {
        let light = tracer.look(&CAMERA.ray([99.5 + x_px, 99.5], [0.0; 2])).0;
        // light = 3/4 + cos(2 pi x / p) / 4, between x = -p/2 and 0 from the board's middle.
        0.05 - (4.0 * (light - 0.75)).clamp(-1.0, 1.0).acos() * period / std::f64::consts::TAU
    };
    let x_px = 0.5;
    let slope = x_px * CAMERA.scale_m_per_px / CAMERA.distance;
    // In the middle plane of the ball the ray is at h = slope D and turns by h / f.
    let focal = 1.333 * RADIUS / (2.0 * 0.333);
    let due = slope * CAMERA.distance + (slope - slope * CAMERA.distance / focal) * far;
    let found = 0.5 * (place(x_px) - place(-x_px));
    assert!((found / due - 1.0).abs() < 1e-3, "{found} {due}");
}

// Light from behind, no wider than half an angle: the half of the light at the rim has moved inward as grazing reflection has it
// (optics::lamp), and is not yet there without a lamp beside the body.
#[test]
fn grazing_light_of_a_wide_lamp_reaches_the_rim() {
    let half_angle = 0.3_f64;
    let lamp = RoomLamp {
        towards: [0.0, 0.0, 1.0],
        half_angle,
        border: 0.0,
        light: 1.0,
    };
    let world = World {
        board: None,
        lamps: vec![lamp],
        room: Room {
            overhead: 0.0,
            underfoot: 0.0,
        },
    };
    let camera = Pinhole {
        distance: 100.0,
        ..CAMERA
    };
    let centre = [0.0, 0.0, camera.distance];
    let tracer = Tracer::new(
        &[skin(sphere(RADIUS, 180), centre, Medium::WATER, Medium::GAS)],
        world,
        Medium::GAS,
    );
    let tracer = tracer.expect("a drop");
    let outline = RADIUS / camera.scale_m_per_px;
    let steps = 4000;
    let missing: f64 = (0..steps)
        .map(|k| {
            let depth = 0.05 * (f64::from(k) + 0.5) / f64::from(steps);
            tracer
                .look(&camera.ray([99.5, 99.5 + outline * (1.0 - depth)], [0.0; 2]))
                .0
                * 0.05
                / f64::from(steps)
        })
        .sum();
    let due = tremolet_optics::lamp::blurred_shift(1.333, half_angle);
    assert!((missing / due - 1.0).abs() < 0.02, "{missing} {due}");
}

#[test]
fn too_many_surfaces_are_refused() {
    let many = vec![drop(); 65];
    let refused = Tracer::new(&many, World::even(1.0), Medium::GAS);
    assert!(matches!(
        refused,
        Err(TraceError::Surfaces { found: 65, most: 64 })
    ));
}
