//! The acceleration of a body over time beside what an accelerometer logged; the directions share one time axis.

use crate::figure::chart::{Axis, COVERAGE, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::extent;
use crate::input::LoggedCourse;
use crate::number::{Handy, labelled, shown};
use crate::plot::amplitude::WIDTH;

/// The drawing of all directions; `None` without a value.
pub fn logged(courses: &[LoggedCourse], several: bool) -> Option<Drawing> {
    let whole = |course: &LoggedCourse| {
        course
            .seen
            .iter()
            .chain(&course.logged)
            .copied()
            .collect::<Vec<f64>>()
    };
    let (low, high) = extent(courses.iter().flat_map(whole))?;
    let handy = Handy::of("m/s^2", low.abs().max(high.abs()));
    let times: Vec<f64> = courses.iter().flat_map(|c| c.time.iter().copied()).collect();
    let mut panels: Vec<Panel> = courses
        .iter()
        .map(|course| panel(course, &times, &handy))
        .collect();
    panels.last_mut()?.x_written = true;
    let whose = if several {
        format!(" of body {}", courses.first()?.body)
    } else {
        String::new()
    };
    Some(draw(&Chart {
        name: "acceleration-beside-log".to_owned(),
        title: format!("Acceleration{whose} as seen and as logged"),
        caption: format!(
            "Acceleration{whose} against the camera, from the path of its centre and from the accelerometer, whose reading is turned into that of a \
             free body and laid on the clock of the clip. Both go through the same window, so that they can be laid one on the other; where \
             they part, one of them saw what the other did not: a draught, a touch, a camera that moves, an accelerometer far away."
        ),
        description: courses.iter().map(described).collect::<Vec<_>>().join(" "),
        width: WIDTH,
        panels,
        legend: vec![
            (Sample::Line(Look::Reference), "logged".to_owned()),
            (Sample::Dot(Look::Measured), "seen in the clip".to_owned()),
            (Sample::Band(Look::Measured), "95 % of each value seen".to_owned()),
        ],
    }))
}

fn panel(course: &LoggedCourse, times: &[f64], handy: &Handy) -> Panel {
    let pairs = |values: &[f64]| -> Vec<[f64; 2]> {
        let values = course.time.iter().zip(values);
        values.map(|(t, a)| [*t, handy.value(*a)]).collect()
    };
    let (seen, logged) = (pairs(&course.seen), pairs(&course.logged));
    let half: Vec<f64> = course.u.iter().map(|u| COVERAGE * handy.difference(*u)).collect();
    let band: Vec<[f64; 3]> = seen
        .iter()
        .zip(&half)
        .map(|([t, a], h)| [*t, a - h, a + h])
        .collect();
    let ends = band
        .iter()
        .flat_map(|b| [b[1], b[2]])
        .chain(logged.iter().map(|p| p[1]));
    let ends: Vec<f64> = ends.collect();
    let mut name = course.way.clone();
    if let Some(first) = name.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    Panel {
        name,
        height: 130.0,
        x: Axis::over("time / s", times.iter().copied()),
        y: Axis::around(labelled("acceleration", &handy.sign()), ends),
        marks: vec![
            Mark::Band(Look::Measured, band),
            Mark::Line(Look::Reference, logged),
            Mark::Points(Look::Measured, seen, Vec::new()),
        ],
        x_written: false,
        y_ticks: 5,
    }
}

fn described(course: &LoggedCourse) -> String {
    let apart = course.seen.iter().zip(&course.logged).map(|(a, b)| (a - b).abs());
    let most = apart.fold(0.0, f64::max);
    let text = |x: f64| shown(x, None, "m/s^2").text();
    let ends = |values: &[f64]| {
        extent(values.iter().copied()).map_or_else(String::new, |(low, high)| {
            format!("from {} to {}", text(low), text(high))
        })
    };
    format!(
        "{}, the acceleration seen runs {}, the one logged {}; they are at most {} apart.",
        course.way,
        ends(&course.seen),
        ends(&course.logged),
        text(most)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_directions_are_drawn_over_one_time() {
        let course = |way: &str, sign: f64| LoggedCourse {
            body: 1,
            way: way.into(),
            time: (0..50).map(|k| 0.1 * f64::from(k)).collect(),
            seen: (0..50).map(|k| sign * 0.01 * f64::from(k).sin()).collect(),
            u: vec![1e-3; 50],
            logged: (0..50).map(|k| sign * 0.01 * f64::from(k).sin() + 2e-3).collect(),
        };
        let drawing = logged(&[course("rightwards", 1.0), course("downwards", -1.0)], false).expect("drawn");
        assert!(drawing.content.contains("Rightwards") && drawing.content.contains("Downwards"));
        assert!(drawing.content.contains("mm/s²") && drawing.content.contains("logged"));
        assert!(
            drawing
                .description
                .replace('\u{a0}', " ")
                .contains("at most 2 mm/s² apart"),
            "{}",
            drawing.description
        );
        assert!(logged(&[], false).is_none());
    }
}
