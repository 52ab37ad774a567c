//! Series of amplitudes as one tidy table, `series/modes.parquet`, and back.
//!
//! One row for each body and frame: `body`, `frame`, `time`, `free`, then `a_2`, `a_3`, ... and the lower triangle of their
//! covariance, `cov_2_2`, `cov_3_2`, `cov_3_3`, ... in units of the amplitudes squared. Computes nothing.

use crate::series::{ModeSample, ModeSeries};
use crate::table::{Column, Data, Table};

/// Why series make no table, or a table no series.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModeTableError {
    /// Bodies with different degrees.
    #[error(
        "body {body} has the degrees {found:?}, expected {expected:?} as the first: write the bodies apart"
    )]
    Degrees {
        /// Which body.
        body: u32,
        /// Its degrees.
        found: Vec<u32>,
        /// Those of the first.
        expected: Vec<u32>,
    },
    /// A sample with another number of amplitudes or covariances than its series has degrees.
    #[error("frame {frame} of body {body} has {amplitudes} amplitudes and {covariances} covariances, expected {degrees} and {}", degrees * (degrees + 1) / 2)]
    Sample {
        /// Which body.
        body: u32,
        /// Which frame.
        frame: u64,
        /// Amplitudes found.
        amplitudes: usize,
        /// Covariances found.
        covariances: usize,
        /// Degrees of the series.
        degrees: usize,
    },
    /// A column that is absent or of another kind.
    #[error(
        "the table {table} has no column {column} of the right kind: is this series/modes.parquet of a run?"
    )]
    NoColumn {
        /// Name of the table.
        table: String,
        /// Name of the column.
        column: String,
    },
    /// A number that cannot be one of a body or frame.
    #[error("the column {column} holds {found}, expected a whole number of zero or more")]
    Negative {
        /// Name of the column.
        column: &'static str,
        /// The number.
        found: i64,
    },
}

/// The series of all bodies, of the same degrees, as one table.
///
/// # Errors
/// Different degrees; a sample that does not fit its series.
pub fn table_of(series: &[ModeSeries]) -> Result<Table, ModeTableError> {
    let degrees = series.first().map_or(Vec::new(), |first| first.degrees.clone());
    for one in series {
        fits(one, &degrees)?;
    }
    let samples = || {
        series
            .iter()
            .flat_map(|one| one.samples.iter().map(move |sample| (one.body, sample)))
    };
    let integers =
        |of: fn(u32, &ModeSample) -> i64| Data::Integer(samples().map(|(body, s)| of(body, s)).collect());
    let reals = |of: &dyn Fn(&ModeSample) -> f64| Data::Real(samples().map(|(_, s)| of(s)).collect());
    let mut columns = vec![
        Column::new(
            "body",
            "1",
            "which body, from 1",
            integers(|body, _| i64::from(body)),
        ),
        // Frames are far fewer than 2^63.
        Column::new(
            "frame",
            "1",
            "frame in the clip or step of the simulation",
            integers(|_, s| s.frame as i64),
        ),
        Column::new("time", "s", "real time", reals(&|s| s.time)),
        Column::new(
            "free",
            "1",
            "whether nothing touches the body and the outline is good enough to infer from",
            Data::Flag(samples().map(|(_, s)| s.free).collect()),
        ),
    ];
    for (i, n) in degrees.iter().enumerate() {
        let text = format!("amplitude of degree {n} in units of the radius");
        columns.push(Column::new(
            &format!("a_{n}"),
            "1",
            &text,
            reals(&|s| s.amplitude[i]),
        ));
    }
    for (place, (i, j)) in triangle(degrees.len()).enumerate() {
        let (n, m) = (degrees[i], degrees[j]);
        let text = format!("covariance of a_{n} and a_{m}");
        columns.push(Column::new(
            &format!("cov_{n}_{m}"),
            "1",
            &text,
            reals(&|s| s.covariance[place]),
        ));
    }
    Ok(Table {
        name: "modes".to_owned(),
        description: "amplitudes of the Legendre expansion of each body's outline over time".to_owned(),
        columns,
    })
}

