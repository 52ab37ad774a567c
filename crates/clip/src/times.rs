//! A table of real times, one row to a frame in the order of the clip.
//!
//! Comma-separated text with a column `time_s`, in s from any zero; other columns and lines that start with `#` are passed
//! over. Beside a folder of stills it is called `times.csv`; for any other clip the experiment file names it. Whether the
//! times rise and are as many as the frames is the clock's to check.

use std::fs;
use std::path::Path;

use crate::error::ClipError;

/// Name of the table beside a folder of stills.
pub const BESIDE_STILLS: &str = "times.csv";

/// Real times of the frames from the table at `path`, s.
///
/// # Errors
/// [`ClipError::Unreadable`], or [`ClipError::BadTimes`] for a table without the column or with a cell that is no number.
pub fn read_times(path: &Path) -> Result<Vec<f64>, ClipError> {
    let name = path.display().to_string();
    let text = match fs::read_to_string(path) {
        Ok(text) => text,
        Err(source) => return Err(ClipError::Unreadable { name, source }),
    };
    parse_times(&text).map_err(|(index, problem)| ClipError::BadTimes {
        name,
        index: index as u64,
        problem,
    })
}

fn parse_times(text: &str) -> Result<Vec<f64>, (usize, &'static str)> {
    let mut lines = text
        .trim_start_matches('\u{feff}')
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    let column = lines
        .next()
        .and_then(|header| header.split(',').position(|cell| cell.trim() == "time_s"))
        .ok_or((0, "the table has no column time_s"))?;
    lines
        .enumerate()
        .map(|(row, line)| {
            let cell = line
                .split(',')
                .nth(column)
                .ok_or((row, "a row of the table is too short"))?;
            cell.trim()
                .parse()
                .map_err(|_| (row, "a cell of time_s is not a number"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_column_is_found_among_others() {
        let text = "\u{feff}# made by hand\nframe, time_s ,note\n0, 1.5,a\n\n# b\n1,2e0,c\n";
        assert_eq!(parse_times(text), Ok(vec![1.5, 2.0]));
        assert_eq!(parse_times("time_s\n"), Ok(vec![]));
        assert_eq!(parse_times("time\n1\n").map_err(|e| e.0), Err(0));
        assert_eq!(parse_times("a,time_s\n1,2\n3\n").map_err(|e| e.0), Err(1));
        assert_eq!(parse_times("time_s\n1\nx\n").map_err(|e| e.0), Err(1));
    }

    #[test]
    fn a_table_that_is_not_there_is_named() {
        let error = read_times(Path::new("no such table.csv")).expect_err("absent");
        assert!(
            error.to_string().contains("no such table.csv cannot be read"),
            "{error}"
        );
    }
}
