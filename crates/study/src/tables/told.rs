//! What a report tells beside curves, as tables and back: facts in words, the instants that pictures show, the truth of a
//! painted clip.

use tremolet_record::table::Table;
use tremolet_report::input::Row;

use crate::error::StudyError;
use crate::tables::column::{integer, integers, real, reals, text, texts};

/// Which part of a report a fact belongs to.
pub const SUMMARY: &str = "summary";
/// Rows on the experiment.
pub const EXPERIMENT: &str = "experiment";
/// What was taken for granted.
pub const ASSUMPTION: &str = "assumption";

/// A fact: part, label, what it says.
pub type Fact = (&'static str, Row);

/// One row a fact.
pub fn facts(facts: &[Fact]) -> Table {
    let column = |get: &dyn Fn(&Fact) -> String| facts.iter().map(get).collect::<Vec<_>>();
    Table {
        name: "facts".into(),
        description: "What was stated, looked up and taken for granted, in words.".into(),
        columns: vec![
            text("part", "part of the report", column(&|f| f.0.to_string())),
            text("label", "what it is about", column(&|f| f.1.label.clone())),
            text("says", "what it says", column(&|f| f.1.value.clone())),
        ],
    }
}

/// The facts of one part.
///
/// # Errors
/// When the table lacks a column.
pub fn facts_of(table: &Table, part: &str) -> Result<Vec<Row>, StudyError> {
    let rows = texts(table, "label")?.iter().zip(texts(table, "says")?);
    let own = texts(table, "part")?
        .iter()
        .zip(rows)
        .filter(|(name, _)| *name == part);
    Ok(own
        .map(|(_, (label, says))| Row::new(label.clone(), says.clone()))
        .collect())
}

/// A frame at a telling instant, drawn and kept as a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Instant {
    /// The picture's path in the run folder.
    pub file: String,
    /// Its width and height, px.
    pub size: [usize; 2],
    /// Frame of the clip.
    pub frame: u64,
    /// Real time, s.
    pub time: f64,
    /// What is seen and why this instant was chosen.
    pub caption: String,
}

/// One row a picture.
pub fn instants(all: &[Instant]) -> Table {
    let whole = |get: &dyn Fn(&Instant) -> u64| {
        let values = all.iter().map(get);
        values
            .map(|v| i64::try_from(v).unwrap_or(i64::MAX))
            .collect::<Vec<_>>()
    };
    Table {
        name: "instants".into(),
        description: "The frames at telling instants, each kept as a picture.".into(),
        columns: vec![
            text(
                "file",
                "path in the run folder",
                all.iter().map(|i| i.file.clone()).collect(),
            ),
            integer("width", "width of the picture, px", whole(&|i| i.size[0] as u64)),
            integer(
                "height",
                "height of the picture, px",
                whole(&|i| i.size[1] as u64),
            ),
            integer("frame", "frame of the clip, from 0", whole(&|i| i.frame)),
            real("time", "s", "real time", all.iter().map(|i| i.time).collect()),
            text(
                "caption",
                "what is seen and why this instant",
                all.iter().map(|i| i.caption.clone()).collect(),
            ),
        ],
    }
}

/// The pictures of the table [`instants`].
///
/// # Errors
/// When the table lacks a column.
pub fn instants_of(table: &Table) -> Result<Vec<Instant>, StudyError> {
    let (file, caption) = (texts(table, "file")?, texts(table, "caption")?);
    let (width, height) = (integers(table, "width")?, integers(table, "height")?);
    let (frame, time) = (integers(table, "frame")?, reals(table, "time")?);
    let size = |value: i64| usize::try_from(value).unwrap_or(0);
    let one = |i: usize| Instant {
        file: file[i].clone(),
        size: [size(width[i]), size(height[i])],
        frame: u64::try_from(frame[i]).unwrap_or(0),
        time: time[i],
        caption: caption[i].clone(),
    };
    Ok((0..table.rows()).map(one).collect())
}

/// A true value: quantity, unit, value.
pub type Truth = (String, String, f64);

/// One row a true value.
pub fn truths(all: &[Truth]) -> Table {
    Table {
        name: "truth".into(),
        description: "What the painted clip was made from; not known to the measurement.".into(),
        columns: vec![
            text("quantity", "what", all.iter().map(|t| t.0.clone()).collect()),
            text(
                "unit",
                "unit of the value",
                all.iter().map(|t| t.1.clone()).collect(),
            ),
            real(
                "value",
                "1",
                "the true value, in the unit of its row",
                all.iter().map(|t| t.2).collect(),
            ),
        ],
    }
}

/// The true values of the table [`truths`].
///
/// # Errors
/// When the table lacks a column.
pub fn truths_of(table: &Table) -> Result<Vec<Truth>, StudyError> {
    let (quantity, unit, value) = (
        texts(table, "quantity")?,
        texts(table, "unit")?,
        reals(table, "value")?,
    );
    let one = |i: usize| (quantity[i].clone(), unit[i].clone(), value[i]);
    Ok((0..table.rows()).map(one).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_goes_in_comes_out() {
        let rows = vec![
            (SUMMARY, Row::new("", "One body, \"free\".")),
            (EXPERIMENT, Row::new("Kind", "release")),
            (EXPERIMENT, Row::new("Liquid", "water")),
        ];
        let table = facts(&rows);
        assert_eq!(
            facts_of(&table, EXPERIMENT).unwrap(),
            [rows[1].1.clone(), rows[2].1.clone()]
        );
        assert!(facts_of(&table, ASSUMPTION).unwrap().is_empty());
        let instant = Instant {
            file: "figures/instant-1.png".into(),
            size: [300, 200],
            frame: 7,
            time: 0.25,
            caption: "Flattest.".into(),
        };
        assert_eq!(
            instants_of(&instants(std::slice::from_ref(&instant))).unwrap(),
            [instant]
        );
        let truth = ("volume".to_string(), "m^3".to_string(), 2e-6);
        assert_eq!(truths_of(&truths(std::slice::from_ref(&truth))).unwrap(), [truth]);
        assert!(truths_of(&facts(&rows)).is_err_and(|e| e.to_string().contains("quantity")));
    }
}
