//! A painted frame with what the program measured drawn on it, as a picture to look at.

use std::fs;
use std::path::Path;

use tremolet_clip::encode::png_rgb;
use tremolet_clip::painted::painter::Painter;
use tremolet_measure::measured::BodyTrack;
use tremolet_report::overlay::scene::{Style, draw};
use tremolet_study::draw::bodies;

use crate::case::Failure;

/// Writes frame `index` with the bodies on it.
///
/// # Errors
/// When the picture cannot be written.
pub fn drawn(painter: &mut Painter, index: u64, tracks: &[BodyTrack], path: &Path) -> Result<(), Failure> {
    let Some(frame) = painter.paint(index) else {
        return Ok(());
    };
    let style = Style {
        frame: index,
        time: index as f64 / painter.recipe().clock.rate_fps,
        ..Style::default()
    };
    let canvas = draw(&frame.plane, &bodies(tracks, index), &style);
    let png = png_rgb(canvas.width, canvas.height, &canvas.rgb)?;
    fs::write(path, png).map_err(Failure::file(path))
}
