//! Spectra before and after the fit, on powers of ten upwards, with the frequencies that were found marked.

use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::figure::scale::{Run, extent};
use crate::input::Spectrum;
use crate::number::{labelled, shown, signs};
use crate::plot::amplitude::WIDTH;
use crate::text::{listed, subscript};

const TOGETHER: usize = 4;

/// Decades below the highest power beyond which nothing is shown.
const DEEPEST: f64 = 1e-10;

/// One drawing for every four degrees of each body, in the order given.
pub fn spectra(all: &[Spectrum], several: bool) -> Vec<Drawing> {
    all.chunk_by(|a, b| a.body == b.body)
        .flat_map(|of_body| of_body.chunks(TOGETHER))
        .filter_map(|some| one(some, several))
        .collect()
}

fn one(some: &[Spectrum], several: bool) -> Option<Drawing> {
    let first = some.first()?;
    let range = Axis::over(
        "frequency / Hz",
        some.iter().flat_map(|s| s.frequency.iter().copied()),
    );
    let mut panels: Vec<Panel> = some.iter().filter_map(|s| panel(s, &range)).collect();
    panels.last_mut()?.x_written = true;
    let degrees: Vec<String> = some.iter().map(|s| s.degree.to_string()).collect();
    let whose = if several {
        format!(" of body {}", first.body)
    } else {
        String::new()
    };
    let rest = some.iter().any(|s| !s.residual_power.is_empty());
    let mut legend = vec![(Sample::Line(Look::Measured), "measured".to_owned())];
    if rest {
        legend.push((
            Sample::Line(Look::Residual),
            "after the fit is taken away".to_owned(),
        ));
    }
    if some.iter().any(|s| !s.marks.is_empty()) {
        legend.push((Sample::Line(Look::Reference), "frequency found".to_owned()));
    }
    Some(draw(&Chart {
        name: format!("spectra-body-{}-degree-{}", first.body, degrees.join("-")),
        title: format!("Spectra of degree {}{whose}", listed(&degrees)),
        caption: caption(&whose, rest),
        description: some.iter().map(described).collect::<Vec<_>>().join(" "),
        width: WIDTH,
        panels,
        legend,
    }))
}

fn caption(whose: &str, rest: bool) -> String {
    let start = format!(
        "How strongly each frequency is present in the amplitudes{whose}; every step upwards on the grid is a factor."
    );
    if rest {
        start + " A peak that stays in the dashed curve is something that the fit does not explain."
    } else {
        start
    }
}

fn panel(spectrum: &Spectrum, range: &Axis) -> Option<Panel> {
    let line = |power: &[f64]| -> Vec<[f64; 2]> {
        spectrum
            .frequency
            .iter()
            .zip(power)
            .map(|(f, p)| [*f, *p])
            .collect()
    };
    let positive = |power: &[f64]| extent(power.iter().copied().filter(|p| *p > 0.0));
    let (low, high) = positive(&spectrum.power)?;
    let (low, high) = match positive(&spectrum.residual_power) {
        Some((l, h)) => (low.min(l), high.max(h)),
        None => (low, high),
    };
    let unit = signs(&spectrum.power_unit);
    let label = format!("power of a{}", subscript(spectrum.degree));
    let mut marks: Vec<Mark> = spectrum
        .marks
        .iter()
        .map(|(f, label)| Mark::Upright(Look::Reference, *f, label.clone()))
        .collect();
    marks.push(Mark::Line(Look::Residual, line(&spectrum.residual_power)));
    marks.push(Mark::Line(Look::Measured, line(&spectrum.power)));
    Some(Panel {
        name: format!("Degree {}", spectrum.degree),
        height: 128.0,
        x: range.clone(),
        y: Axis {
            label: labelled(&label, &unit),
            low: 0.5 * low.max(high * DEEPEST),
            high: 3.0 * high,
            run: Run::Decades,
        },
        marks,
        x_written: false,
        y_ticks: 6,
    })
}

fn described(spectrum: &Spectrum) -> String {
    let strongest = spectrum
        .frequency
        .iter()
        .zip(&spectrum.power)
        .max_by(|a, b| a.1.total_cmp(b.1));
    let Some((frequency, _)) = strongest else {
        return format!("Degree {}: no spectrum.", spectrum.degree);
    };
    let marks: Vec<String> = spectrum
        .marks
        .iter()
        .map(|(f, label)| format!("{label} at {}", shown(*f, None, "Hz").text()))
        .collect();
    let marked = if marks.is_empty() {
        "nothing marked".to_owned()
    } else {
        format!("marked: {}", listed(&marks))
    };
    format!(
        "Degree {}: strongest at {}; {marked}.",
        spectrum.degree,
        shown(*frequency, None, "Hz").text()
    )
}
