//! The outlines of a recorded run in one frame, read from the long table without reading the rest.
//!
//! Rows lie in order of bodies, frames and points, so the groups of rows that hold a frame are found by halving. Places are px, as
//! they are seen in the picture. Draws nothing.

use std::path::Path;

use serde::Serialize;
use tremolet_record::parquet::error::ParquetError;
use tremolet_record::parquet::part::Rows;
use tremolet_record::table::Table;

use crate::draw::arcs;
use crate::error::StudyError;
use crate::fit::shown::silhouettes;
use crate::tables::column::{count, groups, integers, reals};

/// A stretch of an outline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stretch {
    /// Places in order, `[x, y]`, px.
    pub points: Vec<[f64; 2]>,
    /// Whether the last is joined to the first.
    pub closed: bool,
}

/// The outline of one body.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outline {
    /// Number of the body.
    pub body: u32,
    /// Its stretches; where an arc was left out, they are not joined.
    pub stretches: Vec<Stretch>,
    /// The silhouette of the fitted motion at the same instant, closed; empty where nothing was fitted.
    pub simulated: Vec<[f64; 2]>,
    /// Root mean square distance of the outline from it, px.
    pub left: Option<f64>,
}

impl Outline {
    /// As found, beside no simulation.
    pub fn found(body: u32, stretches: Vec<Stretch>) -> Self {
        Self {
            body,
            stretches,
            simulated: Vec::new(),
            left: None,
        }
    }
}

fn told(why: &ParquetError) -> StudyError {
    StudyError::Run {
        file: "series/outlines.parquet".into(),
        why: why.to_string(),
    }
}

/// The outlines in a frame; bodies that are not seen in it are absent.
///
/// # Errors
/// When the run has no outlines or they are damaged.
pub fn outlines(run: &Path, frame: u64) -> Result<Vec<Outline>, StudyError> {
    let mut rows = Rows::open(&run.join("series/outlines.parquet")).map_err(|why| told(&why))?;
    let wanted = i64::try_from(frame).unwrap_or(i64::MAX);
    let mut fitted = silhouettes(run, frame)?;
    let mut bodies = Vec::new();
    let mut body = 1;
    // Bodies are numbered from 1, each behind the one before.
    while let Some(group) = first_group(&mut rows, (body, wanted))? {
        let (found, last) = gathered(&mut rows, group, (body, wanted))?;
        if !found.is_empty() {
            let own = fitted.iter_mut().find(|one| one.body == count(body));
            let (simulated, left) = own.map_or_else(Default::default, |one| {
                (std::mem::take(&mut one.points), Some(one.left))
            });
            bodies.push(Outline {
                body: count(body),
                stretches: stretches(&found),
                simulated,
                left,
            });
        }
        if last <= body {
            break;
        }
        body += 1;
    }
    Ok(bodies)
}

