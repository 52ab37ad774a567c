//! What a report shows of a fitted simulation, already computed: silhouettes beside outlines, what is left, values beside those of free decay.
//!
//! Places in the picture are px, x rightwards, y downwards; angles are rad from the upper end of the axis, rightwards; everything else is SI.

/// One body.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FittedBody {
    /// Which body, from 1.
    pub body: u32,
    /// Frames that the fit used.
    pub frames: u64,
    /// Share of the variance of the outlines about their circles that the motion explains.
    pub explained: f64,
    /// Variance of what is left over the stated one.
    pub excess: f64,
    /// Scale at the body.
    pub metre_per_px: f64,
    /// Telling instants in order of time.
    pub instants: Vec<FittedInstant>,
    /// What is left round the outline, in order of time.
    pub left: Vec<LeftColumn>,
    /// Values by the fit and by free decay.
    pub beside: Vec<Beside>,
    /// Pressure impulses that the motion at the first frame takes from rest.
    pub impulses: Vec<Impulse>,
}

/// Outline and silhouette at one instant.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FittedInstant {
    /// Time, s.
    pub time: f64,
    /// Frame in the clip.
    pub frame: u64,
    /// Why this instant.
    pub why: String,
    /// As measured.
    pub outline: Vec<[f64; 2]>,
    /// As fitted.
    pub silhouette: Vec<[f64; 2]>,
    /// The silhouette and `times` what the outline lies beyond it.
    pub difference: Vec<[f64; 2]>,
    /// See `difference`.
    pub times: f64,
}

/// What is left round the outline in one frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeftColumn {
    /// Time, s.
    pub time: f64,
    /// Angle, and distance in px outwards; not a number where nothing was seen.
    pub left: Vec<[f64; 2]>,
}

/// One quantity by the fit and by free decay, each with its standard uncertainty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// Lower_snake name.
    pub quantity: String,
    /// SI unit.
    pub unit: String,
    /// By the fit.
    pub fitted: [f64; 2],
    /// By free decay.
    pub free: Option<[f64; 2]>,
    /// Fit less free decay, over the uncertainty of the difference.
    pub apart: Option<f64>,
    /// What is expected, and its uncertainty.
    pub reference: Option<(f64, Option<f64>)>,
}

/// A pressure impulse over the surface.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Impulse {
    /// Degree n.
    pub degree: u32,
    /// Pa s, positive where it presses inwards at the ends of the axis.
    pub value: f64,
    /// Standard uncertainty, Pa s.
    pub u: f64,
}
