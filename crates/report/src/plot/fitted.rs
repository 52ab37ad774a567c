//! The fitted simulation beside the clip: outlines at telling instants, and a map of what is left round the outline over time.
//!
//! Squares of the map tell size by area and side by being filled or open, so that it is read without colour.

use crate::figure::chart::Sample;
use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel};
use crate::figure::draw::{draw, draw_sample};
use crate::figure::look::Look;
use crate::figure::scale::{Run, extent};
use crate::figure::svg::{Anchor, Svg, path};
use crate::input::fitted::{FittedBody, FittedInstant};
use crate::number::{fixed, shown};
use crate::plot::amplitude::WIDTH;

/// Columns of the map.
const COLUMNS: usize = 64;
/// Sectors that make a row of the map.
const ROWS: usize = 24;
/// Room for words above the pictures and below.
const ABOVE: f64 = 34.0;
const BELOW: f64 = 40.0;

/// Outlines at the telling instants of a body; `None` without any.
pub fn instants(body: &FittedBody, several: bool) -> Option<Drawing> {
    let first = body.instants.first()?;
    let side = (WIDTH / body.instants.len() as f64).min(225.0);
    let reach = body.instants.iter().flat_map(spread).fold(0.0, f64::max);
    let mut svg = Svg::default();
    legend(&mut svg, first.times);
    for (k, instant) in body.instants.iter().enumerate() {
        let middle = [side * (k as f64 + 0.5), ABOVE + side / 2.0];
        one(&mut svg, instant, middle, 0.47 * side / reach);
        let below = ABOVE + side + 14.0;
        let time = format!("{} s", fixed(instant.time, 4));
        svg.text("strong small", [middle[0], below], Anchor::Middle, &time);
        svg.text("small", [middle[0], below + 17.0], Anchor::Middle, &instant.why);
    }
    Some(Drawing {
        name: format!("simulation-body-{}", body.body),
        title: format!("Clip and simulation{} at telling instants", whose(body, several)),
        caption: format!(
            "Outline as measured, silhouette of the fitted motion, and their difference drawn {} times, outwards where the clip's outline lies \
             outside.",
            fixed(first.times, 0)
        ),
        description: body
            .instants
            .iter()
            .map(|i| format!("{} s: {}.", fixed(i.time, 4), i.why))
            .collect::<Vec<_>>()
            .join(" "),
        content: svg.finish(),
        width: (side * body.instants.len() as f64).max(520.0).round() as u32,
        height: (ABOVE + side + BELOW).round() as u32,
    })
}

fn whose(body: &FittedBody, several: bool) -> String {
    if several {
        format!(" of body {}", body.body)
    } else {
        String::new()
    }
}

fn legend(svg: &mut Svg, times: f64) {
    let entries = [
        (Sample::Dot(Look::Measured), "measured".to_owned(), 8.0),
        (Sample::Line(Look::Fitted), "simulated".to_owned(), 122.0),
        (
            Sample::Line(Look::Residual),
            format!("difference × {}", fixed(times, 0)),
            240.0,
        ),
    ];
    for (sample, label, x) in entries {
        draw_sample(svg, sample, x, 14.0);
        svg.text("strong", [x + 32.0, 18.5], Anchor::Start, &label);
    }
}

/// The middle of a silhouette, px.
fn middle(instant: &FittedInstant) -> [f64; 2] {
    let ends = |k: usize| {
        extent(instant.silhouette.iter().map(|p| p[k])).map_or(0.0, |(low, high)| (low + high) / 2.0)
    };
    [ends(0), ends(1)]
}

/// Distances from the middle, px.
fn spread(instant: &FittedInstant) -> impl Iterator<Item = f64> {
    let [x, y] = middle(instant);
    let all = instant.silhouette.iter().chain(&instant.difference);
    all.map(move |p| (p[0] - x).hypot(p[1] - y))
}

