//! The tidy tables of a run: shapes and outlines frame by frame, amplitudes, fitted curves; each as Parquet, the small ones as
//! CSV too. Lengths in pixels stay in pixels here, with the scale in the experiment file.

use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_record::folder::RunFolder;
use tremolet_record::mode_table;
use tremolet_record::parquet::writer;
use tremolet_record::table::{Column, Data, Table};

use crate::body::BodyFound;
use crate::error::StudyError;
use crate::look::Seen;
use crate::series::free;

/// Writes all tables of a run.
///
/// # Errors
/// When a file cannot be written.
pub fn write(folder: &RunFolder, seen: &Seen, bodies: &[BodyFound]) -> Result<(), StudyError> {
    let shapes = shapes(seen);
    keep(folder, "shapes", &shapes, true)?;
    keep(folder, "outlines", &outlines(seen), false)?;
    let series: Vec<_> = bodies
        .iter()
        .map(|b| b.series.clone())
        .filter(|s| !s.samples.is_empty())
        .collect();
    for (i, one) in series.iter().enumerate() {
        let name = if series.len() == 1 {
            "amplitudes".into()
        } else {
            format!("amplitudes-{}", i + 1)
        };
        let table =
            mode_table::table_of(std::slice::from_ref(one)).map_err(|why| failed("amplitudes", &why))?;
        keep(folder, &name, &table, true)?;
    }
    keep(folder, "fits", &fits(bodies), true)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}

fn keep(folder: &RunFolder, name: &str, table: &Table, csv: bool) -> Result<(), StudyError> {
    let path = folder.place(&format!("series/{name}.parquet"))?;
    tremolet_record::store::make_folder(path.parent().unwrap_or(&path))?;
    writer::write(&path, table).map_err(|why| failed("a table", &why))?;
    if csv {
        let text = table.to_csv().map_err(|why| failed("a table", &why))?;
        folder.write(&format!("tables/{name}.csv"), text.as_bytes())?;
    }
    Ok(())
}

fn whole(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// One row a frame and body.
fn shapes(seen: &Seen) -> Table {
    let rows: Vec<(&BodyTrack, &BodyShape)> = seen
        .measured
        .bodies
        .iter()
        .flat_map(|track| track.shapes.iter().map(move |shape| (track, shape)))
        .collect();
    let real = |name: &str, unit: &str, what: &str, get: &dyn Fn(&BodyShape) -> f64| {
        Column::new(
            name,
            unit,
            what,
            Data::Real(rows.iter().map(|(_, shape)| get(shape)).collect()),
        )
    };
    let flag = |name: &str, what: &str, get: &dyn Fn(&BodyShape) -> bool| {
        Column::new(
            name,
            "1",
            what,
            Data::Flag(rows.iter().map(|(_, shape)| get(shape)).collect()),
        )
    };
    let frames = rows.iter().map(|(_, shape)| whole(shape.frame)).collect();
    let bodies = rows.iter().map(|(track, _)| i64::from(track.body)).collect();
    let axis = rows.iter().map(|(track, _)| track.axis_angle).collect();
    Table {
        name: "shapes".into(),
        description: "Shape of each body in each frame, in pixels of the image.".into(),
        columns: vec![
            Column::new("frame", "1", "frame of the clip, from 0", Data::Integer(frames)),
            Column::new("body", "1", "number of the body, from 1", Data::Integer(bodies)),
            real("time", "s", "real time", &|s| {
                seen.time(s.frame).unwrap_or(f64::NAN)
            }),
            real("centre_x", "px", "centre of the shape, rightwards", &|s| {
                s.centre_px[0]
            }),
            real("centre_y", "px", "centre of the shape, downwards", &|s| {
                s.centre_px[1]
            }),
            Column::new(
                "axis",
                "rad",
                "axis from image-up towards the right",
                Data::Real(axis),
            ),
            real(
                "equivalent_radius",
                "px",
                "radius of the sphere of the same volume",
                &|s| s.equivalent_radius_px,
            ),
            real(
                "u_equivalent_radius",
                "px",
                "its standard uncertainty from noise",
                &|s| s.u_radius_px,
            ),
            real("area", "px^2", "area of the outline", &|s| s.area_px2),
            real("surface", "px^2", "surface of the body of revolution", &|s| {
                s.surface_px2
            }),
            real(
                "residual_rms",
                "px",
                "distance of the points from the expansion",
                &|s| s.residual_rms_px,
            ),
            real("asymmetry", "1", "mirror misfit over what noise allows", &|s| {
                s.asymmetry
            }),
            real("coverage", "1", "share of the outline that was seen", &|s| {
                s.coverage
            }),
            flag("touches_frame", "whether the body reaches the border", &|s| {
                s.touches_frame
            }),
            flag(
                "touched",
                "whether something crosses or touches the outline",
                &|s| s.touched,
            ),
            flag("free", "whether free-drop amplitudes are taken from it", &free),
        ],
    }
}

/// One row a point of an outline.
fn outlines(seen: &Seen) -> Table {
    let (mut frames, mut bodies) = (Vec::new(), Vec::new());
    let mut values = [Vec::new(), Vec::new(), Vec::new()];
    for track in &seen.measured.bodies {
        for shape in &track.shapes {
            for point in &shape.outline {
                frames.push(whole(shape.frame));
                bodies.push(i64::from(track.body));
                for (column, value) in values.iter_mut().zip(point) {
                    column.push(f64::from(*value));
                }
            }
        }
    }
    let [x, y, u] = values;
    Table {
        name: "outlines".into(),
        description: "Points of the outlines that were used, in order around each body.".into(),
        columns: vec![
            Column::new("frame", "1", "frame of the clip, from 0", Data::Integer(frames)),
            Column::new("body", "1", "number of the body, from 1", Data::Integer(bodies)),
            Column::new(
                "x",
                "px",
                "rightwards from the centre of the top-left pixel",
                Data::Real(x),
            ),
            Column::new(
                "y",
                "px",
                "downwards from the centre of the top-left pixel",
                Data::Real(y),
            ),
            Column::new("u", "px", "standard uncertainty along the normal", Data::Real(u)),
        ],
    }
}

/// One row a sample and degree: measured, fitted, residual.
fn fits(bodies: &[BodyFound]) -> Table {
    let (mut who, mut degrees) = (Vec::new(), Vec::new());
    let mut values = [Vec::new(), Vec::new(), Vec::new()];
    for found in bodies {
        for (i, &degree) in found.series.degrees.iter().enumerate() {
            for sample in &found.series.samples {
                let Some(fitted) = found.ringdown.curve(degree, sample.time) else {
                    continue;
                };
                who.push(i64::from(found.body));
                degrees.push(i64::from(degree));
                for (column, value) in values.iter_mut().zip([sample.time, sample.amplitude[i], fitted]) {
                    column.push(value);
                }
            }
        }
    }
    let [time, measured, fitted] = values;
    Table {
        name: "fits".into(),
        description: "Amplitudes and what was fitted to them.".into(),
        columns: vec![
            Column::new("body", "1", "number of the body, from 1", Data::Integer(who)),
            Column::new("degree", "1", "degree n", Data::Integer(degrees)),
            Column::new("time", "s", "real time", Data::Real(time)),
            Column::new(
                "measured",
                "1",
                "amplitude a_n in units of R",
                Data::Real(measured),
            ),
            Column::new("fitted", "1", "fitted amplitude", Data::Real(fitted)),
        ],
    }
}
