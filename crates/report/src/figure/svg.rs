//! Writes SVG text: elements, attributes, numbers. Same input, same bytes.
//!
//! Numbers are written with at most two decimals. Text and attribute values are escaped here, so that callers cannot
//! forget it. Source of the format: \[SVG2\].

use crate::text::escape;

/// SVG text in the making.
#[derive(Debug, Clone, Default)]
pub struct Svg {
    out: String,
    open: Vec<&'static str>,
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Runs to the right.
    Start,
    /// Is centred.
    Middle,
    /// Runs to the left.
    End,
}

impl Svg {
    /// Opens an element with attributes.
    pub fn open(&mut self, tag: &'static str, attributes: &[(&str, &str)]) {
        self.tag(tag, attributes);
        self.out.push('>');
        self.open.push(tag);
    }

    /// Closes the element opened last.
    pub fn close(&mut self) {
        if let Some(tag) = self.open.pop() {
            self.out.push_str("</");
            self.out.push_str(tag);
            self.out.push_str(">\n");
        }
    }

    /// An element without content.
    pub fn leaf(&mut self, tag: &'static str, attributes: &[(&str, &str)]) {
        self.tag(tag, attributes);
        self.out.push_str("/>\n");
    }

    /// An element with nothing but text.
    pub fn said(&mut self, tag: &'static str, attributes: &[(&str, &str)], text: &str) {
        self.tag(tag, attributes);
        self.out.push('>');
        self.out.push_str(&escape(text));
        self.out.push_str("</");
        self.out.push_str(tag);
        self.out.push_str(">\n");
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, from: [f64; 2], to: [f64; 2]) {
        let [x1, y1] = from.map(number);
        let [x2, y2] = to.map(number);
        let places = [
            ("class", class),
            ("x1", &x1),
            ("y1", &y1),
            ("x2", &x2),
            ("y2", &y2),
        ];
        self.leaf("line", &places);
    }

    /// A line of text.
    pub fn text(&mut self, class: &str, at: [f64; 2], anchor: Anchor, text: &str) {
        let [x, y] = at.map(number);
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        self.said(
            "text",
            &[("class", class), ("x", &x), ("y", &y), ("text-anchor", anchor)],
            text,
        );
    }

    /// The finished text, with everything closed.
    pub fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }

    fn tag(&mut self, tag: &str, attributes: &[(&str, &str)]) {
        self.out.push('<');
        self.out.push_str(tag);
        for (name, value) in attributes {
            self.out.push(' ');
            self.out.push_str(name);
            self.out.push_str("=\"");
            self.out.push_str(&escape(value));
            self.out.push('"');
        }
    }
}

/// A number with at most two decimals, `0` for what is not one.
///
/// ```
/// use tremolet_report::figure::svg::number;
/// assert_eq!([number(1.0), number(-0.001), number(2.346)], ["1", "0", "2.35"]);
/// ```
pub fn number(x: f64) -> String {
    let x = if x.is_finite() { x } else { 0.0 };
    let text = format!("{x:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// A path through points, as the `d` of a path element; closed when asked.
pub fn path(points: &[[f64; 2]], closed: bool) -> String {
    let mut out = String::new();
    for (i, [x, y]) in points.iter().enumerate() {
        out.push(if i == 0 { 'M' } else { 'L' });
        out.push_str(&number(*x));
        out.push(' ');
        out.push_str(&number(*y));
    }
    if closed {
        out.push('Z');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{Anchor, Svg, path};

    #[test]
    fn everything_is_escaped_and_closed() {
        let mut svg = Svg::default();
        svg.open("svg", &[("aria-label", "a \"b\" <c>")]);
        svg.open("g", &[]);
        svg.text("t", [1.0, 2.5], Anchor::End, "x < y & z");
        assert_eq!(
            svg.finish(),
            "<svg aria-label=\"a &quot;b&quot; &lt;c&gt;\"><g><text class=\"t\" x=\"1\" y=\"2.5\" \
             text-anchor=\"end\">x &lt; y &amp; z</text>\n</g>\n</svg>\n"
        );
    }

    #[test]
    fn a_path_is_short() {
        assert_eq!(path(&[[0.0, 1.0], [2.5, 3.0]], true), "M0 1L2.5 3Z");
    }
}
