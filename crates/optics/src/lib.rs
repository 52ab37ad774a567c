//! Geometry of the camera and of light at an edge: what turns a body into its picture.

pub mod blur;
pub mod perspective;
pub mod silhouette;