/// The first group whose last row is not before the key; `None` past the end.
fn first_group(rows: &mut Rows, key: (i64, i64)) -> Result<Option<usize>, StudyError> {
    let (mut low, mut high) = (0, rows.groups());
    while low < high {
        let middle = usize::midpoint(low, high);
        let table = rows.group(middle, &["frame", "body"]).map_err(|why| told(&why))?;
        let last = integers(&table, "body")?
            .last()
            .zip(integers(&table, "frame")?.last());
        if last.is_some_and(|(body, frame)| (*body, *frame) < key) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    Ok((low < rows.groups()).then_some(low))
}

/// The points of a body in a frame from a group on, and the greatest body that lies beyond them or is the last.
fn gathered(
    rows: &mut Rows,
    first: usize,
    (body, frame): (i64, i64),
) -> Result<(Vec<[f64; 2]>, i64), StudyError> {
    let mut points = Vec::new();
    let mut last = body;
    for group in first..rows.groups() {
        let table = rows
            .group(group, &["frame", "body", "x", "y"])
            .map_err(|why| told(&why))?;
        points.extend(of_group(&table, (body, frame))?);
        let end = integers(&table, "body")?
            .last()
            .zip(integers(&table, "frame")?.last());
        if let Some((b, f)) = end {
            last = *b;
            if (*b, *f) > (body, frame) {
                break;
            }
        }
    }
    if let Some(end) = rows.groups().checked_sub(1) {
        let table = rows.group(end, &["body"]).map_err(|why| told(&why))?;
        last = integers(&table, "body")?.last().copied().unwrap_or(last);
    }
    Ok((points, last))
}

fn of_group(table: &Table, key: (i64, i64)) -> Result<Vec<[f64; 2]>, StudyError> {
    let (body, frame) = (integers(table, "body")?, integers(table, "frame")?);
    let (x, y) = (reals(table, "x")?, reals(table, "y")?);
    let rows = groups(&[body, frame]).into_iter();
    let ours = rows.filter(|rows| (body[rows.start], frame[rows.start]) == key);
    Ok(ours.flatten().map(|i| [x[i], y[i]]).collect())
}

/// The stretches of a ring of points.
pub fn stretches(points: &[[f64; 2]]) -> Vec<Stretch> {
    let all = arcs(points).into_iter();
    all.map(|arc| Stretch {
        points: arc.points,
        closed: arc.closed,
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_record::parquet::writer::TableWriter;
    use tremolet_record::table::{Column, Data};

    /// Two bodies, frames 0 to 99 with 40 points each, in groups of 1000 rows; the second is seen in even frames only.
    fn written(run: &Path) {
        let mut keys = Vec::new();
        for body in 1..=2 {
            for frame in (0..100).filter(|f| body == 1 || f % 2 == 0) {
                keys.extend((0..40).map(|point| (body, frame, point)));
            }
        }
        let table = |keys: &[(i64, i64, i64)]| {
            let angle = |k: &(i64, i64, i64)| std::f64::consts::TAU * k.2 as f64 / 40.0;
            let reach = |k: &(i64, i64, i64)| (k.0 * 1000 + k.1) as f64;
            let columns = vec![
                Column::new(
                    "frame",
                    "1",
                    "",
                    Data::Integer(keys.iter().map(|k| k.1).collect()),
                ),
                Column::new("body", "1", "", Data::Integer(keys.iter().map(|k| k.0).collect())),
                Column::new(
                    "x",
                    "px",
                    "",
                    Data::Real(keys.iter().map(|k| reach(k) * angle(k).cos()).collect()),
                ),
                Column::new(
                    "y",
                    "px",
                    "",
                    Data::Real(keys.iter().map(|k| reach(k) * angle(k).sin()).collect()),
                ),
            ];
            Table {
                name: "outlines".into(),
                description: String::new(),
                columns,
            }
        };
        let mut file = TableWriter::create(&run.join("series/outlines.parquet"), &table(&[])).expect("begun");
        for some in keys.chunks(1000) {
            file.append(&table(some)).expect("added");
        }
        file.finish().expect("whole");
    }

    #[test]
    fn each_frame_gives_its_own_outlines() {
        let place = tempfile::tempdir().expect("a folder");
        written(place.path());
        for frame in [0, 1, 24, 25, 50, 98, 99] {
            let found = outlines(place.path(), frame).expect("read");
            let bodies: Vec<u32> = found.iter().map(|o| o.body).collect();
            assert_eq!(
                bodies,
                if frame % 2 == 0 { vec![1, 2] } else { vec![1] },
                "frame {frame}"
            );
            for outline in found {
                let ring = &outline.stretches[0];
                assert!(ring.closed && ring.points.len() == 40);
                assert_eq!(
                    ring.points[0],
                    [(f64::from(outline.body) * 1000.0) + frame as f64, 0.0]
                );
            }
        }
        assert_eq!(outlines(place.path(), 100).expect("read"), []);
    }
}
