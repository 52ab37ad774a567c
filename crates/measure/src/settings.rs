//! What the caller may say before a clip is measured. Nothing here is needed: the default finds all it can.

use crate::camera::Stated;
use tremolet_clip::frame::Plane;

/// A rectangle of pixels, borders included at the top left and excluded at the bottom right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rect {
    /// First column.
    pub left: usize,
    /// First row.
    pub top: usize,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

impl Rect {
    /// Whether the place lies in the rectangle.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        let (left, top) = (self.left as f64 - 0.5, self.top as f64 - 0.5);
        x >= left && x < left + self.width as f64 && y >= top && y < top + self.height as f64
    }
}

/// Settings of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// A frame of the same view without the body.
    pub empty: Option<Plane>,
    /// Direction of the body's axis, rad from image-up towards +x; found over the clip when absent.
    pub axis_angle: Option<f64>,
    /// Highest degree of the expansion.
    pub max_degree: usize,
    /// Worker threads; 0 takes as many as there are cores.
    pub threads: usize,
    /// Regions to leave alone.
    pub masks: Vec<Rect>,
    /// What is stated of the camera.
    pub camera: Stated,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            empty: None,
            axis_angle: None,
            max_degree: 16,
            threads: 0,
            masks: Vec::new(),
            camera: Stated::default(),
        }
    }
}
