//! Where the luma lies in a raw picture of one of ffmpeg's pixel formats.
//!
//! Grey and planar YUV begin with the whole luma plane; packed 4:2:2 interleaves it; red, green and blue are weighted to
//! luma as for stills. Codes stay as they are: 10-bit codes are 0 to 1023 in sixteen bits. Palettes and bit
//! maps are asked for as 8-bit RGB, which loses nothing. Formats that are not listed are not read.

use crate::frame::{Levels, Plane};
use crate::picture::{luma_of_bytes, luma_of_words};

/// How a picture is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pixels {
    /// A luma plane first, then chroma.
    Planar { chroma: Chroma },
    /// Luma every second sample from this one.
    Packed { from: usize },
    /// Red, green, blue at these places of so many channels.
    Colour { channels: usize, places: [usize; 3] },
    /// Planes in the order green, blue, red, and so many planes in all.
    ColourPlanes { planes: usize },
}

/// Chroma planes after the luma.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Chroma {
    planes: usize,
    /// Halvings along a row and a column.
    halvings: (u32, u32),
    alpha: bool,
}

/// Layout of one picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// The format to ask ffmpeg for.
    pub asked_format: String,
    pixels: Pixels,
    /// Bytes of a sample.
    bytes: usize,
    big_endian: bool,
}

impl Layout {
    /// The layout of a format for a size, when it is known.
    pub fn new(format: &str, width: usize, height: usize) -> Option<Self> {
        let as_colour = matches!(
            format,
            "pal8" | "monob" | "monow" | "rgb8" | "bgr8" | "rgb4_byte" | "bgr4_byte"
        );
        let asked_format = if as_colour { "rgb24" } else { format };
        let (base, bits, big_endian) = split_depth(asked_format);
        let pixels = pixels_of(base, bits > 8)?;
        let layout = Self {
            width,
            height,
            asked_format: asked_format.into(),
            pixels,
            bytes: if bits > 8 { 2 } else { 1 },
            big_endian,
        };
        width.checked_mul(height)?.checked_mul(16)?;
        Some(layout)
    }

    /// Bits of the storage, 8 or 16.
    pub fn bits(&self) -> u32 {
        8 * self.bytes as u32
    }

    /// Bytes of a picture.
    pub fn picture_size(&self) -> usize {
        let luma = self.width * self.height;
        let samples = match self.pixels {
            Pixels::Planar { chroma } => {
                let side = |length: usize, halvings: u32| length.div_ceil(1 << halvings);
                let plane = side(self.width, chroma.halvings.0) * side(self.height, chroma.halvings.1);
                luma + chroma.planes * plane + usize::from(chroma.alpha) * luma
            }
            Pixels::Packed { .. } => 4 * self.width.div_ceil(2) * self.height,
            Pixels::Colour { channels, .. } => channels * luma,
            Pixels::ColourPlanes { planes } => planes * luma,
        };
        samples * self.bytes
    }

    /// The luma of a picture of [`picture_size`](Self::picture_size) bytes.
    pub fn luma(&self, bytes: &[u8]) -> Plane {
        let levels = if self.bytes == 1 {
            Levels::Eight(self.pick(bytes, luma_of_bytes))
        } else {
            let word = |pair: &[u8]| {
                let pair = [pair[0], pair[1]];
                if self.big_endian {
                    u16::from_be_bytes(pair)
                } else {
                    u16::from_le_bytes(pair)
                }
            };
            let words: Vec<u16> = bytes.chunks_exact(2).map(word).collect();
            Levels::Sixteen(self.pick(&words, luma_of_words))
        };
        Plane {
            width: self.width,
            height: self.height,
            levels,
        }
    }

    fn pick<T: Copy>(&self, samples: &[T], luma: impl Fn(&[T], usize) -> Vec<T>) -> Vec<T> {
        let count = self.width * self.height;
        match self.pixels {
            Pixels::Planar { .. } => samples[..count].to_vec(),
            Pixels::Packed { from } => {
                let rows = samples.chunks_exact(4 * self.width.div_ceil(2));
                rows.flat_map(|row| row[from..].iter().step_by(2).take(self.width).copied())
                    .collect()
            }
            Pixels::Colour { channels, places } => {
                let sorted = samples
                    .chunks_exact(channels)
                    .flat_map(|pixel| places.map(|place| pixel[place]));
                luma(&sorted.collect::<Vec<T>>(), 3)
            }
            Pixels::ColourPlanes { .. } => {
                let plane = |n: usize| &samples[n * count..(n + 1) * count];
                let (green, blue, red) = (plane(0), plane(1), plane(2));
                let pixels = (0..count).flat_map(|i| [red[i], green[i], blue[i]]);
                luma(&pixels.collect::<Vec<T>>(), 3)
            }
        }
    }
}

