//! Back-lit bodies with known outlines, painted by supersampling: what comes back, and how honestly.

use std::f64::consts::PI;
use std::ops::ControlFlow;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::FramesInMemory;
use tremolet_measure::measured::{Lighting, Measured};
use tremolet_measure::session::measure;
use tremolet_measure::settings::{Mask, Settings};
use tremolet_numerics::legendre;
use tremolet_shape::area::Area;

/// A back-lit body: r(theta) = radius (1 + 0.05 P2 + 0.03 P3) about an axis turned by `tilt`.
struct Body {
    x: f64,
    y: f64,
    radius: f64,
    tilt: f64,
}

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

const SIZE: usize = 192;
const SERIES: [f64; 4] = [1.0, 0.0, 0.05, 0.03];

/// Whether a place is inside a body, sampled 8 by 8 a pixel, then blurred by a Gaussian of 1.2 px in both directions.
fn painted(bodies: &[Body], dice: &mut Dice, wire: bool) -> Plane {
    let mut cover = vec![0.0; SIZE * SIZE];
    for (i, c) in cover.iter_mut().enumerate() {
        let (px, py) = ((i % SIZE) as f64, (i / SIZE) as f64);
        for b in bodies {
            let far = (px - b.x).hypot(py - b.y) / b.radius;
            *c += if far > 1.2 {
                0.0
            } else if far < 0.8 {
                1.0
            } else {
                share(b, px, py)
            };
        }
    }
    let cover = blurred(&blurred(&cover, 1), SIZE);
    let levels = cover.iter().enumerate().map(|(i, c)| {
        let (x, y) = ((i % SIZE) as f64 / SIZE as f64, (i / SIZE) as f64 / SIZE as f64);
        let light = 190.0 * (1.0 + 0.1 * x - 0.08 * y);
        let thread = if wire && (x - 0.55).abs() < 0.012 {
            0.3
        } else {
            1.0
        };
        let level = light * thread * (1.0 - 0.8 * c);
        (level + dice.normal() * (0.02 * level + 0.3).sqrt())
            .round()
            .clamp(0.0, 255.0) as u8
    });
    Plane::eight(SIZE, SIZE, levels.collect())
}

fn share(b: &Body, px: f64, py: f64) -> f64 {
    let inside = (0..64).filter(|k| {
        let x = px + (f64::from(k % 8) - 3.5) / 8.0 - b.x;
        let y = py + (f64::from(k / 8) - 3.5) / 8.0 - b.y;
        let cos = (x * b.tilt.sin() - y * b.tilt.cos()) / x.hypot(y);
        x.hypot(y) < b.radius * legendre::series(&SERIES, cos)
    });
    inside.count() as f64 / 64.0
}

fn blurred(values: &[f64], stride: usize) -> Vec<f64> {
    let bell: Vec<f64> = (-6..=6)
        .map(|k| (-0.5 * (f64::from(k) / 1.2_f64).powi(2)).exp())
        .collect();
    let total: f64 = bell.iter().sum();
    let last = SIZE as isize - 1;
    (0..values.len())
        .map(|i| {
            let along = (i / stride % SIZE) as isize;
            let sum: f64 = (-6..=6)
                .zip(&bell)
                .map(|(k, w): (isize, &f64)| {
                    let shift = (along + k).clamp(0, last) - along;
                    w * values[(i as isize + shift * stride as isize) as usize]
                })
                .sum();
            sum / total
        })
        .collect()
}

fn clip(count: u64, seed: u64, wire: bool, bodies: impl Fn(u64) -> Vec<Body>) -> Vec<Frame> {
    let mut dice = Dice(seed);
    (0..count)
        .map(|index| Frame {
            index,
            stamp: None,
            plane: painted(&bodies(index), &mut dice, wire),
        })
        .collect()
}

