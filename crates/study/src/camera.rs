//! What the experiment file states of the camera, as the meter takes it; and what a stated lens leaves open of a size.
//!
//! ```text
//! u_lens(R) / R = sqrt( sum_i [ dln sqrt(A) / dk_i u(k_i) ]^2 )
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A` | area inside an outline as the perfect lens would show it | px^2 |
//! | `k_i` | radial coefficients of the lens | 1 |
//!
//! The formulas live in [`tremolet_optics::picture`]. Tangential coefficients are taken as exact.

use tremolet_clip::source::ClipInfo;
use tremolet_measure::camera::Stated;
use tremolet_measure::measured::BodyTrack;
use tremolet_optics::distortion::Lens;
use tremolet_optics::picture::Picture;
use tremolet_optics::shutter::Shutter;
use tremolet_record::experiment::camera::{Camera, FirstRow};
use tremolet_record::experiment::file::Experiment;

/// Frames that stand for a clip.
const SAMPLE: usize = 5;

/// What is stated of the camera that filmed a clip.
pub fn stated(experiment: &Experiment, info: &ClipInfo) -> Stated {
    let Some(camera) = &experiment.camera else {
        return Stated::default();
    };
    Stated {
        shutter: shutter(camera, info.height),
        picture: picture(camera, info).filter(|picture| !picture.is_plain()),
    }
}

/// The time of a frame is that of the row that is read first.
fn shutter(camera: &Camera, rows: usize) -> Option<Shutter> {
    let readout = camera.readout_time.as_ref()?.value();
    let upwards = camera.readout_from == Some(FirstRow::Bottom);
    (readout > 0.0 && rows > 1).then(|| Shutter {
        readout: if upwards { -readout } else { readout },
        rows,
        stamped: if upwards { rows as f64 - 1.0 } else { 0.0 },
    })
}

fn picture(camera: &Camera, info: &ClipInfo) -> Option<Picture> {
    let roll = camera.roll.as_ref().map_or(0.0, |roll| roll.value());
    let middle = [info.width, info.height].map(|side| (side as f64 - 1.0) / 2.0);
    let Some(lens) = &camera.lens else {
        return (roll != 0.0).then(|| Picture {
            roll,
            ..Picture::plain(middle)
        });
    };
    Some(Picture {
        lens: Lens {
            radial: lens.radial,
            tangential: lens.tangential,
        },
        focal_px: lens.focal_px,
        centre: lens.centre.unwrap_or(middle),
        roll,
    })
}

/// Length between the ends of the reference in the picture over that in the picture of a perfect lens; 1 without lens or reference. A
/// scale from the reference is too small by it where it is below 1.
pub fn reference_stretch(experiment: &Experiment, info: &ClipInfo) -> f64 {
    let stretch = || {
        let camera = experiment.camera.as_ref()?;
        let (reference, picture) = (camera.reference.as_ref()?, picture(camera, info)?);
        let (from, to) = (
            picture.level(reference.from).ok()?,
            picture.level(reference.to).ok()?,
        );
        let seen = (reference.to[0] - reference.from[0]).hypot(reference.to[1] - reference.from[1]);
        Some(seen / (to[0] - from[0]).hypot(to[1] - from[1]))
    };
    stretch().unwrap_or(1.0)
}

/// Standard uncertainty of the radius of a body over the radius that the coefficients of a stated lens leave, over some of its frames.
pub fn lens_doubt(experiment: &Experiment, info: &ClipInfo, track: &BodyTrack) -> f64 {
    let camera = experiment.camera.as_ref();
    let Some((lens, picture)) = camera.and_then(|c| Some((c.lens.as_ref()?, picture(c, info)?))) else {
        return 0.0;
    };
    let stride = track.shapes.len().div_ceil(SAMPLE).max(1);
    let sample: Vec<_> = track
        .shapes
        .iter()
        .step_by(stride)
        .map(|s| s.outline.get())
        .collect();
    let size = |radial: [f64; 3]| -> f64 {
        let lens = Lens {
            radial,
            ..picture.lens
        };
        let bent = Picture { lens, ..picture };
        sample.iter().map(|outline| area(outline, &bent).sqrt()).sum()
    };
    let change = |i: usize| {
        let mut moved = lens.radial;
        moved[i] += lens.u_radial[i];
        (size(moved) / size(lens.radial) - 1.0).powi(2)
    };
    let sum: f64 = (0..3).filter(|i| lens.u_radial[*i] > 0.0).map(change).sum();
    sum.sqrt()
}

/// Area inside the points of an outline in the picture of a perfect lens, px^2.
fn area(outline: &[[f32; 3]], picture: &Picture) -> f64 {
    let level = |p: &[f32; 3]| picture.level([f64::from(p[0]), f64::from(p[1])]).ok();
    let points: Vec<[f64; 2]> = outline.iter().filter_map(level).collect();
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a[0] * b[1] - b[0] * a[1])
        .sum();
    (0.5 * twice).abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn info() -> ClipInfo {
        ClipInfo {
            name: "test".into(),
            width: 801,
            height: 601,
            bits: 8,
            frame_count: None,
            header_rate_fps: None,
            container: "none".into(),
            codec: "none".into(),
            decoder: "none".into(),
        }
    }

    fn experiment(camera: &str) -> Experiment {
        let text = format!("format = 1\nkind = \"release\"\n[camera]\n{camera}");
        Experiment::parse(&text, "test").expect("an experiment")
    }

    #[test]
    fn nothing_stated_is_nothing_to_correct() {
        let plain = experiment("scale = \"0.1 mm/px\"\nreadout_time = \"0 ms\"\nroll = \"0 deg\"\n");
        assert_eq!(stated(&plain, &info()), Stated::default());
        assert_eq!(reference_stretch(&plain, &info()), 1.0);
    }

    #[test]
    fn rows_are_read_from_where_the_file_says() {
        let down = stated(&experiment("readout_time = \"6 ms\"\n"), &info())
            .shutter
            .unwrap();
        assert!((down.row_time(1.0, 600.0) - 1.006).abs() < 1e-12 && down.row_time(1.0, 0.0) == 1.0);
        let up = "readout_time = \"6 ms\"\nreadout_from = \"bottom\"\n";
        let up = stated(&experiment(up), &info()).shutter.unwrap();
        assert!((up.row_time(1.0, 0.0) - 1.006).abs() < 1e-12 && up.row_time(1.0, 600.0) == 1.0);
    }

    // A lens x_d = x (1 + k r^2) with k = -0.1 and f = 1000 px, a reference from the axis to 0.2 of it: seen 200 (1 - 0.004).
    #[test]
    fn a_reference_is_undistorted_as_the_body_is() {
        let text = "[camera.reference]\nlength = \"10 +- 0.1 mm\"\nfrom = [400, 300]\nto = [599.2, 300]\nend_uncertainty = \"0.1 px\"\n\
                    [camera.lens]\nfocal_length = \"1000 px\"\nradial = [-0.1]\n";
        assert!((reference_stretch(&experiment(text), &info()) - 0.996).abs() < 1e-9);
    }

    // A circle of radius 150 about the axis: its radius goes as 1 - k r^2, r = 0.15, so a doubt of 0.01 in k is 2.25e-4 of it.
    #[test]
    fn what_the_coefficients_leave_open_is_in_the_radius() {
        let text =
            "[camera.lens]\nfocal_length = \"1000 px\"\nradial = [0.0, 0.0]\nradial_uncertainty = [0.01]\n";
        let point = |k: i32| {
            let (sin, cos) = (TAU * f64::from(k) / 360.0).sin_cos();
            [(400.0 + 150.0 * cos) as f32, (300.0 + 150.0 * sin) as f32, 0.01]
        };
        let circle: Vec<[f32; 3]> = (0..360).map(point).collect();
        let experiment = experiment(text);
        let picture = picture(experiment.camera.as_ref().unwrap(), &info()).unwrap();
        let mut bent = picture;
        bent.lens.radial[0] = 0.01;
        let change = (area(&circle, &bent) / area(&circle, &picture)).sqrt() - 1.0;
        assert!((change / -2.25e-4 - 1.0).abs() < 2e-3, "{change}");
    }
}
