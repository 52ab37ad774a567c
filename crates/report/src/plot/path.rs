//! The path of a centre as the camera saw it: x to the right, y downwards, equal scales, instants marked.

use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::{Run, extent, widened};
use crate::input::CentrePath;
use crate::number::{Handy, fixed, labelled, shown};

const WIDTH: f64 = 560.0;
const PLOT: f64 = 560.0 - 96.0;

/// The drawing of one path; `None` without a point.
pub fn path(path: &CentrePath, several: bool) -> Option<Drawing> {
    let xs = extent(path.x.iter().copied())?;
    let ys = extent(path.y.iter().copied())?;
    let size = (xs.1 - xs.0).max(ys.1 - ys.0);
    let handy = Handy::of(&path.unit, size.max(1e-9));
    let points: Vec<[f64; 2]> = path
        .x
        .iter()
        .zip(&path.y)
        .map(|(x, y)| [handy.value(*x), handy.value(*y)])
        .collect();
    let (x, y, height) = axes(&points, &handy)?;
    let whose = if several {
        format!(" of body {}", path.body)
    } else {
        String::new()
    };
    let panel = Panel {
        name: String::new(),
        height,
        x,
        y,
        marks: marks(path, points),
        x_written: true,
        y_ticks: 6,
    };
    Some(draw(&Chart {
        name: format!("centre-body-{}", path.body),
        title: format!("Path of the centre{whose}"),
        caption: format!(
            "Where the centre{whose} was in the image, equal scales both ways, downwards as in the image; the labels are times. A free body moves evenly or along a parabola; a jerk is a touch, a draught or a moving camera."
        ),
        description: described(path, xs, ys),
        width: WIDTH,
        panels: vec![panel],
        legend: vec![
            (Sample::Line(Look::Measured), "path".to_owned()),
            (Sample::Dot(Look::Fitted), "instants".to_owned()),
        ],
    }))
}

/// Axes of equal scale around the points, `y` running downwards, and the height of the plot.
fn axes(points: &[[f64; 2]], handy: &Handy) -> Option<(Axis, Axis, f64)> {
    let xs = widened(extent(points.iter().map(|p| p[0]))?, 0.08);
    let ys = widened(extent(points.iter().map(|p| p[1]))?, 0.08);
    let (wide, tall) = (xs.1 - xs.0, ys.1 - ys.0);
    // Between a strip and a square: beyond that the shorter side is padded.
    let height = (PLOT * tall / wide).clamp(120.0, 330.0);
    let scale = (wide / PLOT).max(tall / height);
    let around = |(low, high): (f64, f64), length: f64| {
        let middle = 0.5 * (low + high);
        (middle - 0.5 * length * scale, middle + 0.5 * length * scale)
    };
    let (xs, ys) = (around(xs, PLOT), around(ys, height));
    let sign = handy.sign();
    let axis = |label: &str, (low, high): (f64, f64)| Axis {
        label: labelled(label, &sign),
        low,
        high,
        run: Run::Even,
    };
    Some((
        axis("x to the right", xs),
        axis("y downwards", (ys.1, ys.0)),
        height,
    ))
}

fn marks(path: &CentrePath, points: Vec<[f64; 2]>) -> Vec<Mark> {
    let last = points.len() - 1;
    let mut chosen: Vec<usize> = (0..=4).map(|k| k * last / 4).collect();
    chosen.dedup();
    let at: Vec<[f64; 2]> = chosen.iter().map(|i| points[*i]).collect();
    let words = chosen.iter().filter_map(|i| {
        let time = path.time.get(*i)?;
        Some(Mark::Word(points[*i], format!("{} s", fixed(*time, 2))))
    });
    let words: Vec<Mark> = words.collect();
    let mut marks = vec![Mark::Path(Look::Measured, points)];
    marks.push(Mark::Points(Look::Fitted, at, Vec::new()));
    marks.extend(words);
    marks
}

fn described(path: &CentrePath, xs: (f64, f64), ys: (f64, f64)) -> String {
    let span = |(low, high): (f64, f64)| shown(high - low, None, &path.unit).text();
    format!(
        "{} positions; they span {} from left to right and {} from top to bottom.",
        path.x.len(),
        span(xs),
        span(ys)
    )
}