fn measured(frames: Vec<Frame>, settings: &Settings) -> Measured {
    let mut source = FramesInMemory::new("painted", frames).expect("frames of one size");
    measure(&mut source, settings, &mut |_| ControlFlow::Continue(())).expect("measured")
}

fn one(index: u64) -> Vec<Body> {
    vec![Body {
        x: 95.3 + 0.37 * index as f64,
        y: 96.8 - 0.21 * index as f64,
        radius: 55.0,
        tilt: 0.2,
    }]
}

fn codes(m: &Measured) -> Vec<&str> {
    m.cautions.iter().map(|c| c.code).collect()
}

/// Volume of 1 + 0.05 P2 + 0.03 P3 over the sphere's, from the definition by a sum of thin discs.
fn radius_ratio() -> f64 {
    let steps = 20000;
    let sum: f64 = (0..steps)
        .map(|k| legendre::series(&SERIES, (f64::from(k) + 0.5) * 2.0 / f64::from(steps) - 1.0).powi(3))
        .sum();
    (sum / f64::from(steps)).cbrt()
}

#[test]
fn radius_amplitudes_centre_axis_and_blur_come_back() {
    let m = measured(clip(16, 1, false, one), &Settings::default());
    assert_eq!(
        (m.scene.lighting, m.bodies.len(), m.frames),
        (Lighting::BackLit, 1, 16)
    );
    assert!(
        (m.scene.blur_px - (1.2_f64 * 1.2 + 1.0 / 12.0).sqrt()).abs() < 0.02,
        "{}",
        m.scene.blur_px
    );
    let track = &m.bodies[0];
    assert!((track.axis_angle - 0.2).abs() < 5.0 * track.axis_uncertainty && track.axis_uncertainty < 2e-3);
    let ratio = radius_ratio();
    let mean = |f: &dyn Fn(usize) -> f64| (0..16).map(f).sum::<f64>() / 16.0;
    let radius = mean(&|i| track.shapes[i].equivalent_radius_px) - 55.0 * ratio;
    assert!(radius.abs() < 0.004, "radius off by {radius} px");
    for (n, truth) in [(2, 0.05), (3, 0.03), (4, 0.0), (5, 0.0)] {
        let off = mean(&|i| track.shapes[i].amplitude[n - 2]) - truth / ratio;
        assert!(off.abs() < 6e-5, "a_{n} off by {off}");
    }
    // Blur 1.23 px: 0.1 s^2 / 2 R of its shape, and little of the light.
    let shape = 0.1 * 1.23 * 1.23 / 110.0;
    assert!(
        track.u_edge_px > shape * 0.98 && track.u_edge_px < 2.0 * shape,
        "{}",
        track.u_edge_px
    );
    for s in &track.shapes {
        assert!(s.coverage == 1.0 && s.star_shaped && !s.touched && !s.touches_frame);
        assert!(
            s.reduced_chi_squared > 0.6 && s.reduced_chi_squared < 1.6,
            "{}",
            s.reduced_chi_squared
        );
    }
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let with = |threads| {
        let settings = Settings {
            threads,
            ..Settings::default()
        };
        measured(clip(20, 2, false, one), &settings)
    };
    assert_eq!(with(1).bodies, with(3).bodies);
}

