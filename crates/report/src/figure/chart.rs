//! What a chart is: panels one below the other over a common width, each with two axes and marks.
//!
//! Values are in the units of the axis labels; nothing here knows where anything lies on the drawing, that is
//! [`crate::figure::draw`]'s.

use crate::figure::look::Look;
use crate::figure::scale::{Run, extent, widened};

/// Above so many points, error bars become a band and points are thinned.
pub const MANY: usize = 140;

/// Half width of a 95 % interval in standard uncertainties, for a normal distribution.
pub const COVERAGE: f64 = 1.96;

/// A drawing with its words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// Name for the file and for references: lower-case letters, digits, hyphens.
    pub name: String,
    /// What it is, a few words.
    pub title: String,
    /// What it shows, in plain words, for the line below it.
    pub caption: String,
    /// What is seen in it, for somebody who cannot see it.
    pub description: String,
    /// The content of the svg element.
    pub content: String,
    /// Width in CSS pixels at full size.
    pub width: u32,
    /// Height in CSS pixels at full size.
    pub height: u32,
}

/// An axis.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Axis {
    /// What it shows, with the unit: `time / s`.
    pub label: String,
    /// Value at its start.
    pub low: f64,
    /// Value at its end.
    pub high: f64,
    /// How it runs.
    pub run: Run,
}

impl Axis {
    /// An even axis that holds all finite values, with a little room; from 0 to 1 without any.
    pub fn around(label: impl Into<String>, values: impl IntoIterator<Item = f64>) -> Self {
        let (low, high) = extent(values).map_or((0.0, 1.0), |range| widened(range, 0.06));
        Self {
            label: label.into(),
            low,
            high,
            run: Run::Even,
        }
    }

    /// An even axis from the least to the greatest finite value exactly, for time.
    pub fn over(label: impl Into<String>, values: impl IntoIterator<Item = f64>) -> Self {
        let range = extent(values).unwrap_or((0.0, 1.0));
        let (low, high) = if range.0 < range.1 {
            range
        } else {
            widened(range, 0.0)
        };
        Self {
            label: label.into(),
            low,
            high,
            run: Run::Even,
        }
    }
}

/// Something drawn in a panel; points are (x, y), ascending in x unless they are a path.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A line, broken where a point is not a number.
    Line(Look, Vec<[f64; 2]>),
    /// A line that may run anywhere, not thinned.
    Path(Look, Vec<[f64; 2]>),
    /// Points with half lengths of their error bars, which may be empty.
    Points(Look, Vec<[f64; 2]>, Vec<f64>),
    /// A band: (x, low, high).
    Band(Look, Vec<[f64; 3]>),
    /// A level across the panel.
    Level(Look, f64),
    /// An upright line with a label at its top.
    Upright(Look, f64, String),
    /// A word at a point.
    Word([f64; 2], String),
    /// Squares: (x, y, share) with a share from -1 to 1, whose size of area it is, filled above nil and open below; and the room of one along x and y.
    Squares(Look, Vec<[f64; 3]>, [f64; 2]),
}

/// One pair of axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Words above it at the left; may be empty.
    pub name: String,
    /// Height of the plot itself.
    pub height: f64,
    /// Rightwards.
    pub x: Axis,
    /// Upwards, or downwards when `low > high`.
    pub y: Axis,
    /// What is drawn, from the back to the front.
    pub marks: Vec<Mark>,
    /// Whether the panel carries the numbers and the label of `x`; panels above another share them.
    pub x_written: bool,
    /// Most ticks upwards; with none the axis is left blank.
    pub y_ticks: usize,
}

/// What an entry of the legend looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// A dot.
    Dot(Look),
    /// A piece of line.
    Line(Look),
    /// A piece of band.
    Band(Look),
}

/// A chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
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
    /// Panels from the top.
    pub panels: Vec<Panel>,
    /// Entries of the legend, which stands above the panels.
    pub legend: Vec<(Sample, String)>,
}

/// Points with a band or bars of 95 %, whichever suits their number.
pub fn measured(points: Vec<[f64; 2]>, u: &[f64]) -> Vec<Mark> {
    let bars: Vec<f64> = u.iter().map(|u| COVERAGE * u).collect();
    if points.len() <= MANY || bars.is_empty() {
        return vec![Mark::Points(Look::Measured, points, bars)];
    }
    let band = points
        .iter()
        .zip(&bars)
        .map(|([x, y], half)| [*x, y - half, y + half])
        .collect();
    vec![
        Mark::Band(Look::Measured, band),
        Mark::Points(Look::Measured, points, Vec::new()),
    ]
}
