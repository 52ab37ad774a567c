//! A sweep as one HTML file: a table, and a figure of each row against what was varied.

use crate::document::section::{Section, figure, list, table};
use crate::document::style::style;
use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::number::{Handy, labelled};
use crate::sheet::table::value;
use crate::text::escape;

/// One row over the range.
#[derive(Debug, Clone, PartialEq)]
pub struct SweptRow {
    /// What it is.
    pub name: String,
    /// SI unit.
    pub unit: String,
    /// Values; absent where there is none.
    pub values: Vec<Option<f64>>,
    /// The same for people.
    pub texts: Vec<String>,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Swept {
    /// Title of the experiment.
    pub title: String,
    /// Key that ran.
    pub key: String,
    /// Unit of its numbers.
    pub unit: String,
    /// Its values.
    pub numbers: Vec<f64>,
    /// The same for people.
    pub settings: Vec<String>,
    /// The rows.
    pub rows: Vec<SweptRow>,
    /// Values at which the file was refused.
    pub refused: Vec<String>,
}

/// Makes the page.
pub fn render(swept: &Swept) -> String {
    let heads: Vec<String> = std::iter::once("quantity".to_owned())
        .chain(swept.settings.iter().map(|s| format!("#{s}")))
        .collect();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let line = |row: &SweptRow| {
        std::iter::once(escape(&row.name))
            .chain(row.texts.iter().map(|text| value(text)))
            .collect()
    };
    let lines: Vec<Vec<String>> = swept.rows.iter().map(line).collect();
    let drawn: String = swept
        .rows
        .iter()
        .enumerate()
        .filter_map(|(k, row)| drawing(swept, k, row))
        .map(|drawing| figure(&drawing))
        .collect();
    let sections = [
        Section::new(
            "table",
            "Table",
            table("The sheet over the range", &heads, &lines),
        ),
        Section::new("figures", "In pictures", drawn),
        Section::new("refused", "Left out", list(&swept.refused)),
    ];
    let body: String = sections
        .iter()
        .filter(|section| !section.content.is_empty())
        .map(Section::html)
        .collect();
    let title = format!("{}: {}", escape(&swept.title), escape(&swept.key));
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\n<title>{title}</title>\n<style>\n{}</style>\n</head>\n<body>\n\
         <header>\n<h1>{title}</h1>\n<p class=\"summary\">How the plan changes with one quantity of its file.</p>\n</header>\n<main>\n{body}</main>\n</body>\n</html>\n",
        style()
    )
}

fn drawing(swept: &Swept, k: usize, row: &SweptRow) -> Option<Drawing> {
    let known = row
        .values
        .iter()
        .flatten()
        .fold(0.0_f64, |most, x| most.max(x.abs()));
    let unit = if row.unit == "1" { "" } else { &row.unit };
    let handy = Handy::of(unit, known.max(1e-300));
    let points: Vec<[f64; 2]> = swept
        .numbers
        .iter()
        .zip(&row.values)
        .filter_map(|(x, y)| Some([*x, handy.value((*y)?)]))
        .collect();
    if points.len() < 2 {
        return None;
    }
    let panel = Panel {
        name: String::new(),
        height: 150.0,
        x: Axis::over(labelled(&swept.key, &swept.unit), points.iter().map(|p| p[0])),
        y: Axis::around(handy.sign(), points.iter().map(|p| p[1])),
        marks: vec![
            Mark::Path(Look::Measured, points.clone()),
            Mark::Points(Look::Measured, points, Vec::new()),
        ],
        x_written: true,
        y_ticks: 5,
    };
    Some(draw(&Chart {
        name: format!("sweep-{k}"),
        title: row.name.clone(),
        caption: format!("Against {}.", swept.key),
        description: row.texts.join(", "),
        width: 720.0,
        panels: vec![panel],
        legend: Vec::new(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_with_two_numbers_is_drawn_and_one_without_is_not() {
        let row = |values: Vec<Option<f64>>| SweptRow {
            name: "a < b".into(),
            unit: "Hz".into(),
            values,
            texts: vec!["1 Hz".into(), "2 Hz".into()],
        };
        let swept = Swept {
            title: "Run".into(),
            key: "body.diameter".into(),
            unit: "mm".into(),
            numbers: vec![1.0, 2.0],
            settings: vec!["1 mm".into(), "2 mm".into()],
            rows: vec![row(vec![Some(1.0), Some(2.0)]), row(vec![None, Some(2.0)])],
            refused: Vec::new(),
        };
        let html = render(&swept);
        assert!(
            html.contains("sweep-0")
                && !html.contains("sweep-1")
                && html.contains("a &lt; b")
                && !html.contains("<script")
        );
    }
}
