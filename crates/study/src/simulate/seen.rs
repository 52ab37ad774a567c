//! A simulated run in the tables of a measured one: shapes, outlines, amplitudes; and its meridians, bodies and bubbles.
//!
//! Pixels are those of the stated scale, or a hundredth of the radius; the body begins at the origin of the picture with its axis upwards.

use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_plan::given::Given;
use tremolet_record::folder::RunFolder;
use tremolet_record::series::{ModeSample, ModeSeries};
use tremolet_record::table::{Column, Data, Table};
use tremolet_simulate::run::Run;

use crate::error::StudyError;
use crate::simulate::bodies::{Body, Shape, ball, seen_area};
use crate::simulate::problem::Problem;
use crate::tables::column::{integer, real};
use crate::tables::{keep, outlines, shape};

/// Degrees told, as in measuring.
const HIGHEST: usize = 8;
/// Standard uncertainty of an amplitude: the errors of some thousand steps, and of the highest degree.
const U_AMPLITUDE: f64 = 1e-5;

/// Writes shapes, outlines, meridians, bodies and bubbles.
///
/// # Errors
/// When a file cannot be written.
pub fn write(
    folder: &RunFolder,
    bodies: &[Body],
    done: &Run,
    (given, problem): (&Given<'_>, &Problem),
) -> Result<(), StudyError> {
    let stated = given.experiment.camera.as_ref().and_then(|c| c.scale.as_ref());
    let metre_per_px = stated.map_or(0.01 * problem.radius, Uncertain::value);
    let track = |body: &Body| BodyTrack {
        body: body.number,
        axis_angle: 0.0,
        axis_uncertainty: 0.0,
        u_axis_px: 0.0,
        u_edge_px: 0.0,
        clipped: [0.0; 2],
        shapes: body.shapes.iter().map(|s| of_shape(s, metre_per_px)).collect(),
    };
    let tracks: Vec<BodyTrack> = bodies.iter().map(track).collect();
    let time = |frame: u64| done.samples.get(usize::try_from(frame).ok()?).map(|s| s.time);
    let free_from = done.samples.partition_point(|s| s.time < problem.free_from) as u64;
    keep(folder, &shape::shapes(&tracks, free_from, |_, frame| time(frame)))?;
    outlines(folder, &tracks)?;
    keep(folder, &meridians(bodies))?;
    keep(folder, &of_bodies(bodies))?;
    if bodies
        .iter()
        .any(|body| body.shapes.iter().any(|s| !s.bubbles.is_empty()))
    {
        keep(folder, &of_bubbles(bodies))?;
    }
    Ok(())
}

fn of_shape(shape: &Shape, metre_per_px: f64) -> BodyShape {
    let px = |length: f64| length / metre_per_px;
    let radius_px = px(shape.outside.radius());
    let mut series = shape.amplitudes.clone().unwrap_or_default();
    if let Some(whole) = series.first_mut() {
        *whole += 1.0;
    }
    let point = |p: &[f64; 2], side: f64| {
        let [x, y] = [px(side * p[1]), px(-p[0] - shape.origin)];
        [x as f32, y as f32, (U_AMPLITUDE * radius_px) as f32]
    };
    let meridian = &shape.meridian;
    let right = meridian.iter().map(|p| point(p, 1.0));
    let inner = meridian.len().saturating_sub(2);
    let left = meridian.iter().rev().skip(1).take(inner).map(|p| point(p, -1.0));
    BodyShape {
        frame: shape.instant as u64,
        centre_px: [0.0, px(-shape.height())],
        area_px2: px(px(seen_area(meridian))),
        volume_px3: ball(radius_px),
        surface_px2: px(px(shape.outside.area)),
        equivalent_radius_px: radius_px,
        u_radius_px: 0.0,
        coefficients_px: series.iter().map(|c| c * radius_px).collect(),
        amplitude: series.get(2..).map(<[f64]>::to_vec).unwrap_or_default(),
        covariance: Vec::new(),
        residual_rms_px: 0.0,
        reduced_chi_squared: 1.0,
        asymmetry: 0.0,
        harmonics: None,
        coverage: 1.0,
        touches_frame: false,
        touched: false,
        star_shaped: shape.amplitudes.is_some(),
        order: series.len().saturating_sub(1),
        blur_px: 0.0,
        outline: right.chain(left).collect(),
        hidden: Default::default(),
    }
}

/// The amplitudes of degrees 2 to 8 of a body where it is star-shaped; before `free_from` (s) something presses on it.
pub fn series(body: &Body, free_from: f64) -> ModeSeries {
    let shapes = body
        .shapes
        .iter()
        .filter_map(|s| Some((s, s.amplitudes.as_ref()?)));
    let told = shapes.clone().map(|(_, a)| a.len()).min().unwrap_or(0);
    let count = told.clamp(2, HIGHEST + 1) - 2;
    let sample = |(shape, amplitudes): (&Shape, &Vec<f64>)| ModeSample {
        frame: shape.instant as u64,
        time: shape.time,
        amplitude: amplitudes[2..count + 2].to_vec(),
        covariance: (0..count)
            .flat_map(|i| (0..=i).map(move |j| if i == j { U_AMPLITUDE.powi(2) } else { 0.0 }))
            .collect(),
        free: shape.time >= free_from,
    };
    ModeSeries {
        body: body.number,
        degrees: (2..).take(count).collect(),
        samples: shapes.map(sample).collect(),
    }
}

/// Columns that grow row by row: frame, number, and real values.
struct Rows<const N: usize> {
    frames: Vec<i64>,
    numbers: Vec<i64>,
    values: [Vec<f64>; N],
}

impl<const N: usize> Rows<N> {
    fn new() -> Self {
        Self {
            frames: Vec::new(),
            numbers: Vec::new(),
            values: std::array::from_fn(|_| Vec::new()),
        }
    }

    fn add(&mut self, frame: usize, number: i64, row: [f64; N]) {
        self.frames.push(frame as i64);
        self.numbers.push(number);
        self.values
            .iter_mut()
            .zip(row)
            .for_each(|(column, value)| column.push(value));
    }
}

/// One row a point of a meridian: what a camera needs to film the run.
fn meridians(bodies: &[Body]) -> Table {
    let mut shapes: Vec<&Shape> = bodies.iter().flat_map(|body| &body.shapes).collect();
    shapes.sort_by(|a, b| {
        let height = |s: &Shape| s.meridian[0][0];
        a.instant.cmp(&b.instant).then(height(b).total_cmp(&height(a)))
    });
    let (mut rows, mut bubble) = (Rows::new(), Vec::new());
    for same in shapes.chunk_by(|a, b| a.instant == b.instant) {
        let surfaces = same.iter().flat_map(|body| {
            let walls = body.bubbles.iter().map(|wall| (wall, true));
            std::iter::once((*body, false)).chain(walls)
        });
        for (number, (surface, is_bubble)) in (1..).zip(surfaces) {
            for [z, rho] in &surface.meridian {
                rows.add(surface.instant, number, [surface.time, z + surface.origin, *rho]);
                bubble.push(is_bubble);
            }
        }
    }
    let [time, z, rho] = rows.values;
    Table {
        name: "meridians".into(),
        description: "Points of the meridian of each surface, from the upper end of the axis to the lower; surfaces from above, each body followed by its bubbles."
            .into(),
        columns: vec![
            integer("frame", "instant of the run, from 0", rows.frames),
            integer("surface", "number of the surface at this instant, from 1", rows.numbers),
            Column::new("bubble", "1", "whether there is gas inside and liquid outside", Data::Flag(bubble)),
            real("time", "s", "real time", time),
            real("z", "m", "along the axis, upwards from where the centre began", z),
            real("rho", "m", "across the axis", rho),
        ],
    }
}

/// One row a body: from when to when it was there, how large, where it went.
fn of_bodies(bodies: &[Body]) -> Table {
    let ends = |body: &Body| {
        let (first, last) = (&body.shapes[0], &body.shapes[body.shapes.len() - 1]);
        let passed = last.time - first.time;
        let speed = (last.height() - first.height()) / passed;
        [
            first.time,
            last.time,
            last.outside.volume,
            last.outside.radius(),
            last.height(),
            if passed > 0.0 { speed } else { f64::NAN },
        ]
    };
    let rows: Vec<[f64; 6]> = bodies.iter().map(ends).collect();
    let column = |k: usize| rows.iter().map(|row| row[k]).collect::<Vec<f64>>();
    Table {
        name: "bodies".into(),
        description: "Each body of the run. What parts or joins begins anew; a bubble belongs to the volume of its body.".into(),
        columns: vec![
            integer("body", "number of the body, from 1", bodies.iter().map(|b| i64::from(b.number)).collect()),
            real("from", "s", "first instant", column(0)),
            real("until", "s", "last instant", column(1)),
            real("volume", "m^3", "inside its outer surface, at its last instant", column(2)),
            real("radius", "m", "of the sphere of that volume", column(3)),
            real("z", "m", "height of its middle at its last instant", column(4)),
            real("speed", "m/s", "along the axis, mean", column(5)),
        ],
    }
}

/// One row a bubble and instant.
fn of_bubbles(bodies: &[Body]) -> Table {
    let mut rows = Rows::<9>::new();
    for shape in bodies.iter().flat_map(|body| &body.shapes) {
        for (number, bubble) in (1..).zip(&shape.bubbles) {
            let mut row = [f64::NAN; 9];
            (row[0], row[1]) = (bubble.time, bubble.outside.radius());
            row[2] = bubble.height() - shape.height();
            for (k, a) in bubble.amplitudes.iter().flatten().skip(2).take(6).enumerate() {
                row[3 + k] = *a;
            }
            rows.add(shape.instant, number, row);
        }
    }
    let [time, radius, above, two, three, four, five, six, seven] = rows.values;
    let mut columns = vec![
        integer("frame", "instant of the run, from 0", rows.frames),
        integer(
            "bubble",
            "number of the bubble at this instant, from 1",
            rows.numbers,
        ),
        real("time", "s", "real time", time),
        real("radius", "m", "of the sphere of its volume", radius),
        real("above", "m", "its middle above that of the whole", above),
    ];
    for (n, values) in (2..).zip([two, three, four, five, six, seven]) {
        let what = "amplitude of its wall about its middle, over its radius";
        columns.push(real(&format!("a_{n}"), "1", what, values));
    }
    Table {
        name: "bubbles".into(),
        description: "Size, place and shape of each bubble at each instant.".into(),
        columns,
    }
}
