//! A plan asked again and again while one quantity of the file runs over a range.
//!
//! ```text
//! body.diameter=5..50mm        ten steps from end to end; body.diameter=5..50mm:20 twenty
//! ```
//!
//! The range is even. Rows of words and rows that do not change are left out; those asked for by name come in the order asked for. A value at which the file is refused
//! is told and left out of the table, so that the others stand.

use std::fmt::Write;

use serde::Serialize;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::vary::varied;
use tremolet_record::sheet::Sheet;

use crate::error::StudyError;

/// Steps unless stated.
const STEPS: usize = 10;
/// Most steps.
const MOST: usize = 1000;
/// Change, over the size, below which a row counts as unchanged.
const STILL: f64 = 1e-9;

/// What is to run.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Key with its table.
    pub key: String,
    /// First value, in `unit`.
    pub from: f64,
    /// Last value.
    pub to: f64,
    /// Unit as written.
    pub unit: String,
    /// Steps from end to end.
    pub steps: usize,
}

/// One row over the range.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// Key of the row.
    pub key: String,
    /// What it is.
    pub quantity: String,
    /// SI unit.
    pub unit: String,
    /// Value at each step; absent where there is none.
    pub values: Vec<Option<f64>>,
    /// The same for people.
    pub texts: Vec<String>,
}

/// A sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sweep {
    /// Key that ran.
    pub key: String,
    /// Its values as written into the file.
    pub settings: Vec<String>,
    /// The same as numbers, in the unit of the range.
    pub numbers: Vec<f64>,
    /// Unit of the range.
    pub unit: String,
    /// Rows that change.
    pub rows: Vec<Course>,
    /// Values at which the file was refused, and why.
    pub refused: Vec<String>,
}

impl Range {
    /// Reads `key=from..to unit[:steps]`.
    ///
    /// # Errors
    /// [`StudyError::Asked`] with an example.
    pub fn read(text: &str) -> Result<Self, StudyError> {
        let wrong = |why: &str| StudyError::Asked {
            what: format!("--vary {text}"),
            why: format!(
                "{why}; write it as --vary body.diameter=5..50mm, or with the number of steps, 5..50mm:20"
            ),
        };
        let (key, range) = text.split_once('=').ok_or_else(|| wrong("no `=`"))?;
        let (range, steps) = match range.rsplit_once(':') {
            Some((range, steps)) => (
                range,
                steps
                    .trim()
                    .parse()
                    .map_err(|_| wrong("the number of steps is no whole number"))?,
            ),
            None => (range, STEPS),
        };
        let (from, rest) = range.split_once("..").ok_or_else(|| wrong("no `..`"))?;
        let split = rest
            .find(|c: char| !(c.is_ascii_digit() || "+-.eE ".contains(c)))
            .unwrap_or(rest.len());
        let (to, unit) = rest.split_at(split);
        let number = |text: &str| text.trim().parse::<f64>().ok().filter(|x| x.is_finite());
        let (from, to) = number(from)
            .zip(number(to))
            .ok_or_else(|| wrong("the ends are no numbers"))?;
        if !key.contains('.') {
            return Err(wrong("the key names no table"));
        }
        if from == to || !(1..=MOST).contains(&steps) {
            return Err(wrong("two different ends and 1 to 1000 steps are due"));
        }
        Ok(Self {
            key: key.trim().into(),
            from,
            to,
            unit: unit.trim().into(),
            steps,
        })
    }

    fn numbers(&self) -> Vec<f64> {
        (0..=self.steps)
            .map(|k| self.from + (self.to - self.from) * k as f64 / self.steps as f64)
            .collect()
    }
}

/// Plans the experiment at each value of the range; `shown` names rows, none of them all that change.
///
/// # Errors
/// A file that is refused at every value; a name that no sheet has.
pub fn sweep(experiment: &Experiment, range: &Range, shown: &[String]) -> Result<Sweep, StudyError> {
    let mut found: Vec<(f64, String, Sheet)> = Vec::new();
    let mut refused = Vec::new();
    let mut last = None;
    for number in range.numbers() {
        let setting = format!("{} {}", round(number), range.unit).trim().to_owned();
        match at(experiment, &range.key, &setting) {
            Ok(sheet) => found.push((number, setting, sheet)),
            Err(why) => {
                refused.push(format!("{setting}: {}", first_line(&why.to_string())));
                last = Some(why);
            }
        }
    }
    match (found.first(), last) {
        (None, Some(why)) => return Err(why),
        (Some((_, _, sheet)), _) => known(sheet, shown)?,
        _ => {}
    }
    let sheets: Vec<&Sheet> = found.iter().map(|(_, _, sheet)| sheet).collect();
    Ok(Sweep {
        key: range.key.clone(),
        rows: rows(&sheets, shown),
        settings: found.iter().map(|(_, setting, _)| setting.clone()).collect(),
        numbers: found.iter().map(|(number, _, _)| *number).collect(),
        unit: range.unit.clone(),
        refused,
    })
}

fn at(experiment: &Experiment, key: &str, setting: &str) -> Result<Sheet, StudyError> {
    let text = varied(&experiment.text, key, setting).unwrap_or_default();
    let mut other = Experiment::parse(&text, &experiment.file)?;
    other.folder = experiment.folder.clone();
    Ok(tremolet_plan::sheet::sheet(&other)?)
}

/// Twelve digits, so that an even step reads as written.
fn round(x: f64) -> f64 {
    format!("{x:.11e}").parse().unwrap_or(x)
}

fn first_line(text: &str) -> &str {
    text.lines()
        .find(|line| line.contains("found"))
        .unwrap_or(text)
        .trim()
}