/// Family, bits of a sample, and whether the large byte comes first.
fn split_depth(format: &str) -> (&str, u32, bool) {
    let big_endian = format.ends_with("be");
    let Some(stem) = format.strip_suffix("le").or(format.strip_suffix("be")) else {
        return (format, 8, false);
    };
    if let Some(base) = ["rgb48", "bgr48", "rgba64", "bgra64"]
        .into_iter()
        .find(|base| *base == stem)
    {
        return (base, 16, big_endian);
    }
    for (suffix, bits) in [("9", 9), ("10", 10), ("12", 12), ("14", 14), ("16", 16)] {
        if let Some(base) = stem.strip_suffix(suffix) {
            return (base, bits, big_endian);
        }
    }
    (format, 8, false)
}

fn pixels_of(base: &str, deep: bool) -> Option<Pixels> {
    let planar = |planes, x, y, alpha| {
        Some(Pixels::Planar {
            chroma: Chroma {
                planes,
                halvings: (x, y),
                alpha,
            },
        })
    };
    let colour = |channels, places| Some(Pixels::Colour { channels, places });
    match base {
        "gray" => planar(0, 0, 0, false),
        "yuv420p" | "yuvj420p" => planar(2, 1, 1, false),
        "yuv422p" | "yuvj422p" => planar(2, 1, 0, false),
        "yuv444p" | "yuvj444p" => planar(2, 0, 0, false),
        "yuv440p" | "yuvj440p" => planar(2, 0, 1, false),
        "yuv411p" | "yuvj411p" => planar(2, 2, 0, false),
        "yuv410p" => planar(2, 2, 2, false),
        "yuva420p" => planar(2, 1, 1, true),
        "yuva422p" => planar(2, 1, 0, true),
        "yuva444p" => planar(2, 0, 0, true),
        "nv12" | "nv21" if !deep => planar(2, 1, 1, false),
        "nv16" if !deep => planar(2, 1, 0, false),
        "yuyv422" | "yvyu422" if !deep => Some(Pixels::Packed { from: 0 }),
        "uyvy422" if !deep => Some(Pixels::Packed { from: 1 }),
        "rgb24" | "rgb48" => colour(3, [0, 1, 2]),
        "bgr24" | "bgr48" => colour(3, [2, 1, 0]),
        "rgba" | "rgb0" | "rgba64" => colour(4, [0, 1, 2]),
        "bgra" | "bgr0" | "bgra64" => colour(4, [2, 1, 0]),
        "argb" | "0rgb" => colour(4, [1, 2, 3]),
        "abgr" | "0bgr" => colour(4, [3, 2, 1]),
        "gbrp" => Some(Pixels::ColourPlanes { planes: 3 }),
        "gbrap" => Some(Pixels::ColourPlanes { planes: 4 }),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layout(format: &str) -> Layout {
        Layout::new(format, 3, 3).expect("a layout")
    }

    #[test]
    fn pictures_of_odd_size_have_rounded_up_chroma() {
        let size = |format| layout(format).picture_size();
        assert_eq!(size("gray"), 9);
        assert_eq!(size("yuv420p"), 9 + 2 * 4);
        assert_eq!(size("nv12"), 9 + 2 * 4);
        assert_eq!(size("yuv422p10le"), 2 * (9 + 2 * 6));
        assert_eq!(size("yuva444p"), 36);
        assert_eq!(size("yuyv422"), 24);
        assert_eq!(size("rgb48le"), 54);
        assert_eq!(size("gbrap"), 36);
    }

    #[test]
    fn depth_is_part_of_the_name() {
        assert_eq!(split_depth("yuv420p10le"), ("yuv420p", 10, false));
        assert_eq!(split_depth("gray16be"), ("gray", 16, true));
        assert_eq!(split_depth("rgb48be"), ("rgb48", 16, true));
        assert_eq!(split_depth("gray"), ("gray", 8, false));
        assert_eq!(Layout::new("grayf32le", 3, 3), None);
        assert_eq!(Layout::new("bayer_rggb8", 3, 3), None);
        assert_eq!(layout("pal8").asked_format, "rgb24");
    }

    #[test]
    fn luma_is_found_wherever_it_lies() {
        let at = |format: &str, bytes: &[u8]| Layout::new(format, 2, 1).expect("a layout").luma(bytes);
        assert_eq!(at("yuyv422", &[7, 0, 9, 0]), Plane::eight(2, 1, vec![7, 9]));
        assert_eq!(at("uyvy422", &[0, 7, 0, 9]), Plane::eight(2, 1, vec![7, 9]));
        assert_eq!(
            at("gray12le", &[1, 2, 3, 4]),
            Plane::sixteen(2, 1, vec![0x0201, 0x0403])
        );
        assert_eq!(
            at("gray16be", &[1, 2, 3, 4]),
            Plane::sixteen(2, 1, vec![0x0102, 0x0304])
        );
        // Pure red and pure blue: 0.2126 and 0.0722 of 255.
        assert_eq!(
            at("bgr24", &[0, 0, 255, 255, 0, 0]),
            Plane::eight(2, 1, vec![54, 18])
        );
        assert_eq!(
            at("gbrp", &[0, 0, 0, 255, 255, 0]),
            Plane::eight(2, 1, vec![54, 18])
        );
    }
}
