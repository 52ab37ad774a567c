//! Modes of a ringing drop from its series of shape amplitudes.
//!
//! ```text
//! detect (lines of each degree) -> attribute (mode, leak, product) -> settle (final fit of each degree) -> covariance
//! ```
//!
//! | room | answers |
//! |---|---|
//! | `detect` | which lines are there |
//! | `attribute` | which of them are modes |
//! | `settle` | frequencies and decays with leaks and products beside them |
//! | `noise` | how much noise there is at a line |
//! | `kick` | where the ringing breaks off |
//! | `third` | which modes may be products of third order |
//! | `covariance` | how the numbers of all modes hang together |
//! | `split` | whether a mode is two close lines that beat |
//! | `lag` | how far a coding holds outlines back, by its key pictures |
//! | `coding` | what a lossy coding of the clip adds to uncertainties |
//! | `caution` | what a reader has to know |
//! | `analyse` | all of it in turn |
//!
//! Source: \[Scargle1982\], \[More1978\], \[TsamopoulosBrown1983\]. No property of a liquid is inferred here.

mod analyse;
mod attribute;
mod caution;
mod coding;
mod covariance;
mod detect;
mod kick;
mod lag;
mod noise;
mod result;
mod settle;
mod split;
mod third;

pub use analyse::analyse;
pub(crate) use coding::{MADE, lagged};
pub(crate) use detect::cycles;
pub(crate) use detect::{FEWEST_CYCLES, FEWEST_REST, REST};
pub use lag::{Coding, Lag, analyse_coded};
pub(crate) use noise::{bands, freedom, noise_at};
pub(crate) use result::MOVES;
pub use result::{DegreeResidual, Mode, Options, Ringdown, Shift, Spectrum};
pub use split::Split;

#[cfg(test)]
mod tests;
