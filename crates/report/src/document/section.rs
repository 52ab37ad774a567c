//! Parts of the page: sections with a side heading, figures, lists of facts, tables. Everything escaped here.

use crate::document::embed::base64;
use crate::figure::chart::Drawing;
use crate::figure::draw::inline;
use crate::input::{Picture, Row};
use crate::number::fixed;
use crate::text::{bound, escape};

/// A section of the page: where links go, its heading, its content as HTML.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Target of links.
    pub id: &'static str,
    /// Heading, plain text.
    pub heading: String,
    /// Content, HTML; a section without content is left out of the page.
    pub content: String,
}

impl Section {
    /// A section from its parts.
    pub fn new(id: &'static str, heading: &str, content: String) -> Self {
        Self {
            id,
            heading: heading.to_owned(),
            content,
        }
    }

    /// The section as HTML.
    pub fn html(&self) -> String {
        let Section { id, heading, content } = self;
        format!(
            "<section id=\"{id}\" aria-labelledby=\"{id}-heading\">\n<h2 id=\"{id}-heading\">{}</h2>\n<div \
             class=\"in\">\n{content}</div>\n</section>\n",
            escape(heading)
        )
    }
}

/// Running text, escaped, numbers kept with their units.
pub fn prose(text: &str) -> String {
    escape(&bound(text))
}

/// A paragraph of plain text; nothing for an empty one.
pub fn paragraph(text: &str) -> String {
    if text.trim().is_empty() {
        String::new()
    } else {
        format!("<p>{}</p>\n", prose(text.trim()))
    }
}

/// A drawing with its words below.
pub fn figure(drawing: &Drawing) -> String {
    format!(
        "<figure id=\"{}\">\n{}<figcaption><b>{}.</b> {}</figcaption>\n</figure>\n",
        drawing.name,
        inline(drawing),
        escape(&drawing.title),
        prose(&drawing.caption)
    )
}

/// Drawings one after the other.
pub fn figures(drawings: &[Drawing]) -> String {
    drawings.iter().map(figure).collect()
}

/// A picture with its words below.
pub fn picture(picture: &Picture) -> String {
    let caption = prose(picture.caption.trim());
    let time = fixed(picture.time, 4);
    format!(
        "<figure>\n<img src=\"data:image/png;base64,{}\" width=\"{}\" height=\"{}\" alt=\"Frame {} with what was \
         measured drawn on it. {caption}\">\n<figcaption><b>{time}\u{a0}s, frame {}.</b> {caption}</figcaption>\n</figure>\n",
        base64(&picture.png),
        picture.width,
        picture.height,
        picture.frame,
        picture.frame
    )
}

/// A list of facts; nothing without any.
pub fn rows(rows: &[Row]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let lines: String = rows
        .iter()
        .map(|row| {
            format!(
                "<div><dt>{}</dt><dd>{}</dd></div>\n",
                escape(&row.label),
                prose(&row.value)
            )
        })
        .collect();
    format!("<dl class=\"facts\">\n{lines}</dl>\n")
}

/// A table of ready HTML cells; the first column heads its row. Columns whose head starts with `#` hold numbers.
pub fn table(caption: &str, heads: &[&str], lines: &[Vec<String>]) -> String {
    let class = |i: usize| {
        if heads.get(i).is_some_and(|h| h.starts_with('#')) {
            " class=\"n\""
        } else {
            ""
        }
    };
    let head = |(i, h): (usize, &&str)| {
        format!(
            "<th scope=\"col\"{}>{}</th>",
            class(i),
            escape(h.trim_start_matches('#'))
        )
    };
    let heads_html: String = heads.iter().enumerate().map(head).collect();
    let cell = |(i, c): (usize, &String)| match i {
        0 => format!("<th scope=\"row\"{}>{c}</th>", class(0)),
        _ => format!("<td{}>{c}</td>", class(i)),
    };
    let body: String = lines
        .iter()
        .map(|line| {
            format!(
                "<tr>{}</tr>\n",
                line.iter().enumerate().map(cell).collect::<String>()
            )
        })
        .collect();
    format!(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{0}\">\n<table>\n<caption>{0}</caption>\n\
         <thead><tr>{heads_html}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n</div>\n",
        escape(caption)
    )
}

/// A list of plain texts; nothing without any.
pub fn list(items: &[String]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let lines: String = items
        .iter()
        .map(|item| format!("<li>{}</li>\n", prose(item)))
        .collect();
    format!("<ul>\n{lines}</ul>\n")
}
