//! Outlines, bodies of revolution and their expansions: geometry without pixels, metres or time.

pub mod area;
pub mod expansion;
pub mod harmonics;
pub mod normal_equations;
pub mod outline;
pub mod revolution;
pub mod symmetry;
pub mod turned;
