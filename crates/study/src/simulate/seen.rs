//! A simulated run in the tables of a measured one: shapes, outlines, amplitudes; and its meridians.
//!
//! Pixels are those of the stated scale, or a hundredth of the radius; the body begins at the origin of the picture with its axis upwards.

use std::f64::consts::PI;

use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_plan::given::Given;
use tremolet_record::folder::RunFolder;
use tremolet_record::series::{ModeSample, ModeSeries};
use tremolet_record::table::Table;
use tremolet_shape::revolution;
use tremolet_simulate::run::Run;
use tremolet_simulate::sample::Sample;

use crate::error::StudyError;
use crate::simulate::given::Body;
use crate::tables::column::{integer, real};
use crate::tables::{keep, outlines, shape};

/// Degrees told, as in measuring.
const HIGHEST: usize = 8;
/// Standard uncertainty of an amplitude: the errors of some thousand steps, and of the highest degree.
const U_AMPLITUDE: f64 = 1e-5;

/// Writes shapes, outlines and meridians.
///
/// # Errors
/// When a file cannot be written.
pub fn write(folder: &RunFolder, body: &Body, done: &Run, given: &Given<'_>) -> Result<(), StudyError> {
    let stated = given.experiment.camera.as_ref().and_then(|c| c.scale.as_ref());
    let metre_per_px = stated.map_or(0.01 * body.radius, Uncertain::value);
    let track = [BodyTrack {
        body: 1,
        axis_angle: 0.0,
        axis_uncertainty: 0.0,
        u_axis_px: 0.0,
        u_edge_px: 0.0,
        clipped: [0.0; 2],
        shapes: (0..)
            .zip(&done.samples)
            .map(|(k, s)| of_sample(k, s, body.radius, metre_per_px))
            .collect(),
    }];
    let time = |frame: u64| done.samples.get(usize::try_from(frame).ok()?).map(|s| s.time);
    keep(folder, &shape::shapes(&track, |_, frame| time(frame)))?;
    outlines(folder, &track)?;
    keep(folder, &meridians(done))
}

fn of_sample(frame: u64, sample: &Sample, radius: f64, metre_per_px: f64) -> BodyShape {
    let px = |length: f64| length / metre_per_px;
    let radius_px = px(radius);
    let mut series = sample.amplitudes.clone();
    series[0] += 1.0;
    let meridian = &sample.surfaces[0].meridian;
    let area: f64 = meridian
        .windows(2)
        .map(|p| (p[0][0] - p[1][0]) * (p[0][1] + p[1][1]))
        .sum();
    let point = |p: &[f64; 2], side: f64| {
        let [x, y] = [px(side * p[1]), px(-p[0] - sample.origin)];
        [x as f32, y as f32, (U_AMPLITUDE * radius_px) as f32]
    };
    let right = meridian.iter().map(|p| point(p, 1.0));
    let left = meridian
        .iter()
        .rev()
        .skip(1)
        .take(meridian.len().saturating_sub(2))
        .map(|p| point(p, -1.0));
    BodyShape {
        frame,
        centre_px: [0.0, px(-sample.origin)],
        area_px2: area / (metre_per_px * metre_per_px),
        volume_px3: 4.0 / 3.0 * PI * radius_px.powi(3),
        surface_px2: revolution::from_series(&series).surface * radius_px * radius_px,
        equivalent_radius_px: radius_px,
        u_radius_px: 0.0,
        coefficients_px: series.iter().map(|c| c * radius_px).collect(),
        amplitude: series[2..].to_vec(),
        covariance: Vec::new(),
        residual_rms_px: 0.0,
        reduced_chi_squared: 1.0,
        asymmetry: 0.0,
        harmonics: None,
        coverage: 1.0,
        touches_frame: false,
        touched: false,
        star_shaped: true,
        order: series.len() - 1,
        blur_px: 0.0,
        outline: right.chain(left).collect(),
        hidden: Default::default(),
    }
}

/// The amplitudes of degrees 2 to 8.
pub fn series(body: &Body, done: &Run) -> ModeSeries {
    let count = HIGHEST.min(body.settings.highest) - 1;
    let sample = |(frame, sample): (u64, &Sample)| ModeSample {
        frame,
        time: sample.time,
        amplitude: sample.amplitudes[2..count + 2].to_vec(),
        covariance: (0..count)
            .flat_map(|i| (0..=i).map(move |j| if i == j { U_AMPLITUDE.powi(2) } else { 0.0 }))
            .collect(),
        free: true,
    };
    ModeSeries {
        body: 1,
        degrees: (2..).take(count).collect(),
        samples: (0..).zip(&done.samples).map(sample).collect(),
    }
}

/// One row a point of a meridian: what a camera needs to film the run.
fn meridians(done: &Run) -> Table {
    let mut frames = Vec::new();
    let mut surfaces = Vec::new();
    let mut values: [Vec<f64>; 3] = Default::default();
    for (frame, sample) in (0..).zip(&done.samples) {
        for (number, surface) in (1..).zip(&sample.surfaces) {
            for [z, rho] in &surface.meridian {
                frames.push(frame);
                surfaces.push(number);
                let row = [sample.time, z + sample.origin, *rho];
                values
                    .iter_mut()
                    .zip(row)
                    .for_each(|(column, value)| column.push(value));
            }
        }
    }
    let [time, z, rho] = values;
    Table {
        name: "meridians".into(),
        description: "Points of the meridian of each surface, from the upper end of the axis to the lower."
            .into(),
        columns: vec![
            integer("frame", "instant of the run, from 0", frames),
            integer("surface", "number of the surface, from 1", surfaces),
            real("time", "s", "real time", time),
            real("z", "m", "along the axis, upwards from where the centre began", z),
            real("rho", "m", "across the axis", rho),
        ],
    }
}
