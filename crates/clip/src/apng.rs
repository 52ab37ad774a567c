//! PNG files as clips: one picture, or an animation (APNG) frame by frame.
//!
//! Grey and colour of 8 and 16 bit; stamps from the delays, in millionths of a second (a delay is any fraction, and
//! is rounded only after summing). The header's rate is that of the first delay. A picture that stands before the
//! animation and is no part of it is passed over.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use png::{BlendOp, DisposeOp, FrameControl, Reader};

use crate::canvas::{Afterwards, Area, Canvas};
use crate::error::ClipError;
use crate::frame::{Frame, Levels, Plane, Stamp};
use crate::picture::{check_size, png_levels, read_picture};
use crate::source::{ClipInfo, FrameSource, FramesInMemory};

/// Ticks in a second.
const PER_SECOND: u32 = 1_000_000;

struct Apng {
    info: ClipInfo,
    reader: Reader<BufReader<File>>,
    canvas: Canvas,
    /// Pictures still to come in the file, the one before the animation included.
    left: u64,
    next: u64,
    seconds: f64,
}

/// Opens the PNG file at `path`.
///
/// # Errors
/// [`ClipError::Unreadable`], [`ClipError::Damaged`], [`ClipError::Empty`].
pub fn open_png(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let file = File::open(path).map_err(|source| ClipError::Unreadable {
        name: name.clone(),
        source,
    })?;
    let mut decoder = png::Decoder::new(BufReader::new(file));
    decoder.set_transformations(png::Transformations::EXPAND);
    let reader = decoder.read_info().map_err(|e| damaged(&name, e))?;
    let header = reader.info();
    let Some(animation) = header.animation_control else {
        return single(path, &name);
    };
    let apart = header.frame_control.is_none();
    let (width, height) = (header.width as usize, header.height as usize);
    check_size(&name, width, height)?;
    let info = ClipInfo {
        width,
        height,
        bits: if reader.output_color_type().1 == png::BitDepth::Sixteen {
            16
        } else {
            8
        },
        frame_count: Some(animation.num_frames.into()),
        header_rate_fps: header
            .frame_control
            .map(|control| delay(&control))
            .filter(|d| *d > 0.0)
            .map(|d| 1.0 / d),
        container: "png".into(),
        codec: "apng".into(),
        decoder: "embedded PNG".into(),
        name,
    };
    let left = u64::from(animation.num_frames) + u64::from(apart);
    Ok(Box::new(Apng {
        info,
        reader,
        canvas: Canvas::new(width, height),
        left,
        next: 0,
        seconds: 0.0,
    }))
}

fn single(path: &Path, name: &str) -> Result<Box<dyn FrameSource>, ClipError> {
    let bytes = std::fs::read(path).map_err(|source| ClipError::Unreadable {
        name: name.into(),
        source,
    })?;
    let frame = Frame {
        index: 0,
        stamp: None,
        plane: read_picture(name, &bytes)?,
    };
    let source = FramesInMemory::new(name, vec![frame])?.described("png", "png", "embedded PNG");
    Ok(Box::new(source))
}

/// Seconds that a frame is shown; a denominator of 0 means hundredths.
fn delay(control: &FrameControl) -> f64 {
    let parts = if control.delay_den == 0 {
        100
    } else {
        control.delay_den
    };
    f64::from(control.delay_num) / f64::from(parts)
}

impl FrameSource for Apng {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    /// Each picture lies on the one before it.
    fn group_of(&mut self, _: u64) -> Result<u64, ClipError> {
        Ok(0)
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        while self.left > 0 {
            self.left -= 1;
            let (plane, opacities) = self.read_picture()?;
            if let Some(control) = self.reader.info().frame_control {
                return self.show(&control, &plane, &opacities).map(Some);
            }
        }
        Ok(None)
    }
}

impl Apng {
    /// The next picture of the file and its opacities (empty: opaque).
    fn read_picture(&mut self) -> Result<(Plane, Vec<u16>), ClipError> {
        let name = &self.info.name;
        let size = self
            .reader
            .output_buffer_size()
            .ok_or_else(|| damaged(name, "too large a picture"))?;
        let mut bytes = vec![0; size];
        let out = self.reader.next_frame(&mut bytes).map_err(|e| damaged(name, e))?;
        bytes.truncate(out.buffer_size());
        let (width, height) = (out.width as usize, out.height as usize);
        let plane = png_levels(name, width, height, &bytes, out.color_type, out.bit_depth)?;
        let has_alpha = matches!(
            out.color_type,
            png::ColorType::GrayscaleAlpha | png::ColorType::Rgba
        );
        let sample = if plane.bits() == 16 { 2 } else { 1 };
        let alpha = |pixel: &[u8]| match pixel[pixel.len() - sample..] {
            [high, low] => u16::from_be_bytes([high, low]),
            [byte] => byte.into(),
            _ => 0,
        };
        let opacities = if has_alpha {
            bytes
                .chunks_exact(out.color_type.samples() * sample)
                .map(alpha)
                .collect()
        } else {
            Vec::new()
        };
        Ok((plane, opacities))
    }

    /// Lays a picture on the canvas and gives what is then seen.
    fn show(&mut self, control: &FrameControl, plane: &Plane, opacities: &[u16]) -> Result<Frame, ClipError> {
        let area = Area {
            left: control.x_offset as usize,
            top: control.y_offset as usize,
            width: plane.width,
            height: plane.height,
        };
        let afterwards = match control.dispose_op {
            DisposeOp::None => Afterwards::Keep,
            DisposeOp::Background => Afterwards::Clear,
            DisposeOp::Previous => Afterwards::Restore,
        };
        let full = plane.full_scale() as u16;
        let levels: Vec<u16> = match &plane.levels {
            Levels::Eight(levels) => levels.iter().map(|level| u16::from(*level)).collect(),
            Levels::Sixteen(levels) => levels.clone(),
        };
        let mixes = control.blend_op == BlendOp::Over;
        let opacity = |i: usize| opacities.get(i).copied().filter(|_| mixes).unwrap_or(full);
        let pixels: Vec<(u16, u16)> = levels
            .iter()
            .enumerate()
            .map(|(i, level)| (*level, opacity(i)))
            .collect();
        let Some(shown) = self.canvas.lay(area, &pixels, full, afterwards) else {
            return Err(damaged(&self.info.name, "a frame reaches over the edge"));
        };
        let levels = if full == 255 {
            Levels::Eight(shown.iter().map(|level| *level as u8).collect())
        } else {
            Levels::Sixteen(shown.to_vec())
        };
        let ticks = (self.seconds * f64::from(PER_SECOND)).round() as i64;
        let frame = Frame {
            index: self.next,
            stamp: Some(Stamp {
                ticks,
                per_second: PER_SECOND,
            }),
            plane: Plane {
                width: self.info.width,
                height: self.info.height,
                levels,
            },
        };
        self.seconds += delay(control);
        self.next += 1;
        Ok(frame)
    }
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}
