//! Writes a painted clip as a folder of PNG stills with the times and the truth beside them.
//!
//! `frame-00000.png ...`, `times.csv` (`frame,time_s`: the stamps), `truth.csv` (see [`Truth::write_csv`]).
//!
//! [`Truth::write_csv`]: crate::painted::truth::Truth::write_csv

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

use crate::encode::png_gray;
use crate::frame::Plane;
use crate::painted::painter::Painter;

/// Paints all frames of a recipe into `folder`, which is made when absent.
///
/// # Errors
/// When the folder or a file in it cannot be written.
pub fn write_stills(painter: &mut Painter, folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let mut times = BufWriter::new(File::create(folder.join("times.csv"))?);
    writeln!(times, "frame,time_s")?;
    let mut index = 0;
    while let Some(frame) = painter.paint(index) {
        let stamp = frame.stamp.map_or(f64::NAN, |stamp| stamp.seconds());
        writeln!(times, "{index},{stamp}")?;
        write_png(&frame.plane, &folder.join(format!("frame-{index:05}.png")))?;
        index += 1;
    }
    times.flush()?;
    let mut truth = BufWriter::new(File::create(folder.join("truth.csv"))?);
    painter.truth().write_csv(&mut truth)?;
    truth.flush()
}

/// Writes one plane as a grey PNG of its own depth.
///
/// # Errors
/// When the file cannot be written.
pub fn write_png(plane: &Plane, path: &Path) -> io::Result<()> {
    fs::write(path, png_gray(plane).map_err(io::Error::other)?)
}
