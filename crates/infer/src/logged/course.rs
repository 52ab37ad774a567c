//! The acceleration over time, from the path of a body and from the record beside it, through one and the same window.
//!
//! ```text
//! a(t) = 2 c2 of  x = c0 + c1 (s - t) + c2 (s - t)^2  over  |s - t| <= W/2,      u(a) = s sqrt(720 / n) / W^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a`, `W` | acceleration in the middle of a window, its width | m/s^2, s |
//! | `n`, `s` | samples in the window, scatter of a place | 1, m |
//!
//! The window is as narrow as lets the changes stand out of the scatter. Least squares \[GolubVanLoan2013\] section 5.3; `u` is that of even
//! times. Neighbouring values share samples and are not independent.

use crate::logged::axis::columns;
use tremolet_numerics::dense::Matrix;

/// Most values of a course; no more than one for two samples.
const VALUES: usize = 120;
/// Fewest samples in a window.
const FEWEST: usize = 9;
/// Share of the changes of the acceleration that its uncertainty may have.
const SHARE: f64 = 0.15;

/// One instant of both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instant {
    /// Real time, s.
    pub time: f64,
    /// From the path of the body, m/s^2.
    pub seen: f64,
    /// Its standard uncertainty, m/s^2.
    pub u: f64,
    /// From the record, m/s^2.
    pub logged: f64,
}

/// The course of both, from the path and the `ways` that the record gives at the same `times` (s, ascending); `scatter` of a place, m.
/// Empty for too few samples.
pub fn course(times: &[f64], places: &[f64], ways: &[f64], scatter: f64) -> Vec<Instant> {
    let count = times.len().min(places.len()).min(ways.len());
    if count < 3 * FEWEST {
        return Vec::new();
    }
    let span = times[count - 1] - times[0];
    let mut width = (span * FEWEST as f64 / count as f64).max(span / 40.0);
    loop {
        let found = through(times, places, ways, scatter, width);
        let logged: Vec<f64> = found.iter().map(|i| i.logged).collect();
        let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
        let change = most(&mut logged.iter().copied()) + most(&mut logged.iter().map(|a| -a));
        let u = most(&mut found.iter().map(|i| i.u));
        if u <= SHARE * change || width > span / 5.0 {
            return found;
        }
        width *= 1.25;
    }
}

/// The places less what `lines` (angular frequency, decay rate) hold of them beside the `ways` of the record and an even acceleration.
pub fn without_lines(times: &[f64], places: &[f64], ways: &[f64], lines: &[[f64; 2]]) -> Vec<f64> {
    let left: Vec<f64> = places.iter().zip(ways).map(|(x, d)| x - d).collect();
    let fitted = columns(times, lines).and_then(|columns| {
        let model = Matrix::from_fn(times.len(), columns.len(), |i, j| columns[j][i]);
        Some((model.least_squares(&left).ok()?, columns))
    });
    let Some((found, columns)) = fitted else {
        return places.to_vec();
    };
    let held = |i: usize| (3..columns.len()).map(|j| found[j] * columns[j][i]).sum::<f64>();
    (0..places.len()).map(|i| places[i] - held(i)).collect()
}

fn through(times: &[f64], places: &[f64], ways: &[f64], scatter: f64, width: f64) -> Vec<Instant> {
    let (first, last) = (times[0], times[times.len() - 1]);
    let values = VALUES.min(times.len() / 2);
    let one = |k: usize| {
        let part = k as f64 / (values - 1) as f64;
        let time = first + 0.5 * width + part * (last - first - width);
        let from = times.partition_point(|t| *t < time - 0.5 * width);
        let end = times.partition_point(|t| *t <= time + 0.5 * width);
        let count = end - from;
        if count < FEWEST {
            return None;
        }
        let powers = Matrix::from_fn(count, 3, |i, j| {
            (2.0 * (times[from + i] - time) / width).powi(j as i32)
        });
        let bend =
            |values: &[f64]| Some(8.0 / width.powi(2) * powers.least_squares(&values[from..end]).ok()?[2]);
        let inverse = powers.gram().inverse_positive().ok()?;
        Some(Instant {
            time,
            seen: bend(places)?,
            u: 8.0 / width.powi(2) * scatter * inverse[(2, 2)].sqrt(),
            logged: bend(ways)?,
        })
    };
    (0..values).filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // x = sin t has the acceleration -sin t; a window of W lowers it by about W^2/56 at its crest.
    #[test]
    fn both_go_through_the_same_window() {
        let times: Vec<f64> = (0..400).map(|k| 0.025 * f64::from(k)).collect();
        let places: Vec<f64> = times.iter().map(|t| t.sin() + 3.0 * t).collect();
        let ways: Vec<f64> = times.iter().map(|t| 2.0 * t.sin() - t).collect();
        let found = course(&times, &places, &ways, 1e-6);
        assert_eq!(found.len(), VALUES);
        for i in &found {
            assert!(
                (i.seen + i.time.sin()).abs() < 0.02 && (i.logged - 2.0 * i.seen).abs() < 1e-6,
                "{i:?}"
            );
            assert!(i.u > 0.0 && i.u < 0.3, "{i:?}");
        }
        assert!(course(&times[..20], &places, &ways, 1e-6).is_empty());
    }

    #[test]
    fn what_rings_is_taken_out_of_the_path() {
        let times: Vec<f64> = (0..200).map(|k| 0.01 * f64::from(k)).collect();
        let line = |t: f64| 0.3 * (-t).exp() * (20.0 * t + 0.4).cos();
        let ways: Vec<f64> = times.iter().map(|t| (3.0 * t).sin()).collect();
        let places: Vec<f64> = times
            .iter()
            .zip(&ways)
            .map(|(t, d)| d + t * t + line(*t))
            .collect();
        let left = without_lines(&times, &places, &ways, &[[20.0, 1.0]]);
        for (t, x) in times.iter().zip(&left) {
            assert!((x - (3.0 * t).sin() - t * t).abs() < 1e-9, "{t}");
        }
    }

    // The window widens until the scatter is below the changes, and no further than a fifth of the record.
    #[test]
    fn a_rough_path_takes_a_wider_window() {
        let times: Vec<f64> = (0..400).map(|k| 0.025 * f64::from(k)).collect();
        let ways: Vec<f64> = times.iter().map(|t| t.sin()).collect();
        let u = |scatter: f64| course(&times, &ways, &ways, scatter)[60].u / scatter;
        assert!(u(1e-5) > 2.0 * u(1e-2) && u(1e-2) > 0.0);
    }
}
