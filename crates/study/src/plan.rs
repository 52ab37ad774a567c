//! `plan`: the sheet of a run before it is flown.

use std::fmt::Write;
use std::path::Path;

use tremolet_record::experiment::file::Experiment;
use tremolet_record::sheet::{Group, Mark, Row, Sheet};
use tremolet_record::store;

use tremolet_report::sheet::sweep::{Swept, SweptRow};

use crate::error::StudyError;
use crate::sweep::{Range, Sweep, sweep};

/// Reads an experiment file and plans its run.
///
/// # Errors
/// Everything that is wrong in the file; a liquid or gas that is unknown or out of range.
pub fn plan(file: &Path) -> Result<Sheet, StudyError> {
    let experiment = Experiment::read(file)?;
    Ok(tremolet_plan::sheet::sheet(&experiment)?)
}

/// Plans over a range (`key=from..to unit`) and, if asked for, writes the page with a figure of each row.
///
/// # Errors
/// As [`sweep`] and [`Range::read`]; as [`page`].
pub fn swept(
    file: &Path,
    range: &str,
    shown: &[String],
    to: Option<&Path>,
    replace: bool,
) -> Result<Sweep, StudyError> {
    let experiment = Experiment::read(file)?;
    let found = sweep(&experiment, &Range::read(range)?, shown)?;
    if let Some(to) = to {
        write(
            to,
            &tremolet_report::sheet::sweep::render(&drawn(&experiment, &found)),
            replace,
        )?;
    }
    Ok(found)
}

fn drawn(experiment: &Experiment, found: &Sweep) -> Swept {
    let course = |row: &crate::sweep::Course| SweptRow {
        name: row.quantity.clone(),
        unit: row.unit.clone(),
        values: row.values.clone(),
        texts: row.texts.clone(),
    };
    Swept {
        title: experiment
            .title
            .clone()
            .unwrap_or_else(|| experiment.kind.name().to_owned()),
        key: found.key.clone(),
        unit: found.unit.clone(),
        numbers: found.numbers.clone(),
        settings: found.settings.clone(),
        rows: found.rows.iter().map(course).collect(),
        refused: found.refused.clone(),
    }
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

/// Writes the sheet as one HTML file; a file that is there is left alone unless `replace`.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn page(sheet: &Sheet, file: &Path, replace: bool) -> Result<(), StudyError> {
    write(file, &tremolet_report::sheet::page::render(sheet), replace)
}

fn write(file: &Path, html: &str, replace: bool) -> Result<(), StudyError> {
    if store::exists(file) && !replace {
        return Err(StudyError::There {
            file: file.to_owned(),
        });
    }
    Ok(store::write_whole(file, html.as_bytes())?)
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
