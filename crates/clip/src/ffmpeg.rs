//! Everything else, through ffprobe and ffmpeg as child processes where they are installed.
//!
//! ffprobe names size, pixel format and the stamp of every packet; ffmpeg then writes raw pictures in the source's own
//! pixel format and timing into a pipe, and the luma is taken from them here, so no level is rescaled. Any error that
//! ffmpeg reports ends the clip: a picture patched up by a decoder is not a measurement. Only local files are opened. The
//! child is stopped when the source is dropped. Interlaced clips are refused: alternate rows belong to two times.

use std::io::{BufReader, Read};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::thread::JoinHandle;

use crate::error::ClipError;
use crate::ffmpeg::layout::Layout;
use crate::ffmpeg::probe::{Probe, probe};
use crate::frame::{Frame, Stamp};
use crate::rhythm::playback_rate;
use crate::source::{ClipInfo, FrameSource};

pub mod layout;
pub mod probe;

/// Whether both programs can be started.
pub fn has_ffmpeg() -> bool {
    let starts = |program: &str| {
        let mut command = Command::new(program);
        command
            .arg("-version")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    };
    starts("ffprobe") && starts("ffmpeg")
}

/// Opens the clip at `path` with ffmpeg; `found` says what it is, for the message when ffmpeg is not installed.
///
/// # Errors
/// [`ClipError::NeedsFfmpeg`], [`ClipError::NoVideo`], [`ClipError::NotSupported`] (interlaced, unknown pixel format),
/// [`ClipError::Damaged`] with ffmpeg's own words.
pub fn open_ffmpeg(path: &Path, found: &str) -> Result<Box<dyn FrameSource>, ClipError> {
    Ok(Box::new(open_child(path, found)?))
}

fn open_child(path: &Path, found: &str) -> Result<Ffmpeg, ClipError> {
    let name = path.display().to_string();
    if !has_ffmpeg() {
        return Err(ClipError::NeedsFfmpeg {
            name,
            found: found.into(),
        });
    }
    let probe = probe(path, &name)?;
    let layout = layout_of(&name, &probe)?;
    let (child, pictures, complaints) = start(path, &name, &layout)?;
    let info = ClipInfo {
        name,
        width: layout.width,
        height: layout.height,
        bits: layout.bits(),
        frame_count: Some(probe.stamps.len() as u64).filter(|count| *count > 0),
        header_rate_fps: playback_rate(&probe.stamps, probe.per_second).or(probe.nominal_rate_fps),
        container: probe.container,
        codec: probe.codec,
        decoder: "ffmpeg".into(),
    };
    Ok(Ffmpeg {
        info,
        layout,
        stamps: probe.stamps,
        per_second: probe.per_second,
        child,
        pictures,
        complaints: Some(complaints),
        next: 0,
    })
}

fn layout_of(name: &str, probe: &Probe) -> Result<Layout, ClipError> {
    let refuse = |found: String, advice| ClipError::NotSupported {
        name: name.into(),
        found,
        advice,
    };
    if probe.interlaced {
        let advice = "separate the fields into frames of their own first";
        return Err(refuse("interlaced, with two times in one picture".into(), advice));
    }
    if probe.width == 0 || probe.height == 0 {
        return Err(refuse("a film without pixels".into(), "record it again"));
    }
    let layout = Layout::new(&probe.pixel_format, probe.width, probe.height);
    layout.ok_or_else(|| {
        let found = format!("in the pixel format {}", probe.pixel_format);
        refuse(found, "convert it to grey or YUV of 8 to 16 bit")
    })
}

type Started = (Child, BufReader<ChildStdout>, JoinHandle<String>);

fn start(path: &Path, name: &str, layout: &Layout) -> Result<Started, ClipError> {
    let unreadable = |source| ClipError::Unreadable {
        name: name.into(),
        source,
    };
    let mut command = Command::new("ffmpeg");
    command.args([
        "-nostdin",
        "-v",
        "error",
        "-xerror",
        "-protocol_whitelist",
        "file",
        "-i",
    ]);
    command.arg(probe::file_url(path));
    command.args([
        "-map",
        "0:v:0",
        "-fps_mode",
        "passthrough",
        "-f",
        "rawvideo",
        "-pix_fmt",
        &layout.asked_format,
        "pipe:1",
    ]);
    command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().map_err(unreadable)?;
    let pictures = child.stdout.take().expect("stdout was asked for");
    let mut stderr = child.stderr.take().expect("stderr was asked for");
    let complaints = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        // A broken pipe only ends the complaints early.
        let _ = stderr.read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    });
    Ok((child, BufReader::new(pictures), complaints))
}

/// A child that decodes.
struct Ffmpeg {
    info: ClipInfo,
    layout: Layout,
    stamps: Vec<i64>,
    per_second: u32,
    child: Child,
    pictures: BufReader<ChildStdout>,
    complaints: Option<JoinHandle<String>>,
    next: u64,
}

impl FrameSource for Ffmpeg {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    /// The child decodes from the beginning.
    fn group_of(&mut self, _: u64) -> Result<u64, ClipError> {
        Ok(0)
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let size = self.layout.picture_size();
        let mut bytes = Vec::with_capacity(size);
        let name = || self.info.name.clone();
        (&mut self.pictures)
            .take(size as u64)
            .read_to_end(&mut bytes)
            .map_err(|source| ClipError::Unreadable { name: name(), source })?;
        if bytes.len() < size {
            return self.end(bytes.len()).map(|()| None);
        }
        let stamp = usize::try_from(self.next)
            .ok()
            .and_then(|i| self.stamps.get(i))
            .copied();
        let frame = Frame {
            index: self.next,
            stamp: stamp.map(|ticks| Stamp {
                ticks,
                per_second: self.per_second,
            }),
            plane: self.layout.luma(&bytes),
        };
        self.next += 1;
        Ok(Some(frame))
    }
}

impl Ffmpeg {
    /// Whether the end is a good end.
    fn end(&mut self, rest: usize) -> Result<(), ClipError> {
        let damaged = |name: &str, problem: String| {
            Err(ClipError::Damaged {
                name: name.into(),
                problem,
            })
        };
        let Some(complaints) = self.complaints.take() else {
            return Ok(());
        };
        let complaints = complaints.join().unwrap_or_default();
        let good = self.child.wait().is_ok_and(|status| status.success());
        let said = complaints.lines().next().unwrap_or("no reason given").trim();
        if !good || rest > 0 || !complaints.trim().is_empty() {
            return damaged(
                &self.info.name,
                format!("ffmpeg stopped after {} frames: {said}", self.next),
            );
        }
        match self.info.frame_count {
            _ if self.next == 0 => Err(ClipError::Empty {
                name: self.info.name.clone(),
            }),
            Some(count) if count != self.next => damaged(
                &self.info.name,
                format!("ffmpeg decoded {} of {count} frames", self.next),
            ),
            _ => Ok(()),
        }
    }
}

impl Drop for Ffmpeg {
    fn drop(&mut self) {
        // Both fail only when the child has already ended.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(test)]
mod tests;
