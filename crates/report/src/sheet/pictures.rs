//! Figures of the sheet: the time strip, courses in time, shapes at telling instants, waves on the surface.
//!
//! Waves are drawn as one line for each instant, its zero at that instant on the axis of time: it is read without colour and prints.

use tremolet_record::sheet::{Curve, Moment, Sheet, WaveMap};

use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::{Run, extent, widened};
use crate::number::fixed;

const WIDTH: f64 = 720.0;
/// Looks of curves in the order in which they are drawn.
const LOOKS: [Look; 4] = [Look::Measured, Look::Residual, Look::Reference, Look::Guide];
/// Lines of the wave figure.
const LINES: usize = 41;

/// All figures of a sheet.
pub fn figures(sheet: &Sheet) -> Vec<Drawing> {
    let found = [
        strip(&sheet.moments),
        courses(&sheet.curves),
        shapes(sheet),
        sheet.waves.as_ref().and_then(waves),
    ];
    found.into_iter().flatten().collect()
}

fn even(label: &str, low: f64, high: f64) -> Axis {
    Axis {
        label: label.into(),
        low,
        high,
        run: Run::Even,
    }
}

/// A time as people say it.
fn said(time: f64) -> String {
    let size = time.abs();
    let digits = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        3
    };
    format!("{} s", fixed(time, digits))
}

/// The time strip: an event on each line, spans as lines.
fn strip(moments: &[Moment]) -> Option<Drawing> {
    let ends = moments.iter().flat_map(|m| [Some(m.time), m.until]).flatten();
    let (low, high) = widened(extent(ends)?, 0.02);
    let count = moments.len() as f64;
    let mut marks = Vec::new();
    for (k, moment) in moments.iter().enumerate() {
        let y = k as f64 + 0.8;
        let until = moment.until.unwrap_or(moment.time);
        if until > moment.time {
            marks.push(Mark::Line(Look::Measured, vec![[moment.time, y], [until, y]]));
        } else {
            marks.push(Mark::Points(Look::Fitted, vec![[moment.time, y]], Vec::new()));
        }
        let when = match moment.until {
            Some(until) if moment.time == 0.0 => format!("to {}", said(until)),
            Some(until) => format!("{} to {}", said(moment.time), said(until)),
            None => said(moment.time),
        };
        marks.push(Mark::Word(
            [low + 0.004 * (high - low), y - 0.36],
            format!("{}: {when}", moment.text),
        ));
    }
    let panel = Panel {
        name: String::new(),
        height: 31.0 * count + 8.0,
        x: even("time / s", low, high),
        y: even("", count + 0.1, 0.0),
        marks,
        x_written: true,
        y_ticks: 0,
    };
    Some(draw(&Chart {
        name: "time-strip".into(),
        title: "In order of time".into(),
        caption: "What is expected when; lines are spans, dots are instants.".into(),
        description: moments
            .iter()
            .map(|m| format!("{}: {}", said(m.time), m.text))
            .collect::<Vec<_>>()
            .join("; "),
        width: WIDTH,
        panels: vec![panel],
        legend: Vec::new(),
    }))
}

fn courses(curves: &[Curve]) -> Option<Drawing> {
    let first = curves.first()?;
    let all = || curves.iter().flat_map(|curve| &curve.points);
    let panel = Panel {
        name: String::new(),
        height: 190.0,
        x: Axis::over("time / s", all().map(|p| p[0])),
        y: Axis::around(first.axis.as_str(), all().map(|p| p[1])),
        marks: curves
            .iter()
            .zip(LOOKS)
            .map(|(curve, look)| Mark::Line(look, curve.points.clone()))
            .collect(),
        x_written: true,
        y_ticks: 6,
    };
    Some(draw(&Chart {
        name: "courses".into(),
        title: "Expected courses".into(),
        caption: "To first order, with the decay of the exact modes.".into(),
        description: curves
            .iter()
            .map(|curve| curve.name.clone())
            .collect::<Vec<_>>()
            .join(", "),
        width: WIDTH,
        panels: vec![panel],
        legend: curves
            .iter()
            .zip(LOOKS)
            .map(|(curve, look)| (Sample::Line(look), curve.name.clone()))
            .collect(),
    }))
}

