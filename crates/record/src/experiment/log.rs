//! `[log]`: what an accelerometer recorded beside the clip, and how its axes and its clock lie to those of the picture.
//!
//! An accelerometer reads the acceleration of its case against free fall; a body that nothing touches is accelerated
//! against the case by the same, the other way. The table itself is read by [`crate::log`]; this opens nothing.

use crate::experiment::section::{Bound, Section};
use crate::log::{acceleration_unit, time_unit};
use std::path::PathBuf;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[log]`.
pub const LOG: &[&str] = &[
    "path",
    "clock_offset",
    "event",
    "time",
    "time_unit",
    "right",
    "down",
    "unit",
    "gives",
    "zero",
];
/// Keys of `[log.event]`.
const EVENT: &[&str] = &["frame", "time"];

const GIVES: &[(&str, Gives)] = &[("case", Gives::Case), ("free_body", Gives::FreeBody)];

/// Whose acceleration the columns hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// That of the case against free fall, as an accelerometer reads: +1 gn upwards at rest on the ground.
    Case,
    /// That of a free body against the case, which has the opposite sign.
    FreeBody,
}

/// A column of the log and the way its axis points.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Name of the column, without its unit.
    pub column: String,
    /// 1 when it points rightwards (or downwards), -1 when it points the other way.
    pub sign: f64,
}

/// Something that both clip and log show.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The first frame that shows it.
    pub frame: u64,
    /// When it begins in the log, s.
    pub time: Uncertain,
}

/// What was recorded beside the clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// A table with one row for each instant, as written.
    pub path: PathBuf,
    /// What to add to the time of the log to get that of the clip, s.
    pub clock_offset: Option<Uncertain>,
    /// What both show, in place of the offset.
    pub event: Option<Event>,
    /// Column of the times, where it is stated.
    pub time: Option<String>,
    /// Its unit, s, where it is stated.
    pub time_unit: Option<f64>,
    /// Columns along the picture: rightwards, downwards.
    pub axes: [Option<Axis>; 2],
    /// Unit of these columns, m/s^2, where it is stated.
    pub unit: Option<f64>,
    /// Whose acceleration they hold.
    pub gives: Gives,
    /// What they read in free fall, m/s^2.
    pub zero: Option<Uncertain>,
}

impl Log {
    /// Reads `[log]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Option<Self> {
        if !table.has("path") {
            table.fault_of_table("no `path`", "the table of the log, e.g. path = \"cabin.csv\"");
        }
        if table.has("clock_offset") && table.has("event") {
            table.fault("event", "both clock_offset and event", "one of them");
        }
        let clock_offset = table.measured("clock_offset", Dimension::Time, Bound::Any, None);
        let event = table.section("event", EVENT).and_then(read_event);
        let axes = [axis(&mut table, "right", "ax"), axis(&mut table, "down", "-az")];
        Some(Self {
            path: table.path("path", "cabin.csv")?,
            clock_offset,
            event,
            time: table.text("time", "t"),
            time_unit: unit(&mut table, "time_unit", "ms", time_unit),
            axes,
            unit: unit(&mut table, "unit", "mg", acceleration_unit),
            gives: table.word("gives", GIVES).unwrap_or(Gives::Case),
            zero: table.measured("zero", Dimension::Acceleration, Bound::Any, None),
        })
    }

    /// Whether an axis is stated along which log and clip can be compared.
    pub fn has_axes(&self) -> bool {
        self.axes.iter().any(Option::is_some)
    }
}

fn read_event(mut table: Section<'_, '_>) -> Option<Event> {
    if !table.has("frame") || !table.has("time") {
        table.fault_of_table(
            "no `frame` or no `time`",
            "both, e.g. frame = 120 and time = \"3.25 +- 0.01 s\"",
        );
    }
    let frame = table.frame("frame");
    let time = table.measured("time", Dimension::Time, Bound::Any, None);
    Some(Event {
        frame: frame?,
        time: time?,
    })
}

fn axis(table: &mut Section<'_, '_>, key: &str, example: &str) -> Option<Axis> {
    let text = table.text(key, example)?;
    let (sign, column) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(&text)),
    };
    let column = column.trim().to_owned();
    if column.is_empty() {
        table.fault(
            key,
            &format!("\"{text}\""),
            "the name of a column, e.g. \"ax\" or \"-ax\"",
        );
        return None;
    }
    Some(Axis { column, sign })
}

fn unit(table: &mut Section<'_, '_>, key: &str, example: &str, read: fn(&str) -> Option<f64>) -> Option<f64> {
    let text = table.text(key, example)?;
    let scale = read(&text);
    if scale.is_none() {
        table.fault(
            key,
            &format!("\"{text}\""),
            &format!("a unit, e.g. \"{example}\""),
        );
    }
    scale
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::experiment::file::Experiment;

    fn read(body: &str) -> Result<Log, (String, String)> {
        let text = format!("format = 1\nkind = \"release\"\n[log]\npath = \"cabin.csv\"\n{body}");
        match Experiment::parse(&text, "x") {
            Ok(all) => Ok(all.log.expect("a log")),
            Err(all) => Err((all.faults[0].key.clone(), all.faults[0].found.clone())),
        }
    }

    #[test]
    fn axes_units_and_clock_are_read() {
        let log = read(
            "right = \"ax\"\ndown = \"- a z\"\nunit = \"mg\"\ntime_unit = \"ms\"\ngives = \"free_body\"\n\
             zero = \"1 +- 0.5 mm/s^2\"\n[log.event]\nframe = 12\ntime = \"3 +- 0.01 s\"",
        )
        .expect("no fault");
        let axis = |column: &str, sign| {
            Some(Axis {
                column: column.into(),
                sign,
            })
        };
        assert_eq!(log.axes, [axis("ax", 1.0), axis("a z", -1.0)]);
        // A thousandth of standard gravity, 9.80665 m/s^2.
        assert!((log.unit.expect("read") - 9.80665e-3).abs() < 1e-15 && log.time_unit == Some(1e-3));
        assert_eq!(
            (log.gives, log.event.map(|e| e.frame)),
            (Gives::FreeBody, Some(12))
        );
        let plain = read("").expect("a path suffices");
        assert!(!plain.has_axes() && plain.gives == Gives::Case);
    }

    #[test]
    fn what_is_wrong_is_told_at_its_key() {
        for (body, key) in [
            ("right = \"-\"", "log.right"),
            ("down = 3", "log.down"),
            ("unit = \"px\"", "log.unit"),
            ("time_unit = \"m\"", "log.time_unit"),
            ("gives = \"cabin\"", "log.gives"),
            ("zero = \"1 mm\"", "log.zero"),
            ("left = \"ax\"", "log.left"),
            ("event = { frame = 3 }", "log.event"),
            ("event = { frame = -3, time = \"1 +- 0.1 s\" }", "log.event.frame"),
            (
                "clock_offset = \"1 +- 0.1 s\"\nevent = { frame = 3, time = \"1 +- 0.1 s\" }",
                "log.event",
            ),
        ] {
            assert_eq!(read(body).map_err(|fault| fault.0), Err(key.to_owned()), "{body}");
        }
    }
}
