//! Transparent bodies with a dark rim before clutter, painted by a formula: what comes back, and what must not.

use std::f64::consts::TAU;
use std::ops::ControlFlow;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::FramesInMemory;
use tremolet_measure::measured::{Lighting, Measured};
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const SIZE: usize = 288;
const RADIUS: f64 = 84.0;

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

/// Soft patches and bars of many directions.
fn wall(x: f64, y: f64) -> f64 {
    let patches = 20.0 * (x / 17.0 + 0.4).sin() * (y / 23.0).cos() + 14.0 * ((x + 1.7 * y) / 31.0).sin();
    let bar = |a: f64, b: f64, c: f64, half: f64| {
        let d = (a * x + b * y - c).abs() - half;
        1.0 / (1.0 + (d / 0.9).exp())
    };
    90.0 + patches - 45.0 * bar(0.8, 0.6, 70.0, 3.0) + 40.0 * bar(0.0, 1.0, 215.0, 2.5)
        - 40.0 * bar(1.0, 0.0, 250.0, 4.0)
}

/// The same with a dark plate that sticks out from behind the left of the body, and a dark square frame in a corner.
fn crowded(x: f64, y: f64) -> f64 {
    let inside = |d: f64| 1.0 / (1.0 + (d / 0.9).exp());
    let plate = inside((x - 52.0).abs() - 22.0) * inside((y - 150.0).abs() - 28.0);
    let square = (x - 36.0).abs().max((y - 38.0).abs());
    let frame = inside((square - 24.0).abs() - 3.0);
    wall(x, y) * (1.0 - 0.6 * plate.max(frame))
}

/// Level at a distance `out` beyond the outline of a sharp body: a rim a sixteenth of the radius wide, a glint.
fn sharp(x: f64, y: f64, centre: [f64; 2], wall: fn(f64, f64) -> f64) -> f64 {
    let (dx, dy) = (x - centre[0], y - centre[1]);
    let cos = -dy / dx.hypot(dy).max(1e-9);
    let depth = RADIUS * (1.0 + 0.06 * (1.5 * cos * cos - 0.5)) - dx.hypot(dy);
    if depth < 0.0 {
        return wall(x, y);
    }
    let glint = 300.0 * (-((dx + 35.0).powi(2) + (dy + 40.0).powi(2)) / 30.0).exp();
    let shade = 1.0 - 0.8 * (-(depth / (RADIUS / 16.0)).powi(2)).exp();
    (70.0 + 0.6 * wall(centre[0] - 1.3 * dx, centre[1] - 1.3 * dy)) * shade + glint
}

/// Blurred by a Gaussian of 1.1 px: the mean of thirty-two places drawn in rings of equal weight, where an edge is near.
fn painted(centre: Option<[f64; 2]>, wall: fn(f64, f64) -> f64, dice: &mut Dice) -> Plane {
    let rings: Vec<[f64; 2]> = (0..64)
        .map(|k| {
            let r = 1.1 * (-2.0 * (1.0 - (f64::from(k) + 0.5) / 64.0).ln()).sqrt();
            let (sin, cos) = (TAU * 0.381_966 * f64::from(k)).sin_cos();
            [r * cos, r * sin]
        })
        .collect();
    let levels = (0..SIZE * SIZE).map(|i| {
        let (x, y) = ((i % SIZE) as f64, (i / SIZE) as f64);
        let level = match centre {
            None => wall(x, y),
            Some(c) if ((x - c[0]).hypot(y - c[1]) - RADIUS).abs() > 16.0 => sharp(x, y, c, wall),
            Some(c) => {
                rings
                    .iter()
                    .map(|d| sharp(x + d[0], y + d[1], c, wall))
                    .sum::<f64>()
                    / 64.0
            }
        };
        (level + dice.normal() * (0.025 * level + 0.3).sqrt())
            .round()
            .clamp(0.0, 255.0) as u8
    });
    Plane::eight(SIZE, SIZE, levels.collect())
}

fn measured(count: u64, centre: impl Fn(u64) -> Option<[f64; 2]>) -> Measured {
    measured_before(wall, count, centre)
}

