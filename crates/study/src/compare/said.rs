//! A comparison in words for a terminal.

use std::fmt::Write;

use tremolet_record::comparison::{Compared, Comparison, Entry, Mean};
use tremolet_report::number::{interval, shown};
use tremolet_report::text::words;

/// The comparison in words.
pub fn text(comparison: &Comparison) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{} runs", comparison.runs.len());
    runs(&mut out, comparison);
    let (properties, others): (Vec<_>, Vec<_>) =
        comparison.quantities.iter().partition(|q| q.liquid.is_some());
    properties
        .iter()
        .for_each(|compared| quantity(&mut out, compared));
    if !others.is_empty() {
        let list: Vec<String> = others.iter().map(|q| q.quantity.replace('_', " ")).collect();
        let _ = writeln!(out, "\nnot averaged, in --json and --page: {}", list.join(", "));
    }
    for caution in &comparison.cautions {
        let _ = writeln!(out, "\ncaution ({}): {}", caution.code, caution.text);
    }
    out.trim_end().to_owned()
}

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace('±', "+-")
}

/// A value with its uncertainty and handy unit.
fn number(value: f64, u: Option<f64>, unit: &str) -> String {
    plain(&shown(value, u, unit).text())
}

/// Columns set to their widest cell, two blanks between.
pub(crate) fn columns(out: &mut String, rows: &[Vec<String>]) {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |k: usize| {
        rows.iter()
            .filter_map(|row| row.get(k))
            .map(|c| c.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    for row in rows {
        let cells = row.iter().zip(&widths);
        let line: Vec<String> = cells
            .map(|(c, w)| format!("{c}{}", " ".repeat(w - c.chars().count())))
            .collect();
        let _ = writeln!(out, "  {}", line.join("  ").trim_end());
    }
}

fn runs(out: &mut String, comparison: &Comparison) {
    let mut rows = vec![
        [
            "run",
            "kind",
            "liquid",
            "radius",
            "calibration",
            "batch",
            "cautions",
        ]
        .map(String::from)
        .to_vec(),
    ];
    for run in &comparison.runs {
        let or_dash = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".into());
        let temperature = run
            .temperature
            .map(|t| format!(" {:.1} °C", t - 273.15))
            .unwrap_or_default();
        rows.push(vec![
            run.name.clone(),
            run.kind.clone(),
            format!("{}{temperature}", or_dash(&run.liquid)),
            run.radius
                .as_ref()
                .map_or("-".into(), |r| number(r.value, r.standard_uncertainty, &r.unit)),
            or_dash(&run.calibration),
            or_dash(&run.batch),
            run.cautions.to_string(),
        ]);
    }
    columns(out, &rows);
}

fn quantity(out: &mut String, compared: &Compared) {
    let of = compared
        .liquid
        .as_ref()
        .map(|liquid| format!(" of {liquid}"))
        .unwrap_or_default();
    let _ = writeln!(out, "\n{}{of}", words(&compared.quantity));
    let rows: Vec<Vec<String>> = compared
        .entries
        .iter()
        .map(|entry| row(entry, compared))
        .collect();
    columns(out, &rows);
    match &compared.mean {
        Some(found) => mean(out, found, &compared.unit),
        None => {
            let _ = writeln!(out, "  {}", compared.why);
        }
    }
}

fn row(entry: &Entry, compared: &Compared) -> Vec<String> {
    let several = compared.entries.iter().any(|other| other.body > 1);
    let name = if several {
        format!("{}, body {}", entry.run, entry.body)
    } else {
        entry.run.clone()
    };
    let mut cells = vec![
        name,
        number(entry.value, Some(entry.standard_uncertainty), &compared.unit),
    ];
    if let Some(weight) = entry.weight {
        cells.push(format!("weight {weight:.2}"));
    }
    if let Some(deviation) = entry.normalised_deviation {
        let mark = if entry.disagrees { "  DISAGREES" } else { "" };
        cells.push(format!("{deviation:+.1} u from the others{mark}"));
    }
    let value = cells[1].clone();
    let found = entry
        .as_found
        .map(|found| number(found, Some(entry.standard_uncertainty), &compared.unit));
    cells.extend(
        found
            .filter(|found| *found != value)
            .map(|found| format!("(found {found})")),
    );
    cells
}

fn mean(out: &mut String, found: &Mean, unit: &str) {
    let u = found.standard_uncertainty;
    let [low, high] = found.interval_95;
    let _ = writeln!(
        out,
        "  mean {}, 95 % from {}",
        number(found.value, Some(u), unit),
        plain(&interval(low, high, u, unit))
    );
    let rows = [
        (
            "each run's own",
            found.within,
            "smaller with more runs".to_owned(),
        ),
        ("between runs", found.between, between(found, unit)),
        ("shared", found.shared, shared(found)),
    ];
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(name, part, why)| vec![format!("  of it {name}"), part_of(part, u, unit), why])
        .collect();
    columns(out, &rows);
    if let (Some(reference), Some(deviation)) = (&found.reference, found.normalised_deviation) {
        let known = number(reference.value, reference.standard_uncertainty, unit);
        let _ = writeln!(
            out,
            "  expected {known}: the mean is {deviation:+.1} from it ({})",
            reference.source
        );
    }
    if let Some([value, u]) = found.of_those_that_agree {
        let _ = writeln!(
            out,
            "  without the runs that disagree {}",
            number(value, Some(u), unit)
        );
    }
}

/// A part of an uncertainty, to the digits of the whole.
fn part_of(part: f64, whole: f64, unit: &str) -> String {
    let handy = tremolet_report::number::Handy::of(unit, whole.abs() * 100.0);
    let places = tremolet_report::number::decimals(handy.difference(whole)).max(0) as usize;
    plain(&format!("{:.places$} {}", handy.difference(part), handy.sign()))
}

fn between(found: &Mean, unit: &str) -> String {
    let between = &found.between_runs;
    let u = found.standard_uncertainty;
    let ends = between.interval_95.map(|end| part_of(end, u, unit));
    format!(
        "runs differ by {} beyond their budgets (95 % from {} to {})",
        part_of(between.standard_deviation, u, unit),
        ends[0],
        ends[1]
    )
}

fn shared(found: &Mean) -> String {
    let lines = found
        .budget
        .iter()
        .filter(|line| line.values > 1 && line.share > 0.01);
    let list: Vec<String> = lines
        .take(3)
        .map(|line| format!("{} in {}", line.input, line.values))
        .collect();
    if list.is_empty() {
        "next to nothing".into()
    } else {
        format!("stays with more such runs: {}", list.join(", "))
    }
}