/// A wire of 0.024 of the picture's width crosses the body; a line that covers it keeps the rest of the outline as it is.
#[test]
fn a_wire_under_a_drawn_line_moves_no_edge() {
    let x = 0.55 * SIZE as f64;
    let masked = |area: Area| {
        let settings = Settings {
            masks: vec![Mask::of(area)],
            ..Settings::default()
        };
        measured(clip(6, 9, true, one), &settings)
    };
    let line = masked(Area::along(vec![[x, 0.0], [x, SIZE as f64]], 14.0));
    assert_eq!(line.bodies.len(), 1);
    for s in &line.bodies[0].shapes {
        let off = s.equivalent_radius_px - 55.0 * radius_ratio();
        assert!(off.abs() < 0.05, "radius off by {off} px in frame {}", s.frame);
        let nearest = s
            .outline
            .get()
            .iter()
            .map(|p| (f64::from(p[0]) - x).abs())
            .fold(f64::INFINITY, f64::min);
        assert!(nearest >= 7.0, "an edge {nearest} px from the middle of the wire");
        // Twice the line and the strip on both sides in which an edge is fitted.
        assert!(s.coverage > 0.6 && s.coverage < 0.97, "{}", s.coverage);
    }
    // A slanting line covers less than the upright rectangle around it, which would take all of the outline on one side.
    let slant = masked(Area::along(vec![[100.0, 0.0], [x + 4.0, 60.0]], 16.0));
    let rectangle = masked(Area::within(vec![
        [20.0, 0.0],
        [x + 12.0, 0.0],
        [x + 12.0, 60.0],
        [20.0, 60.0],
    ]));
    let coverage = |m: &Measured| m.bodies[0].shapes[0].coverage;
    assert!(coverage(&slant) > coverage(&rectangle) + 0.1);
}

#[test]
fn frames_that_are_left_out_are_not_looked_at() {
    // In frames 4 to 6 something large hides everything; whoever watched says so.
    let hidden = |index: u64| {
        if (4..7).contains(&index) {
            vec![Body {
                x: 60.0,
                y: 120.0,
                radius: 75.0,
                tilt: 0.0,
            }]
        } else {
            one(index)
        }
    };
    let settings = Settings {
        left_out: vec![4..6, 6..7, 14..99],
        ..Settings::default()
    };
    let m = measured(clip(16, 10, false, hidden), &settings);
    assert_eq!((m.bodies.len(), m.frames), (1, 16));
    let frames: Vec<u64> = m.bodies[0].shapes.iter().map(|s| s.frame).collect();
    assert_eq!(frames, [0, 1, 2, 3, 7, 8, 9, 10, 11, 12, 13]);
    assert!(!codes(&m).contains(&"no_body"), "{:?}", m.cautions);
    // What is measured elsewhere is what it would be without them.
    let alone = measured(
        clip(16, 10, false, hidden)
            .into_iter()
            .filter(|f| settings.looks_at(f.index))
            .collect(),
        &Settings::default(),
    );
    assert_eq!(m.bodies[0].shapes, alone.bodies[0].shapes);
    let none = Settings {
        left_out: vec![0..50, 50..99],
        ..Settings::default()
    };
    assert!(measured(clip(3, 10, false, one), &none).bodies.is_empty());
}

#[test]
fn a_step_of_the_light_is_told_at_its_own_frame_though_others_are_left_out() {
    let mut frames = clip(30, 11, false, one);
    for frame in &mut frames[18..] {
        if let tremolet_clip::frame::Levels::Eight(levels) = &mut frame.plane.levels {
            levels
                .iter_mut()
                .for_each(|level| *level = (f64::from(*level) * 0.8).round() as u8);
        }
    }
    let settings = Settings {
        left_out: vec![4..6, 6..9],
        ..Settings::default()
    };
    let m = measured(frames, &settings);
    let told = m
        .cautions
        .iter()
        .find(|c| c.code == "exposure_changed")
        .expect("a caution");
    assert_eq!(told.frames, Some((18, 18)), "{}", told.text);
}

#[test]
fn only_a_region_is_looked_at() {
    let two = |i: u64| {
        [(55.0, 30.0), (140.0, 22.0)]
            .map(|(x, radius)| Body {
                x: x + i as f64 * 0.5,
                y: 90.0,
                radius,
                tilt: 0.0,
            })
            .into()
    };
    let right = Mask {
        outside: true,
        ..Mask::of(Area::within(vec![
            [100.0, 30.0],
            [190.0, 30.0],
            [190.0, 150.0],
            [105.0, 150.0],
        ]))
    };
    let settings = Settings {
        masks: vec![right],
        ..Settings::default()
    };
    let m = measured(clip(6, 3, false, two), &settings);
    assert_eq!(m.bodies.len(), 1);
    assert!(
        m.bodies[0]
            .shapes
            .iter()
            .all(|s| (s.equivalent_radius_px / 22.0 / radius_ratio() - 1.0).abs() < 1e-3)
    );
}

