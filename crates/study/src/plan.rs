//! `plan`: the sheet of a run before it is flown.

use std::fmt::Write;
use std::path::Path;

use tremolet_record::experiment::file::Experiment;
use tremolet_record::sheet::{Group, Mark, Row, Sheet};

use crate::error::StudyError;

/// Reads an experiment file and plans its run.
///
/// # Errors
/// Everything that is wrong in the file; a liquid or gas that is unknown or out of range.
pub fn plan(file: &Path) -> Result<Sheet, StudyError> {
    let experiment = Experiment::read(file)?;
    Ok(tremolet_plan::sheet::sheet(&experiment)?)
}

/// The sheet as JSON, SI units.
///
/// # Errors
/// When a number has no form in JSON; no case is known.
pub fn json(sheet: &Sheet) -> Result<String, StudyError> {
    serde_json::to_string_pretty(sheet).map_err(|why| StudyError::Write {
        what: "the sheet as JSON",
        why: why.to_string(),
    })
}

/// The sheet in words for a terminal.
#[must_use]
pub fn words(sheet: &Sheet) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{} ({})", sheet.title, sheet.kind);
    for alarm in &sheet.alarms {
        let _ = writeln!(out, "BREAKS ({}): {}", alarm.code, alarm.text);
    }
    for text in &sheet.assumptions {
        let _ = writeln!(out, "assumed: {text}");
    }
    for group in &sheet.groups {
        table(&mut out, group);
    }
    if !sheet.moments.is_empty() {
        let _ = writeln!(out, "\nIn order of time");
    }
    for moment in &sheet.moments {
        let until = moment
            .until
            .map(|until| format!(" to {}", seconds(until)))
            .unwrap_or_default();
        let _ = writeln!(out, "  {}{until}: {}", seconds(moment.time), moment.text);
    }
    let _ = writeln!(out, "\nProcedure");
    for step in &sheet.procedure {
        let _ = writeln!(out, "  {:7} {}", step.when, step.what);
    }
    let _ = writeln!(out, "\nCautions");
    for caution in &sheet.cautions {
        let _ = writeln!(out, "  {} ({})", caution.text, caution.code);
    }
    out.trim_end().to_owned()
}

fn table(out: &mut String, group: &Group) {
    let _ = writeln!(out, "\n{}", group.title);
    let width = group
        .rows
        .iter()
        .map(|row| row.text.chars().count())
        .max()
        .unwrap_or(0);
    for row in &group.rows {
        let _ = writeln!(out, "  {:>width$}  {}{}", row.text, row.quantity, remark(row));
    }
}

fn remark(row: &Row) -> String {
    let sign = match (row.mark, row.holds) {
        (Some(Mark::Impossible), _) => " [IMPOSSIBLE",
        (Some(Mark::Marginal), _) => " [marginal",
        (_, false) if row.value.is_none() => " [no number",
        (_, false) => " [outside its range",
        _ if !row.why.is_empty() => return format!(" [{}]", row.why),
        _ => return String::new(),
    };
    if row.why.is_empty() {
        format!("{sign}]")
    } else {
        format!("{sign}: {}]", row.why)
    }
}

fn seconds(time: f64) -> String {
    if time == 0.0 {
        return "0 s".into();
    }
    let digits = (2.0 - time.abs().log10().floor()).clamp(0.0, 6.0) as usize;
    format!("{time:.digits$} s")
}