fn one(svg: &mut Svg, instant: &FittedInstant, at: [f64; 2], scale: f64) {
    let centre = middle(instant);
    let placed = |points: &[[f64; 2]]| -> Vec<[f64; 2]> {
        let place = |p: &[f64; 2]| [0, 1].map(|k| at[k] + scale * (p[k] - centre[k]));
        points.iter().map(place).collect()
    };
    let mut line = |look: Look, points: &[[f64; 2]], closed: bool| {
        let class = format!("line {}", look.class());
        svg.leaf(
            "path",
            &[("class", &class), ("d", &path(&placed(points), closed))],
        );
    };
    line(Look::Fitted, &instant.silhouette, true);
    for stretch in unbroken(&instant.difference) {
        line(Look::Residual, stretch, false);
    }
    let dots = placed(&instant.outline);
    let every = dots.len().div_ceil(90).max(1);
    crate::figure::draw::fine_dots(svg, Look::Measured, dots.into_iter().step_by(every));
}

/// Stretches of a line of points without a wide gap, where something hid the outline.
fn unbroken(points: &[[f64; 2]]) -> Vec<&[[f64; 2]]> {
    let steps: Vec<f64> = points
        .windows(2)
        .map(|p| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]))
        .collect();
    let mut sorted = steps.clone();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    let mut found = Vec::new();
    let mut start = 0;
    for (k, step) in steps.iter().enumerate() {
        if *step > 12.0 * usual {
            found.push(&points[start..=k]);
            start = k + 1;
        }
    }
    found.push(&points[start..]);
    found
}

/// What is left round the outline over time; `None` without any.
pub fn left(body: &FittedBody, several: bool) -> Option<Drawing> {
    let every = body.left.len().div_ceil(COLUMNS).max(1);
    let columns: Vec<_> = body.left.iter().step_by(every).collect();
    let (first, last) = (columns.first()?.time, columns.last()?.time);
    let rows: Vec<(f64, Vec<[f64; 2]>)> = columns.iter().map(|c| (c.time, joined(&c.left))).collect();
    let most = rows
        .iter()
        .flat_map(|(_, row)| row)
        .map(|p| p[1].abs())
        .filter(|e| e.is_finite())
        .fold(0.0, f64::max);
    if most <= 0.0 || last <= first {
        return None;
    }
    let step = (last - first) / columns.len().max(2) as f64;
    let squares = rows
        .iter()
        .flat_map(|(time, row)| row.iter().map(|[angle, left]| [*time, *angle, left / most]));
    let panel = Panel {
        name: "Outline less silhouette".into(),
        height: 24.0 * ROWS as f64 * 0.55,
        x: even("time / s", first - step / 2.0, last + step / 2.0),
        y: even("angle from the axis / degrees", 360.0, 0.0),
        marks: vec![Mark::Squares(
            Look::Residual,
            squares.collect(),
            [step, 360.0 / ROWS as f64],
        )],
        x_written: true,
        y_ticks: 9,
    };
    let largest = format!(
        "{} px, {}",
        fixed(most, 3),
        shown(most * body.metre_per_px, Some(most * body.metre_per_px), "m").value_text()
    );
    Some(draw(&Chart {
        name: format!("simulation-left-body-{}", body.body),
        title: format!(
            "What the simulation leaves{} round the outline",
            whose(body, several)
        ),
        caption: format!(
            "Filled squares: the clip's outline lies outside the fitted one there; open squares: inside; the area tells how far, the largest is {largest}. \
             An even scatter is noise; stripes that come back with each swing are something that the simulation lacks."
        ),
        description: format!("The largest difference is {largest}."),
        width: WIDTH,
        panels: vec![panel],
        legend: Vec::new(),
    }))
}

fn even(label: &str, low: f64, high: f64) -> Axis {
    Axis {
        label: label.into(),
        low,
        high,
        run: Run::Even,
    }
}

/// Neighbouring sectors joined, angles in degrees.
fn joined(left: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let together = left.len().div_ceil(ROWS).max(1);
    let mean = |some: &[[f64; 2]], k: usize| some.iter().map(|p| p[k]).sum::<f64>() / some.len() as f64;
    left.chunks(together)
        .map(|some| [mean(some, 0).to_degrees(), mean(some, 1)])
        .collect()
}

#[cfg(test)]
mod tests;
