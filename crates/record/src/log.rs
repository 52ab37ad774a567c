//! The table of an accelerometer that ran beside the clip.
//!
//! Text with a header and one row for each instant; cells are parted by tabs, semicolons or commas, whichever the header
//! has (with the first two a comma in a number is a decimal one); lines that start with `#` and blank lines are passed
//! over. The unit stands in the header, `ax [mg]`, `ax (m/s^2)`, `time_s`, or in the experiment file. `g` is standard
//! gravity in the columns of acceleration. Times are numbers that rise; their zero does not matter. A row that lacks one of the
//! wanted cells is left out and counted. What the columns mean is [`crate::experiment::log`]'s.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s (x - x_0)` | acceleration of a free body, `s` the way of the axis and whose acceleration it is, `x_0` the reading in free fall | m/s^2 |

use crate::experiment::log::{Axis, Gives, Log};
use crate::store::{StoreError, read_text};
use std::path::Path;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::unit::Unit;

/// Fewest rows that make a record.
const FEWEST: usize = 8;
/// Names that a column of times may have when none is stated.
const TIMES: &[&str] = &["time", "t", "time_s"];

/// Why a log could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// The file cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Something in it is not as it should be.
    #[error("the log {file}{}: found {found}, expected {expected}", line.map_or(String::new(), |line| format!(":{line}")))]
    Table {
        /// The file.
        file: String,
        /// Where, from 1, if at one place.
        line: Option<usize>,
        /// What is there.
        found: String,
        /// What should be.
        expected: String,
    },
}

/// What an accelerometer recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// Times of the log, s, ascending.
    pub times: Vec<f64>,
    /// Acceleration of a free body rightwards and downwards in the picture, m/s^2, where stated.
    pub axes: [Option<Vec<f64>>; 2],
    /// Rows that lack a cell.
    pub left_out: usize,
}

impl Recorded {
    /// Usual step and longest step of the times, s.
    pub fn steps(&self) -> (f64, f64) {
        let mut steps: Vec<f64> = self.times.windows(2).map(|w| w[1] - w[0]).collect();
        steps.sort_by(f64::total_cmp);
        let at = |place: usize| steps.get(place).copied().unwrap_or(0.0);
        (at(steps.len() / 2), at(steps.len().saturating_sub(1)))
    }
}

/// A unit of acceleration in m/s^2; `g` is standard gravity.
pub fn acceleration_unit(text: &str) -> Option<f64> {
    let text = text.trim();
    let gravity = ["g", "mg", "ug", "\u{b5}g", "\u{3bc}g"].contains(&text);
    let name = if gravity {
        format!("{text}n")
    } else {
        text.replace("s2", "s^2")
    };
    of_dimension(&name, Dimension::Acceleration)
}

/// A unit of time in s.
pub fn time_unit(text: &str) -> Option<f64> {
    of_dimension(text.trim(), Dimension::Time)
}

fn of_dimension(text: &str, dimension: Dimension) -> Option<f64> {
    let unit = Unit::read(text)?;
    (unit.exponents == dimension.exponents()).then_some(unit.scale)
}

/// Reads the log at `path` as `[log]` describes it.
///
/// # Errors
/// The file is absent or no text; a column, a unit or a number is not there; times that do not rise.
pub fn read(path: &Path, log: &Log) -> Result<Recorded, LogError> {
    let text = read_text(path)?;
    parse(&text, log).map_err(|wrong| LogError::Table {
        file: path.display().to_string(),
        line: wrong.line,
        found: wrong.found,
        expected: wrong.expected,
    })
}

/// What is wrong in a table.
#[derive(Debug, PartialEq)]
struct Wrong {
    line: Option<usize>,
    found: String,
    expected: String,
}

fn wrong(line: Option<usize>, found: impl Into<String>, expected: impl Into<String>) -> Wrong {
    Wrong {
        line,
        found: found.into(),
        expected: expected.into(),
    }
}

/// Where a column stands and what its numbers are worth.
struct Place {
    name: String,
    index: usize,
    unit: f64,
}

/// The header: its line, what parts the cells, and name and unit of each.
struct Header<'t> {
    line: usize,
    parted_by: char,
    cells: Vec<(&'t str, Option<&'t str>)>,
}

impl<'t> Header<'t> {
    fn of(line: usize, text: &'t str) -> Self {
        let parted_by = ['\t', ';', ','].into_iter().find(|c| text.contains(*c));
        let parted_by = parted_by.unwrap_or(',');
        Self {
            line,
            parted_by,
            cells: text.split(parted_by).map(named).collect(),
        }
    }

