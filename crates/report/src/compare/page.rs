//! The page of a comparison: what was found, in pictures, on one scale, every value, cautions.
//!
//! No script, no network; its content policy says so to the browser.

use tremolet_record::comparison::Comparison;

use crate::compare::found;
use crate::compare::scaling::{self, Course};
use crate::compare::values::values;
use crate::document::page::FigureFile;
use crate::document::section::{Section, figures, paragraph, prose};
use crate::document::style::style;
use crate::figure::chart::Drawing;
use crate::figure::draw::alone;
use crate::text::{escape, listed};

const OWN: &str = "\
.in>h3+.wide{margin-top:.4rem}
.finding .wide{margin-top:.6rem}
.finding+.finding{margin-top:1.5rem}
";

/// A page with its figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// One self-contained HTML file.
    pub html: String,
    /// The figures, each a file of its own.
    pub figures: Vec<FigureFile>,
}

/// Makes the page.
pub fn render(comparison: &Comparison, courses: &[Course]) -> Page {
    let beside: Vec<Drawing> = comparison.quantities.iter().filter_map(values).collect();
    let scales = scaling::figures(comparison, courses);
    let sections = sections(comparison, &beside, &scales);
    let kept: Vec<&Section> = sections
        .iter()
        .filter(|section| !section.content.is_empty())
        .collect();
    let body: String = kept.iter().map(|section| section.html()).collect();
    let links: String = kept
        .iter()
        .map(|s| format!("<li><a href=\"#{}\">{}</a></li>\n", s.id, escape(&s.heading)))
        .collect();
    let html = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\n<title>{0}</title>\n<style>\n{1}{OWN}</style>\n</head>\n\
         <body>\n<header>\n<h1>{0}</h1>\n<p class=\"summary\">{2}</p>\n<nav aria-label=\"Parts of this page\">\n<ul>\n{links}</ul>\n</nav>\n</header>\n<main>\n{body}</main>\n</body>\n</html>\n",
        escape(&title(comparison)),
        style(),
        prose(&summary(comparison))
    );
    let figures = beside.iter().chain(&scales).map(|drawing| FigureFile {
        name: format!("{}.svg", drawing.name),
        svg: alone(drawing),
    });
    Page {
        html,
        figures: figures.collect(),
    }
}

fn title(comparison: &Comparison) -> String {
    format!("{} runs beside each other", comparison.runs.len())
}

fn summary(comparison: &Comparison) -> String {
    let distinct = |of: &dyn Fn(&tremolet_record::comparison::RunRow) -> Option<String>| {
        let mut all: Vec<String> = comparison.runs.iter().filter_map(of).collect();
        all.sort();
        all.dedup();
        all
    };
    let liquids = distinct(&|run| run.liquid.clone());
    let calibrations = distinct(&|run| run.calibration.clone());
    let mut text = if liquids.is_empty() {
        "No liquid is stated.".to_owned()
    } else {
        format!("Of {}.", listed(&liquids))
    };
    text += &match calibrations.len() {
        0 => " No run names a calibration that it shares.".to_owned(),
        _ => format!(" Calibrations: {}.", listed(&calibrations)),
    };
    text
}

fn sections(comparison: &Comparison, beside: &[Drawing], scales: &[Drawing]) -> Vec<Section> {
    let means: String = comparison.quantities.iter().map(found::mean).collect();
    let tables: String = comparison.quantities.iter().map(found::all_values).collect();
    let cautions: String = comparison
        .cautions
        .iter()
        .map(|c| {
            format!(
                "<li><p>{}</p><p class=\"code\">{}</p></li>\n",
                prose(&c.text),
                escape(&c.code)
            )
        })
        .collect();
    let cautions = if cautions.is_empty() {
        String::new()
    } else {
        format!("<ul class=\"cautions\">\n{cautions}</ul>\n")
    };
    let how = paragraph(
        "A mean weighs the values by generalised least squares. Inputs with one name (a calibration, a batch of liquid, a formula) are one error \
         in all runs that have them, and averaging does not lower it. What runs differ by beyond their budgets is found after Paule and Mandel, \
         its interval from the profile of the weighted sum of squares; it is in the uncertainty of the mean. A run is said to disagree when it lies \
         farther from the mean of the others than one family of runs in twenty would have by chance; no run is left out of a mean.",
    );
    vec![
        Section::new("found", "Found", means),
        Section::new("cautions", "Cautions", cautions),
        Section::new("beside", "Beside each other", figures(beside)),
        Section::new(
            "scaling",
            "On the scale of theory",
            format!("{}{}", figures(scales), found::scaling(comparison)),
        ),
        Section::new("runs", "The runs", found::runs(comparison)),
        Section::new("values", "Every value", tables),
        Section::new("how", "How it was found", how),
    ]
}

#[cfg(test)]
mod tests;