/// Shapes side by side, equal scale.
fn shapes(sheet: &Sheet) -> Option<Drawing> {
    let points = || sheet.shapes.iter().flat_map(|shape| &shape.outlines).flatten();
    let (left, right) = extent(points().map(|p| p[0]))?;
    let (down, up) = extent(points().map(|p| p[1]))?;
    // A long body lies: its axis runs to the right.
    let lying = up - down > 2.0 * (right - left);
    let (wide, tall) = if lying {
        (up - down, right - left)
    } else {
        (right - left, up - down)
    };
    let count = sheet.shapes.len();
    let across = if lying { 1 } else { count };
    let (cell_x, cell_y) = (1.15 * wide, if lying { 2.2 * tall } else { 1.5 * tall });
    let mut marks = Vec::new();
    for (k, shape) in sheet.shapes.iter().enumerate() {
        let (column, line) = (k % across, k / across);
        let middle = [cell_x * (column as f64 + 0.5), -cell_y * (line as f64 + 0.5)];
        for outline in &shape.outlines {
            let place = |p: &[f64; 2]| {
                if lying {
                    [1e3 * (middle[0] + p[1]), 1e3 * (middle[1] + p[0])]
                } else {
                    [1e3 * (middle[0] + p[0]), 1e3 * (middle[1] + p[1])]
                }
            };
            marks.push(Mark::Path(Look::Measured, outline.iter().map(place).collect()));
        }
        let left = 1e3 * (middle[0] - 0.49 * cell_x);
        let top = 1e3 * (middle[1] + 0.44 * cell_y);
        if lying {
            marks.push(Mark::Word(
                [left, top],
                format!("{}, {}", said(shape.time), shape.label),
            ));
        } else {
            marks.push(Mark::Word([left, top], said(shape.time)));
            marks.push(Mark::Word([left, top - 0.09e3 * cell_y], shape.label.clone()));
        }
    }
    let lines = count.div_ceil(across) as f64;
    let (width_mm, height_mm) = (1e3 * cell_x * across as f64, 1e3 * cell_y * lines);
    let plot = WIDTH - 96.0;
    let height = (plot * height_mm / width_mm).min(420.0);
    // Equal scales: a picture that would be too high is padded at its sides.
    let padded = height_mm * plot / height;
    let pad = (padded - width_mm) / 2.0;
    let panel = Panel {
        name: String::new(),
        height,
        x: even("mm", -pad, width_mm + pad),
        y: even("mm", -height_mm, 0.0),
        marks,
        x_written: true,
        y_ticks: 5,
    };
    Some(draw(&Chart {
        name: "shapes".into(),
        title: "Shapes at telling instants".into(),
        caption: if lying {
            "Cuts through the axis, which lies to the right; equal scales.".into()
        } else {
            "Cuts through the axis, which stands upright; equal scales.".into()
        },
        description: sheet
            .shapes
            .iter()
            .map(|shape| format!("{} at {}", shape.label, said(shape.time)))
            .collect::<Vec<_>>()
            .join("; "),
        width: WIDTH,
        panels: vec![panel],
        legend: Vec::new(),
    }))
}

fn waves(map: &WaveMap) -> Option<Drawing> {
    let end = *map.times.last()?;
    let step = (map.times.len().saturating_sub(1) / (LINES - 1)).max(1);
    let high = map
        .heights
        .iter()
        .flatten()
        .fold(0.0_f64, |most, h| most.max(h.abs()));
    if high <= 0.0 {
        return None;
    }
    // The largest wave takes three and a half of the distances between lines.
    let scale = 3.5 * end / (LINES - 1) as f64 / high;
    let line = |k: usize| {
        let points = map
            .angles
            .iter()
            .zip(&map.heights[k])
            .map(|(angle, h)| [angle.to_degrees(), map.times[k] - scale * h]);
        Mark::Path(Look::Measured, points.collect())
    };
    let marks = (0..map.times.len()).step_by(step).map(line).collect();
    let panel = Panel {
        name: String::new(),
        height: 420.0,
        x: even("angle from the struck pole / degrees", 0.0, 180.0),
        y: even("time / s", 1.04 * end, -0.09 * end),
        marks,
        x_written: true,
        y_ticks: 7,
    };
    Some(draw(&Chart {
        name: "waves".into(),
        title: "Waves on the surface".into(),
        caption: format!(
            "One line for each instant, time downwards; a line that rises is a surface that stands out. The highest wave is {} mm.",
            fixed(1e3 * high, 2)
        ),
        description: "Height of the surface against the angle from the struck pole, at successive instants."
            .into(),
        width: WIDTH,
        panels: vec![panel],
        legend: Vec::new(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_few_digits() {
        assert_eq!(
            [0.0123, 1.5, 12.34, 361.2].map(said),
            ["0.012 s", "1.50 s", "12.3 s", "361 s"]
        );
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        assert!(strip(&[]).is_none() && courses(&[]).is_none());
        let flat = WaveMap {
            times: vec![0.0, 1.0],
            angles: vec![0.0, 3.0],
            heights: vec![vec![0.0; 2]; 2],
        };
        assert!(waves(&flat).is_none());
    }

    #[test]
    fn a_wave_that_stands_out_is_drawn_upwards() {
        let map = WaveMap {
            times: vec![0.0, 1.0],
            angles: vec![0.0, 1.5, 3.0],
            heights: vec![vec![0.0, 2e-3, 0.0], vec![0.0; 3]],
        };
        let drawn = waves(&map).expect("a figure");
        assert!(
            drawn.caption.contains("2.00 mm") && drawn.content.contains("path"),
            "{}",
            drawn.caption
        );
    }
}
