use tremolet_record::findings::{
    BudgetLine, Caution, ClipSummary, Estimate, Findings, Mode, Quantity, Reference,
};

use crate::document::page::render;
use crate::input::{
    AmplitudeSeries, CentrePath, Drift, FileRow, Method, Picture, ReportInput, Row, Spectrum, Symbol,
    TruthRow,
};

fn quantity(value: f64, u: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: unit.into(),
        standard_uncertainty: Some(u),
    }
}

fn findings() -> Findings {
    let mut findings = Findings::of_clip(ClipSummary {
        frames: 100,
        duration: quantity(1.0, 0.001, "s"),
        sha256: None,
    });
    findings.estimates.push(Estimate {
        quantity: "surface_tension".into(),
        body: 1,
        value: 0.0687,
        unit: "N/m".into(),
        standard_uncertainty: 0.0006,
        degrees_of_freedom: Some(40.0),
        interval_95: [0.0675, 0.0699],
        coverage: None,
        route: "modes 2-4, volume from outline".into(),
        method: None,
        reference: Some(Reference {
            value: 0.069,
            standard_uncertainty: Some(0.0003),
            source: "handbook".into(),
        }),
        normalised_deviation: Some(-0.4),
        budget: vec![BudgetLine {
            input: "scale".into(),
            standard_uncertainty: 0.0003,
            unit: "mm/px".into(),
            sensitivity: 4.1,
            share: 0.61,
        }],
        assumptions: Vec::new(),
        explanation: None,
    });
    findings.modes.push(Mode {
        body: 1,
        degree: 2,
        order: None,
        frequency: quantity(4.021, 0.0012, "Hz"),
        decay_rate: quantity(0.537, 0.011, "1/s"),
        amplitude: quantity(0.081, 0.0002, "1"),
        quality: Some(23.5),
        cycles: Some(8.0),
    });
    findings
}

fn still() -> Findings {
    let mut findings = findings();
    findings.estimates.clear();
    findings.modes.clear();
    findings
}

fn series() -> AmplitudeSeries {
    let time: Vec<f64> = (0..100).map(|i| f64::from(i) * 0.01).collect();
    AmplitudeSeries {
        body: 1,
        degree: 2,
        value: time.iter().map(|t| 0.08 * (25.0 * t).cos()).collect(),
        u: vec![1e-4; 100],
        fitted: time.iter().map(|t| [*t, 0.08 * (25.0 * t).cos()]).collect(),
        residual: vec![1e-5; 100],
        time,
    }
}

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

#[test]
fn the_finding_is_a_sentence_with_numbers() {
    let findings = findings();
    let html = plain(&render(&ReportInput::of("Run 7", &findings)).html);
    let sentence = "Surface tension 68.70 mN/m, standard uncertainty 0.60 mN/m, 95 % interval 67.50 to 69.90 mN/m \
                    (40 effective degrees of freedom). Found by: modes 2-4, volume from outline. Agrees with the \
                    reference, 69.00 ± 0.30 mN/m (handbook): normalised deviation −0.4.";
    assert!(html.contains(sentence), "{html}");
    assert!(html.contains("68.70 ± 0.60 mN/m"));
    assert!(html.contains("4.0210 ± 0.0012"));
}

#[test]
fn properties_come_first_and_a_boundless_count_is_not_told() {
    let mut findings = findings();
    let mut radius = findings.estimates[0].clone();
    radius.quantity = "equivalent_radius".into();
    radius.degrees_of_freedom = Some(3.4e19);
    findings.estimates.insert(0, radius);
    let html = render(&ReportInput::of("Run 7", &findings)).html;
    let place = |name: &str| html.find(&format!("<h3>{name}</h3>")).unwrap();
    assert!(place("Surface tension") < place("Equivalent radius"));
    assert_eq!(html.matches("effective degrees of freedom").count(), 1);
}

#[test]
fn beyond_two_it_does_not_agree() {
    let mut findings = findings();
    findings.estimates[0].normalised_deviation = Some(2.01);
    let html = render(&ReportInput::of("Run 7", &findings)).html;
    assert!(html.contains("Does not agree") && !html.contains("Agrees with"));
}

#[test]
fn where_nothing_rings_the_report_says_so_and_has_no_empty_part() {
    let findings = still();
    let report = render(&ReportInput::of("A still drop", &findings));
    assert!(report.html.contains("No mode was found"));
    assert!(
        !report.html.contains("below say why"),
        "there is no caution to point to"
    );
    assert_eq!(report.html.matches("<section").count(), 1);
    for absent in ["mN/m", "<svg", "<table", "id=\"modes\"", "href=\"#cautions\""] {
        assert!(!report.html.contains(absent), "{absent}");
    }
}

