//! Draws what is recorded: figures as SVG, the report as one HTML file, the outline on a frame. Computes no physics.

pub mod compare;
pub mod document;
pub mod figure;
pub mod input;
pub mod number;
pub mod overlay;
pub mod plot;
pub mod sheet;
pub mod text;
