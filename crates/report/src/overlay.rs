//! Draws what was measured on a frame: outline, hidden arcs, centre, axis, number, time; covers what must not be seen.

pub mod canvas;

pub mod letters;
pub mod scene;
pub mod stretch;
pub mod stroke;
