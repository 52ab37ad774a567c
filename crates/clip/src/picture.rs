//! One still picture from bytes: PNG, TIFF or JPEG to a plane of grey levels.
//!
//! Grey pictures keep their codes and depth. Colour becomes luma in the codes as they are,
//! `Y = 0.2126 R + 0.7152 G + 0.0722 B` (\[BT709\] item 3.2), rounded to a whole code; JPEG gives its own `Y` component.
//! Palettes are expanded, transparency is ignored. Depths between eight and sixteen bits stay in sixteen; CMYK, floating
//! point and signed pictures are refused.

use std::io::Cursor;

use tiff::decoder::{Decoder as Tiff, DecodingResult};
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::error::ClipError;
use crate::frame::{Levels, Plane};

/// Kinds of picture files read here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Portable Network Graphics.
    Png,
    /// Tagged Image File Format.
    Tiff,
    /// JPEG.
    Jpeg,
}

impl Kind {
    /// The kind that the first bytes announce.
    pub fn of_bytes(head: &[u8]) -> Option<Self> {
        match head {
            [0x89, b'P', b'N', b'G', ..] => Some(Self::Png),
            [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => Some(Self::Tiff),
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            _ => None,
        }
    }

    /// The name of the coding.
    pub fn name(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Tiff => "tiff",
            Self::Jpeg => "jpeg",
        }
    }
}

/// Pixels that a picture may claim; more is damage, for no camera gives them, and they would have to be held in memory.
pub const PIXELS_AT_MOST: usize = 1 << 27;

/// Refuses a claimed size before memory is set aside for it.
///
/// # Errors
/// [`ClipError::Damaged`] above [`PIXELS_AT_MOST`].
pub fn check_size(name: &str, width: usize, height: usize) -> Result<(), ClipError> {
    match width.checked_mul(height) {
        Some(pixels) if pixels <= PIXELS_AT_MOST => Ok(()),
        _ => Err(damaged(name, format!("{width}x{height} pixels cannot be"))),
    }
}

/// The picture in `bytes`; `name` is for messages.
///
/// # Errors
/// [`ClipError::Empty`] without bytes, [`ClipError::NotSupported`] for another kind or form,
/// [`ClipError::Damaged`] when the bytes do not hold what they announce.
pub fn read_picture(name: &str, bytes: &[u8]) -> Result<Plane, ClipError> {
    if bytes.is_empty() {
        return Err(ClipError::Empty { name: name.into() });
    }
    let plane = match Kind::of_bytes(bytes) {
        Some(Kind::Png) => png_plane(name, bytes)?,
        Some(Kind::Tiff) => tiff_plane(name, &mut open_tiff(name, bytes)?)?,
        Some(Kind::Jpeg) => jpeg_plane(name, bytes)?,
        None => return Err(unsupported(name, "no PNG, TIFF or JPEG")),
    };
    if plane.width == 0 || plane.height == 0 {
        return Err(damaged(name, "a picture without pixels"));
    }
    Ok(plane)
}

/// Every picture of a TIFF file with one or more pages.
///
/// # Errors
/// As [`read_picture`].
pub fn read_tiff_pages(name: &str, bytes: &[u8]) -> Result<Vec<Plane>, ClipError> {
    let mut decoder = open_tiff(name, bytes)?;
    let mut planes = vec![tiff_plane(name, &mut decoder)?];
    while decoder.more_images() {
        decoder.next_image().map_err(|e| damaged(name, e))?;
        planes.push(tiff_plane(name, &mut decoder)?);
    }
    Ok(planes)
}

/// Luma of colour levels, `channels` to a pixel of which the first three are red, green, blue (one or two: grey).
pub fn luma<T: Copy + Into<u32>>(levels: &[T], channels: usize) -> Vec<u32> {
    let of_pixel = |pixel: &[T]| {
        if channels < 3 {
            return pixel[0].into();
        }
        let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(|level| u64::from(level.into()));
        // A mean of codes is a code, so nothing is cut off.
        ((2126 * r + 7152 * g + 722 * b + 5000) / 10_000) as u32
    };
    levels.chunks_exact(channels).map(of_pixel).collect()
}

/// Luma of eight-bit colour levels; see [`luma`].
pub fn luma_of_bytes(levels: &[u8], channels: usize) -> Vec<u8> {
    luma(levels, channels)
        .into_iter()
        .map(|level| level as u8)
        .collect()
}

