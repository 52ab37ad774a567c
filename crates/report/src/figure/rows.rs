//! Charts of named rows: a bar for a share, or a dot for a deviation, one row each, with words at both ends.
//!
//! The names stand left of the common axis and the numbers right of it, so that nothing is read from length alone.

use crate::figure::chart::Drawing;
use crate::figure::draw::text_width;
use crate::figure::look::Look;
use crate::figure::scale::{Run, Scale};
use crate::figure::svg::{Anchor, Svg, number};
use crate::figure::ticks::even;

const ROW: f64 = 28.0;
const FOOT: f64 = 46.0;

/// How the value of a row is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A bar from zero.
    Bar,
    /// A dot.
    Dot,
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedRow {
    /// Words at the left.
    pub name: String,
    /// The value, in the unit of the axis.
    pub value: f64,
    /// Words at the right.
    pub number: String,
}

/// A chart of rows.
#[derive(Debug, Clone, PartialEq)]
pub struct RowChart {
    /// Name for the file.
    pub name: String,
    /// What it is.
    pub title: String,
    /// What it shows, in plain words.
    pub caption: String,
    /// What is seen, for somebody who cannot see it.
    pub description: String,
    /// Full width.
    pub width: f64,
    /// Label of the axis.
    pub axis: String,
    /// Ends of the axis.
    pub range: (f64, f64),
    /// How values are drawn.
    pub kind: Kind,
    /// A stretch of the axis to shade, such as what counts as agreement.
    pub shaded: Option<(f64, f64)>,
    /// The rows from the top.
    pub rows: Vec<NamedRow>,
}

/// Draws the rows.
pub fn draw_rows(chart: &RowChart) -> Drawing {
    let widest = |texts: &mut dyn Iterator<Item = &String>| texts.map(|t| text_width(t)).fold(0.0, f64::max);
    let left = widest(&mut chart.rows.iter().map(|r| &r.name)).clamp(60.0, 0.4 * chart.width) + 16.0;
    let right = widest(&mut chart.rows.iter().map(|r| &r.number)).clamp(20.0, 0.35 * chart.width) + 16.0;
    let bottom = 4.0 + ROW * chart.rows.len() as f64;
    let scale = Scale {
        low: chart.range.0,
        high: chart.range.1,
        start: left,
        end: chart.width - right,
        run: Run::Even,
    };
    let mut svg = Svg::default();
    draw_axis(&mut svg, chart, &scale, bottom);
    for (i, row) in chart.rows.iter().enumerate() {
        draw_row(&mut svg, chart, row, &scale, 4.0 + ROW * (i as f64 + 0.5));
    }
    Drawing {
        name: chart.name.clone(),
        title: chart.title.clone(),
        caption: chart.caption.clone(),
        description: chart.description.clone(),
        content: svg.finish(),
        width: chart.width.round() as u32,
        height: (bottom + FOOT).ceil() as u32,
    }
}

fn draw_axis(svg: &mut Svg, chart: &RowChart, scale: &Scale, bottom: f64) {
    if let Some((low, high)) = chart.shaded {
        let (x, w) = (scale.place(low), scale.place(high) - scale.place(low));
        let (x, w, h) = (number(x), number(w), number(bottom - 4.0));
        svg.leaf(
            "rect",
            &[
                ("class", "band guide"),
                ("x", &x),
                ("y", "4"),
                ("width", &w),
                ("height", &h),
            ],
        );
    }
    let ticks = even(scale.low, scale.high, 6);
    for (at, label) in ticks.at.iter().zip(&ticks.labels) {
        let x = scale.place(*at);
        svg.line(if *at == 0.0 { "zero" } else { "grid" }, [x, 4.0], [x, bottom]);
        svg.text("", [x, bottom + 18.0], Anchor::Middle, label);
    }
    let middle = (scale.start + scale.end) / 2.0;
    svg.text("", [middle, bottom + 38.0], Anchor::Middle, &chart.axis);
}

fn draw_row(svg: &mut Svg, chart: &RowChart, row: &NamedRow, scale: &Scale, y: f64) {
    svg.text("strong", [scale.start - 12.0, y + 4.5], Anchor::End, &row.name);
    svg.text("strong", [scale.end + 12.0, y + 4.5], Anchor::Start, &row.number);
    let x = scale.place(row.value.clamp(scale.low, scale.high));
    if !x.is_finite() {
        return;
    }
    let look = Look::Measured.class();
    match chart.kind {
        Kind::Bar => {
            let zero = scale.place(0.0);
            let (left, width, top) = (number(zero.min(x)), number((x - zero).abs()), number(y - 7.0));
            let class = format!("block {look}");
            let place = [
                ("x", left.as_str()),
                ("y", &top),
                ("width", &width),
                ("height", "14"),
            ];
            svg.leaf("rect", &[&[("class", class.as_str())][..], &place[..]].concat());
        }
        Kind::Dot => {
            let (cx, cy) = (number(x), number(y));
            let class = format!("dot {look}");
            svg.line(&format!("bar {look}"), [scale.place(0.0), y], [x, y]);
            svg.leaf(
                "circle",
                &[("class", &class), ("cx", &cx), ("cy", &cy), ("r", "4.5")],
            );
        }
    }
}
