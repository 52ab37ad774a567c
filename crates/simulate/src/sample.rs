//! What a solver tells of an instant: surfaces, amplitudes, and the quantities that must not change.
//!
//! ```text
//! energy = kinetic + surface energy       momentum along z, over mass       centroid along z
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | z, rho | along the axis, across it, in a frame that does not turn and whose origin is at `origin` of the laboratory | m |
//! | a_n | amplitudes of the shape about its centre of mass, by degree, of the sphere of equal volume | - |
//!
//! Source: definitions.

use serde::{Deserialize, Serialize};

/// One instant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// s.
    pub time: f64,
    /// Where the origin of z lies in the laboratory, m.
    pub origin: f64,
    /// One for each surface: bodies from the greatest z downwards, each followed by its bubbles.
    pub surfaces: Vec<Surface>,
    /// `a_n` by degree, of a single body that is star-shaped about its centre; empty otherwise.
    pub amplitudes: Vec<f64>,
    /// Conserved quantities.
    pub watched: Watched,
}

/// One closed surface of revolution.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Surface {
    /// Points `[z, rho]`, m, from the greatest z on the axis along the surface to the least.
    pub meridian: Vec<[f64; 2]>,
    /// Whether liquid lies inside (a body) or outside (a bubble).
    pub holds_liquid: bool,
}

/// Quantities that a free body keeps; drivers and viscosity change energy, forces change momentum.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Watched {
    /// Of the liquid, m^3.
    pub volume: f64,
    /// Kinetic in the frame of the centre of mass, and surface, J.
    pub energy: f64,
    /// Of the liquid along z over its mass, in the frame of the sample, m/s.
    pub velocity: f64,
    /// Of the liquid along z from the origin of the sample, m.
    pub centroid: f64,
}

impl Watched {
    /// Change of the volume since `start`, as a share.
    #[must_use]
    pub fn volume_drift(&self, start: &Self) -> f64 {
        self.volume / start.volume - 1.0
    }

    /// Change of the energy since `start`, as a share.
    #[must_use]
    pub fn energy_drift(&self, start: &Self) -> f64 {
        self.energy / start.energy - 1.0
    }
}
