//! Uncompressed YUV4MPEG2 files: the luma plane of each frame.
//!
//! A line of parameters (`W`idth, `H`eight, `F`rame rate n:d, `C`hroma, `I`nterlacing), then for each frame a line that
//! begins with `FRAME` and the planes. Stamps are frame numbers in ticks of the rate. Depths over 8 bits lie in
//! little-endian words. Interlaced files are refused.

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek};
use std::path::Path;

use crate::error::ClipError;
use crate::ffmpeg::layout::Layout;
use crate::frame::{Frame, Stamp};
use crate::source::{ClipInfo, FrameSource};

/// Longest line of parameters, bytes.
const LINE_AT_MOST: u64 = 4096;

struct Y4m {
    info: ClipInfo,
    input: BufReader<File>,
    layout: Layout,
    /// Frames in so many seconds.
    rate: Option<(u32, u32)>,
    /// Length of the file.
    bytes: u64,
    next: u64,
}

/// Opens the YUV4MPEG2 file at `path`.
///
/// # Errors
/// [`ClipError::Unreadable`], [`ClipError::Damaged`], [`ClipError::NotSupported`].
pub fn open_y4m(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let unreadable = |source| ClipError::Unreadable {
        name: name.clone(),
        source,
    };
    let file = File::open(path).map_err(unreadable)?;
    let bytes = file.metadata().map_err(unreadable)?.len();
    let mut input = BufReader::new(file);
    let line = read_line(&mut input).map_err(unreadable)?;
    let header = parse(&line);
    let (Some(width), Some(height)) = (header.width, header.height) else {
        return Err(damaged(&name, "the width or height is missing or zero"));
    };
    let refuse = |found: String, advice| {
        Err(ClipError::NotSupported {
            name: name.clone(),
            found,
            advice,
        })
    };
    if header.interlaced {
        return refuse(
            "interlaced".into(),
            "separate the fields into frames of their own first",
        );
    }
    let Some(layout) = pixel_format(&header.chroma).and_then(|format| Layout::new(&format, width, height))
    else {
        return refuse(
            format!("a Y4M of chroma {}", header.chroma),
            "convert it to 4:2:0 or mono",
        );
    };
    let info = ClipInfo {
        name: name.clone(),
        width,
        height,
        bits: layout.bits(),
        frame_count: None,
        header_rate_fps: header.rate.map(|(n, d)| f64::from(n) / f64::from(d)),
        container: "y4m".into(),
        codec: "raw".into(),
        decoder: "embedded Y4M".into(),
    };
    Ok(Box::new(Y4m {
        info,
        input,
        layout,
        rate: header.rate,
        bytes,
        next: 0,
    }))
}

#[derive(Debug, PartialEq, Eq)]
struct Header {
    width: Option<usize>,
    height: Option<usize>,
    rate: Option<(u32, u32)>,
    chroma: String,
    interlaced: bool,
}

fn parse(line: &str) -> Header {
    let value = |key: char| {
        line.split_whitespace()
            .skip(1)
            .find_map(|word| word.strip_prefix(key))
    };
    let side = |key| value(key)?.parse().ok().filter(|side| *side > 0);
    let rate = |text: &str| {
        let (n, d) = text.split_once(':')?;
        Some((n.parse().ok()?, d.parse().ok()?)).filter(|(n, d)| *n > 0 && *d > 0)
    };
    Header {
        width: side('W'),
        height: side('H'),
        rate: value('F').and_then(rate),
        chroma: value('C').unwrap_or("420").into(),
        interlaced: !matches!(value('I'), None | Some("p" | "?")),
    }
}

/// The name that the layouts use.
fn pixel_format(chroma: &str) -> Option<String> {
    let (family, depth) = match chroma {
        "420jpeg" | "420mpeg2" | "420paldv" => ("420", ""),
        "mono" => return Some("gray".into()),
        _ => match chroma.strip_prefix("mono") {
            Some(depth) => return Some(format!("gray{depth}le")),
            None => chroma.split_once('p').unwrap_or((chroma, "")),
        },
    };
    if !["420", "422", "444", "411"].contains(&family) {
        return None;
    }
    Some(if depth.is_empty() {
        format!("yuv{family}p")
    } else {
        format!("yuv{family}p{depth}le")
    })
}

fn read_line(input: &mut BufReader<File>) -> std::io::Result<String> {
    let mut line = Vec::new();
    input.take(LINE_AT_MOST).read_until(b'\n', &mut line)?;
    Ok(String::from_utf8_lossy(&line).trim_end().to_owned())
}

impl FrameSource for Y4m {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let unreadable = |source| ClipError::Unreadable {
            name: self.info.name.clone(),
            source,
        };
        let line = read_line(&mut self.input).map_err(unreadable)?;
        if line.is_empty() && self.next > 0 {
            return Ok(None);
        }
        if line.is_empty() {
            return Err(ClipError::Empty {
                name: self.info.name.clone(),
            });
        }
        if !line.starts_with("FRAME") {
            return Err(damaged(
                &self.info.name,
                format!("frame {} does not begin with FRAME", self.next),
            ));
        }
        let size = self.layout.picture_size();
        let mut bytes = Vec::new();
        (&mut self.input)
            .take(size as u64)
            .read_to_end(&mut bytes)
            .map_err(unreadable)?;
        if bytes.len() < size {
            return Err(damaged(
                &self.info.name,
                format!("frame {} is cut off", self.next),
            ));
        }
        let index = self.next;
        let stamp = self.rate.and_then(|(n, d)| {
            let ticks = i64::try_from(index).ok()?.checked_mul(d.into())?;
            Some(Stamp { ticks, per_second: n })
        });
        self.next += 1;
        Ok(Some(Frame {
            index,
            stamp,
            plane: self.layout.luma(&bytes),
        }))
    }

    /// Frames are passed over unread, except one that the end of the file cuts off, which is told when it is asked for.
    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        while self.next < frame {
            let passed = self.pass();
            if !passed.map_err(|source| ClipError::Unreadable {
                name: self.info.name.clone(),
                source,
            })? {
                break;
            }
        }
        Ok(())
    }
}

impl Y4m {
    /// Passes over one frame; false, with nothing passed, where there is no whole one.
    fn pass(&mut self) -> std::io::Result<bool> {
        let begun = self.input.stream_position()?;
        let line = read_line(&mut self.input)?;
        let (at, size) = (self.input.stream_position()?, self.layout.picture_size() as u64);
        if line.starts_with("FRAME") && at + size <= self.bytes {
            self.input.seek_relative(size.cast_signed())?;
            self.next += 1;
            return Ok(true);
        }
        if line.is_empty() {
            self.info.frame_count = Some(self.next);
        }
        self.input.seek_relative(begun.cast_signed() - at.cast_signed())?;
        Ok(false)
    }
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}

#[cfg(test)]
mod tests;
