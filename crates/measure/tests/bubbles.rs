//! Real stills: two bubbles on a needle that merge into one, with ghosts and dust around.

use std::ops::ControlFlow;
use std::path::Path;
use tremolet_clip::frame::Frame;
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::FramesInMemory;
use tremolet_measure::measured::{BodyShape, Lighting, Measured};
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

/// The stills 1, 5, 10, 15 as frames 0 to 3.
fn stills() -> Vec<Frame> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/bubbles");
    let mut source = open(&folder, &OpenOptions::default()).expect("the stills open");
    std::iter::from_fn(|| source.next_frame().expect("a still")).collect()
}

fn measured(frames: Vec<Frame>) -> Measured {
    let mut source = FramesInMemory::new("bubbles", frames).expect("frames of one size");
    measure(&mut source, &Settings::default(), &mut |_| {
        ControlFlow::Continue(())
    })
    .expect("measured")
}

/// Every body alone in every still: tracks do not matter here.
fn bodies_of_each() -> Vec<Vec<BodyShape>> {
    let alone = |frame: Frame| {
        let m = measured(vec![frame]);
        assert_eq!(m.scene.lighting, Lighting::BackLit);
        m.bodies.into_iter().flat_map(|b| b.shapes).collect()
    };
    stills().into_iter().map(alone).collect()
}

fn extent(shape: &BodyShape, k: usize) -> (f32, f32) {
    let points = shape.outline.get();
    let all = points.iter().map(|p| p[k]);
    (all.clone().fold(f32::MAX, f32::min), all.fold(f32::MIN, f32::max))
}

#[test]
fn two_bubbles_then_one() {
    let counts: Vec<usize> = bodies_of_each().iter().map(Vec::len).collect();
    assert_eq!(counts, [2, 1, 1, 1]);
}

/// Widths read off the enlarged stills by eye: 53 px across, good to 2 px.
#[test]
fn a_bubble_is_as_wide_as_it_looks() {
    for shape in &bodies_of_each()[0] {
        let (left, right) = extent(shape, 0);
        assert!((right - left - 53.0).abs() < 2.0, "{left} to {right}");
        assert!(shape.touched && !shape.touches_frame && shape.coverage > 0.4 && shape.coverage < 0.9);
    }
}

/// The lower bubble ends at row 170; below is the needle, above row 69 a ghost.
#[test]
fn needle_ghosts_and_dust_have_no_outline() {
    for shape in bodies_of_each().iter().flatten() {
        for [x, y, _] in shape.outline.get().iter() {
            assert!(*y > 66.0 && *y < 173.0 && *x > 90.0 && *x < 158.0, "{x}, {y}");
        }
        // The needle passes the lower end of the bubbles between these columns.
        let on_needle = |p: &&[f32; 3]| p[1] > 168.0 && p[0] > 119.0 && p[0] < 136.0;
        assert_eq!(shape.outline.get().iter().filter(on_needle).count(), 0);
    }
}

#[test]
fn the_outlines_lie_where_the_picture_turns_from_dark_to_light() {
    let frames = stills();
    for (frame, shapes) in frames.iter().zip(bodies_of_each()) {
        for [x, y, _] in shapes.iter().flat_map(|s| s.outline.get().into_owned()) {
            let mut near = Vec::new();
            for i in -3i64..=3 {
                for j in -3i64..=3 {
                    let (u, v) = (x.round() as i64 + i, y.round() as i64 + j);
                    near.push(frame.plane.at(u as usize, v as usize));
                }
            }
            let low = near.iter().copied().fold(f32::MAX, f32::min);
            let high = near.iter().copied().fold(0.0, f32::max);
            assert!(low < 1400.0 && high > 2000.0, "{x}, {y}: {low} to {high}");
        }
    }
}

/// The two bubbles of the first still become one: its axis is the line through their centres, its volume their sum. Two fifths
/// of the lower one are behind the needle, so the volume is good to a tenth.
#[test]
fn the_merged_bubble_turns_about_the_line_through_the_two() {
    let m = measured(stills());
    let [a, b, merged] = &m.bodies[..] else {
        panic!("{} bodies", m.bodies.len());
    };
    let ([ax, ay], [bx, by]) = (a.shapes[0].centre_px, b.shapes[0].centre_px);
    let line = ((ax - bx) / (by - ay)).atan();
    assert!(
        (merged.axis_angle - line).abs() < 0.05,
        "{} {line}",
        merged.axis_angle
    );
    assert_eq!(merged.shapes.len(), 3);
    for s in &merged.shapes {
        let ratio = s.volume_px3 / (a.shapes[0].volume_px3 + b.shapes[0].volume_px3);
        assert!((ratio - 1.0).abs() < 0.1, "{ratio}");
    }
}
