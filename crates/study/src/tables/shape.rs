//! Shapes and outlines as tables, frame by frame. Lengths stay in pixels; the scale is in the experiment file.

use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_record::table::{Column, Data, Table};

use crate::look::Seen;
use crate::series::free;

fn whole(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// One row a frame and body.
pub fn shapes(seen: &Seen) -> Table {
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
pub fn outlines(seen: &Seen) -> Table {
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