fn known(sheet: &Sheet, shown: &[String]) -> Result<(), StudyError> {
    match shown.iter().find(|key| sheet.row(key).is_none()) {
        None => Ok(()),
        Some(key) => Err(StudyError::Asked {
            what: format!("--show {key}"),
            why: "no row of this sheet has that name; `tremolet plan FILE --json` lists them".into(),
        }),
    }
}

fn rows(sheets: &[&Sheet], shown: &[String]) -> Vec<Course> {
    let Some(first) = sheets.first() else {
        return Vec::new();
    };
    let keys: Vec<String> = if shown.is_empty() {
        first
            .groups
            .iter()
            .flat_map(|group| &group.rows)
            .map(|row| row.key.clone())
            .collect()
    } else {
        shown.to_vec()
    };
    let course = |key: String| {
        let row = first.row(&key)?;
        let all: Vec<_> = sheets.iter().map(|sheet| sheet.row(&key)).collect();
        let values: Vec<Option<f64>> = all.iter().map(|row| row.and_then(|row| row.value)).collect();
        let texts = all
            .iter()
            .map(|row| row.map_or("-".into(), |row| row.text.clone()))
            .collect();
        (!shown.is_empty() || changes(&values)).then(|| Course {
            quantity: row.quantity.clone(),
            unit: row.unit.clone(),
            values,
            texts,
            key,
        })
    };
    keys.into_iter().filter_map(course).collect()
}

fn changes(values: &[Option<f64>]) -> bool {
    let known: Vec<f64> = values.iter().flatten().copied().collect();
    let (low, high) = known
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(*x), high.max(*x))
        });
    high - low > STILL * high.abs().max(low.abs())
}

impl Sweep {
    /// In words: one line for each row, one column for each value.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        let widths: Vec<usize> = (0..self.settings.len())
            .map(|k| {
                self.rows
                    .iter()
                    .map(|row| row.texts[k].chars().count())
                    .chain([self.settings[k].chars().count()])
                    .max()
                    .unwrap_or(0)
            })
            .collect();
        let line = |out: &mut String, cells: &[String], name: &str| {
            for (cell, width) in cells.iter().zip(&widths) {
                // Writing to a string cannot fail.
                let _ = write!(out, "{cell:>width$}  ");
            }
            let _ = writeln!(out, "{name}");
        };
        line(&mut out, &self.settings, &self.key);
        for row in &self.rows {
            line(&mut out, &row.texts, &format!("{} ({})", row.quantity, row.key));
        }
        for why in &self.refused {
            let _ = writeln!(out, "left out: {why}");
        }
        out.trim_end().to_owned()
    }

    /// As JSON.
    ///
    /// # Errors
    /// When a number has no form in JSON; no case is known.
    pub fn json(&self) -> Result<String, StudyError> {
        serde_json::to_string_pretty(self).map_err(|why| StudyError::Write {
            what: "the sweep as JSON",
            why: why.to_string(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drop() -> Experiment {
        let text =
            "format = 1\nkind = \"release\"\n[liquid]\nname = \"water\"\n[body]\ndiameter = \"20 mm\"\n";
        Experiment::parse(text, "plan.toml").expect("an experiment")
    }

    #[test]
    fn a_range_is_read_with_unit_and_steps() {
        let range = Range::read("body.diameter=5..50mm").unwrap();
        assert_eq!(
            (
                range.key.as_str(),
                range.from,
                range.to,
                range.unit.as_str(),
                range.steps
            ),
            ("body.diameter", 5.0, 50.0, "mm", 10)
        );
        assert_eq!(
            Range::read("liquid.temperature = -5 .. 40 degC : 9")
                .unwrap()
                .steps,
            9
        );
        for wrong in [
            "body.diameter",
            "diameter=1..2mm",
            "body.diameter=1..1mm",
            "body.diameter=a..2mm",
            "body.diameter=1..2mm:0",
            "body.diameter=1..2mm:x",
        ] {
            let why = Range::read(wrong).unwrap_err();
            assert!(
                why.is_bad_input() && why.to_string().contains("5..50mm"),
                "{wrong}: {why}"
            );
        }
    }

    // f_2 goes as R^(-3/2) but for a little damping: 20 mm against 5 mm is 8.
    #[test]
    fn frequency_falls_with_size() {
        let range = Range::read("body.diameter=5..20mm:3").unwrap();
        let found = sweep(&drop(), &range, &["frequency_2".to_owned()]).unwrap();
        let values: Vec<f64> = found.rows[0].values.iter().flatten().copied().collect();
        assert_eq!(found.settings, ["5 mm", "10 mm", "15 mm", "20 mm"]);
        assert!((values[0] / values[3] / 8.0 - 1.0).abs() < 0.01, "{values:?}");
        assert!(found.text().contains("frequency_2"));
    }

    #[test]
    fn what_does_not_change_and_what_is_refused_is_left_out() {
        let range = Range::read("body.diameter=-5..10mm:3").unwrap();
        let found = sweep(&drop(), &range, &[]).unwrap();
        assert!(
            !found.refused.is_empty() && !found.numbers.is_empty(),
            "{:?}",
            found.refused
        );
        let calm = sweep(
            &drop(),
            &Range::read("surroundings.residual_acceleration=1..2mm/s^2:1").unwrap(),
            &[],
        )
        .unwrap();
        assert!(
            calm.rows.iter().all(|row| !row.key.starts_with("frequency")),
            "{:?}",
            calm.rows
        );
        let unknown = sweep(&drop(), &range, &["beauty".to_owned()]).unwrap_err();
        assert!(unknown.to_string().contains("--json"), "{unknown}");
    }
}
