//! Writes a painted clip as a folder of PNG stills with the times and the truth beside them.
//!
//! `frame-00000.png ...`, `times.csv` (`frame,time_s`: the stamps), `truth.csv` (see [`Truth::write_csv`]), and with a
//! rolling shutter `truth-rows.csv` (`row,delay_s`), with a handled camera `truth-view.csv` (shift, zoom, blur, light by frame).
//!
//! [`Truth::write_csv`]: crate::painted::truth::Truth::write_csv

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::ops::ControlFlow;
use std::path::Path;

use crate::encode::png_gray;
use crate::frame::Plane;
use crate::painted::painter::Painter;

/// Name of the table of the truth; a folder with it is a painted clip.
pub(crate) const TRUTH: &str = "truth.csv";

/// Name of the table of how the camera was handled.
const VIEW: &str = "truth-view.csv";

/// Name of the table of the parts of bodies.
const PARTS: &str = "truth-parts.csv";

/// Name of the table of the delays of rows.
const ROWS: &str = "truth-rows.csv";

/// Paints all frames of a recipe into `folder`, which is made when absent.
///
/// # Errors
/// When the folder or a file in it cannot be written.
pub fn write_stills(painter: &mut Painter, folder: &Path) -> io::Result<()> {
    write(painter, folder, &mut |_| ControlFlow::Continue(())).map(|_| ())
}

/// As [`write_stills`], whole or absent: `told` hears how many frames are done and may ask to stop, which leaves nothing. A painted
/// clip that was there is replaced. Returns whether the clip is there.
///
/// # Errors
/// As [`write_stills`], and when the folder exists and is no painted clip.
pub fn write_stills_whole(
    painter: &mut Painter,
    folder: &Path,
    told: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> io::Result<bool> {
    whole(folder, |part| write(painter, part, told))
}

/// Lets `write` fill a folder under another name and gives it its own when it is whole; an unfinished one is taken away. What is there and no
/// painted clip is left alone.
pub(crate) fn whole(folder: &Path, write: impl FnOnce(&Path) -> io::Result<bool>) -> io::Result<bool> {
    if folder.exists() && !folder.join(TRUTH).is_file() {
        let why = format!(
            "{} exists and holds no painted clip: give another folder",
            folder.display()
        );
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, why));
    }
    let name = folder.file_name().unwrap_or_default().to_string_lossy();
    let part = folder.with_file_name(format!(".{name}.{}.unfinished", std::process::id()));
    let written = write(&part);
    if !matches!(written, Ok(true)) {
        // What led here is the thing to tell.
        drop(fs::remove_dir_all(&part));
        return written;
    }
    if folder.exists() {
        fs::remove_dir_all(folder)?;
    }
    fs::rename(&part, folder)?;
    Ok(true)
}

fn write(
    painter: &mut Painter,
    folder: &Path,
    told: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> io::Result<bool> {
    fs::create_dir_all(folder)?;
    let mut times = BufWriter::new(File::create(folder.join("times.csv"))?);
    writeln!(times, "frame,time_s")?;
    let mut index = 0;
    while let Some(frame) = painter.paint(index) {
        let stamp = frame.stamp.map_or(f64::NAN, |stamp| stamp.seconds());
        writeln!(times, "{index},{stamp}")?;
        write_png(&frame.plane, &folder.join(format!("frame-{index:05}.png")))?;
        index += 1;
        if told(index) == ControlFlow::Break(()) {
            return Ok(false);
        }
    }
    times.flush()?;
    let mut truth = BufWriter::new(File::create(folder.join(TRUTH))?);
    let told = painter.truth();
    told.write_csv(&mut truth)?;
    truth.flush()?;
    if !told.rows.is_empty() {
        let mut rows = BufWriter::new(File::create(folder.join(ROWS))?);
        told.write_rows(&mut rows)?;
        rows.flush()?;
    }
    if !told.still {
        let mut view = BufWriter::new(File::create(folder.join(VIEW))?);
        told.write_view(&mut view)?;
        view.flush()?;
    }
    if told.is_parted() {
        let mut parts = BufWriter::new(File::create(folder.join(PARTS))?);
        told.write_parts(&mut parts)?;
        parts.flush()?;
    }
    Ok(true)
}

/// Writes one plane as a grey PNG of its own depth.
///
/// # Errors
/// When the file cannot be written.
pub fn write_png(plane: &Plane, path: &Path) -> io::Result<()> {
    fs::write(path, png_gray(plane).map_err(io::Error::other)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::painted::body::PaintedBody;
    use crate::painted::recipe::Recipe;

    fn painter() -> Painter {
        let mut recipe = Recipe::silhouette(48, 40, 6, 50.0, 1e-4);
        recipe.bodies = vec![PaintedBody::sphere(12.0, [24.0, 20.0])];
        Painter::new(recipe).expect("a good recipe")
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("there").flatten();
        entries.map(|e| e.file_name().to_string_lossy().into()).collect()
    }

    #[test]
    fn a_stop_leaves_nothing_and_a_painted_clip_is_replaced() {
        let place = tempfile::tempdir().expect("a folder");
        let folder = place.path().join("clip");
        let mut stop = |done: u64| {
            if done < 3 {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        };
        assert!(!write_stills_whole(&mut painter(), &folder, &mut stop).expect("stopped"));
        assert!(names(place.path()).is_empty());
        let mut on = |_| ControlFlow::Continue(());
        for _ in 0..2 {
            assert!(write_stills_whole(&mut painter(), &folder, &mut on).expect("painted"));
            assert_eq!(names(&folder).len(), 8);
            fs::write(folder.join("frame-99999.png"), "left over").expect("written");
        }
        assert_eq!(names(place.path()), ["clip"]);
    }

    #[test]
    fn what_is_no_painted_clip_is_left_alone() {
        let place = tempfile::tempdir().expect("a folder");
        fs::write(place.path().join("notes.txt"), "mine").expect("written");
        let mut on = |_| ControlFlow::Continue(());
        let refused = write_stills_whole(&mut painter(), place.path(), &mut on);
        assert!(refused.is_err_and(|e| e.to_string().contains("another folder")));
        assert_eq!(names(place.path()), ["notes.txt"]);
    }
}
