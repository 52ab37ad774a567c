//! Pictures for reports: RGB levels to the bytes of a PNG file. Nothing but the picture is written: no date, place or device.

/// The bytes of a PNG of `width` by `height` pixels; `rgb` holds three levels a pixel, row by row from the top.
///
/// # Panics
/// When the length of `rgb` does not fit: a bug of the caller.
pub fn png_rgb(width: usize, height: usize, rgb: &[u8]) -> Vec<u8> {
    assert_eq!(rgb.len(), 3 * width * height, "picture of {width}x{height}");
    let side = |length: usize| u32::try_from(length).expect("a picture that fits in memory has 32-bit sides");
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, side(width), side(height));
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("writing to memory does not fail");
    writer.write_image_data(rgb).expect("the length was checked");
    writer.finish().expect("writing to memory does not fail");
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back() {
        let rgb: Vec<u8> = (0..2 * 3 * 3).collect();
        let bytes = png_rgb(2, 3, &rgb);
        let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().expect("a PNG");
        let mut back = vec![0; reader.output_buffer_size().expect("small")];
        reader.next_frame(&mut back).expect("whole");
        assert_eq!(back, rgb);
        assert!(!bytes.windows(4).any(|w| w == b"tEXt" || w == b"tIME"), "nothing but the picture");
    }
}
