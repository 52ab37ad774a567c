//! What ought to stay constant, such as the volume, over time, with the level it is compared with.

use crate::figure::chart::{Axis, COVERAGE, Chart, Drawing, MANY, Mark, Panel, Sample, measured};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::extent;
use crate::input::Drift;
use crate::number::{Handy, labelled, shown};
use crate::plot::amplitude::WIDTH;
use crate::text::{slug, words};

/// The drawing of one quantity; `None` without a value.
pub fn drift(drift: &Drift, several: bool) -> Option<Drawing> {
    let (low, high) = extent(drift.value.iter().copied())?;
    let handy = Handy::of(&drift.unit, low.abs().max(high.abs()));
    let points: Vec<[f64; 2]> = drift
        .time
        .iter()
        .zip(&drift.value)
        .map(|(t, v)| [*t, handy.value(*v)])
        .collect();
    let u: Vec<f64> = drift.u.iter().map(|u| handy.difference(*u)).collect();
    let quantity = words(&drift.quantity);
    let whose = if several {
        format!(" of body {}", drift.body)
    } else {
        String::new()
    };
    let mut ends: Vec<f64> = points.iter().map(|p| p[1]).collect();
    ends.extend(
        points
            .iter()
            .zip(&u)
            .flat_map(|(p, u)| [p[1] - COVERAGE * u, p[1] + COVERAGE * u]),
    );
    ends.extend(drift.level.map(|level| handy.value(level)));
    let label = labelled(&quantity.to_lowercase(), &handy.sign());
    let panel = Panel {
        name: String::new(),
        height: 190.0,
        x: Axis::over("time / s", drift.time.iter().copied()),
        y: Axis::around(label, ends),
        marks: marks(drift, points, &u, &handy),
        x_written: true,
        y_ticks: 6,
    };
    let text = |x: f64| shown(x, None, &drift.unit).text();
    Some(draw(&Chart {
        name: slug(&format!("{}-body-{}", drift.quantity, drift.body)),
        title: format!("{quantity}{whose} over time"),
        caption: format!("{quantity}{whose} found in each frame. Nothing was added or taken away unless said so, so it ought to stay level; a slope or a swing shows an error of outline, depth or axis, or a real loss. {}", drift.note).trim().to_owned(),
        description: format!("{} values between {} and {}. {}", drift.value.len(), text(low), text(high), drift.note).trim().to_owned(),
        width: WIDTH,
        panels: vec![panel],
        legend: legend(drift),
    }))
}

fn marks(drift: &Drift, points: Vec<[f64; 2]>, u: &[f64], handy: &Handy) -> Vec<Mark> {
    let mut marks = measured(points, u);
    marks.extend(
        drift
            .level
            .map(|level| Mark::Level(Look::Reference, handy.value(level))),
    );
    marks
}

fn legend(drift: &Drift) -> Vec<(Sample, String)> {
    let mut entries = vec![(Sample::Dot(Look::Measured), "measured".to_owned())];
    if !drift.u.is_empty() && drift.value.len() > MANY {
        entries.push((
            Sample::Band(Look::Measured),
            "95 % of each measurement".to_owned(),
        ));
    } else if !drift.u.is_empty() {
        entries[0].1 = "measured, bar: 95 %".to_owned();
    }
    if drift.level.is_some() {
        entries.push((Sample::Line(Look::Reference), "level compared with".to_owned()));
    }
    entries
}
