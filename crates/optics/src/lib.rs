//! Geometry of the camera and of light at an edge: what turns a body into its picture.

pub mod blur;
pub mod distortion;
pub mod edge_limit;
pub mod error;
pub mod field;
pub mod focus;
pub mod lamp;
pub mod motion;
pub mod perspective;
pub mod picture;
pub mod refraction;
pub mod roll;
pub mod sampling;
pub mod shutter;
pub mod silhouette;
pub mod size;
