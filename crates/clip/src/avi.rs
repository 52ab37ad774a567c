//! AVI files of JPEG pictures (MJPEG), as many cameras write them; other codings go to ffmpeg.
//!
//! A RIFF file is chunks: four letters, a little-endian length, a body padded to even length. The list `hdrl` describes the
//! streams, the list `movi` holds the pictures in order; files over 1 GB go on in further RIFF chunks. AVI has no stamps, so
//! frame `k` is at `k scale / rate` s. An empty picture chunk stands for a frame that was dropped: it takes a tick, and no
//! frame is handed out for it.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use crate::error::ClipError;
use crate::ffmpeg::open_ffmpeg;
use crate::frame::{Frame, Stamp};
use crate::picture::jpeg_plane;
use crate::rhythm::playback_rate;
use crate::source::{ClipInfo, FrameSource};

/// Lists that may lie in each other: RIFF, `movi` and `rec ` are three.
const DEPTH_AT_MOST: u32 = 8;

/// Where a picture lies, and the tick at which it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Picture {
    offset: u64,
    size: u32,
    tick: i64,
}

/// The first video stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stream {
    number: usize,
    coding: [u8; 4],
    /// Ticks in a second, and ticks of a frame.
    rate: u32,
    scale: u32,
}

/// What the chunks say.
#[derive(Debug, Default)]
struct Index {
    streams: usize,
    video: Option<Stream>,
    pictures: Vec<Picture>,
    ticks: i64,
    cut_off: bool,
}

struct Avi {
    info: ClipInfo,
    file: File,
    index: Index,
    per_second: u32,
    next: u64,
}

/// Opens the AVI file at `path`.
///
/// # Errors
/// [`ClipError::NoVideo`], [`ClipError::Damaged`], [`ClipError::Empty`], or what ffmpeg gives for other codings.
pub fn open_avi(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let unreadable = |source| ClipError::Unreadable {
        name: name.clone(),
        source,
    };
    let mut file = File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    let mut index = Index::default();
    walk(&mut file, [0, length], 0, &mut index).map_err(unreadable)?;
    if index.cut_off {
        return Err(damaged(
            &name,
            "a chunk runs past the end; the recording was cut off",
        ));
    }
    let Some(video) = index.video else {
        return Err(ClipError::NoVideo { name });
    };
    if !video.coding.eq_ignore_ascii_case(b"MJPG") {
        return open_ffmpeg(path, &format!("an AVI coded as {}", video.coding.escape_ascii()));
    }
    let Some(first) = index.pictures.first().copied() else {
        return Err(ClipError::Empty { name });
    };
    let plane = match read_picture(&mut file, &name, first) {
        Ok(plane) => plane,
        Err(_) if crate::ffmpeg::has_ffmpeg() => {
            return open_ffmpeg(path, "an AVI with unusual JPEG pictures");
        }
        Err(error) => return Err(error),
    };
    let ticks: Vec<i64> = index.pictures.iter().map(|picture| picture.tick).collect();
    let info = ClipInfo {
        name,
        width: plane.width,
        height: plane.height,
        bits: 8,
        frame_count: Some(ticks.len() as u64),
        header_rate_fps: playback_rate(&ticks, video.rate),
        container: "avi".into(),
        codec: "mjpeg".into(),
        decoder: "embedded JPEG".into(),
    };
    Ok(Box::new(Avi {
        info,
        file,
        index,
        per_second: video.rate,
        next: 0,
    }))
}

/// Goes through the chunks between two places of the file, inside so many lists.
fn walk(file: &mut File, [mut at, end]: [u64; 2], depth: u32, index: &mut Index) -> io::Result<()> {
    while at + 8 <= end {
        file.seek(SeekFrom::Start(at))?;
        let mut head = [0; 8];
        file.read_exact(&mut head)?;
        let size = u32::from_le_bytes([head[4], head[5], head[6], head[7]]);
        let (body, next) = (at + 8, at + 8 + u64::from(size));
        if next > end {
            index.cut_off = true;
            return Ok(());
        }
        match &head[..4] {
            b"RIFF" | b"LIST" if size >= 4 => {
                let mut kind = [0; 4];
                file.read_exact(&mut kind)?;
                if kind == *b"strl" {
                    describe(file, body + 4, next, index)?;
                } else if depth < DEPTH_AT_MOST {
                    walk(file, [body + 4, next], depth + 1, index)?;
                }
            }
            kind => note_picture(index, kind, body, size),
        }
        at = next + u64::from(size % 2);
    }
    Ok(())
}

/// Reads a stream's description.
fn describe(file: &mut File, at: u64, end: u64, index: &mut Index) -> io::Result<()> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(at))?;
    file.take(end - at).read_to_end(&mut bytes)?;
    let number = index.streams;
    index.streams += 1;
    let long = |at: usize| {
        bytes
            .get(at..at + 4)
            .map_or(0, |b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]))
    };
    let is_video = bytes.starts_with(b"strh") && bytes.get(8..12) == Some(b"vids");
    if index.video.is_some() || !is_video {
        return Ok(());
    }
    // strh: kind 8, handler 12, scale 28, rate 32; strf behind it: coding at 16 of its body.
    let format = 8 + long(4) as usize;
    let coding = bytes.get(format + 24..format + 28).unwrap_or(&[0; 4]);
    index.video = Some(Stream {
        number,
        coding: [coding[0], coding[1], coding[2], coding[3]],
        rate: long(32).max(1),
        scale: long(28).max(1),
    });
    Ok(())
}

/// A chunk `NNdc` or `NNdb` of the video stream is a picture.
fn note_picture(index: &mut Index, kind: &[u8], offset: u64, size: u32) {
    let Some(video) = index.video else {
        return;
    };
    let number = kind
        .get(..2)
        .and_then(|digits| std::str::from_utf8(digits).ok()?.parse::<usize>().ok());
    if number != Some(video.number) || !matches!(&kind[2..], b"dc" | b"db") {
        return;
    }
    if size > 0 {
        index.pictures.push(Picture {
            offset,
            size,
            tick: index.ticks,
        });
    }
    index.ticks += i64::from(video.scale);
}

fn read_picture(file: &mut File, name: &str, picture: Picture) -> Result<crate::frame::Plane, ClipError> {
    let mut bytes = vec![0; picture.size as usize];
    file.seek(SeekFrom::Start(picture.offset))
        .and_then(|_| file.read_exact(&mut bytes))
        .map_err(|source| ClipError::Unreadable {
            name: name.into(),
            source,
        })?;
    jpeg_plane(name, &bytes)
}

impl FrameSource for Avi {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let Some(picture) = usize::try_from(self.next)
            .ok()
            .and_then(|i| self.index.pictures.get(i))
            .copied()
        else {
            return Ok(None);
        };
        let plane = read_picture(&mut self.file, &self.info.name, picture)?;
        let stamp = Some(Stamp {
            ticks: picture.tick,
            per_second: self.per_second,
        });
        let frame = Frame {
            index: self.next,
            stamp,
            plane,
        };
        self.info.check(&frame)?;
        self.next += 1;
        Ok(Some(frame))
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        self.next = self.next.max(frame.min(self.index.pictures.len() as u64));
        Ok(())
    }
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}
