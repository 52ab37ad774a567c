//! A model of the motion fitted to outlines: what free decay cannot tell of large swings.
//!
//! ```text
//! min over p  sum over frames and sectors of (distance of the outline from the projected silhouette / uncertainty)^2
//! p = ln t0, ln Oh, R, axis in the picture, sin^2(tilt), a_n(0), v_n(0)       sigma = rho R^3 / t0^2,   nu = Oh R^2 / t0
//! ```
//! The model (trait [`Forward`]) lets a unit drop go and tells its shapes; it is handed in, and nothing here knows how it works. Silhouettes are those of the
//! tilted body of revolution as a camera sees them, not its meridian. The place of the body in each frame is left free. It begins at the linear estimates and
//! widens the span of time in three strides, so that a frequency that is off by some tenth still finds its swing. Then degrees are added to the start, two at a time, while they
//! explain some of what is left.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | t0, Oh | capillary time, Ohnesorge number | s, - |
//! | R | radius of the sphere of equal volume | px |
//! | a_n, v_n | amplitudes at the first frame, their rates times t0 | - |
//!
//! Source: least squares with the nuisance of each frame projected out \[GolubPereyra1973\]; covariance scaled by what the fit leaves where that is more
//! than the stated noise \[JCGM100\]. The view is that of a lens at a
//! finite distance where that is stated ([`silhouette`]).

pub mod followed;
pub mod problem;
pub mod result;
pub mod silhouette;
pub mod start;
pub mod watched;

use std::ops::ControlFlow;

use tremolet_numerics::least_squares::{LeastSquaresError, Stop, minimise};

use problem::{Parameters, Problem};
use result::Fitted;
use watched::Watched;

/// Outlines of one body.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outlines {
    /// Frames in order of time.
    pub frames: Vec<Frame>,
    /// Radius of the body over its distance from the lens; nil from far away.
    pub nearness: f64,
}

/// One outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Number in the clip.
    pub frame: u64,
    /// s.
    pub time: f64,
    /// About where the body is, px: the fit moves it.
    pub centre: [f64; 2],
    /// x, y (px, downwards), standard uncertainty along the normal (px).
    pub points: Vec<[f64; 3]>,
}

/// A unit drop to be let go.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Ohnesorge number.
    pub ohnesorge: f64,
    /// Capillary time, s, and radius, px, from which whoever knows scale and gas finds its numbers.
    pub time: f64,
    /// See `time`.
    pub radius_px: f64,
    /// Amplitudes at the start by degree.
    pub shape: Vec<f64>,
    /// Their rates, over t0.
    pub velocity: Vec<f64>,
}

/// A model of the motion.
pub trait Forward {
    /// Amplitudes of r/R about the centre of mass by degree (a_0 without the 1) at each of `times` (in t0, ascending from 0); none where it cannot follow.
    fn shapes(&self, trial: &Trial, times: &[f64]) -> Option<Vec<Vec<f64>>>;
}

/// Where the search begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Begin {
    /// Capillary time, s.
    pub time: f64,
    /// Ohnesorge number.
    pub ohnesorge: f64,
    /// px.
    pub radius: f64,
    /// rad from image-up towards +x.
    pub axis_angle: f64,
    /// Amplitudes from degree 2 on, as many as are to be fitted.
    pub shape: Vec<f64>,
    /// Their rates, over t0, as many.
    pub velocity: Vec<f64>,
}

