//! What cannot be traced, and why.

/// A scene that cannot be traced.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TraceError {
    /// A meridian that bounds no body.
    #[error(
        "meridian of {points} points {problem}: expected 5 points or more from pole to pole, ends on the axis, the rest beside it"
    )]
    Meridian {
        /// Points.
        points: usize,
        /// What is wrong.
        problem: &'static str,
    },
    /// A frame without pixels.
    #[error("frame of {width} x {height} pixels: both sides must be 8 at least")]
    Frame {
        /// Pixels in a row.
        width: usize,
        /// Rows.
        height: usize,
    },
    /// A number outside what can be traced.
    #[error("{name} is {found}: must lie between {low} and {high}")]
    Range {
        /// What it is, with its unit.
        name: &'static str,
        /// What was given.
        found: f64,
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
    /// A surface that reaches the lens.
    #[error("surface {surface} reaches to {nearest} m from the lens: must stay in front of it")]
    Near {
        /// Which, from 0.
        surface: usize,
        /// Least distance in front of the lens, m; negative behind it.
        nearest: f64,
    },
    /// More surfaces than are kept apart.
    #[error("{found} surfaces: at most {most} can be traced together")]
    Surfaces {
        /// Found.
        found: usize,
        /// Most.
        most: usize,
    },
}
