//! What a fit left in a run, read back: for the report, and the silhouette in one frame for the page.
//!
//! Reads the tables of [`crate::fit::kept`] and the findings; computes nothing but the outline of a recorded body.

use std::path::Path;

use serde::Serialize;
use tremolet_infer::fit::followed::{Pose, drawn};
use tremolet_record::findings::{Estimate, Findings};
use tremolet_record::table::Table;
use tremolet_report::input::fitted::{Beside, FittedBody, FittedInstant, Impulse, LeftColumn};

use crate::error::StudyError;
use crate::fit::kept::{
    DEGREES, DIFFERENCE, FRAMES, INSTANTS, LEFT, OUTLINE, PLACES, QUALITY, SILHOUETTE, UNKNOWNS,
};
use crate::fit::told::{METHOD, spread};
use crate::tables::column::{count, groups, integers, reals, texts};
use crate::tables::{read, read_if_there};

/// What the report shows of the fit of a run; nothing where there was none.
///
/// # Errors
/// When a table is damaged or one of them is absent while others are there.
pub fn fitted(run: &Path, findings: &Findings) -> Result<Vec<FittedBody>, StudyError> {
    let Some(quality) = read_if_there(run, QUALITY)? else {
        return Ok(Vec::new());
    };
    let (instants, left, unknowns) = (read(run, INSTANTS)?, read(run, LEFT)?, read(run, UNKNOWNS)?);
    let (bodies, frames) = (integers(&quality, "body")?, integers(&quality, "frames")?);
    let (explained, excess) = (reals(&quality, "explained")?, reals(&quality, "excess")?);
    let metres = reals(&quality, "metre_per_px")?;
    let one = |i: usize| {
        let body = bodies[i];
        Ok(FittedBody {
            body: count(body),
            frames: u64::try_from(frames[i]).unwrap_or(0),
            explained: explained[i],
            excess: excess[i],
            metre_per_px: metres[i],
            instants: instants_of(&instants, body)?,
            left: left_of(&left, body)?,
            beside: beside(findings, count(body)),
            impulses: impulses(&unknowns, body)?,
        })
    };
    (0..bodies.len()).map(one).collect()
}

fn instants_of(table: &Table, body: i64) -> Result<Vec<FittedInstant>, StudyError> {
    let (bodies, frames) = (integers(table, "body")?, integers(table, "frame")?);
    let (why, line) = (texts(table, "why")?, texts(table, "line")?);
    let (time, times) = (reals(table, "time")?, reals(table, "times")?);
    let (x, y) = (reals(table, "x")?, reals(table, "y")?);
    let one = |rows: std::ops::Range<usize>| {
        let of = |which: &str| {
            let own = rows.clone().filter(|i| line[*i] == which);
            own.map(|i| [x[i], y[i]]).collect()
        };
        let first = rows.start;
        FittedInstant {
            time: time[first],
            frame: u64::try_from(frames[first]).unwrap_or(0),
            why: why[first].clone(),
            outline: of(OUTLINE),
            silhouette: of(SILHOUETTE),
            difference: of(DIFFERENCE),
            times: times[first],
        }
    };
    let groups = groups(&[bodies, frames]).into_iter();
    Ok(groups
        .filter(|rows| bodies[rows.start] == body)
        .map(one)
        .collect())
}

fn left_of(table: &Table, body: i64) -> Result<Vec<LeftColumn>, StudyError> {
    let (bodies, frames) = (integers(table, "body")?, integers(table, "frame")?);
    let (time, angle, left) = (
        reals(table, "time")?,
        reals(table, "angle")?,
        reals(table, "left")?,
    );
    let groups = groups(&[bodies, frames]).into_iter();
    let own = groups.filter(|rows| bodies[rows.start] == body);
    Ok(own
        .map(|rows| LeftColumn {
            time: time[rows.start],
            left: rows.map(|i| [angle[i], left[i]]).collect(),
        })
        .collect())
}

fn impulses(table: &Table, body: i64) -> Result<Vec<Impulse>, StudyError> {
    let (bodies, names) = (integers(table, "body")?, texts(table, "unknown")?);
    let (value, u) = (reals(table, "value")?, reals(table, "u")?);
    let one = |i: usize| {
        let degree = names[i].strip_prefix("p_")?.split(',').next()?.parse().ok()?;
        (bodies[i] == body).then_some(Impulse {
            degree,
            value: value[i],
            u: u[i],
        })
    };
    Ok((0..names.len()).filter_map(one).collect())
}

/// Fit and free decay of the same quantity.
fn beside(findings: &Findings, body: u32) -> Vec<Beside> {
    let own = || findings.estimates.iter().filter(move |e| e.body == body);
    let is_fit = |e: &&Estimate| e.method.as_deref() == Some(METHOD);
    let one = |fit: &Estimate| {
        let free = own().find(|e| e.quantity == fit.quantity && !is_fit(e));
        Beside {
            quantity: fit.quantity.clone(),
            unit: fit.unit.clone(),
            fitted: [fit.value, fit.standard_uncertainty],
            free: free.map(|e| [e.value, e.standard_uncertainty]),
            apart: free
                .map(|e| (fit.value - e.value) / spread(e.standard_uncertainty, fit.standard_uncertainty)),
            reference: fit.reference.as_ref().map(|r| (r.value, r.standard_uncertainty)),
        }
    };
    own().filter(is_fit).map(one).collect()
}

/// A fitted silhouette in one frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Silhouette {
    /// Number of the body.
    pub body: u32,
    /// Places, px.
    pub points: Vec<[f64; 2]>,
    /// Root mean square distance of the measured outline, px.
    pub left: f64,
}

/// The fitted silhouettes in a frame; none where nothing was fitted there.
///
/// # Errors
/// When the table is damaged.
pub fn silhouettes(run: &Path, frame: u64) -> Result<Vec<Silhouette>, StudyError> {
    let Some(table) = read_if_there(run, FRAMES)? else {
        return Ok(Vec::new());
    };
    let (bodies, frames) = (integers(&table, "body")?, integers(&table, "frame")?);
    let column = |name: &str| reals(&table, name);
    let (x, y, radius) = (column("centre_x")?, column("centre_y")?, column("radius")?);
    let (axis, tilt, left) = (column("axis")?, column("tilt")?, column("left")?);
    let nearness = column("nearness")?;
    let degrees: Result<Vec<&[f64]>, _> = (0..DEGREES).map(|n| column(&format!("a_{n}"))).collect();
    let degrees = degrees?;
    let one = |i: usize| {
        let pose = Pose {
            centre: [x[i], y[i]],
            radius: radius[i],
            axis_angle: axis[i],
            tilt: tilt[i],
            nearness: nearness[i],
        };
        let shape: Vec<f64> = degrees.iter().map(|a| a[i]).collect();
        Silhouette {
            body: count(bodies[i]),
            points: drawn(&shape, &pose, PLACES),
            left: left[i],
        }
    };
    let own = (0..frames.len()).filter(|i| u64::try_from(frames[*i]) == Ok(frame));
    Ok(own.map(one).collect())
}