#[test]
fn two_bodies_get_an_outline_each_and_keep_their_numbers() {
    let two = |i: u64| {
        [(55.0, 30.0), (140.0, 22.0)]
            .map(|(x, radius)| Body {
                x: x + i as f64 * 0.5,
                y: 90.0,
                radius,
                tilt: 0.0,
            })
            .into()
    };
    let m = measured(clip(8, 3, false, two), &Settings::default());
    assert_eq!(m.bodies.len(), 2);
    for (track, radius) in m.bodies.iter().zip([30.0, 22.0]) {
        assert_eq!(track.shapes.len(), 8);
        assert!(
            track
                .shapes
                .iter()
                .all(|s| (s.equivalent_radius_px / radius / radius_ratio() - 1.0).abs() < 1e-3)
        );
    }
}

#[test]
fn frames_without_a_body_are_told() {
    let m = measured(
        clip(6, 4, false, |i| if i < 3 { one(i) } else { Vec::new() }),
        &Settings::default(),
    );
    assert_eq!(
        m.bodies[0].shapes.iter().map(|s| s.frame).collect::<Vec<_>>(),
        [0, 1, 2]
    );
    let caution = m
        .cautions
        .iter()
        .find(|c| c.code == "no_body")
        .expect("a caution");
    assert_eq!(caution.frames, Some((3, 5)));
}

#[test]
fn a_body_that_leaves_the_frame_has_an_open_outline() {
    let leaving = |_| {
        vec![Body {
            x: 150.0,
            y: 96.0,
            radius: 55.0,
            tilt: 0.0,
        }]
    };
    let m = measured(clip(3, 5, false, leaving), &Settings::default());
    assert!(codes(&m).contains(&"leaves_frame"));
    assert!(
        m.bodies[0].axis_angle.abs() < 0.02,
        "axis at {} rad",
        m.bodies[0].axis_angle
    );
    for s in &m.bodies[0].shapes {
        assert!(s.touches_frame && s.coverage < 0.9, "share seen {}", s.coverage);
        assert!(
            (s.equivalent_radius_px / radius_ratio() - 55.0).abs() < 0.03,
            "{}",
            s.equivalent_radius_px
        );
        assert!(s.outline.get().iter().all(|p| p[0] < 191.0));
        // The widest visible chord of the drawn body ends at its own outline, not at the border.
        assert!((s.amplitude[0] - 0.05).abs() < 1e-3);
    }
}

#[test]
fn a_still_sphere_has_amplitudes_within_their_uncertainty() {
    // A circle through the same painter: only the tilt term of SERIES is scaled away by a tiny body of degree nil.
    let mut dice = Dice(6);
    let frames = (0..12)
        .map(|index| {
            let plane = circle(&mut dice);
            Frame {
                index,
                stamp: None,
                plane,
            }
        })
        .collect();
    let m = measured(
        frames,
        &Settings {
            axis_angle: Some(0.0),
            ..Settings::default()
        },
    );
    let mut squares = [0.0; 5];
    for s in &m.bodies[0].shapes {
        for (n, square) in (2..7).zip(&mut squares) {
            let u = s.covariance[n * (n + 1) / 2 + n].sqrt() / s.equivalent_radius_px;
            *square += (s.amplitude[n - 2] / u).powi(2) / 12.0;
        }
    }
    // Chi-squared of 12 over 12: 99.9 % below 2.74.
    assert!(squares.iter().all(|q| *q < 2.74), "{squares:?}");
}

