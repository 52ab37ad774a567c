//! The synthetic camera for simulated runs: bodies of revolution traced ray by ray, with refraction, reflection and absorption.
//!
//! [`crate::painted`] draws what a camera shows of shapes that the caller prescribes; this room looks at surfaces as a solver gives them, dark
//! before a light or clear before a board, in a room with lamps. Space is that of the camera: x right, y down, z away from the lens,
//! metres. It shares the painter's clock and sensor.

pub mod blur;
pub mod error;
mod exit;
pub mod gather;
pub mod medium;
pub mod meridian;
pub mod pinhole;
pub mod rim;
pub mod scene;
pub mod shown;
pub mod surface;
pub mod tracer;
pub mod vector;
pub mod witness;
pub mod world;
pub mod written;
