//! The whole page: order of the sections, head, links, and the figures as files of their own.
//!
//! The page needs no other file, no network and no script; its content policy says so to the browser. Sections without
//! content are left out, and so are their links.

use crate::document::section::{Section, figure, figures, list, picture, prose, rows};
use crate::document::style::style;
use crate::document::{facts, results, simulation};
use crate::figure::chart::Drawing;
use crate::figure::draw::alone;
use crate::input::ReportInput;
use crate::plot::amplitude::amplitudes;
use crate::plot::budget::budget;
use crate::plot::deviation::deviations;
use crate::plot::drift::drift;
use crate::plot::fitted;
use crate::plot::logged::logged;
use crate::plot::path::path;
use crate::plot::spectrum::spectra;
use crate::text::escape;

/// A figure as a file of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FigureFile {
    /// Name inside the folder of figures, with its ending.
    pub name: String,
    /// The SVG text.
    pub svg: String,
}

/// A finished report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// The page, for `report.html`.
    pub html: String,
    /// The figures, for the folder `figures`.
    pub figures: Vec<FigureFile>,
}

/// All drawings of a report.
struct Drawings {
    amplitudes: Vec<Drawing>,
    spectra: Vec<Drawing>,
    drifts: Vec<Drawing>,
    paths: Vec<Drawing>,
    logged: Option<Drawing>,
    fitted: Vec<Drawing>,
    budgets: Vec<Drawing>,
    deviations: Option<Drawing>,
}

impl Drawings {
    fn of(input: &ReportInput) -> Self {
        let several = input.several_bodies();
        let estimates = input.findings.estimates.iter().enumerate();
        Self {
            amplitudes: amplitudes(&input.amplitudes, several),
            spectra: spectra(&input.spectra, several),
            drifts: input.drifts.iter().filter_map(|d| drift(d, several)).collect(),
            paths: input.paths.iter().filter_map(|p| path(p, several)).collect(),
            logged: logged(&input.logged, several),
            fitted: input
                .fitted
                .iter()
                .flat_map(|body| [fitted::instants(body, several), fitted::left(body, several)])
                .flatten()
                .collect(),
            budgets: estimates.filter_map(|(i, e)| budget(e, i, several)).collect(),
            deviations: deviations(&input.truth),
        }
    }

    fn into_all(self) -> impl Iterator<Item = Drawing> {
        let lists = [
            self.amplitudes,
            self.spectra,
            self.drifts,
            self.paths,
            self.fitted,
            self.budgets,
        ];
        lists
            .into_iter()
            .flatten()
            .chain(self.logged)
            .chain(self.deviations)
    }
}

/// Makes the report.
///
/// ```
/// use tremolet_record::findings::{ClipSummary, Findings, Quantity};
/// use tremolet_report::{document::page::render, input::ReportInput};
/// let duration = Quantity { value: 2.2, unit: "s".into(), standard_uncertainty: None };
/// let findings = Findings::of_clip(ClipSummary { frames: 1056, duration, sha256: None });
/// let report = render(&ReportInput::of("A still drop", &findings));
/// assert!(report.html.contains("<h1>A still drop</h1>") && report.figures.is_empty());
/// ```
pub fn render(input: &ReportInput) -> Report {
    let drawings = Drawings::of(input);
    let sections = sections(input, &drawings);
    let sections: Vec<Section> = sections.into_iter().filter(|s| !s.content.is_empty()).collect();
    // Drawings are long: each gives way to its file, and each section to the page.
    let figures = drawings.into_all().map(|drawing| FigureFile {
        name: format!("{}.svg", drawing.name),
        svg: alone(&drawing),
    });
    let figures = figures.collect();
    Report {
        html: page(input, sections),
        figures,
    }
}

fn sections(input: &ReportInput, drawings: &Drawings) -> Vec<Section> {
    let findings = input.findings;
    let pictures: String = input.pictures.iter().map(picture).collect();
    let pictures = if pictures.is_empty() {
        pictures
    } else {
        format!("<div class=\"pictures\">\n{pictures}</div>\n")
    };
    vec![
        results::found(input),
        results::cautions(findings),
        results::by_hand(findings),
        Section::new("experiment", "The experiment", rows(&input.experiment)),
        Section::new("pictures", "Telling instants", pictures),
        results::events(findings),
        Section::new("amplitudes", "Shape over time", figures(&drawings.amplitudes)),
        simulation::simulation(input, &drawings.fitted),
        Section::new("spectra", "Spectra", figures(&drawings.spectra)),
        results::modes(input),
        Section::new(
            "constancy",
            "What should stay constant",
            figures(&drawings.drifts),
        ),
        Section::new("centre", "Path of the centre", figures(&drawings.paths)),
        Section::new(
            "log",
            "Beside the accelerometer",
            drawings.logged.iter().map(figure).collect(),
        ),
        Section::new(
            "budgets",
            "Where the uncertainty comes from",
            figures(&drawings.budgets),
        ),
        results::correlations(findings),
        results::truth(&input.truth, drawings.deviations.as_ref()),
        facts::methods(&input.methods),
        Section::new(
            "assumptions",
            "What was taken for granted",
            list(&input.assumptions),
        ),
        facts::files(&input.files),
        Section::new("provenance", "Provenance", rows(&input.provenance)),
        results::care(findings),
    ]
}

fn page(input: &ReportInput, sections: Vec<Section>) -> String {
    let title = escape(&input.title);
    let summary = if input.summary.is_empty() {
        String::new()
    } else {
        format!("<p class=\"summary\">{}</p>\n", prose(&input.summary))
    };
    let notice = input.notice.as_ref().map_or_else(String::new, |text| {
        format!("<p class=\"notice\">{}</p>\n", escape(text))
    });
    let long: usize = sections.iter().map(|s| s.content.len()).sum();
    let mut html = String::with_capacity(long + (1 << 16));
    html.push_str(&format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\n<title>{title}</title>\n\
         <style>\n{}</style>\n</head>\n<body>\n<header>\n{notice}<h1>{title}</h1>\n{summary}{}</header>\n<main>\n",
        style(),
        links(&sections)
    ));
    for section in sections {
        html.push_str(&section.html());
    }
    html.push_str("</main>\n</body>\n</html>\n");
    html
}

fn links(sections: &[Section]) -> String {
    let items: String = sections
        .iter()
        .map(|s| format!("<li><a href=\"#{}\">{}</a></li>\n", s.id, escape(&s.heading)))
        .collect();
    format!("<nav aria-label=\"Parts of this report\">\n<ul>\n{items}</ul>\n</nav>\n")
}

#[cfg(test)]
mod tests;