fn circle(dice: &mut Dice) -> Plane {
    let mut cover: Vec<f64> = (0..SIZE * SIZE)
        .map(|i| {
            let inside = (0..64).filter(|k| {
                let x = (i % SIZE) as f64 + (f64::from(k % 8) - 3.5) / 8.0 - 95.6;
                let y = (i / SIZE) as f64 + (f64::from(k / 8) - 3.5) / 8.0 - 97.1;
                x.hypot(y) < 50.0
            });
            inside.count() as f64 / 64.0
        })
        .collect();
    cover = blurred(&blurred(&cover, 1), SIZE);
    assert!((cover.iter().sum::<f64>() / (PI * 2500.0) - 1.0).abs() < 1e-3);
    let levels = cover.iter().map(|c| {
        let level = 200.0 * (1.0 - 0.8 * c);
        (level + dice.normal() * (0.02 * level + 0.3).sqrt())
            .round()
            .clamp(0.0, 255.0) as u8
    });
    Plane::eight(SIZE, SIZE, levels.collect())
}

#[test]
fn a_wire_across_is_told() {
    let m = measured(clip(3, 7, true, one), &Settings::default());
    assert!(
        codes(&m).contains(&"outline_disturbed") && !codes(&m).contains(&"leaves_frame"),
        "{:?}",
        m.cautions
    );
}

/// A picture of 512 px with a body of radius 140 px and a solid wire 7 px wide from border to border.
fn wired(index: u64, dice: &mut Dice, from: [f64; 2], to: [f64; 2]) -> Frame {
    let length = (to[0] - from[0]).hypot(to[1] - from[1]);
    behind(index, dice, |px, py| {
        let along = ((px - from[0]) * (to[0] - from[0]) + (py - from[1]) * (to[1] - from[1])) / length;
        let off = ((px - from[0]) * (to[1] - from[1]) - (py - from[1]) * (to[0] - from[0])) / length;
        off.abs() < 3.5 && along > 0.0 && along < length
    })
}

/// The same body behind a thing.
fn behind(index: u64, dice: &mut Dice, thing: impl Fn(f64, f64) -> bool) -> Frame {
    const WIDE: usize = 512;
    let (x, y) = (251.3 + 0.4 * index as f64, 258.9 - 0.3 * index as f64);
    let body = Body {
        x,
        y,
        radius: 140.0,
        tilt: 0.2,
    };
    let levels = (0..WIDE * WIDE).map(|i| {
        let (px, py) = ((i % WIDE) as f64, (i / WIDE) as f64);
        let cos = ((px - x) * 0.2_f64.sin() - (py - y) * 0.2_f64.cos()) / (px - x).hypot(py - y).max(1e-9);
        let out = (px - x).hypot(py - y) - 140.0 * legendre::series(&SERIES, cos);
        let cover = if out.abs() < 7.5 {
            soft(&body, px, py)
        } else {
            f64::from(u8::from(out < 0.0))
        };
        let thread = if thing(px, py) { 0.25 } else { 1.0 };
        let level = 190.0 * thread * (1.0 - 0.8 * cover);
        (level + dice.normal() * (0.02 * level + 0.3).sqrt())
            .round()
            .clamp(0.0, 255.0) as u8
    });
    Frame {
        index,
        stamp: None,
        plane: Plane::eight(WIDE, WIDE, levels.collect()),
    }
}

