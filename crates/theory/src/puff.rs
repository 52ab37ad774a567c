//! A puff of gas against one side of a drop: what it does to the whole and to the surface.
//!
//! The [`jet`]; its pressure [`footprint`]; the [`blow`] it gives each mode and the [`crater`] that they make; whether a droplet may leave
//! ([`ejection`]); the [`waves`] that run to the far pole and back; the [`sound`] in the liquid, which no camera sees.

pub mod blow;
pub mod crater;
pub mod ejection;
pub mod footprint;
pub mod jet;
pub mod sound;
pub mod waves;
