//! Sections about results: findings, cautions, modes, correlations, events, comparison with the truth.

use tremolet_record::findings::{Caution, Estimate, Event, Findings, Mode, Note, Quantity};

use crate::document::section::{Section, figures, paragraph, prose, table};
use crate::document::sentence::about;
use crate::figure::chart::Drawing;
use crate::input::{ReportInput, TruthRow};
use crate::number::{fixed, shown};
use crate::text::{escape, words};

/// Quantities that belong to the liquid and need something that rings.
const PROPERTIES: &[&str] = &[
    "surface_tension",
    "kinematic_viscosity",
    "dynamic_viscosity",
    "effective_damping",
];

/// Cautions whose code starts with this are about people, not about numbers.
pub const CARE: &str = "care";

/// What was found, as large numbers and as sentences.
pub fn found(input: &ReportInput) -> Section {
    let findings = input.findings;
    let several = input.several_bodies();
    let mut html = nothing(findings);
    for estimate in in_order(&findings.estimates) {
        let number = shown(
            estimate.value,
            Some(estimate.standard_uncertainty),
            &estimate.unit,
        )
        .text();
        let whose = if several {
            format!(", body {}", estimate.body)
        } else {
            String::new()
        };
        let by = if estimate.method.as_deref() == Some("fit") {
            ", by the simulation"
        } else {
            ""
        };
        html.push_str(&format!(
            "<div class=\"finding\">\n<h3>{}{whose}{by}</h3>\n<p class=\"number\">{}</p>\n<p>{}</p>\n</div>\n",
            escape(&words(&estimate.quantity)),
            escape(&number),
            prose(&about(estimate, several))
        ));
    }
    if !findings.estimates.is_empty() {
        html.push_str("<p class=\"note\">After ± stands the standard uncertainty (k = 1), to two significant digits.</p>\n");
    }
    Section::new("found", "What was found", html)
}

/// Properties of the liquid first, else as recorded.
pub fn in_order(estimates: &[Estimate]) -> Vec<&Estimate> {
    let mut all: Vec<&Estimate> = estimates.iter().collect();
    let rank = |e: &&Estimate| PROPERTIES.iter().position(|p| *p == e.quantity);
    all.sort_by_key(|e| rank(e).unwrap_or(PROPERTIES.len()));
    all
}

fn nothing(findings: &Findings) -> String {
    let property = findings
        .estimates
        .iter()
        .any(|e| PROPERTIES.contains(&e.quantity.as_str()));
    let text = match (findings.modes.is_empty(), property) {
        (_, true) => "",
        (true, false) => {
            "No mode was found: nothing in this clip rings in a way that can be told from noise. So neither surface \
             tension nor viscosity is given."
        }
        (false, false) => "Modes were found, but no surface tension and no viscosity is given.",
    };
    if text.is_empty() {
        return String::new();
    }
    let why = if findings.cautions.is_empty() {
        ""
    } else {
        " The cautions below say why."
    };
    format!("<p class=\"plainly\">{text}{why}</p>\n")
}

/// Cautions about numbers.
pub fn cautions(findings: &Findings) -> Section {
    let lines: String = findings
        .cautions
        .iter()
        .filter(|c| !c.code.starts_with(CARE))
        .map(caution)
        .collect();
    let html = if lines.is_empty() {
        lines
    } else {
        format!("<ul class=\"cautions\">\n{lines}</ul>\n")
    };
    Section::new("cautions", "What could not be known, and cautions", html)
}

/// What a person drew, decided or checked.
pub fn by_hand(findings: &Findings) -> Section {
    let line = |note: &Note| {
        let frames = note.frames.map_or_else(String::new, of_frames);
        format!("<li>{}{frames}</li>\n", prose(&note.text))
    };
    let lines: String = findings.notes.iter().map(line).collect();
    let html = if lines.is_empty() {
        lines
    } else {
        format!("<ul class=\"hand\">\n{lines}</ul>\n")
    };
    Section::new("hand", "Drawn, decided and checked by hand", html)
}

/// Cautions about people.
pub fn care(findings: &Findings) -> Section {
    let texts: Vec<&Caution> = findings
        .cautions
        .iter()
        .filter(|c| c.code.starts_with(CARE))
        .collect();
    let html = texts.iter().map(|c| paragraph(&c.text)).collect();
    Section::new("care", "Care", html)
}

fn of_frames([from, to]: [u64; 2]) -> String {
    if from == to {
        format!(", frame {from}")
    } else {
        format!(", frames {from} to {to}")
    }
}

fn caution(caution: &Caution) -> String {
    let frames = caution.frames.map_or_else(String::new, of_frames);
    format!(
        "<li><p>{}</p><p class=\"code\">{}{frames}</p></li>\n",
        prose(&caution.text),
        escape(&caution.code)
    )
}

