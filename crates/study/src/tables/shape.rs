//! Shapes and outlines as tables, frame by frame. Lengths stay in pixels; the scale is in the experiment file.

use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_record::table::{Column, Data, Table};

use crate::series::free;
use crate::tables::column::{integer, real};

fn whole(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// One row a frame and body; `time_of` gives the real time of a body's shape in a frame, before the frame `free_from` nothing is free.
pub fn shapes(bodies: &[BodyTrack], free_from: u64, time_of: impl Fn(u32, u64) -> Option<f64>) -> Table {
    let rows: Vec<(&BodyTrack, &BodyShape)> = bodies
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
    let time = |(track, shape): &(&BodyTrack, &BodyShape)| time_of(track.body, shape.frame);
    let times = rows.iter().map(|row| time(row).unwrap_or(f64::NAN)).collect();
    let axis = rows.iter().map(|(track, _)| track.axis_angle).collect();
    Table {
        name: "shapes".into(),
        description:
            "Shape of each body in each frame, in pixels of a picture by a perfect, level, still camera."
                .into(),
        columns: vec![
            Column::new("frame", "1", "frame of the clip, from 0", Data::Integer(frames)),
            Column::new("body", "1", "number of the body, from 1", Data::Integer(bodies)),
            Column::new("time", "s", "real time of the shape", Data::Real(times)),
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
            flag("free", "whether free-drop amplitudes are taken from it", &|s| {
                s.frame >= free_from && free(s)
            }),
        ],
    }
}

/// Points of outlines that are held at once: their table is too long to lie in memory as a whole.
const PIECE: usize = 1 << 15;

/// The table of outlines, one row a point, without rows.
pub fn no_outlines() -> Table {
    Points::default().table()
}

/// Hands the table of outlines to `add` piece by piece, in order of bodies, frames and points.
///
/// # Errors
/// What `add` gives.
pub fn outlines<E>(bodies: &[BodyTrack], mut add: impl FnMut(&Table) -> Result<(), E>) -> Result<(), E> {
    let mut points = Points::default();
    for track in bodies {
        for shape in &track.shapes {
            points.extend(track.body, shape);
            if points.frames.len() >= PIECE {
                add(&std::mem::take(&mut points).table())?;
            }
        }
    }
    add(&points.table())
}

/// Columns of the table of outlines.
#[derive(Default)]
struct Points {
    frames: Vec<i64>,
    bodies: Vec<i64>,
    values: [Vec<f64>; 3],
}

impl Points {
    fn extend(&mut self, body: u32, shape: &BodyShape) {
        for point in shape.outline.get().iter() {
            self.frames.push(whole(shape.frame));
            self.bodies.push(i64::from(body));
            for (column, value) in self.values.iter_mut().zip(point) {
                column.push(f64::from(*value));
            }
        }
    }

    fn table(self) -> Table {
        let [x, y, u] = self.values;
        let (right, down) = (
            "rightwards from the centre of the top-left pixel",
            "downwards from the centre of the top-left pixel",
        );
        Table {
            name: "outlines".into(),
            description:
                "Points of the outlines that were used, as they are seen, in order around each body.".into(),
            columns: vec![
                integer("frame", "frame of the clip, from 0", self.frames),
                integer("body", "number of the body, from 1", self.bodies),
                real("x", "px", right, x),
                real("y", "px", down, y),
                real("u", "px", "standard uncertainty along the normal", u),
            ],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(frame: u64, points: usize) -> BodyShape {
        let point = |i: usize| [frame as f32, i as f32, 0.5];
        BodyShape {
            frame,
            centre_px: [0.0; 2],
            area_px2: 0.0,
            volume_px3: 0.0,
            surface_px2: 0.0,
            equivalent_radius_px: 1.0,
            u_radius_px: 0.0,
            coefficients_px: Vec::new(),
            amplitude: Vec::new(),
            covariance: Vec::new(),
            residual_rms_px: 0.0,
            reduced_chi_squared: 1.0,
            asymmetry: 0.0,
            harmonics: None,
            coverage: 1.0,
            touches_frame: false,
            touched: false,
            star_shaped: true,
            order: 0,
            blur_px: 1.0,
            outline: (0..points).map(point).collect(),
            hidden: Default::default(),
        }
    }

    #[test]
    fn pieces_of_outlines_are_short_and_make_up_the_whole_in_order() {
        let track = |body: u32, frames: std::ops::Range<u64>| BodyTrack {
            body,
            axis_angle: 0.0,
            u_axis_px: 0.0,
            axis_uncertainty: 0.0,
            u_edge_px: 0.0,
            clipped: [0.0; 2],
            shapes: frames.map(|frame| shape(frame, 300)).collect(),
        };
        let bodies = [track(1, 3..203), track(2, 7..57)];
        let (mut rows, mut pieces) = (Vec::new(), 0);
        let told: Result<(), ()> = outlines(&bodies, |piece| {
            assert!(piece.rows() < PIECE + 300 && piece.emptied() == no_outlines());
            let (frames, bodies) = (piece.integers("frame"), piece.integers("body"));
            let columns = frames.zip(bodies).zip(piece.reals("x").zip(piece.reals("y")));
            let ((frames, bodies), (x, y)) = columns.expect("its columns");
            rows.extend((0..piece.rows()).map(|i| (bodies[i], frames[i], x[i], y[i])));
            pieces += 1;
            Ok(())
        });
        assert!(told.is_ok() && pieces == 3, "{pieces} pieces");
        let due = bodies
            .iter()
            .flat_map(|t| t.shapes.iter().map(move |s| (t.body, s.frame)));
        let due: Vec<_> = due
            .flat_map(|(b, f)| (0..300).map(move |i| (i64::from(b), f as i64, f as f64, f64::from(i))))
            .collect();
        assert!(rows == due);
        assert_eq!(outlines(&bodies, |_| Err("full")), Err("full"));
    }
}
