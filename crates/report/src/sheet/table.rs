//! Tables of expectations: value, what it is, formula and source, and what is to be said of it.

use tremolet_record::sheet::{Group, Mark, Row};

use crate::document::section::prose;
use crate::text::escape;

/// A group of rows as a table.
pub fn table(group: &Group) -> String {
    let rows: String = group.rows.iter().map(line).collect();
    format!(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{0}\">\n<table class=\"expected\">\n<caption>{0}</caption>\n<thead><tr><th \
         scope=\"col\">quantity</th><th scope=\"col\" class=\"n\">value</th><th scope=\"col\">formula and source</th></tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n",
        escape(&group.title)
    )
}

fn line(row: &Row) -> String {
    let (class, sign) = sign(row);
    let value = value(&row.text);
    let why = if row.why.is_empty() {
        String::new()
    } else {
        format!("<div class=\"why\">{}</div>", prose(&row.why))
    };
    let formula = if row.formula == row.source {
        escape(&row.formula)
    } else {
        format!(
            "{} <span class=\"src\">{}</span>",
            escape(&row.formula),
            escape(&row.source)
        )
    };
    format!(
        "<tr{class}><th scope=\"row\">{}{why}</th><td class=\"n\">{sign}{value}</td><td class=\"from\">{formula}</td></tr>\n",
        prose(&row.quantity)
    )
}

/// Plus-minus, degrees and superscripts for people; escaped, kept on one line.
pub fn value(text: &str) -> String {
    let text = text
        .replace("+-", "\u{b1}")
        .replace("^2", "\u{b2}")
        .replace("^3", "\u{b3}")
        .replace(" um", " \u{b5}m")
        .replace("degC", "\u{b0}C");
    escape(&text).replace(' ', "\u{a0}")
}

/// Class and sign of a row; the sign is a word, so that it is read without colour.
fn sign(row: &Row) -> (&'static str, &'static str) {
    match (row.mark, row.holds) {
        (Some(Mark::Impossible), _) => (" class=\"bad\"", "<b class=\"sign\">impossible</b> "),
        (Some(Mark::Marginal), _) => (" class=\"poor\"", "<b class=\"sign\">marginal</b> "),
        (_, false) if row.value.is_none() => (" class=\"poor\"", ""),
        (_, false) => (" class=\"poor\"", "<b class=\"sign\">outside its range</b> "),
        _ => ("", ""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row() -> Row {
        Row {
            key: "drift".into(),
            quantity: "way <in> the time".into(),
            value: Some(1.0),
            standard_uncertainty: None,
            range: None,
            unit: "m".into(),
            text: "1.0 +- 0.1 m/s^2".into(),
            mostly: None,
            formula: "a t^2/2".into(),
            source: "[Galilei1638]".into(),
            holds: true,
            why: String::new(),
            mark: None,
        }
    }

    #[test]
    fn text_is_escaped_and_numbers_are_kept_together() {
        let html = line(&row());
        assert!(
            html.contains("way &lt;in&gt; the time")
                && html.contains("1.0\u{a0}\u{b1}\u{a0}0.1\u{a0}m/s\u{b2}"),
            "{html}"
        );
        assert!(!html.contains("sign"));
    }

    #[test]
    fn marks_are_words() {
        let marked = |mark, holds, value| {
            line(&Row {
                mark,
                holds,
                value,
                why: "too slow".into(),
                ..row()
            })
        };
        assert!(marked(Some(Mark::Impossible), true, None).contains(">impossible<"));
        assert!(marked(Some(Mark::Marginal), true, Some(1.0)).contains(">marginal<"));
        let outside = marked(None, false, Some(1.0));
        assert!(outside.contains(">outside its range<") && outside.contains("too slow"));
        assert!(!marked(None, false, None).contains("sign"));
    }
}