fn quantity(quantity: &Quantity) -> String {
    let u = quantity.standard_uncertainty;
    let number = shown(quantity.value, u, "1");
    escape(&number.text())
}

/// The modes that were found.
pub fn modes(input: &ReportInput) -> Section {
    let modes = &input.findings.modes;
    let several = input.several_bodies();
    let mut heads = vec![
        "#degree",
        "#frequency / Hz",
        "#decay rate / (1/s)",
        "#amplitude / % of R",
        "#quality",
        "#cycles seen",
    ];
    let with_order = modes.iter().any(|m| m.order.is_some());
    if with_order {
        heads.insert(1, "#order");
    }
    if several {
        heads.insert(1, "#body");
    }
    let lines: Vec<Vec<String>> = modes
        .iter()
        .map(|mode| mode_line(mode, several, with_order))
        .collect();
    let html = if lines.is_empty() {
        String::new()
    } else {
        table(
            "Modes that were found, with standard uncertainties",
            &heads,
            &lines,
        ) + "<p class=\"note\">The amplitude is that at the start of the fit; the amplitude falls to 1/e of it in \
               one over the decay rate. Quality is half the angular frequency over the decay rate.</p>\n"
    };
    Section::new("modes", "Modes", html)
}

fn mode_line(mode: &Mode, several: bool, with_order: bool) -> Vec<String> {
    let amplitude = Quantity {
        value: 100.0 * mode.amplitude.value,
        unit: "%".to_owned(),
        standard_uncertainty: mode.amplitude.standard_uncertainty.map(|u| 100.0 * u),
    };
    let plain = |x: Option<f64>| x.map_or_else(|| "–".to_owned(), |x| fixed(x, 1));
    let mut line = vec![
        mode.degree.to_string(),
        quantity(&mode.frequency),
        quantity(&mode.decay_rate),
        quantity(&amplitude),
        plain(mode.quality),
        plain(mode.cycles),
    ];
    if with_order {
        line.insert(
            1,
            mode.order
                .map_or_else(|| "–".to_owned(), |m| fixed(f64::from(m), 0)),
        );
    }
    if several {
        line.insert(1, mode.body.to_string());
    }
    line
}

/// Correlations of the estimates.
pub fn correlations(findings: &Findings) -> Section {
    let lines: Vec<Vec<String>> = findings
        .correlations
        .iter()
        .map(|c| {
            let name = |i: usize| escape(&words(&c.between[i]));
            vec![name(0), name(1), fixed(c.value, 2)]
        })
        .collect();
    let html = if lines.is_empty() {
        String::new()
    } else {
        table(
            "Correlation coefficients of what was found",
            &["one", "other", "#correlation"],
            &lines,
        ) + "<p class=\"note\">Two numbers that share inputs, such as the scale, err together. Whoever computes with \
               both needs this.</p>\n"
    };
    Section::new("correlations", "Correlations", html)
}

/// What happened when.
pub fn events(findings: &Findings) -> Section {
    let lines: Vec<Vec<String>> = findings.events.iter().map(event_line).collect();
    let html = if lines.is_empty() {
        String::new()
    } else {
        table(
            "Events of the clip",
            &["event", "#time / s", "#frames", "found by"],
            &lines,
        )
    };
    Section::new("events", "Events", html)
}

fn event_line(event: &Event) -> Vec<String> {
    let [from, to] = event.frames;
    vec![
        escape(&words(&event.name)),
        quantity(&event.time),
        if from == to {
            from.to_string()
        } else {
            format!("{from} to {to}")
        },
        escape(&event.found_by),
    ]
}

/// Found beside true.
pub fn truth(rows: &[TruthRow], drawing: Option<&Drawing>) -> Section {
    if rows.is_empty() {
        return Section::new("truth", "Compared with the truth", String::new());
    }
    let lines: Vec<Vec<String>> = rows.iter().map(truth_line).collect();
    let heads = ["quantity", "#true", "#found", "#deviation"];
    let html = paragraph(
        "The clip was painted, so the true values are known. The measurement did not see them; they are laid beside \
         what was found only here.",
    ) + &table(
        "Found beside true, deviation in standard uncertainties",
        &heads,
        &lines,
    ) + &drawing.map_or_else(String::new, |d| figures(std::slice::from_ref(d)));
    Section::new("truth", "Compared with the truth", html)
}

fn truth_line(row: &TruthRow) -> Vec<String> {
    let places = |x: f64| shown(x, row.u.map(|u| u / 10.0), &row.unit).value_text();
    vec![
        escape(&words(&row.quantity)),
        escape(&places(row.truth)),
        row.found.map_or_else(
            || "not found".to_owned(),
            |found| escape(&shown(found, row.u, &row.unit).text()),
        ),
        row.deviation.map_or_else(|| "–".to_owned(), |d| fixed(d, 1)),
    ]
}
