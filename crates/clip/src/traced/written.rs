//! Writes a traced clip as a folder of PNG stills with times and truth beside them, or as an MP4.
//!
//! `frame-00000.png ...`, `times.csv` (`frame,time_s`: the stamps), `truth.csv` and `truth-outlines.csv` (see [`crate::traced::witness`]).
//! A film has its truth in a folder of its own.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::ops::ControlFlow;
use std::path::Path;

use crate::encode::FilmWriter;
use crate::error::ClipError;
use crate::painted::film::colours;
use crate::painted::stills::{TRUTH, whole, write_png};
use crate::traced::shown::TracedClip;
use crate::traced::witness::{as_input, write_outlines, write_truth};

/// Name of the table of outlines.
const OUTLINES: &str = "truth-outlines.csv";

/// Hears how many frames are done and may ask to stop.
pub type Told<'a> = dyn FnMut(u64) -> ControlFlow<()> + 'a;

/// Traces all frames into `folder`, whole or absent; a painted or traced clip that was there is replaced. Returns whether it is there.
///
/// # Errors
/// When a file cannot be written, the scene cannot be traced, or the folder exists and is no painted or traced clip.
pub fn write_stills(clip: &TracedClip, folder: &Path, told: &mut Told<'_>) -> io::Result<bool> {
    whole(folder, |part| {
        fs::create_dir_all(part)?;
        let mut times = BufWriter::new(File::create(part.join("times.csv"))?);
        writeln!(times, "frame,time_s")?;
        let mut index = 0;
        while let Some(frame) = clip.trace(index).map_err(as_input)? {
            let stamp = frame.stamp.map_or(f64::NAN, |stamp| stamp.seconds());
            writeln!(times, "{index},{stamp}")?;
            write_png(&frame.plane, &part.join(format!("frame-{index:05}.png")))?;
            index += 1;
            if told(index) == ControlFlow::Break(()) {
                return Ok(false);
            }
        }
        times.flush()?;
        write_tables(clip, part)?;
        Ok(true)
    })
}

/// Writes `truth.csv` and `truth-outlines.csv` into `folder`.
///
/// # Errors
/// As [`write_stills`].
pub fn write_tables(clip: &TracedClip, folder: &Path) -> io::Result<()> {
    let mut truth = BufWriter::new(File::create(folder.join(TRUTH))?);
    write_truth(clip, &mut truth)?;
    truth.flush()?;
    let mut outlines = BufWriter::new(File::create(folder.join(OUTLINES))?);
    write_outlines(clip, &mut outlines)?;
    outlines.flush()
}

/// Traces all frames into an MP4 of this coarseness, such as [`crate::encode::FINE`]; returns false when `told` asked to stop, which leaves an
/// unfinished file.
///
/// # Errors
/// [`ClipError::NotWritten`] for an uneven clock, [`ClipError::Traced`], and what the writer of films gives.
pub fn write_mp4(
    clip: &TracedClip,
    path: &Path,
    coarseness: u8,
    told: &mut Told<'_>,
) -> Result<bool, ClipError> {
    let scene = clip.scene();
    if scene.clock.jitter > 0.0 || !scene.clock.dropped.is_empty() {
        let problem = "the clock is uneven, which an evenly spaced film cannot tell; write stills".into();
        return Err(ClipError::NotWritten {
            what: path.display().to_string(),
            problem,
        });
    }
    let (size, rate) = ((scene.pinhole.width, scene.pinhole.height), scene.clock.rate_fps);
    let mut film = FilmWriter::create(path, size.0, size.1, rate, coarseness)?;
    let mut index = 0;
    while let Some(frame) = clip.trace(index)? {
        film.push(&colours(&frame.plane, scene.camera.bits - 8))?;
        index += 1;
        if told(index) == ControlFlow::Break(()) {
            return Ok(false);
        }
    }
    film.finish()?;
    Ok(true)
}
