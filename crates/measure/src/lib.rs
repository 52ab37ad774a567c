//! Frames to outlines: finds bodies in a clip and measures their shape in pixels, without expecting anything.

pub mod bright;
pub mod camera;
pub mod edge;
pub mod error;
pub mod follow;
pub mod grid;
pub mod locate;
pub mod measured;
pub mod parts;
pub mod rim;
pub mod ring;
pub mod scene;
pub mod session;
pub mod settings;
pub mod step;
pub mod track;
pub mod views;
