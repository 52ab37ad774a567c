//! The acceleration over time as seen and as logged, as a table and back.

use tremolet_record::table::Table;
use tremolet_report::input::LoggedCourse;

use crate::error::StudyError;
use crate::logged::Beside;
use crate::tables::column::{count, integer, integers, real, reals, text, texts};

/// Name of the table.
pub const NAME: &str = "accelerations";

/// One row for each direction and instant; nothing where nothing was compared.
pub fn courses(found: &Beside) -> Option<Table> {
    let rows: Vec<_> = found
        .courses
        .iter()
        .flat_map(|(way, course)| course.iter().map(move |instant| (*way, instant)))
        .collect();
    let of = |get: &dyn Fn(&tremolet_infer::logged::course::Instant) -> f64| {
        rows.iter().map(|r| get(r.1)).collect()
    };
    (!rows.is_empty()).then(|| Table {
        name: NAME.into(),
        description: "Acceleration of a free body against the camera, from its path and from the log beside the clip, through the same window.".into(),
        columns: vec![
            integer("body", "number of the body, from 1", vec![i64::from(found.body); rows.len()]),
            text("way", "direction in the picture", rows.iter().map(|r| r.0.to_string()).collect()),
            real("time", "s", "real time in the middle of the window", of(&|i| i.time)),
            real("seen", "m/s^2", "from the path of the centre", of(&|i| i.seen)),
            real("u_seen", "m/s^2", "its standard uncertainty", of(&|i| i.u)),
            real("logged", "m/s^2", "from the log", of(&|i| i.logged)),
        ],
    })
}

/// The courses of the table [`courses`].
///
/// # Errors
/// When the table lacks a column.
pub fn courses_of(table: &Table) -> Result<Vec<LoggedCourse>, StudyError> {
    let (body, way) = (integers(table, "body")?, texts(table, "way")?);
    let (time, seen) = (reals(table, "time")?, reals(table, "seen")?);
    let (u, logged) = (reals(table, "u_seen")?, reals(table, "logged")?);
    let mut found: Vec<LoggedCourse> = Vec::new();
    for i in 0..table.rows() {
        if found.last().is_none_or(|last| last.way != way[i]) {
            found.push(LoggedCourse {
                body: count(body[i]),
                way: way[i].clone(),
                ..LoggedCourse::default()
            });
        }
        if let Some(last) = found.last_mut() {
            last.time.push(time[i]);
            last.seen.push(seen[i]);
            last.u.push(u[i]);
            last.logged.push(logged[i]);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_infer::logged::course::Instant;

    #[test]
    fn what_goes_in_comes_out() {
        let instant = |time: f64| Instant {
            time,
            seen: 1.0 + time,
            u: 0.1,
            logged: 2.0 * time,
        };
        let found = Beside {
            body: 3,
            courses: vec![
                ("rightwards", vec![instant(0.0), instant(0.5)]),
                ("downwards", vec![instant(0.25)]),
            ],
            cautions: Vec::new(),
        };
        let back = courses_of(&courses(&found).expect("rows")).expect("all columns");
        assert_eq!(
            (back.len(), back[0].body, back[1].way.as_str()),
            (2, 3, "downwards")
        );
        assert_eq!(
            (back[0].seen.as_slice(), back[1].logged.as_slice()),
            (&[1.0, 1.5][..], &[0.5][..])
        );
        assert!(courses(&Beside::default()).is_none());
    }
}