/// The series in a table, by body in the order of their first rows.
///
/// # Errors
/// A column is absent or of another kind; a negative number of a body or frame.
pub fn series_of(table: &Table) -> Result<Vec<ModeSeries>, ModeTableError> {
    let none = |column: &str| ModeTableError::NoColumn {
        table: table.name.clone(),
        column: column.to_owned(),
    };
    let integers = |name: &str| table.integers(name).ok_or_else(|| none(name));
    let reals = |name: &str| table.reals(name).ok_or_else(|| none(name));
    let (bodies, frames) = (integers("body")?, integers("frame")?);
    let (times, free) = (reals("time")?, table.flags("free").ok_or_else(|| none("free"))?);
    let names = table
        .columns
        .iter()
        .filter_map(|column| column.name.strip_prefix("a_")?.parse().ok());
    let degrees: Vec<u32> = names.collect();
    let amplitudes = degrees
        .iter()
        .map(|n| reals(&format!("a_{n}")))
        .collect::<Result<Vec<_>, _>>()?;
    let covariances = triangle(degrees.len())
        .map(|(i, j)| reals(&format!("cov_{}_{}", degrees[i], degrees[j])))
        .collect::<Result<Vec<_>, _>>()?;
    let mut series: Vec<ModeSeries> = Vec::new();
    for row in 0..table.rows() {
        let body = not_negative("body", bodies[row])?;
        let sample = ModeSample {
            frame: not_negative("frame", frames[row])?,
            time: times[row],
            amplitude: amplitudes.iter().map(|column| column[row]).collect(),
            covariance: covariances.iter().map(|column| column[row]).collect(),
            free: free[row],
        };
        match series.iter_mut().find(|one| one.body == body) {
            Some(one) => one.samples.push(sample),
            None => series.push(ModeSeries {
                body,
                degrees: degrees.clone(),
                samples: vec![sample],
            }),
        }
    }
    Ok(series)
}

/// Places (i, j) of a lower triangle, row by row.
fn triangle(size: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..size).flat_map(|i| (0..=i).map(move |j| (i, j)))
}

fn not_negative<T: TryFrom<i64>>(column: &'static str, found: i64) -> Result<T, ModeTableError> {
    T::try_from(found).map_err(|_| ModeTableError::Negative { column, found })
}

fn fits(series: &ModeSeries, degrees: &[u32]) -> Result<(), ModeTableError> {
    let body = series.body;
    if series.degrees != degrees {
        return Err(ModeTableError::Degrees {
            body,
            found: series.degrees.clone(),
            expected: degrees.to_vec(),
        });
    }
    let count = degrees.len();
    let wrong = |s: &&ModeSample| s.amplitude.len() != count || s.covariance.len() != count * (count + 1) / 2;
    series.samples.iter().find(wrong).map_or(Ok(()), |s| {
        Err(ModeTableError::Sample {
            body,
            frame: s.frame,
            amplitudes: s.amplitude.len(),
            covariances: s.covariance.len(),
            degrees: count,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::{ModeTableError, series_of, table_of};
    use crate::series::{ModeSample, ModeSeries};
    use crate::table::Data;

    fn series(body: u32) -> ModeSeries {
        let sample = |frame: u64| ModeSample {
            frame,
            time: frame as f64 * 0.25,
            amplitude: vec![0.1, -0.2],
            covariance: vec![1.0, 2.0, 3.0 + frame as f64],
            free: frame > 1,
        };
        ModeSeries {
            body,
            degrees: vec![2, 4],
            samples: (0..3).map(sample).collect(),
        }
    }

    #[test]
    fn series_go_round_and_the_columns_say_what_they_are() {
        let all = [series(1), series(7)];
        let table = table_of(&all).unwrap();
        table.check().unwrap();
        assert_eq!(series_of(&table).unwrap(), all);
        let names: Vec<_> = table.columns.iter().map(|column| column.name.as_str()).collect();
        assert_eq!(
            names,
            [
                "body", "frame", "time", "free", "a_2", "a_4", "cov_2_2", "cov_4_2", "cov_4_4"
            ]
        );
        assert_eq!(table.reals("cov_4_4").unwrap()[2], 5.0);
        assert_eq!(series_of(&table_of(&[]).unwrap()).unwrap(), []);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let mut short = series(1);
        short.samples[1].covariance.pop();
        assert!(matches!(
            table_of(&[short]),
            Err(ModeTableError::Sample {
                frame: 1,
                covariances: 2,
                ..
            })
        ));
        let mut other = series(2);
        other.degrees[0] = 3;
        assert!(matches!(
            table_of(&[series(1), other]),
            Err(ModeTableError::Degrees { body: 2, .. })
        ));
        let good = table_of(&[series(1)]).unwrap();
        let mut bad = good.clone();
        bad.columns.pop();
        assert!(matches!(series_of(&bad), Err(ModeTableError::NoColumn { .. })));
        let mut bad = good;
        bad.columns[1].data = Data::Integer(vec![0, -1, 2]);
        assert!(matches!(
            series_of(&bad),
            Err(ModeTableError::Negative {
                column: "frame",
                found: -1
            })
        ));
    }
}
