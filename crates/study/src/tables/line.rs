//! Amplitudes with what was fitted to them, and their spectra, as tables and back.

use tremolet_record::findings::Findings;
use tremolet_record::table::Table;
use tremolet_report::input::{AmplitudeSeries, Spectrum};

use crate::body::BodyFound;
use crate::error::StudyError;
use crate::tables::column::{count, groups, integer, integers, real, reals};

/// Points of a fitted curve for each sample of the series.
const FINER: usize = 4;
/// Points of a curve beyond which they are no finer than the samples, and beyond which samples are passed over.
const POINTS: usize = 8000;

/// Times with [`FINER`] steps from each to the next, fewer for long series.
fn fine(times: &[f64]) -> Vec<f64> {
    let finer = (POINTS / times.len().max(1)).clamp(1, FINER);
    let stride = times.len().div_ceil(POINTS).max(1);
    let last = times.len().saturating_sub(1);
    let step = |k: usize| {
        let (a, b) = (times[k], times[(k + stride).min(last)]);
        (0..finer).map(move |i| a + (b - a) * i as f64 / finer as f64)
    };
    (0..last)
        .step_by(stride)
        .flat_map(step)
        .chain(times.last().copied())
        .collect()
}

/// Rows that share their first columns: body and degree.
struct Rows<const N: usize> {
    body: Vec<i64>,
    degree: Vec<i64>,
    values: [Vec<f64>; N],
}

impl<const N: usize> Rows<N> {
    fn new() -> Self {
        Self {
            body: Vec::new(),
            degree: Vec::new(),
            values: std::array::from_fn(|_| Vec::new()),
        }
    }

    fn add(&mut self, body: u32, degree: u32, values: [f64; N]) {
        self.body.push(i64::from(body));
        self.degree.push(i64::from(degree));
        for (column, value) in self.values.iter_mut().zip(values) {
            column.push(value);
        }
    }

    fn table(self, name: &str, description: &str, columns: [(&str, &str, &str); N]) -> Table {
        let mut all = vec![
            integer("body", "number of the body, from 1", self.body),
            integer("degree", "degree n", self.degree),
        ];
        let reals = self.values.into_iter().zip(columns);
        all.extend(reals.map(|(values, (name, unit, what))| real(name, unit, what, values)));
        Table {
            name: name.into(),
            description: description.into(),
            columns: all,
        }
    }
}

/// One row a body, degree and sample, in pieces: first one without rows, then one for each body and degree.
pub fn fits(bodies: &[BodyFound]) -> impl Iterator<Item = Table> {
    let each = bodies.iter().flat_map(|found| {
        let degrees = found.series.degrees.iter().enumerate();
        degrees.map(move |(i, degree)| fit(found, i, *degree))
    });
    std::iter::once(fit_table(Rows::new())).chain(each)
}

/// The rows of the degree that stands at place `i`.
fn fit(found: &BodyFound, i: usize, degree: u32) -> Table {
    let mut rows = Rows::new();
    for sample in &found.series.samples {
        let fitted = found.ringdown.curve(degree, sample.time).unwrap_or(f64::NAN);
        let u = sample.variance(i).max(0.0).sqrt();
        rows.add(found.body, degree, [sample.time, sample.amplitude[i], u, fitted]);
    }
    fit_table(rows)
}

fn fit_table(rows: Rows<4>) -> Table {
    let columns = [
        ("time", "s", "real time"),
        ("measured", "1", "amplitude a_n in units of R"),
        ("u", "1", "its standard uncertainty from noise"),
        ("fitted", "1", "fitted amplitude; nothing where none was fitted"),
    ];
    rows.table("fits", "Amplitudes and what was fitted to them.", columns)
}

/// The fitted curves at finer times, to draw.
pub fn curves(bodies: &[BodyFound]) -> Table {
    let mut rows = Rows::<2>::new();
    for found in bodies {
        let times: Vec<f64> = found.series.samples.iter().map(|s| s.time).collect();
        for &degree in &found.series.degrees {
            for time in fine(&times) {
                if let Some(fitted) = found.ringdown.curve(degree, time) {
                    rows.add(found.body, degree, [time, fitted]);
                }
            }
        }
    }
    let columns = [("time", "s", "real time"), ("fitted", "1", "fitted amplitude")];
    rows.table("curves", "The fitted curves at finer times.", columns)
}

/// One row a body, degree and frequency.
pub fn spectra(bodies: &[BodyFound]) -> Table {
    let mut rows = Rows::<3>::new();
    for found in bodies {
        for one in &found.ringdown.spectra {
            for (i, (&frequency, &power)) in one.frequency_hz.iter().zip(&one.power).enumerate() {
                let left = one.residual_power.get(i).copied().unwrap_or(f64::NAN);
                rows.add(found.body, one.degree, [frequency, power, left]);
            }
        }
    }
    let columns = [
        ("frequency", "Hz", "frequency"),
        ("power", "1/Hz", "power of the amplitude a_n"),
        ("residual_power", "1/Hz", "power of what the fit leaves"),
    ];
    rows.table(
        "spectra",
        "Spectra of the amplitudes, before and after the fit.",
        columns,
    )
}