/// Luma of sixteen-bit colour levels; see [`luma`].
pub fn luma_of_words(levels: &[u16], channels: usize) -> Vec<u16> {
    luma(levels, channels)
        .into_iter()
        .map(|level| level as u16)
        .collect()
}

/// A plane whose number of levels fits.
///
/// # Errors
/// [`ClipError::Damaged`] when it does not.
pub fn plane_of(name: &str, width: usize, height: usize, levels: Levels) -> Result<Plane, ClipError> {
    let found = match &levels {
        Levels::Eight(levels) => levels.len(),
        Levels::Sixteen(levels) => levels.len(),
    };
    if width.checked_mul(height) != Some(found) {
        return Err(damaged(
            name,
            format!("{found} levels for {width}x{height} pixels"),
        ));
    }
    Ok(Plane {
        width,
        height,
        levels,
    })
}

fn png_plane(name: &str, bytes: &[u8]) -> Result<Plane, ClipError> {
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::EXPAND);
    let mut reader = decoder.read_info().map_err(|e| damaged(name, e))?;
    check_size(name, reader.info().width as usize, reader.info().height as usize)?;
    let size = reader
        .output_buffer_size()
        .ok_or_else(|| damaged(name, "too large a picture"))?;
    let mut buffer = vec![0; size];
    let out = reader.next_frame(&mut buffer).map_err(|e| damaged(name, e))?;
    buffer.truncate(out.buffer_size());
    png_levels(
        name,
        out.width as usize,
        out.height as usize,
        &buffer,
        out.color_type,
        out.bit_depth,
    )
}

/// The plane of decoded PNG bytes.
///
/// # Errors
/// [`ClipError::Damaged`] when the size does not fit the bytes.
pub fn png_levels(
    name: &str,
    width: usize,
    height: usize,
    bytes: &[u8],
    colour: png::ColorType,
    depth: png::BitDepth,
) -> Result<Plane, ClipError> {
    let channels = colour.samples();
    let levels = if depth == png::BitDepth::Sixteen {
        Levels::Sixteen(luma_of_words(&big_endian(bytes), channels))
    } else {
        Levels::Eight(luma_of_bytes(bytes, channels))
    };
    plane_of(name, width, height, levels)
}

fn big_endian(bytes: &[u8]) -> Vec<u16> {
    bytes
        .chunks_exact(2)
        .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
        .collect()
}

fn open_tiff<'a>(name: &str, bytes: &'a [u8]) -> Result<Tiff<Cursor<&'a [u8]>>, ClipError> {
    Tiff::new(Cursor::new(bytes)).map_err(|e| damaged(name, e))
}

fn tiff_plane(name: &str, decoder: &mut Tiff<Cursor<&[u8]>>) -> Result<Plane, ClipError> {
    use tiff::ColorType as C;
    let (width, height) = decoder.dimensions().map_err(|e| damaged(name, e))?;
    let colour = decoder.colortype().map_err(|e| damaged(name, e))?;
    let channels = match colour {
        C::Gray(8 | 16) => 1,
        C::GrayA(8 | 16) => 2,
        C::RGB(8 | 16) => 3,
        C::RGBA(8 | 16) => 4,
        other => return Err(unsupported(name, &format!("a TIFF of {other:?}"))),
    };
    let levels = match decoder.read_image().map_err(|e| damaged(name, e))? {
        DecodingResult::U8(levels) => Levels::Eight(luma_of_bytes(&levels, channels)),
        DecodingResult::U16(levels) => Levels::Sixteen(luma_of_words(&levels, channels)),
        _ => return Err(unsupported(name, "a TIFF of signed or floating-point levels")),
    };
    plane_of(name, width as usize, height as usize, levels)
}

/// The luma of a JPEG picture.
///
/// # Errors
/// As [`read_picture`].
pub fn jpeg_plane(name: &str, bytes: &[u8]) -> Result<Plane, ClipError> {
    let options = DecoderOptions::default()
        .jpeg_set_out_colorspace(ColorSpace::Luma)
        .set_strict_mode(true);
    let mut decoder = zune_jpeg::JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let levels = decoder.decode().map_err(|e| damaged(name, e))?;
    let (width, height) = decoder.dimensions().ok_or_else(|| damaged(name, "no size"))?;
    plane_of(name, width, height, Levels::Eight(levels))
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}

fn unsupported(name: &str, found: &str) -> ClipError {
    ClipError::NotSupported {
        name: name.into(),
        found: found.into(),
        advice: "export it as grey PNG or TIFF of 8 or 16 bit",
    }
}

#[cfg(test)]
mod tests;
