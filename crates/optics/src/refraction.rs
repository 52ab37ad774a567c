//! Looking into a ball of liquid: where what is inside seems to be, and how large.
//!
//! From the simplest to the fullest: what sits in the [`middle`]; the [`sight`] line that a direction of view becomes inside; the [`place`] of a
//! point; the outline of an off-centre [`bubble`]; and the [`blind`] zone near the back.

pub mod blind;
pub mod bubble;
pub mod middle;
pub mod place;
pub mod sight;
