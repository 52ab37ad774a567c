//! Annotated clips and images out: RGB canvases to H.264 in MP4, or to PNG.
//!
//! ```text
//! Y' = 16 + 219 (Kr R + (1 - Kr - Kb) G + Kb B),   Cb = 128 + 112 (B - Y) / (1 - Kb),   Cr = 128 + 112 (R - Y) / (1 - Kr)
//! ```
//!
//! with R, G, B from 0 to 1 and `Kr = 0.2126, Kb = 0.0722` from 720 rows (\[BT709\] items 3.2 to 3.5), `Kr = 0.299,
//! Kb = 0.114` below (\[BT601\] items 2.5), which is what players take for a film that does not say. Chroma is the mean of
//! two by two pixels. Odd sizes are widened by repeating the last column or row, for the coding needs even ones. The coding
//! loses a little: annotated clips are for looking at, never to be measured.

use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use muxide::api::{Muxer, MuxerBuilder, VideoCodec};
use rusty_h264::{Encoder, EncoderConfig, YuvFrame};

use crate::error::ClipError;
use crate::frame::{Levels, Plane};

/// Frames from one key frame to the next, so that a player can seek.
const KEY_EVERY: u32 = 30;
/// Coarseness of the coding (the quantiser of \[H264\], 0 finest, 51 coarsest) of a good camera's clip: it keeps its noise.
pub const FINE: u8 = 10;
/// Coarseness for a film to look at: lines of one pixel stay sharp, noise goes; a fraction of the bytes of [`FINE`].
pub const TO_LOOK_AT: u8 = 28;

/// Writes a film frame by frame.
pub struct FilmWriter {
    encoder: Encoder,
    muxer: Muxer<BufWriter<File>>,
    path: String,
    size: (usize, usize),
    rate_fps: f64,
    written: u64,
}

impl FilmWriter {
    /// A film of `width` by `height` pixels at `path`, played at `rate_fps` frames per second.
    ///
    /// # Errors
    /// [`ClipError::NotWritten`] for a size or rate that cannot be, or when the file cannot be made.
    pub fn create(
        path: &Path,
        width: usize,
        height: usize,
        rate_fps: f64,
        coarseness: u8,
    ) -> Result<Self, ClipError> {
        let name = path.display().to_string();
        if width == 0 || height == 0 || !(rate_fps.is_finite() && rate_fps > 0.0) {
            let problem = format!("{width}x{height} pixels at {rate_fps} fps are no film");
            return Err(ClipError::NotWritten { what: name, problem });
        }
        let even = (width.next_multiple_of(2), height.next_multiple_of(2));
        let encoder = Encoder::new(settings(even, rate_fps, coarseness.min(51)))
            .map_err(|e| not_written(&name, format!("{e:?}")))?;
        let file = File::create(path).map_err(|e| not_written(&name, e))?;
        let side = |side: usize| u32::try_from(side).map_err(|e| not_written(&name, e));
        let muxer = MuxerBuilder::new(BufWriter::new(file))
            .video(VideoCodec::H264, side(even.0)?, side(even.1)?, rate_fps)
            .build()
            .map_err(|e| not_written(&name, e))?;
        Ok(Self {
            encoder,
            muxer,
            path: name,
            size: (width, height),
            rate_fps,
            written: 0,
        })
    }

    /// Adds a frame: red, green, blue of each pixel, row by row from the top, `3 * width * height` bytes.
    ///
    /// # Errors
    /// [`ClipError::NotWritten`] when the length does not fit or the file cannot be written.
    pub fn push(&mut self, rgb: &[u8]) -> Result<(), ClipError> {
        let (width, height) = self.size;
        if rgb.len() != 3 * width * height {
            return Err(not_written(
                &self.path,
                format!("{} bytes for {width}x{height} pixels", rgb.len()),
            ));
        }
        let unit = self.encoder.try_encode(&yuv_of(rgb, width, height));
        let unit = unit.map_err(|e| not_written(&self.path, format!("{e:?}")))?;
        let time = self.written as f64 / self.rate_fps;
        self.muxer
            .write_video(time, &unit, is_key(&unit))
            .map_err(|e| not_written(&self.path, e))?;
        self.written += 1;
        Ok(())
    }

