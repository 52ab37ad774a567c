//! The outline tried on one frame, before a clip is measured.
//!
//! Everything is found from this frame alone; measuring looks at all frames and at what is common to them, so its outline may
//! differ where a scene is not plainly back-lit. Lengths are px, angles rad.

use std::path::Path;

use serde::Serialize;
use tremolet_clip::frame::Frame;
use tremolet_clip::source::FramesInMemory;
use tremolet_measure::measured::Lighting;
use tremolet_measure::session;
use tremolet_measure::settings::Settings;
use tremolet_record::experiment::file::Experiment;

use crate::error::StudyError;
use crate::look::settings_of;
use crate::outline::{Outline, stretches};

/// What was found in a frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// The frame.
    pub frame: u64,
    /// How it is lit, in words.
    pub lighting: &'static str,
    /// Outlines.
    pub outlines: Vec<Outline>,
    /// Sizes and places, in the order of the outlines.
    pub bodies: Vec<Size>,
    /// Blemishes, in words.
    pub cautions: Vec<String>,
}

/// Size and place of a body.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Size {
    /// Centre, px.
    pub centre: [f64; 2],
    /// Volume-equivalent radius, px.
    pub radius: f64,
    /// Share of the outline that was seen.
    pub coverage: f64,
    /// Axis, rad from image-up.
    pub axis: f64,
}

/// Looks for bodies in one frame of a clip, with the masks and the axis of the experiment.
///
/// # Errors
/// When the empty picture of the experiment cannot be read or has another size.
pub fn tried(experiment: &Experiment, clip: &Path, frame: &Frame) -> Result<Tried, StudyError> {
    let mut source = FramesInMemory::new("one frame", vec![frame.clone()])?;
    let settings = Settings {
        left_out: Vec::new(),
        ..settings_of(experiment, clip, 1)?
    };
    let measured = session::measure(&mut source, &settings, &mut |_| {
        std::ops::ControlFlow::Continue(())
    })?;
    let mut tried = Tried {
        frame: frame.index,
        lighting: match measured.scene.lighting {
            Lighting::BackLit => "back-lit: dark bodies before an even light",
            Lighting::Cluttered => "bright bodies before uneven surroundings",
        },
        outlines: Vec::new(),
        bodies: Vec::new(),
        cautions: measured.cautions.iter().map(|c| c.text.clone()).collect(),
    };
    for track in &measured.bodies {
        let Some(shape) = track.shapes.first() else {
            continue;
        };
        let outline = shape.outline.get();
        let points: Vec<[f64; 2]> = outline
            .iter()
            .map(|p| [f64::from(p[0]), f64::from(p[1])])
            .collect();
        tried
            .outlines
            .push(Outline::found(track.body, stretches(&points)));
        tried.bodies.push(Size {
            centre: shape.centre_px,
            radius: shape.equivalent_radius_px,
            coverage: shape.coverage,
            axis: track.axis_angle,
        });
    }
    Ok(tried)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;

    /// A dark disc of radius 40 px with an edge one pixel wide, before an even light with a little unevenness.
    fn disc() -> Frame {
        let level = |x: usize, y: usize| {
            let r = (x as f64 - 80.3).hypot(y as f64 - 61.7);
            let share = ((r - 40.0) + 0.5).clamp(0.0, 1.0);
            let grain = (x * 7 + y * 13) % 3;
            (30.0 + 170.0 * share) as u8 + grain as u8
        };
        let levels = (0..120 * 160).map(|i| level(i % 160, i / 160)).collect();
        Frame {
            index: 7,
            stamp: None,
            plane: Plane::eight(160, 120, levels),
        }
    }

    #[test]
    fn a_disc_is_found_where_it_is_and_not_behind_a_mask() {
        let of = |mask: &str| {
            let text = format!("format = 1\nkind = \"release\"\n[clip]\npath = \"x\"\n{mask}");
            let experiment = Experiment::parse(&text, "x").expect("read");
            tried(&experiment, Path::new("x"), &disc()).expect("looked at")
        };
        let found = of("");
        assert_eq!((found.frame, found.bodies.len()), (7, 1));
        let body = found.bodies[0];
        assert!((body.centre[0] - 80.3).abs() < 0.2 && (body.centre[1] - 61.7).abs() < 0.2);
        assert!((body.radius - 40.0).abs() < 0.5, "{}", body.radius);
        assert!(found.outlines[0].stretches[0].closed);
        // A triangle that stays clear of the disc; a corner of the upright rectangle around it would come within 6 px.
        let beside = of("[[clip.mask]]\ncorners = [[0, 0], [40, 0], [0, 40]]\n");
        assert_eq!(beside.bodies[0].coverage, found.bodies[0].coverage);
        let wire = of("[[clip.mask]]\ncorners = [[80, 0], [80, 60]]\nwidth = \"12 px\"\n");
        // A line of 12 px across the edge, and the strip on both sides in which an edge is fitted, of 251 px.
        let lost = found.bodies[0].coverage - wire.bodies[0].coverage;
        assert!((0.04..0.25).contains(&lost), "{lost}");
        assert!(
            (wire.bodies[0].radius - 40.0).abs() < 0.5,
            "{}",
            wire.bodies[0].radius
        );
        let elsewhere = of("region = [[0, 0], [30, 0], [30, 119], [0, 119]]\n");
        assert_eq!(elsewhere.bodies.len(), 0, "{elsewhere:?}");
        // A rejected frame can be looked at again, to see why.
        let rejected = of("[[clip.judged]]\nframes = [7, 8]\noutline = \"rejected\"\n");
        assert_eq!(rejected.bodies.len(), 1);
        let hidden = of("[[clip.mask]]\ncorners = [[30, 10], [130, 10], [130, 110], [30, 110]]\n");
        assert_eq!(hidden.bodies.len(), 0, "{hidden:?}");
    }
}