/// Why nothing was fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Too little to fit to.
    #[error("{found} {what}, expected at least {expected}")]
    TooFew {
        /// How many.
        found: usize,
        /// Of what.
        what: &'static str,
        /// How many are needed.
        expected: usize,
    },
    /// The model cannot follow the start values.
    #[error(
        "the model cannot follow the motion from the linear estimates; the swing may be too large for it"
    )]
    NotFollowed,
    /// A body at rest explains the outlines as well.
    #[error(
        "a still sphere explains the outlines as well: noise would give such a motion in one of {:.0} clips, expected one of {:.0e} at most; nothing swings that could be fitted",
        1.0 / .chance,
        1.0 / CHANCE
    )]
    Still {
        /// Probability that noise alone gives as good a motion.
        chance: f64,
    },
    /// The search failed.
    #[error("{0}; nothing swings in the outlines that a fit could hold on to, or too little of it is seen")]
    Search(#[from] LeastSquaresError),
    /// The caller asked to stop.
    #[error("the fit was stopped")]
    Stopped,
}

/// Spans of time of the strides, in periods of degree 2; the last takes everything.
const SPANS: [f64; 3] = [1.2, 3.5, f64::INFINITY];
/// A motion counts when noise would give one as good with a smaller probability than this: one of a thousand, for the thousand or so motions
/// that a search could end at.
const CHANCE: f64 = 1e-6;
/// Frames used in a stride at most.
const FRAMES: usize = 240;
/// When a stride ends.
const STOP: Stop = Stop {
    steps: 15,
    tolerance: 1e-3,
};
/// A variance of what is left, over the stated one, that asks for no more degrees; and by which share two more must lower it to stay.
const WELL: f64 = 1.1;
const ENOUGH: f64 = 0.98;
/// Most degrees of the start: 2 to 12.
const MOST: usize = 11;
/// Fewest frames.
const FEWEST: usize = 20;

/// Fits a model to outlines. `watch` is told how many motions have been tried so far, before each, and says whether to go on.
///
/// # Errors
/// [`FitError`].
pub fn fit(
    outlines: &Outlines,
    begin: &Begin,
    model: &dyn Forward,
    watch: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> Result<Fitted, FitError> {
    let found = outlines.frames.len();
    if found < FEWEST {
        let what = "free outlines";
        return Err(FitError::TooFew {
            found,
            what,
            expected: FEWEST,
        });
    }
    let model = &Watched::new(model, watch);
    let degrees = begin.shape.len();
    let mut at = Parameters::of(begin).list();
    let period = std::f64::consts::TAU / 8f64.sqrt() * begin.time;
    let mut last = None;
    for span in SPANS {
        let problem = Problem::new(outlines, span * period, FRAMES, degrees, model);
        if !problem.follows(&at) {
            return Err(model.or_stopped(FitError::NotFollowed));
        }
        let minimum = minimise(&problem, &at, &[], STOP).map_err(|why| model.or_stopped(why.into()))?;
        if model.is_stopped() {
            return Err(FitError::Stopped);
        }
        at.clone_from(&minimum.parameters);
        last = Some(Fitted::of(&problem, &minimum));
    }
    let mut found = last.ok_or(FitError::NotFollowed)?;
    while let Some(better) = finer(outlines, &found, model)? {
        found = better;
    }
    if found.chance > CHANCE {
        return Err(FitError::Still { chance: found.chance });
    }
    Ok(found)
}

/// The fit with two degrees more at the start, where what is left asks for them and they explain some of it.
fn finer(outlines: &Outlines, found: &Fitted, model: &Watched<'_>) -> Result<Option<Fitted>, FitError> {
    let mut at = found.at.clone();
    if found.chi_square < WELL || at.shape.len() + 2 > MOST {
        return Ok(None);
    }
    at.shape.extend([0.0; 2]);
    at.velocity.extend([0.0; 2]);
    let problem = Problem::new(outlines, f64::INFINITY, FRAMES, at.shape.len(), model);
    let Ok(minimum) = minimise(&problem, &at.list(), &[], STOP) else {
        return Ok(None);
    };
    if model.is_stopped() {
        return Err(FitError::Stopped);
    }
    let better = Fitted::of(&problem, &minimum);
    Ok((better.chi_square < ENOUGH * found.chi_square).then_some(better))
}

#[cfg(test)]
mod tests;
