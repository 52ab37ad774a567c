//! Letting a drop go: its support vanishes and the unsupported body swings.
//!
//! How fast a [`skin`] runs off; the [`start`] shape in modes; the [`flattest`] instant of the course that follows; when linear theory [`wanes`] and
//! when the swing has died; whether the energy could [`throw`] a drop off.

pub mod flattest;
pub mod skin;
pub mod start;
pub mod throw;
pub mod wanes;
