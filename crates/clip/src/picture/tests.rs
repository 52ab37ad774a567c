//! Pictures written here, byte for byte or with another crate, read back.

use super::*;

/// A grey or colour PNG.
fn png_bytes(width: u32, height: u32, colour: png::ColorType, depth: png::BitDepth, data: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(data).expect("data");
    writer.finish().expect("an end");
    out
}

fn tiff_bytes(pages: usize) -> Vec<u8> {
    use tiff::encoder::{TiffEncoder, colortype::Gray16};
    let mut out = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut out).expect("an encoder");
    for page in 0..pages {
        let levels: Vec<u16> = (0..6).map(|i| 4095 - i - 100 * page as u16).collect();
        encoder.write_image::<Gray16>(3, 2, &levels).expect("a page");
    }
    out.into_inner()
}

#[test]
fn grey_png_keeps_every_code_of_both_depths() {
    let levels: Vec<u8> = (0..15).map(|i| i * 17).collect();
    let eight = png_bytes(5, 3, png::ColorType::Grayscale, png::BitDepth::Eight, &levels);
    assert_eq!(
        read_picture("a", &eight).expect("a plane"),
        Plane::eight(5, 3, levels)
    );
    let words: Vec<u16> = vec![0, 1, 256, 4095, 65534, 65535];
    let data: Vec<u8> = words.iter().flat_map(|word| word.to_be_bytes()).collect();
    let sixteen = png_bytes(3, 2, png::ColorType::Grayscale, png::BitDepth::Sixteen, &data);
    assert_eq!(
        read_picture("b", &sixteen).expect("a plane"),
        Plane::sixteen(3, 2, words)
    );
}

#[test]
fn colour_becomes_luma_by_the_standard_weights() {
    let data = [255, 0, 0, 0, 255, 0, 0, 0, 255, 200, 200, 200];
    let bytes = png_bytes(4, 1, png::ColorType::Rgb, png::BitDepth::Eight, &data);
    // ITU-R BT.709 item 3.2: 0.2126, 0.7152, 0.0722, times 255 and rounded by hand.
    assert_eq!(
        read_picture("c", &bytes).expect("a plane"),
        Plane::eight(4, 1, vec![54, 182, 18, 200])
    );
}

#[test]
fn tiff_keeps_sixteen_bits_and_all_pages() {
    let planes = read_tiff_pages("t", &tiff_bytes(3)).expect("pages");
    assert_eq!(planes.len(), 3);
    assert_eq!(
        planes[2],
        Plane::sixteen(3, 2, (0..6).map(|i| 3895 - i).collect())
    );
    assert_eq!(
        read_picture("t", &tiff_bytes(1)).expect("a plane").at(0, 0),
        4095.0
    );
}

#[test]
fn cut_pictures_are_damaged_and_foreign_ones_not_supported() {
    let levels: Vec<u8> = (0..=255).cycle().take(64 * 64).collect();
    let png = png_bytes(64, 64, png::ColorType::Grayscale, png::BitDepth::Eight, &levels);
    for bytes in [&png[..png.len() / 2], &png[..20], &tiff_bytes(1)[..12]] {
        let error = read_picture("x", bytes);
        assert!(matches!(error, Err(ClipError::Damaged { .. })), "{error:?}");
    }
    assert!(matches!(
        read_picture("x", b"BM....."),
        Err(ClipError::NotSupported { .. })
    ));
    assert!(matches!(read_picture("x", b""), Err(ClipError::Empty { .. })));
}