#[test]
fn cautions_are_told_and_those_about_people_stand_apart() {
    let mut findings = still();
    for (code, text) in [
        ("no_mode", "nothing above noise"),
        ("care_review", "not a safety approval"),
    ] {
        findings.cautions.push(Caution {
            code: code.into(),
            text: text.into(),
            frames: Some([3, 9]),
        });
    }
    let html = render(&ReportInput::of("A still drop", &findings)).html;
    let cautions = html.find("nothing above noise").unwrap();
    assert!(html.contains("no_mode, frames 3 to 9") && html.contains("below say why"));
    assert!(html.find("not a safety approval").unwrap() > cautions);
    assert!(html.contains("<section id=\"care\""));
}

/// Everything that a file can bring in, hostile.
#[test]
fn no_text_becomes_markup() {
    let evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    let mut findings = findings();
    findings.estimates[0].quantity = evil.into();
    findings.estimates[0].route = evil.into();
    findings.estimates[0].unit = evil.into();
    findings.estimates[0].budget[0].input = evil.into();
    findings.estimates[0].budget[0].unit = evil.into();
    findings.cautions.push(Caution {
        code: evil.into(),
        text: evil.into(),
        frames: None,
    });
    let mut input = ReportInput::of(evil, &findings);
    input.summary = evil.into();
    input.notice = Some(evil.into());
    input.experiment.push(Row::new(evil, evil));
    input.provenance.push(Row::new(evil, evil));
    input.files.push(FileRow::new(evil, evil));
    input.assumptions.push(evil.into());
    input.pictures.push(Picture {
        caption: evil.into(),
        ..Picture::default()
    });
    input.amplitudes.push(series());
    input.spectra.push(Spectrum {
        body: 1,
        degree: 2,
        frequency: vec![0.0, 1.0],
        power: vec![1.0, 2.0],
        power_unit: evil.into(),
        marks: vec![(0.5, evil.into())],
        ..Spectrum::default()
    });
    input.drifts.push(Drift {
        body: 1,
        quantity: evil.into(),
        unit: evil.into(),
        time: vec![0.0, 1.0],
        value: vec![1.0, 1.1],
        note: evil.into(),
        ..Drift::default()
    });
    input.paths.push(CentrePath {
        body: 1,
        time: vec![0.0, 1.0],
        x: vec![0.0, 1.0],
        y: vec![0.0, 1.0],
        unit: evil.into(),
    });
    input.truth.push(TruthRow {
        quantity: evil.into(),
        unit: evil.into(),
        truth: 1.0,
        found: Some(1.0),
        u: Some(0.1),
        deviation: Some(0.0),
    });
    input.methods.push(Method {
        name: evil.into(),
        text: vec![evil.into()],
        formulas: vec![evil.into()],
        symbols: vec![Symbol::new(evil, evil, evil)],
        sources: vec![evil.into()],
    });
    let report = render(&input);
    let figures = report.figures.iter().map(|f| &f.svg);
    for text in figures.chain([&report.html]) {
        let lower = text.to_lowercase();
        assert!(
            !lower.contains("<script") && !lower.contains("<img src=x"),
            "{text}"
        );
        well_formed(text);
    }
}

#[test]
fn needs_no_other_file_and_says_the_same_each_time() {
    let findings = findings();
    let mut input = ReportInput::of("Run 7", &findings);
    input.amplitudes.push(series());
    let report = render(&input);
    assert_eq!(report, render(&input));
    for word in ["<script", "src=\"http", "url(http", "@import", "<link"] {
        assert!(!report.html.contains(word), "{word}");
    }
    assert_eq!(report.figures.len(), 2);
    assert_eq!(report.html.matches("<svg").count(), 2);
    assert!(report.figures[0].svg.contains("<style>") && !report.figures[0].svg.contains("var("));
}

#[test]
fn headings_go_down_one_step_at_a_time() {
    let findings = findings();
    let mut input = ReportInput::of("Run 7", &findings);
    input.methods.push(Method {
        name: "Surface tension".into(),
        ..Method::default()
    });
    let html = render(&input).html;
    let levels: Vec<u8> = html
        .match_indices("<h")
        .filter_map(|(i, _)| html.as_bytes().get(i + 2).copied())
        .filter(u8::is_ascii_digit)
        .map(|digit| digit - b'0')
        .collect();
    assert_eq!(levels[0], 1);
    assert!(
        levels.windows(2).all(|w| w[1] <= w[0] + 1 && w[1] > 1),
        "{levels:?}"
    );
}

/// Tags close in the order in which they were opened; attributes are quoted.
fn well_formed(text: &str) {
    let void = ["meta", "img", "!DOCTYPE"];
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some(start) = rest.find('<') {
        let end = start + rest[start..].find('>').expect("every tag ends");
        let tag = &rest[start + 1..end];
        rest = &rest[end + 1..];
        let name = tag
            .trim_start_matches('/')
            .split([' ', '/', '\n'])
            .next()
            .unwrap();
        assert_eq!(tag.matches('"').count() % 2, 0, "quotes in <{tag}>");
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') && !tag.starts_with('?') && !void.contains(&name) {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{open:?}");
}
