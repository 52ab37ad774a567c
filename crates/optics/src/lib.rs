//! Geometry of the camera and of light at an edge: what turns a body into its picture.

pub mod blur;
pub mod distortion;
pub mod lamp;
pub mod perspective;
pub mod picture;
pub mod roll;
pub mod shutter;
pub mod silhouette;
