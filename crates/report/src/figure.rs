//! Charts as SVG: axes, marks, legends; light, dark and in print; readable without colour.

pub mod chart;
pub mod draw;
pub mod look;
pub mod rows;
pub mod scale;
pub mod svg;
pub mod thin;
pub mod ticks;
