//! Animated GIF: eight-bit luma of each frame, stamps from the delays in hundredths of a second.
//!
//! The file is passed over once for its delays, then decoded frame by frame. When no frame has a delay there are no stamps.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use gif::{ColorOutput, DecodeOptions, Decoder, DisposalMethod};

use crate::canvas::{Afterwards, Area, Canvas};
use crate::error::ClipError;
use crate::frame::{Frame, Plane, Stamp};
use crate::picture::{check_size, luma_of_bytes};
use crate::rhythm::playback_rate;
use crate::source::{ClipInfo, FrameSource};

/// Ticks in a second.
const PER_SECOND: u32 = 100;

struct Gif {
    info: ClipInfo,
    decoder: Decoder<BufReader<File>>,
    canvas: Canvas,
    stamps: Vec<i64>,
    next: u64,
}

/// Opens the GIF file at `path`.
///
/// # Errors
/// [`ClipError::Unreadable`], [`ClipError::Damaged`], [`ClipError::Empty`].
pub fn open_gif(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let delays = delays(path, &name)?;
    if delays.is_empty() {
        return Err(ClipError::Empty { name });
    }
    let stamps = stamps(&delays);
    let decoder = decoder(path, &name, false)?;
    let (width, height) = (usize::from(decoder.width()), usize::from(decoder.height()));
    check_size(&name, width, height)?;
    let info = ClipInfo {
        name,
        width,
        height,
        bits: 8,
        frame_count: Some(delays.len() as u64),
        header_rate_fps: playback_rate(&stamps, PER_SECOND),
        container: "gif".into(),
        codec: "gif".into(),
        decoder: "embedded GIF".into(),
    };
    Ok(Box::new(Gif {
        info,
        decoder,
        canvas: Canvas::new(width, height),
        stamps,
        next: 0,
    }))
}

fn decoder(path: &Path, name: &str, skip: bool) -> Result<Decoder<BufReader<File>>, ClipError> {
    let file = File::open(path).map_err(|source| ClipError::Unreadable {
        name: name.into(),
        source,
    })?;
    let mut options = DecodeOptions::new();
    options.set_color_output(ColorOutput::RGBA);
    options.check_frame_consistency(true);
    options.skip_frame_decoding(skip);
    options
        .read_info(BufReader::new(file))
        .map_err(|e| damaged(name, e))
}

fn delays(path: &Path, name: &str) -> Result<Vec<u16>, ClipError> {
    let mut decoder = decoder(path, name, true)?;
    let mut delays = Vec::new();
    while let Some(frame) = decoder.next_frame_info().map_err(|e| damaged(name, e))? {
        delays.push(frame.delay);
    }
    Ok(delays)
}

/// A frame is shown when all before it have had their delays.
fn stamps(delays: &[u16]) -> Vec<i64> {
    if delays.iter().all(|delay| *delay == 0) {
        return Vec::new();
    }
    let start = |sum: &mut i64, delay: &u16| {
        let start = *sum;
        *sum += i64::from(*delay);
        Some(start)
    };
    delays.iter().scan(0, start).collect()
}

impl FrameSource for Gif {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    /// Each picture lies on the one before it.
    fn group_of(&mut self, _: u64) -> Result<u64, ClipError> {
        Ok(0)
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let name = &self.info.name;
        let Some(picture) = self.decoder.read_next_frame().map_err(|e| damaged(name, e))? else {
            return Ok(None);
        };
        let area = Area {
            left: picture.left.into(),
            top: picture.top.into(),
            width: picture.width.into(),
            height: picture.height.into(),
        };
        let afterwards = match picture.dispose {
            DisposalMethod::Any | DisposalMethod::Keep => Afterwards::Keep,
            DisposalMethod::Background => Afterwards::Clear,
            DisposalMethod::Previous => Afterwards::Restore,
        };
        let opacities = picture.buffer.chunks_exact(4).map(|pixel| u16::from(pixel[3]));
        let levels = luma_of_bytes(&picture.buffer, 4).into_iter().map(u16::from);
        let pixels: Vec<(u16, u16)> = levels.zip(opacities).collect();
        let Some(shown) = self.canvas.lay(area, &pixels, 255, afterwards) else {
            return Err(damaged(name, "a frame reaches over the edge"));
        };
        let levels = shown.iter().map(|level| *level as u8).collect();
        let stamp = usize::try_from(self.next).ok().and_then(|i| self.stamps.get(i));
        let frame = Frame {
            index: self.next,
            stamp: stamp.map(|ticks| Stamp {
                ticks: *ticks,
                per_second: PER_SECOND,
            }),
            plane: Plane::eight(self.info.width, self.info.height, levels),
        };
        self.next += 1;
        Ok(Some(frame))
    }
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}
