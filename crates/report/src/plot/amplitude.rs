//! Amplitudes over time with their fit, and below each what the fit leaves over; several degrees share one time axis.
//!
//! Amplitudes are shown in per cent of R, residuals in the same unit on their own scale.

use crate::figure::chart::{Axis, COVERAGE, Chart, Drawing, MANY, Mark, Panel, Sample, measured};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::extent;
use crate::input::AmplitudeSeries;
use crate::number::{fixed, shown};
use crate::text::{listed, subscript};

/// Full width of the wide figures, CSS pixels.
pub const WIDTH: f64 = 900.0;

/// Degrees in one drawing.
const TOGETHER: usize = 4;

/// One drawing for every four degrees of each body, in the order given.
pub fn amplitudes(series: &[AmplitudeSeries], several: bool) -> Vec<Drawing> {
    series
        .chunk_by(|a, b| a.body == b.body)
        .flat_map(|of_body| of_body.chunks(TOGETHER))
        .filter_map(|some| one(some, several))
        .collect()
}

fn one(some: &[AmplitudeSeries], several: bool) -> Option<Drawing> {
    let first = some.first()?;
    let fitted = some.iter().any(|s| !s.fitted.is_empty());
    let times = || some.iter().flat_map(|s| s.time.iter().copied());
    let mut panels = Vec::new();
    for series in some {
        panels.extend(panels_of(series, Axis::over("time / s", times())));
    }
    panels.last_mut()?.x_written = true;
    let degrees: Vec<String> = some.iter().map(|s| s.degree.to_string()).collect();
    let whose = if several {
        format!(" of body {}", first.body)
    } else {
        String::new()
    };
    let name = format!("amplitudes-body-{}-degree-{}", first.body, degrees.join("-"));
    let drawing = draw(&Chart {
        name,
        title: format!("Amplitudes of degree {}{whose} over time", listed(&degrees)),
        caption: caption(&whose, fitted),
        description: some.iter().map(described).collect::<Vec<_>>().join(" "),
        width: WIDTH,
        panels,
        legend: legend(some, fitted),
    });
    Some(drawing)
}

fn caption(whose: &str, fitted: bool) -> String {
    let start = format!(
        "How far the shape{whose} departs from a sphere, degree by degree, in per cent of the radius of a sphere of \
         equal volume, in every frame."
    );
    if !fitted {
        return start + " Nothing was fitted.";
    }
    start
        + " The line is the sum of damped vibrations that was fitted; the lower strip of each pair is what the fit \
           leaves over, on its own scale: an even scatter about zero means that nothing is missing from the fit."
}

fn legend(some: &[AmplitudeSeries], fitted: bool) -> Vec<(Sample, String)> {
    let mut entries = vec![(Sample::Dot(Look::Measured), "measured".to_owned())];
    if some.iter().any(|s| !s.u.is_empty()) {
        if some.iter().any(|s| s.time.len() > MANY) {
            entries.push((
                Sample::Band(Look::Measured),
                "95 % of each measurement".to_owned(),
            ));
        } else {
            entries[0].1 = "measured, bar: 95 %".to_owned();
        }
    }
    if fitted {
        entries.push((Sample::Line(Look::Fitted), "fitted".to_owned()));
        entries.push((Sample::Dot(Look::Residual), "measured less fitted".to_owned()));
    }
    entries
}

fn panels_of(series: &AmplitudeSeries, x: Axis) -> Vec<Panel> {
    let sign = subscript(series.degree);
    let points = pairs(&series.time, &series.value);
    let u: Vec<f64> = series.u.iter().map(|u| 100.0 * u).collect();
    let fitted: Vec<[f64; 2]> = series.fitted.iter().map(|[t, a]| [*t, 100.0 * a]).collect();
    let bars = points
        .iter()
        .zip(&u)
        .flat_map(|(p, u)| [p[1] - COVERAGE * u, p[1] + COVERAGE * u]);
    let values: Vec<f64> = points.iter().chain(&fitted).map(|p| p[1]).chain(bars).collect();
    // The fit lies under the dots, broad and pale, so that neither hides the other.
    let mut marks = vec![Mark::Line(Look::Fitted, fitted)];
    marks.extend(measured(points, &u));
    let main = Panel {
        name: format!("Degree {}", series.degree),
        height: 118.0,
        x: x.clone(),
        y: Axis::around(format!("a{sign} / % of R"), values),
        marks,
        x_written: false,
        y_ticks: 5,
    };
    if !series.residual.iter().any(|r| r.is_finite()) {
        return vec![main];
    }
    let left = pairs(&series.time, &series.residual);
    let size = left
        .iter()
        .map(|p| p[1].abs())
        .filter(|r| r.is_finite())
        .fold(0.0, f64::max);
    let strip = Panel {
        name: String::new(),
        height: 46.0,
        x,
        y: Axis::around("rest", [-round_up(size), round_up(size)]),
        marks: vec![Mark::Points(Look::Residual, left, Vec::new())],
        x_written: false,
        y_ticks: 3,
    };
    vec![main, strip]
}

/// The next of 1, 2, 5 times a power of ten, so that the strip has a tick near each end.
fn round_up(size: f64) -> f64 {
    if size <= 0.0 {
        return 1.0;
    }
    let ten = 10f64.powf(size.log10().floor());
    let round = [1.0, 2.0, 5.0].into_iter().find(|r| r * ten >= size);
    round.unwrap_or(10.0) * ten
}

fn pairs(time: &[f64], value: &[f64]) -> Vec<[f64; 2]> {
    time.iter().zip(value).map(|(t, a)| [*t, 100.0 * a]).collect()
}

fn described(series: &AmplitudeSeries) -> String {
    let Some((low, high)) = extent(series.value.iter().copied()) else {
        return format!("Degree {}: no measurement.", series.degree);
    };
    let (from, to) = extent(series.time.iter().copied()).unwrap_or((0.0, 0.0));
    let rest = extent(series.residual.iter().map(|r| r.abs()));
    let rest = rest.map_or_else(String::new, |(_, most)| {
        format!(" The fit leaves at most {} % of R.", fixed(100.0 * most, 3))
    });
    format!(
        "Degree {}: {} measurements from {} to {} s, between {} and {} % of R.{rest}",
        series.degree,
        series.value.len(),
        shown(from, None, "1").text(),
        shown(to, None, "1").text(),
        fixed(100.0 * low, 2),
        fixed(100.0 * high, 2),
    )
}