    /// Closes the film.
    ///
    /// # Errors
    /// [`ClipError::NotWritten`] without frames, or when the file cannot be written.
    pub fn finish(self) -> Result<(), ClipError> {
        if self.written == 0 {
            return Err(not_written(&self.path, "a film needs a frame"));
        }
        self.muxer.finish().map_err(|e| not_written(&self.path, e))
    }
}

/// One unit out for each frame in: no look-ahead, no reordering.
fn settings((width, height): (usize, usize), rate_fps: f64, coarseness: u8) -> EncoderConfig {
    let mut settings = EncoderConfig::baseline(width, height);
    settings.level_idc = level(width, height, rate_fps);
    settings.gop_size = KEY_EVERY;
    settings.qp = coarseness;
    settings.framerate = rate_fps as f32;
    settings
}

/// The lowest level that allows the size and rate (\[H264\] table A-1: blocks in a frame, blocks in a second).
fn level(width: usize, height: usize, rate_fps: f64) -> u8 {
    let blocks = width.div_ceil(16) * height.div_ceil(16);
    let table = [
        (30, 1_620, 40_500.0),
        (31, 3_600, 108_000.0),
        (32, 5_120, 216_000.0),
        (40, 8_192, 245_760.0),
        (42, 8_704, 522_240.0),
        (50, 22_080, 589_824.0),
        (51, 36_864, 983_040.0),
    ];
    let fits = |&&(_, in_frame, in_second): &&(u8, usize, f64)| {
        blocks <= in_frame && blocks as f64 * rate_fps <= in_second
    };
    table.iter().find(fits).map_or(52, |(level, _, _)| *level)
}

/// Whether a unit with start codes holds a key picture.
fn is_key(unit: &[u8]) -> bool {
    unit.windows(4).any(|w| w[..3] == [0, 0, 1] && w[3] & 31 == 5)
}

/// Weights of red and blue in the luma, by the rows of the film.
fn weights(height: usize) -> (f64, f64) {
    if height >= 720 {
        (0.2126, 0.0722)
    } else {
        (0.299, 0.114)
    }
}

/// A linear form of red, green and blue in whole numbers, 2^-`BITS` the unit.
struct Form {
    weights: [i32; 3],
    start: i32,
}

const BITS: i32 = 18;

impl Form {
    fn new(start: f64, weights: [f64; 3]) -> Self {
        let whole = |v: f64| (v * f64::from(1 << BITS)).round() as i32;
        Self {
            weights: weights.map(whole),
            start: whole(start + 0.5),
        }
    }

    #[inline]
    fn of(&self, [r, g, b]: [i32; 3]) -> u8 {
        let [wr, wg, wb] = self.weights;
        // Between 16 and 240 for codes, so the cast keeps all.
        ((self.start + wr * r + wg * g + wb * b) >> BITS) as u8
    }
}

/// Luma and the two chromas of a film with so many rows; the chromas take sums over four pixels.
fn forms(height: usize) -> [Form; 3] {
    let (kr, kb) = weights(height);
    let luma = [kr, 1.0 - kr - kb, kb];
    let chroma = |own: usize, k: f64| {
        let part = |c: usize| f64::from(u8::from(c == own)) - luma[c];
        Form::new(
            128.0,
            [0, 1, 2].map(|c| 112.0 / (4.0 * 255.0) / (1.0 - k) * part(c)),
        )
    };
    [
        Form::new(16.0, luma.map(|w| w * 219.0 / 255.0)),
        chroma(2, kb),
        chroma(0, kr),
    ]
}

