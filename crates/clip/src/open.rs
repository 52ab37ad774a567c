//! One door to every clip: looks at the first bytes, picks the reader, hands out a part of the frames on request.
//!
//! What the embedded readers know (stills, PNG, TIFF, JPEG, GIF, Y4M, MJPEG in AVI, H.264 in MP4, grey CINE) never leaves
//! the program; everything else goes to ffmpeg when that is installed. Frame numbers always count from the start of the whole clip.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use tremolet_record::findings::Caution;

use crate::cine::{is_cine, open_cine};
use crate::error::ClipError;
use crate::ffmpeg::open_ffmpeg;
use crate::frame::Frame;
use crate::mp4::open_mp4;
use crate::picture::{Kind, read_picture, read_tiff_pages};
use crate::source::{ClipInfo, FrameSource, FramesInMemory};
use crate::stills::open_stills;
use crate::times::BESIDE_STILLS;

/// What to read of a clip.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct OpenOptions {
    /// First frame, and one past the last; all frames when absent.
    pub frames: Option<(u64, u64)>,
}

/// Opens the clip at `path`: a file, or a folder of stills.
///
/// # Errors
/// What the reader of its kind gives; [`ClipError::NoSuchFrames`] for frames that the clip does not have (at once where
/// the container counts them, else when its end is reached).
pub fn open(path: &Path, options: &OpenOptions) -> Result<Box<dyn FrameSource>, ClipError> {
    let mut whole = open_whole(path)?;
    let Some((first, last)) = options.frames else {
        return Ok(whole);
    };
    let count = whole.info().frame_count;
    if first >= last || count.is_some_and(|count| last > count) {
        let name = whole.info().name.clone();
        let count = count.unwrap_or(0);
        return Err(ClipError::NoSuchFrames {
            name,
            first,
            last,
            count,
        });
    }
    whole.skip_to(first)?;
    Ok(Box::new(Part {
        whole,
        first,
        last,
        next: 0,
    }))
}

/// Whether the clip at `path` carries a real time for each frame itself, so that no capture rate is needed: stills with a
/// `times.csv` beside them, or a recording with the camera's own times. Does not say whether they are good.
pub fn has_times(path: &Path) -> bool {
    if path.is_dir() {
        return path.join(BESIDE_STILLS).exists();
    }
    let head = if path.is_file() {
        first_bytes("", path).unwrap_or_default()
    } else {
        Vec::new()
    };
    is_cine(&head) && open_cine(path).is_ok_and(|source| source.real_times().is_some())
}

fn open_whole(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    if path.is_dir() {
        return open_stills(path);
    }
    if !path.exists() {
        return Err(ClipError::Absent { path: path.into() });
    }
    let name = path.display().to_string();
    if !path.is_file() {
        // Opening a pipe would wait for somebody to write.
        return Err(ClipError::NotSupported {
            name,
            found: "a pipe or device".into(),
            advice: "copy the clip into a file first",
        });
    }
    let head = first_bytes(&name, path)?;
    match &head[..] {
        [] => Err(ClipError::Empty { name }),
        [b'G', b'I', b'F', b'8', ..] => crate::gif::open_gif(path),
        [0x89, b'P', b'N', b'G', ..] => crate::apng::open_png(path),
        head if head.starts_with(b"YUV4MPEG2") => crate::y4m::open_y4m(path),
        head if head.starts_with(b"RIFF") && head[8..].starts_with(b"AVI ") => crate::avi::open_avi(path),
        head if is_mp4(head) => open_mp4(path),
        head if is_cine(head) => open_cine(path),
        head => match Kind::of_bytes(head) {
            Some(kind) => open_picture(name, path, kind),
            None => open_ffmpeg(path, "a clip of a form not read by the program itself"),
        },
    }
}

fn first_bytes(name: &str, path: &Path) -> Result<Vec<u8>, ClipError> {
    let mut head = Vec::new();
    File::open(path)
        .and_then(|file| file.take(16).read_to_end(&mut head))
        .map_err(|source| ClipError::Unreadable {
            name: name.into(),
            source,
        })?;
    Ok(head)
}

/// MP4 and MOV begin with a box of one of these kinds.
fn is_mp4(head: &[u8]) -> bool {
    let kinds: [&[u8]; 6] = [b"ftyp", b"moov", b"mdat", b"free", b"wide", b"skip"];
    head.get(4..8).is_some_and(|kind| kinds.contains(&kind))
}

/// A single picture, or the pages of one TIFF file, as a clip.
fn open_picture(name: String, path: &Path, kind: Kind) -> Result<Box<dyn FrameSource>, ClipError> {
    let bytes = std::fs::read(path).map_err(|source| ClipError::Unreadable {
        name: name.clone(),
        source,
    })?;
    let planes = match kind {
        Kind::Tiff => read_tiff_pages(&name, &bytes)?,
        Kind::Png | Kind::Jpeg => vec![read_picture(&name, &bytes)?],
    };
    let frame = |(index, plane)| Frame {
        index,
        stamp: None,
        plane,
    };
    let frames = (0..).zip(planes).map(frame).collect();
    let source = FramesInMemory::new(&name, frames)?.described(kind.name(), kind.name(), "embedded");
    Ok(Box::new(source))
}

/// Some of the frames of a clip.
struct Part {
    whole: Box<dyn FrameSource>,
    first: u64,
    last: u64,
    next: u64,
}

impl FrameSource for Part {
    fn info(&self) -> &ClipInfo {
        self.whole.info()
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        while self.next < self.last {
            let Some(frame) = self.whole.next_frame()? else {
                return Err(ClipError::NoSuchFrames {
                    name: self.whole.info().name.clone(),
                    first: self.first,
                    last: self.last,
                    // Frames that were passed over unread count too.
                    count: self.whole.info().frame_count.unwrap_or(self.next),
                });
            };
            self.next = frame.index + 1;
            if frame.index >= self.first {
                return Ok(Some(frame));
            }
        }
        Ok(None)
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        self.whole.skip_to(frame)
    }

    fn group_of(&mut self, frame: u64) -> Result<u64, ClipError> {
        self.whole.group_of(frame)
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.whole.real_times()
    }

    fn slots(&self) -> Option<&[u64]> {
        self.whole.slots()
    }

    fn keys(&self) -> &[u64] {
        self.whole.keys()
    }

    /// Those of the whole clip, less what lies outside the part.
    fn cautions(&self) -> Vec<Caution> {
        let touches = |caution: &Caution| {
            caution
                .frames
                .is_none_or(|[from, to]| from < self.last && to >= self.first)
        };
        self.whole.cautions().into_iter().filter(touches).collect()
    }
}
