//! Sections about how and from what: methods with formulas and sources, files, provenance.

use crate::document::formula;
use crate::document::section::{Section, list, paragraph, table};
use crate::input::{FileRow, Method, Symbol};
use crate::number::signs;
use crate::text::{escape, link};

/// How each number was found.
pub fn methods(methods: &[Method]) -> Section {
    let html = methods.iter().map(method).collect();
    Section::new("methods", "How each number was found", html)
}

fn method(method: &Method) -> String {
    let mut html = format!("<div class=\"method\">\n<h3>{}</h3>\n", escape(&method.name));
    html.extend(method.text.iter().map(|text| paragraph(text)));
    html.extend(
        method
            .formulas
            .iter()
            .map(|text| format!("<p class=\"formula\">{}</p>\n", formula::html(text))),
    );
    if !method.symbols.is_empty() {
        let lines: Vec<Vec<String>> = method.symbols.iter().map(symbol).collect();
        html.push_str(&table(
            &format!("Symbols: {}", method.name),
            &["symbol", "meaning", "unit"],
            &lines,
        ));
    }
    if !method.sources.is_empty() {
        html.push_str("<p class=\"sources\">Sources</p>\n");
        html.push_str(&list(&method.sources));
    }
    html + "</div>\n"
}

fn symbol(symbol: &Symbol) -> Vec<String> {
    let unit = if symbol.unit == "1" {
        "1".to_owned()
    } else {
        signs(&symbol.unit)
    };
    vec![
        formula::html(&symbol.symbol),
        escape(&symbol.meaning),
        escape(&unit),
    ]
}

/// The files beside the report.
pub fn files(files: &[FileRow]) -> Section {
    let lines: String = files
        .iter()
        .map(|file| {
            format!(
                "<div><dt><a href=\"{}\">{}</a></dt><dd>{}</dd></div>\n",
                escape(&link(&file.path)),
                escape(&file.path),
                escape(&file.what)
            )
        })
        .collect();
    let html = if lines.is_empty() {
        lines
    } else {
        format!("<dl class=\"facts\">\n{lines}</dl>\n")
    };
    Section::new("files", "Files in this folder", html)
}