/// Luma and chroma of a canvas, widened to even sizes. Most of a canvas is grey: its luma is looked up, and only where a
/// colour is met is chroma anything but that of the black frame.
fn yuv_of(rgb: &[u8], width: usize, height: usize) -> YuvFrame {
    let [luma, blue, red] = forms(height);
    let (even_width, even_height) = (width.next_multiple_of(2), height.next_multiple_of(2));
    let mut frame = YuvFrame::black(even_width, even_height);
    let grey: [u8; 256] = std::array::from_fn(|level| luma.of([level as i32; 3]));
    let row = |y: usize| &rgb[3 * width * y.min(height - 1)..][..3 * width];
    let half = even_width / 2;
    let mut coloured = vec![false; half * even_height / 2];
    for (y, out) in frame.y.chunks_exact_mut(even_width).enumerate() {
        let met = &mut coloured[y / 2 * half..][..half];
        for (x, (out, pixel)) in out.iter_mut().zip(row(y).chunks_exact(3)).enumerate() {
            let [r, g, b] = [pixel[0], pixel[1], pixel[2]];
            if r == g && g == b {
                *out = grey[usize::from(r)];
            } else {
                *out = luma.of([r, g, b].map(i32::from));
                met[x / 2] = true;
            }
        }
        out[even_width - 1] = out[width - 1];
    }
    for at in (0..coloured.len()).filter(|at| coloured[*at]) {
        let (x, y) = (at % half, at / half);
        let columns = [2 * x, (2 * x + 1).min(width - 1)];
        let sum = [0, 1, 2].map(|c| {
            let two = |row: &[u8]| i32::from(row[3 * columns[0] + c]) + i32::from(row[3 * columns[1] + c]);
            two(row(2 * y)) + two(row(2 * y + 1))
        });
        frame.u[at] = blue.of(sum);
        frame.v[at] = red.of(sum);
    }
    frame
}

/// A colour PNG of red, green, blue bytes, row by row from the top.
///
/// # Errors
/// [`ClipError::NotWritten`] when the length does not fit the size.
pub fn png_rgb(width: usize, height: usize, rgb: &[u8]) -> Result<Vec<u8>, ClipError> {
    png_bytes(width, height, png::ColorType::Rgb, png::BitDepth::Eight, rgb)
}

/// A grey PNG of a plane, in its own depth.
///
/// # Errors
/// [`ClipError::NotWritten`] for a plane without pixels.
pub fn png_gray(plane: &Plane) -> Result<Vec<u8>, ClipError> {
    let (depth, bytes) = match &plane.levels {
        Levels::Eight(levels) => (png::BitDepth::Eight, levels.clone()),
        Levels::Sixteen(levels) => (
            png::BitDepth::Sixteen,
            levels.iter().flat_map(|level| level.to_be_bytes()).collect(),
        ),
    };
    png_bytes(
        plane.width,
        plane.height,
        png::ColorType::Grayscale,
        depth,
        &bytes,
    )
}

fn png_bytes(
    width: usize,
    height: usize,
    colour: png::ColorType,
    depth: png::BitDepth,
    bytes: &[u8],
) -> Result<Vec<u8>, ClipError> {
    let failed = |problem: String| not_written("an image", problem);
    let side = |side: usize| u32::try_from(side).map_err(|e| failed(e.to_string()));
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, side(width)?, side(height)?);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    let mut writer = encoder.write_header().map_err(|e| failed(e.to_string()))?;
    writer
        .write_image_data(bytes)
        .map_err(|e| failed(e.to_string()))?;
    writer.finish().map_err(|e| failed(e.to_string()))?;
    Ok(out)
}

fn not_written(what: &str, problem: impl ToString) -> ClipError {
    ClipError::NotWritten {
        what: what.into(),
        problem: problem.to_string(),
    }
}

#[cfg(test)]
mod tests;