/// The share of a body under a Gaussian of 1.2 px: exact across the edge (where the step of the normal distribution
/// stands for the lattice, which would jump with every point it gains), a sum over lines along it.
fn soft(b: &Body, px: f64, py: f64) -> f64 {
    let out = |x: f64, y: f64| {
        let (x, y) = (x - b.x, y - b.y);
        let cos = (x * b.tilt.sin() - y * b.tilt.cos()) / x.hypot(y);
        x.hypot(y) - b.radius * legendre::series(&SERIES, cos)
    };
    let upright = (py - b.y).abs() > (px - b.x).abs();
    let at = |across: f64, along: f64| {
        if upright {
            out(px + along, py + across)
        } else {
            out(px + across, py + along)
        }
    };
    let sense = if upright { py - b.y } else { px - b.x }.signum();
    let (mut sum, mut all) = (0.0, 0.0);
    for i in -12..=12 {
        let along = f64::from(i) * 0.4;
        let (mut low, mut high) = (-16.0, 16.0);
        for _ in 0..45 {
            let middle = (low + high) / 2.0;
            if at(sense * middle, along) > 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        let weight = (-(along * along) / (2.0 * 1.44)).exp();
        all += weight;
        sum += weight * tremolet_measure::step::step(high / 1.2).0;
    }
    sum / all
}

#[test]
fn thin_things_are_cut_off_and_the_shape_comes_back() {
    // Across, from below to the middle, and grazing the upper end, which hides a fifth.
    for (from, to, hidden) in [
        ([-20.0, 180.0], [540.0, 290.0], 0.12),
        ([251.0, 320.0], [290.0, 540.0], 0.1),
        ([-20.0, 137.0], [540.0, 100.0], 0.25),
    ] {
        let mut dice = Dice(8);
        let m = measured(
            (0..3).map(|i| wired(i, &mut dice, from, to)).collect(),
            &Settings::default(),
        );
        assert_eq!(m.bodies.len(), 1, "{from:?}");
        for s in &m.bodies[0].shapes {
            let ratio = radius_ratio();
            let off = s.equivalent_radius_px - 140.0 * ratio;
            assert!(s.touched && !s.touches_frame && s.star_shaped && s.coverage > 1.0 - hidden);
            assert!(
                off.abs() < 3.0 * s.u_radius_px && s.u_radius_px < 0.002,
                "{off} +- {}",
                s.u_radius_px
            );
            for (a, truth) in s.amplitude.iter().zip([0.05, 0.03, 0.0, 0.0, 0.0, 0.0, 0.0]) {
                assert!((a - truth / ratio).abs() < 1e-3, "{a} for {truth}");
            }
        }
    }
}

#[test]
fn a_loop_of_wire_is_not_a_body() {
    let mut dice = Dice(9);
    let hoop = |x: f64, y: f64| ((x - 251.0).hypot(y - 370.0) - 120.0).abs() < 2.5;
    let m = measured(
        (0..2).map(|i| behind(i, &mut dice, hoop)).collect(),
        &Settings::default(),
    );
    assert_eq!(m.bodies.len(), 1);
    for s in &m.bodies[0].shapes {
        let off = s.equivalent_radius_px - 140.0 * radius_ratio();
        assert!(s.touched && s.star_shaped, "{} {off}", s.coverage);
        assert!(off.abs() < 3.0 * s.u_radius_px && s.u_radius_px < 0.01, "{off}");
    }
}

#[test]
fn a_thin_rim_alone_is_a_body_with_a_bright_middle() {
    let mut dice = Dice(10);
    let cover: Vec<f64> = (0..SIZE * SIZE)
        .map(|i| {
            let r = ((i % SIZE) as f64 - 95.2).hypot((i / SIZE) as f64 - 96.4);
            f64::from(u8::from(r < 70.0 && r > 64.0))
        })
        .collect();
    let cover = blurred(&blurred(&cover, 1), SIZE);
    let levels = cover
        .iter()
        .map(|c| (200.0 * (1.0 - 0.8 * c) + dice.normal()).round() as u8);
    let plane = Plane::eight(SIZE, SIZE, levels.collect());
    let found = tremolet_measure::locate::locate(
        &plane,
        &tremolet_measure::scene::Scene::of(&[&plane], None),
        tremolet_measure::settings::Masks::default(),
    );
    let all = found.iter().map(|b| b.cells as f64 * b.cell_px * b.cell_px);
    assert_eq!(found.len(), 1);
    assert!((all.sum::<f64>() / (PI * 4900.0) - 1.0).abs() < 0.03);
    assert!(found[0].cuts.is_empty());
}
