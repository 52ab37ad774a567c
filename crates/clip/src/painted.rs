//! The synthetic camera, with its truth beside it.
//!
//! A recipe says what is in front of the lens: bodies whose Legendre amplitudes the caller prescribes over time, lamp,
//! background, obstacles, dust, camera and clock. The painter gives frames as a camera would, each independent of the
//! order of painting, and the truth gives what an ideal observer would have written down. It draws by its own means and
//! shares nothing with the rooms that measure, so that an error here cannot cancel an error there.

pub mod background;
pub mod body;
pub mod clock;
pub mod coverage;
pub mod film;
pub mod glass;
pub mod handling;
pub mod hoop;
pub mod noise;
pub mod outline;
pub mod painter;
pub mod parts;
pub mod recipe;
pub mod shadow;
pub mod space;
pub mod stills;
pub mod truth;
pub mod veil;

#[cfg(test)]
mod tests;
