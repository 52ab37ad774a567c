//! The section on the fitted simulation: how much it explains, its values beside those of free decay, figures, the impulse.

use crate::document::section::{Section, figures, paragraph, table};
use crate::figure::chart::Drawing;
use crate::input::ReportInput;
use crate::input::fitted::{Beside, FittedBody, Impulse};
use crate::number::{fixed, shown};
use crate::text::{escape, words};

/// Less than so many standard uncertainties is nothing: of some seven degrees one would exceed two by chance.
const TOLD: f64 = 3.0;

/// Clip and simulation; empty without a fit.
pub fn simulation(input: &ReportInput, drawings: &[Drawing]) -> Section {
    let several = input.several_bodies();
    let mut html: String = input.fitted.iter().map(|body| of_body(body, several)).collect();
    html.push_str(&figures(drawings));
    Section::new("simulation", "The simulation beside the clip", html)
}

fn of_body(body: &FittedBody, several: bool) -> String {
    let whose = if several {
        format!(" of body {}", body.body)
    } else {
        String::new()
    };
    let explained = fixed(100.0 * body.explained, 3);
    let text = format!(
        "The motion{whose} was simulated over {} frames, its surface tension, viscosity, start and axis adjusted until its silhouettes met the measured \
         outlines. The motion explains {explained} % of how far the outlines depart from circles; what is left varies {} times as much as the outlines' own uncertainty \
         leads one to expect.",
        body.frames,
        fixed(body.excess, 2)
    );
    let mut html = paragraph(&text);
    if !body.beside.is_empty() {
        let heads = ["quantity", "#simulation", "#free decay", "#apart", "#expected"];
        let lines: Vec<Vec<String>> = body.beside.iter().map(line).collect();
        html += &table(
            "By the simulation and by free decay, with standard uncertainties",
            &heads,
            &lines,
        );
        html += "<p class=\"note\">Apart: simulation less free decay, over the standard uncertainty of what they do not share. Free decay takes swings for small; at large \
                 swings the simulation is the one to believe.</p>\n";
    }
    html + &impulses(&body.impulses)
}

fn line(beside: &Beside) -> Vec<String> {
    let said = |value: f64, u: Option<f64>| escape(&shown(value, u, &beside.unit).text());
    let none = || "–".to_owned();
    vec![
        escape(&words(&beside.quantity)),
        said(beside.fitted[0], Some(beside.fitted[1])),
        beside.free.map_or_else(none, |[value, u]| said(value, Some(u))),
        beside.apart.map_or_else(none, |apart| fixed(apart, 1)),
        beside.reference.map_or_else(none, |(value, u)| said(value, u)),
    ]
}

fn impulses(all: &[Impulse]) -> String {
    // The two highest degrees also take up what lies beyond them.
    let told = all.iter().take(all.len().saturating_sub(2));
    let told: Vec<&Impulse> = told.filter(|p| p.value.abs() > TOLD * p.u).collect();
    if all.is_empty() {
        return String::new();
    }
    if told.is_empty() {
        return paragraph(
            "At the first frame the drop was at rest as far as the clip can tell: no impulse is needed to explain its motion.",
        );
    }
    let heads = ["#degree", "#pressure impulse / (Pa s)"];
    let lines: Vec<Vec<String>> = told
        .iter()
        .map(|p| {
            vec![
                p.degree.to_string(),
                escape(&shown(p.value, Some(p.u), "1").text()),
            ]
        })
        .collect();
    paragraph(
        "At the first frame the drop was moving. These pressures over its surface, for a moment, would set it going so from rest (positive presses inwards at the ends \
         of the axis); they are true to first order in how far it departs from a sphere.",
    ) + &table("Impulse at the first frame", &heads, &lines)
}