/// The amplitudes to draw, from the tables [`fits`] and [`curves`].
///
/// # Errors
/// When a table lacks a column.
pub fn amplitudes(fits: &Table, curves: &Table) -> Result<Vec<AmplitudeSeries>, StudyError> {
    let (body, degree) = (integers(fits, "body")?, integers(fits, "degree")?);
    let (time, measured) = (reals(fits, "time")?, reals(fits, "measured")?);
    let (u, fitted) = (reals(fits, "u")?, reals(fits, "fitted")?);
    let (curve_body, curve_degree) = (integers(curves, "body")?, integers(curves, "degree")?);
    let (curve_time, curve) = (reals(curves, "time")?, reals(curves, "fitted")?);
    let one = |rows: std::ops::Range<usize>| {
        let (who, n) = (body[rows.start], degree[rows.start]);
        let drawn = (0..curve_time.len()).filter(|&k| curve_body[k] == who && curve_degree[k] == n);
        AmplitudeSeries {
            body: count(who),
            degree: count(n),
            time: time[rows.clone()].to_vec(),
            value: measured[rows.clone()].to_vec(),
            u: u[rows.clone()].to_vec(),
            residual: rows.map(|i| measured[i] - fitted[i]).collect(),
            fitted: drawn.map(|k| [curve_time[k], curve[k]]).collect(),
        }
    };
    Ok(groups(&[body, degree]).into_iter().map(one).collect())
}

/// The spectra to draw, from the table [`spectra`], with the modes of the findings marked.
///
/// # Errors
/// When the table lacks a column.
pub fn spectra_of(table: &Table, findings: &Findings) -> Result<Vec<Spectrum>, StudyError> {
    let (body, degree) = (integers(table, "body")?, integers(table, "degree")?);
    let (frequency, power) = (reals(table, "frequency")?, reals(table, "power")?);
    let left = reals(table, "residual_power")?;
    let marks = |who: u32, n: u32| {
        let own = findings
            .modes
            .iter()
            .filter(move |m| m.body == who && m.degree == n);
        own.map(|m| (m.frequency.value, format!("f{}", lowered(m.degree))))
            .collect()
    };
    let one = |rows: std::ops::Range<usize>| {
        let (who, n) = (count(body[rows.start]), count(degree[rows.start]));
        let known = left[rows.clone()].iter().all(|p| p.is_finite());
        Spectrum {
            body: who,
            degree: n,
            frequency: frequency[rows.clone()].to_vec(),
            power: power[rows.clone()].to_vec(),
            residual_power: if known { left[rows].to_vec() } else { Vec::new() },
            power_unit: "1/Hz".into(),
            marks: marks(who, n),
        }
    };
    Ok(groups(&[body, degree]).into_iter().map(one).collect())
}

fn lowered(degree: u32) -> String {
    let digit = |c: char| {
        c.to_digit(10)
            .and_then(|d| char::from_u32(0x2080 + d))
            .unwrap_or(c)
    };
    degree.to_string().chars().map(digit).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_body_and_degree_gets_its_own_rows_curve_and_residual() {
        let mut fits = Rows::<4>::new();
        let mut curves = Rows::<2>::new();
        for (body, degree) in [(1, 2), (1, 3), (2, 3)] {
            for i in 0..3 {
                let t = f64::from(i);
                let fitted = if degree == 2 { f64::NAN } else { 0.5 };
                fits.add(body, degree, [t, f64::from(body * 10 + degree), 0.1, fitted]);
                if degree == 3 {
                    curves.add(body, degree, [t, f64::from(body)]);
                }
            }
        }
        let names = [
            ("time", "s", ""),
            ("measured", "1", ""),
            ("u", "1", ""),
            ("fitted", "1", ""),
        ];
        let all = amplitudes(
            &fits.table("fits", "", names),
            &curves.table("curves", "", [("time", "s", ""), ("fitted", "1", "")]),
        )
        .unwrap();
        assert_eq!(all.len(), 3);
        assert!(all[0].fitted.is_empty() && all[0].residual.iter().all(|r| r.is_nan()));
        assert_eq!((all[2].body, all[2].degree), (2, 3));
        assert_eq!(all[2].fitted, [[0.0, 2.0], [1.0, 2.0], [2.0, 2.0]]);
        assert_eq!(all[2].residual, [22.5; 3]);
        assert_eq!(all[1].value, [13.0; 3]);
    }

    #[test]
    fn curves_are_finer_than_samples_and_end_with_them() {
        assert_eq!(fine(&[0.0, 1.0]), [0.0, 0.25, 0.5, 0.75, 1.0]);
        let long: Vec<f64> = (0..20_001).map(f64::from).collect();
        let some = fine(&long);
        assert!(some.len() < POINTS + 2 && some[1] == 3.0 && some.last() == Some(&20_000.0));
        assert_eq!(fine(&long[..4001]).len(), 4001);
        assert_eq!(fine(&[2.0]), [2.0]);
        assert!(fine(&[]).is_empty());
    }
}