    /// The column called one of `names`, with `read` for its unit and `stated` where the header has none.
    fn place(
        &self,
        names: &[&str],
        key: &str,
        read: fn(&str) -> Option<f64>,
        stated: Option<f64>,
    ) -> Result<Place, Wrong> {
        let is = |cell: &(&str, Option<&str>), name: &str| {
            cell.0.eq_ignore_ascii_case(name)
                || split_unit(cell.0, read).is_some_and(|(bare, _)| bare == name)
        };
        let index = names
            .iter()
            .find_map(|name| self.cells.iter().position(|cell| is(cell, name)));
        let Some(index) = index else {
            let there: Vec<&str> = self.cells.iter().map(|cell| cell.0).collect();
            let found = format!("no column {} among {}", names.join(" or "), there.join(", "));
            let expected = format!("a header with it, or {key} in [log] with the name of a column");
            return Err(wrong(Some(self.line), found, expected));
        };
        let (name, written) = self.cells[index];
        let own = written
            .and_then(read)
            .or_else(|| split_unit(name, read).map(|(_, unit)| unit));
        let unit = own.or(stated).ok_or_else(|| {
            let (found, sort) = match written {
                Some(unit) => (format!("the unit {unit} of column {name}"), "one that is known"),
                None => (format!("no unit of column {name}"), "one in its header"),
            };
            let (example, unit_key) = if key == "time" {
                ("s", "time_unit")
            } else {
                ("mg", "unit")
            };
            let expected = format!("{sort}, e.g. {name} [{example}], or {unit_key} = \"{example}\" in [log]");
            wrong(Some(self.line), found, expected)
        })?;
        Ok(Place {
            name: name.to_owned(),
            index,
            unit,
        })
    }
}

/// Name and unit of a header's cell, `ax [mg]` or `ax (mg)`.
fn named(cell: &str) -> (&str, Option<&str>) {
    let cell = cell.trim().trim_matches('"').trim();
    match cell.split_once(['[', '(']) {
        Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches([']', ')']).trim())),
        None => (cell, None),
    }
}

/// Name and unit of a column called like `time_s` or `ax_mg`.
fn split_unit(name: &str, read: fn(&str) -> Option<f64>) -> Option<(&str, f64)> {
    let (bare, unit) = name.rsplit_once('_')?;
    Some((bare, read(unit)?))
}

fn parse(text: &str, log: &Log) -> Result<Recorded, Wrong> {
    let text = text.trim_start_matches('\u{feff}');
    let lines = text.lines().enumerate().map(|(k, line)| (k + 1, line));
    let mut lines = lines.filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'));
    let (line, first) = lines
        .next()
        .ok_or_else(|| wrong(None, "nothing", "a header and one row for each instant"))?;
    let header = Header::of(line, first);
    let names: Vec<&str> = log.time.as_deref().map_or(TIMES.to_vec(), |name| vec![name]);
    let time = header.place(&names, "time", time_unit, log.time_unit)?;
    let place = |axis: &Option<Axis>, key: &str| {
        let found = axis.as_ref().map(|axis| {
            let place = header.place(&[&axis.column], key, acceleration_unit, log.unit)?;
            Ok((place, axis.sign))
        });
        found.transpose()
    };
    let wanted = [place(&log.axes[0], "right")?, place(&log.axes[1], "down")?];
    let mut recorded = Recorded {
        times: Vec::new(),
        axes: wanted.each_ref().map(|place| place.as_ref().map(|_| Vec::new())),
        left_out: 0,
    };
    let zero = log.zero.as_ref().map_or(0.0, |zero| zero.value());
    let whose = if log.gives == Gives::Case { -1.0 } else { 1.0 };
    for (line, row) in lines {
        let cells: Vec<&str> = row.split(header.parted_by).collect();
        let cell = |place: &Place| number(&cells, place, header.parted_by, line);
        let values = wanted
            .each_ref()
            .map(|w| w.as_ref().map(|(place, sign)| Ok((cell(place)?, *sign))));
        let values = values.map(Option::transpose);
        let [right, down] = values;
        let values = [right?, down?];
        let lacks = values.iter().flatten().any(|(value, _)| value.is_none());
        let Some(now) = cell(&time)?.filter(|_| !lacks) else {
            recorded.left_out += 1;
            continue;
        };
        if recorded.times.last().is_some_and(|last| now <= *last) {
            let found = format!(
                "a time that does not rise, {} in column {}",
                now / time.unit,
                time.name
            );
            return Err(wrong(Some(line), found, "times in ascending order, each once"));
        }
        recorded.times.push(now);
        for (axis, value) in recorded.axes.iter_mut().zip(values) {
            if let (Some(axis), Some((Some(value), sign))) = (axis, value) {
                axis.push(whose * sign * (value - zero));
            }
        }
    }
    if recorded.times.len() < FEWEST {
        let found = format!("{} rows with all cells", recorded.times.len());
        return Err(wrong(None, found, format!("{FEWEST} or more")));
    }
    Ok(recorded)
}

/// The number in a cell, SI; nothing when it is empty or not a number by its own word.
fn number(cells: &[&str], place: &Place, parted_by: char, line: usize) -> Result<Option<f64>, Wrong> {
    let cell = cells
        .get(place.index)
        .map_or("", |cell| cell.trim().trim_matches('"').trim());
    if cell.is_empty()
        || ["nan", "na", "n/a", "-"]
            .iter()
            .any(|word| cell.eq_ignore_ascii_case(word))
    {
        return Ok(None);
    }
    let plain = if parted_by == ',' {
        cell.to_owned()
    } else {
        cell.replace(',', ".")
    };
    match plain.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Some(value * place.unit)),
        _ => {
            let found = format!("\"{cell}\" in column {}", place.name);
            let expected = if plain.contains(':') {
                "seconds as a number; turn times of day into seconds"
            } else {
                "a number"
            };
            Err(wrong(Some(line), found, expected))
        }
    }
}

#[cfg(test)]
mod tests;
