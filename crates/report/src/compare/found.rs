//! What was found over several runs, in sentences and tables.

use tremolet_record::comparison::{Compared, Comparison, Mean, RunRow};

use crate::compare::values::named;
use crate::document::section::{prose, table};
use crate::number::{Handy, decimals, fixed, interval, per_cent, shown};
use crate::text::{escape, listed, words};

/// The table of runs.
pub fn runs(comparison: &Comparison) -> String {
    let or_dash = |text: &Option<String>| text.as_deref().map_or_else(|| "–".into(), escape);
    let line = |run: &RunRow| {
        let temperature = run
            .temperature
            .map(|t| format!("{}\u{a0}°C", fixed(t - 273.15, 1)));
        let radius = run
            .radius
            .as_ref()
            .map(|r| shown(r.value, r.standard_uncertainty, &r.unit).text());
        vec![
            escape(&run.name),
            escape(&run.title),
            escape(&run.kind),
            or_dash(&run.liquid),
            temperature.unwrap_or_else(|| "–".into()),
            radius.unwrap_or_else(|| "–".into()),
            or_dash(&run.calibration),
            or_dash(&run.batch),
            run.frames.to_string(),
            run.cautions.to_string(),
        ]
    };
    let heads = [
        "run",
        "title",
        "kind",
        "liquid",
        "#temperature",
        "#radius",
        "calibration",
        "batch",
        "#frames",
        "#cautions",
    ];
    let lines: Vec<Vec<String>> = comparison.runs.iter().map(line).collect();
    table("The runs", &heads, &lines)
}

/// A part of an uncertainty in the unit and to the digits of the whole.
fn part(part: f64, whole: f64, value: f64, unit: &str) -> String {
    let handy = Handy::of(unit, value);
    let sign = handy.sign();
    let space = if sign.is_empty() { "" } else { "\u{a0}" };
    format!(
        "{}{space}{sign}",
        fixed(handy.difference(part), decimals(handy.difference(whole)))
    )
}

/// The mean of one quantity: the number, a sentence, where its uncertainty comes from.
pub fn mean(compared: &Compared) -> String {
    let of = compared
        .liquid
        .as_ref()
        .map(|l| format!(" of {l}"))
        .unwrap_or_default();
    let heading = format!("{}{of}", words(&compared.quantity));
    let Some(found) = &compared.mean else {
        return String::new();
    };
    let number = shown(found.value, Some(found.standard_uncertainty), &compared.unit).text();
    format!(
        "<div class=\"finding\">\n<h3>{}</h3>\n<p class=\"number\">{number}</p>\n<p>{}</p>\n{}</div>\n",
        escape(&heading),
        prose(&sentence(compared, found)),
        parts(compared, found)
    )
}

fn sentence(compared: &Compared, found: &Mean) -> String {
    let unit = &compared.unit;
    let u = found.standard_uncertainty;
    let counting = compared.entries.iter().filter(|e| e.weight.is_some());
    let several = compared.entries.iter().any(|e| e.body > 1);
    let off: Vec<String> = counting
        .clone()
        .filter(|e| e.disagrees)
        .map(|e| named(e, several))
        .collect();
    let mut text = format!(
        "Mean of {} values with its standard uncertainty; 95 % from {}.",
        counting.count(),
        interval(found.interval_95[0], found.interval_95[1], u, unit)
    );
    if !off.is_empty() {
        text += &format!(
            " {} {} with the others",
            listed(&off),
            if off.len() == 1 { "disagrees" } else { "disagree" }
        );
        text += &match found.of_those_that_agree {
            Some([value, u]) => format!("; without, the mean is {}.", shown(value, Some(u), unit).text()),
            None => ".".into(),
        };
    }
    if let (Some(reference), Some(deviation)) = (&found.reference, found.normalised_deviation) {
        text += &format!(
            " Expected is {} ({}): the mean lies {} standard uncertainties of the difference from it.",
            shown(reference.value, reference.standard_uncertainty, unit).text(),
            reference.source,
            signed(deviation)
        );
    }
    text
}

fn signed(x: f64) -> String {
    let sign = if x < 0.0 { "−" } else { "+" };
    format!("{sign}{}", fixed(x.abs(), 1))
}