fn measured_before(
    wall: fn(f64, f64) -> f64,
    count: u64,
    centre: impl Fn(u64) -> Option<[f64; 2]>,
) -> Measured {
    let mut dice = Dice(11);
    let frame = |index| Frame {
        index,
        stamp: None,
        plane: painted(centre(index), wall, &mut dice),
    };
    let frames: Vec<Frame> = (0..count).map(frame).collect();
    let mut source = FramesInMemory::new("painted", frames).expect("frames of one size");
    let settings = Settings {
        axis_angle: Some(0.0),
        ..Settings::default()
    };
    measure(&mut source, &settings, &mut |_| ControlFlow::Continue(())).expect("measured")
}

/// Volume of 1 + a P2 over the sphere's: 1 + 3 a^2 / 5 + 2 a^3 / 35, from the integrals of P2^2 and P2^3.
fn radius_ratio(a: f64) -> f64 {
    (1.0 + 0.6 * a * a + 2.0 / 35.0 * a.powi(3)).cbrt()
}

#[test]
fn a_bright_body_before_clutter_is_found_and_measured() {
    let m = measured(6, |i| Some([141.3 + 0.7 * i as f64, 146.8 - 0.4 * i as f64]));
    assert_eq!((m.scene.lighting, m.bodies.len()), (Lighting::Cluttered, 1));
    let shapes = &m.bodies[0].shapes;
    assert_eq!(shapes.len(), 6, "{:?}", m.cautions);
    let ratio = radius_ratio(0.06);
    for s in shapes {
        let off = s.equivalent_radius_px - RADIUS * ratio;
        assert!(off.abs() < 0.1, "frame {}: radius off by {off} px", s.frame);
        for (n, truth) in [(2, 0.06), (3, 0.0), (4, 0.0), (5, 0.0)] {
            let off = s.amplitude[n - 2] - truth / ratio;
            assert!(off.abs() < 1e-3, "frame {}: a_{n} off by {off}", s.frame);
        }
        assert!(s.coverage > 0.6 && s.star_shaped);
        assert!((s.centre_px[0] - 141.3 - 0.7 * s.frame as f64).abs() < 0.1);
    }
}

#[test]
fn a_dark_plate_beside_the_rim_and_a_dark_frame_do_not_lead_astray() {
    let m = measured_before(crowded, 4, |i| Some([141.3 + 0.7 * i as f64, 146.8]));
    let shapes = &m.bodies[0].shapes;
    assert_eq!(shapes.len(), 4, "{:?}", m.cautions);
    for s in shapes {
        let off = s.equivalent_radius_px - RADIUS * radius_ratio(0.06);
        assert!(
            s.star_shaped && off.abs() < 0.1,
            "frame {}: radius off by {off} px",
            s.frame
        );
        assert!(s.coverage > 0.6 && s.coverage < 1.0, "coverage {}", s.coverage);
    }
}

#[test]
fn clutter_alone_is_no_body() {
    let m = measured(3, |_| None);
    assert!(m.bodies.is_empty());
    let told = m
        .cautions
        .iter()
        .find(|c| c.code == "no_body")
        .expect("a caution");
    assert_eq!(told.frames, Some((0, 2)));
}

#[test]
fn frames_without_the_body_are_told() {
    let m = measured(4, |i| (i < 2).then_some([143.1, 142.4]));
    assert_eq!(m.bodies.len(), 1);
    assert_eq!(
        m.bodies[0].shapes.iter().map(|s| s.frame).collect::<Vec<_>>(),
        [0, 1]
    );
    let told = m
        .cautions
        .iter()
        .find(|c| c.code == "no_body")
        .expect("a caution");
    assert_eq!(told.frames, Some((2, 3)));
}

/// The shape of the rim is taken from the first frames with the body, however late they come.
#[test]
fn a_body_that_comes_late_is_measured() {
    let m = measured(17, |i| (i >= 14).then_some([143.1, 142.4]));
    assert_eq!(m.bodies.len(), 1);
    let frames: Vec<u64> = m.bodies[0].shapes.iter().map(|s| s.frame).collect();
    assert_eq!(frames, [14, 15, 16]);
    assert!(m.scene.u_edge_px > 0.0);
    let told = m
        .cautions
        .iter()
        .find(|c| c.code == "no_body")
        .expect("a caution");
    assert_eq!(told.frames, Some((0, 13)));
}
