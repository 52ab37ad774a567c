//! Frames to outlines: finds bodies in a clip and measures their shape in pixels, without expecting anything.

mod alike;
pub mod aside;
pub mod axis;
pub mod bright;
pub mod camera;
pub mod edge;
pub mod error;
pub mod follow;
pub mod glimpse;
pub mod grid;
pub mod joint;
pub mod locate;
pub mod measured;
pub mod meetings;
pub mod parts;
pub mod rim;
pub mod ring;
pub mod scene;
pub mod session;
pub mod settings;
pub mod sighting;
pub mod step;
pub mod track;
pub mod views;