fn parts(compared: &Compared, found: &Mean) -> String {
    let u = found.standard_uncertainty;
    let said = |p: f64| part(p, u, found.value, &compared.unit);
    let share = |p: f64| per_cent((p / u).powi(2));
    let between = &found.between_runs;
    let shared: Vec<String> = found
        .budget
        .iter()
        .filter(|line| line.values > 1 && line.share > 0.01)
        .take(3)
        .map(|line| format!("{} ({} values)", line.input, line.values))
        .collect();
    let own: Vec<String> = found
        .budget
        .iter()
        .filter(|line| line.values == 1 && line.share > 0.01)
        .take(3)
        .map(|line| line.input.clone())
        .collect();
    let or = |list: &[String], none: &str| {
        if list.is_empty() {
            none.to_owned()
        } else {
            listed(list)
        }
    };
    let rows = [
        (
            "each run’s own errors",
            found.within,
            format!("{}; smaller with more runs", or(&own, "next to nothing")),
        ),
        (
            "what differs between runs",
            found.between,
            format!(
                "runs differ by {} beyond their budgets, 95 % from {} to {}; chi-square {} for {}",
                said(between.standard_deviation),
                said(between.interval_95[0]),
                said(between.interval_95[1]),
                fixed(between.chi_square, 1),
                fixed(between.degrees_of_freedom, 0)
            ),
        ),
        (
            "what runs share",
            found.shared,
            format!("{}; stays with more such runs", or(&shared, "next to nothing")),
        ),
    ];
    let lines: Vec<Vec<String>> = rows
        .iter()
        .map(|(name, p, why)| vec![escape(name), said(*p), share(*p), prose(why)])
        .collect();
    let caption = format!(
        "Where the uncertainty of the mean of {} comes from",
        words(&compared.quantity).to_lowercase()
    );
    table(
        &caption,
        &["part", "#standard uncertainty", "#share", "from"],
        &lines,
    )
}

/// Every value of every quantity.
pub fn all_values(compared: &Compared) -> String {
    let several = compared.entries.iter().any(|e| e.body > 1);
    let weighted = compared.mean.is_some();
    let brought = compared.entries.iter().any(|e| e.as_found.is_some());
    let mut heads = vec!["run", "#value", "#own part"];
    if brought {
        heads.push("#as found");
    }
    if weighted {
        heads.extend(["#weight", "#from the others"]);
    }
    heads.push("found by");
    let line = |e: &tremolet_record::comparison::Entry| {
        let value = |y: f64| shown(y, Some(e.standard_uncertainty), &compared.unit).text();
        let mut cells = vec![
            escape(&named(e, several)),
            value(e.value),
            part(e.own, e.standard_uncertainty, e.value, &compared.unit),
        ];
        if brought {
            cells.push(e.as_found.map_or_else(String::new, value));
        }
        if weighted {
            cells.push(e.weight.map_or_else(|| "–".into(), |w| fixed(w, 2)));
            let mark = if e.disagrees { " <b>disagrees</b>" } else { "" };
            cells.push(
                e.normalised_deviation
                    .map_or_else(|| "–".into(), |d| format!("{}{mark}", signed(d))),
            );
        }
        cells.push(prose(&e.route));
        cells
    };
    let lines: Vec<Vec<String>> = compared.entries.iter().map(line).collect();
    let of = compared
        .liquid
        .as_ref()
        .map(|l| format!(" of {l}"))
        .unwrap_or_default();
    let caption = format!("{}{of}", words(&compared.quantity));
    let why = if compared.why.is_empty() {
        String::new()
    } else {
        format!("<p class=\"note\">{}</p>\n", prose(&compared.why))
    };
    format!(
        "<h3>{}</h3>\n{}{why}",
        escape(&caption),
        table(&caption, &heads, &lines)
    )
}

/// Modes on capillary time.
pub fn scaling(comparison: &Comparison) -> String {
    if comparison.scaling.is_empty() {
        return String::new();
    }
    let number = |value: [f64; 2], unit: &str| shown(value[0], Some(value[1]), unit).text();
    let several = comparison.scaling.iter().any(|m| m.body > 1);
    let line = |m: &tremolet_record::comparison::ScaledMode| {
        let name = if several {
            format!("{}, body {}", m.run, m.body)
        } else {
            m.run.clone()
        };
        let or = |text: Option<String>| text.unwrap_or_else(|| "–".into());
        vec![
            escape(&name),
            m.degree.to_string(),
            shown(m.radius, None, "m").text(),
            shown(m.frequency.value, m.frequency.standard_uncertainty, "Hz").text(),
            number(m.reduced_frequency, "1"),
            fixed(m.inviscid, 4),
            or(m.expected.map(|x| fixed(x, 4))),
            shown(m.decay_rate.value, m.decay_rate.standard_uncertainty, "1/s").text(),
            or(m.reduced_decay.map(|x| number(x, "1"))),
            or(m.expected_decay.map(|x| fixed(x, 3))),
        ]
    };
    let heads = [
        "run",
        "#degree",
        "#radius",
        "#frequency",
        "#2πf √(ρR³/σ)",
        "#inviscid",
        "#exact",
        "#decay rate",
        "#decay R²/ν",
        "#exact",
    ];
    let lines: Vec<Vec<String>> = comparison.scaling.iter().map(line).collect();
    table("Modes in units of their drop", &heads, &lines)
}
