//! Films and images written, then read back by the readers of this crate.

use super::*;
use crate::open::{OpenOptions, open};
use crate::picture::read_picture;

/// A grey ramp that moves, with a red square.
fn canvas(width: usize, height: usize, k: usize) -> Vec<u8> {
    let pixel = |i: usize| {
        let (x, y) = (i % width, i / width);
        let red = x.abs_diff(20 + k) < 8 && y.abs_diff(20) < 8;
        let grey = (2 * x + y + 3 * k).min(255) as u8;
        if red { [255, 0, 0] } else { [grey; 3] }
    };
    (0..width * height).flat_map(pixel).collect()
}

#[test]
fn a_film_comes_back_frame_by_frame_within_the_loss_of_coding() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("film.mp4");
    let (width, height, count) = (97, 61, 65);
    let mut writer = FilmWriter::create(&path, width, height, 25.0, FINE).expect("a film");
    for k in 0..count {
        writer.push(&canvas(width, height, k)).expect("a frame");
    }
    writer.finish().expect("an end");
    let mut source = open(&path, &OpenOptions::default()).expect("a clip");
    assert_eq!((source.info().width, source.info().height), (98, 62));
    assert_eq!(source.info().frame_count, Some(count as u64));
    assert!((source.info().header_rate_fps.expect("a rate") - 25.0).abs() < 1e-9);
    for k in 0..count {
        let frame = source.next_frame().expect("readable").expect("a frame");
        assert!((frame.stamp.expect("a stamp").seconds() - k as f64 / 25.0).abs() < 1e-4);
        let yuv = yuv_of(&canvas(width, height, k), width, height);
        let error: f32 = (0..62 * 98)
            .map(|i| (frame.plane.at(i % 98, i / 98) - f32::from(yuv.y[i])).powi(2))
            .sum::<f32>();
        let rms = (error / (62.0 * 98.0)).sqrt();
        assert!(rms < 4.0, "frame {k}: {rms}");
    }
    assert!(source.next_frame().expect("an end").is_none());
}

#[test]
fn grey_and_the_primaries_have_their_codes() {
    // ITU-R BT.601 with 8 bits: white 235/128/128, black 16/128/128, red 81/90/240, blue 41/240/110.
    let of = |rgb: [u8; 3]| {
        let frame = yuv_of(&rgb.repeat(4), 2, 2);
        (frame.y[0], frame.u[0], frame.v[0])
    };
    assert_eq!(of([255; 3]), (235, 128, 128));
    assert_eq!(of([0; 3]), (16, 128, 128));
    assert_eq!(of([255, 0, 0]), (81, 90, 240));
    assert_eq!(of([0, 0, 255]), (41, 240, 110));
}

#[test]
fn levels_follow_the_standard() {
    // H.264 table A-1.
    assert_eq!(level(720, 576, 25.0), 30);
    assert_eq!(level(1280, 720, 30.0), 31);
    assert_eq!(level(1280, 720, 60.0), 32);
    assert_eq!(level(1920, 1080, 30.0), 40);
    assert_eq!(level(3840, 2160, 30.0), 51);
}

#[test]
fn films_that_cannot_be_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("film.mp4");
    assert!(FilmWriter::create(&path, 0, 10, 25.0, FINE).is_err());
    assert!(FilmWriter::create(&path, 10, 10, 0.0, FINE).is_err());
    assert!(FilmWriter::create(&folder.path().join("none/film.mp4"), 10, 10, 25.0, FINE).is_err());
    let mut writer = FilmWriter::create(&path, 32, 32, 25.0, FINE).expect("a film");
    assert!(writer.push(&[0; 3]).is_err());
    assert!(writer.finish().is_err());
}

#[test]
fn images_come_back_exactly() {
    let plane = Plane::sixteen(3, 2, vec![0, 1, 255, 256, 65534, 65535]);
    assert_eq!(
        read_picture("p", &png_gray(&plane).expect("bytes")).expect("a plane"),
        plane
    );
    let rgb = png_rgb(2, 1, &[9, 9, 9, 200, 200, 200]).expect("bytes");
    assert_eq!(
        read_picture("p", &rgb).expect("a plane"),
        Plane::eight(2, 1, vec![9, 200])
    );
    assert!(png_rgb(2, 1, &[0; 5]).is_err());
    assert!(png_rgb(0, 0, &[]).is_err());
}

#[test]
fn odd_sizes_repeat_their_last_row_and_column() {
    let frame = yuv_of(&[0, 0, 0, 255, 255, 255, 0, 0, 0], 3, 1);
    assert_eq!((frame.width, frame.height), (4, 2));
    assert_eq!(frame.y, [16, 235, 16, 16, 16, 235, 16, 16]);
    assert_eq!(frame.u, [128, 128]);
}

// BT.709 item 3.2 and BT.601 item 2.5.1: weights of red, green and blue, by the rows of the film. Pure red and blue, full range to
// limited: 16 + 219 K.
#[test]
fn tall_films_weigh_colours_as_players_expect() {
    let of = |height: usize, rgb: [u8; 3]| yuv_of(&rgb.repeat(2 * height), 2, height).y[0];
    assert_eq!((of(576, [255, 0, 0]), of(720, [255, 0, 0])), (81, 63));
    assert_eq!((of(576, [0, 0, 255]), of(720, [0, 0, 255])), (41, 32));
}

// A player that seeks needs a picture that stands alone every thirty.
#[test]
fn every_thirtieth_picture_is_a_key() {
    let settings = settings((32, 32), 30.0, FINE);
    assert_eq!(settings.gop_size, 30);
}

// The column that widens a film of odd width has the chroma of the last one alone.
#[test]
fn chroma_at_an_odd_edge_is_that_of_the_last_column() {
    let frame = yuv_of(&[0, 0, 255, 0, 0, 255, 255, 0, 0].repeat(2), 3, 2);
    let alone = yuv_of(&[255, 0, 0].repeat(4), 2, 2);
    assert_eq!((frame.u[1], frame.v[1]), (alone.u[0], alone.v[0]));
    // Between two columns of different colour it is their mean.
    let mixed = yuv_of(&[0, 0, 255, 255, 0, 0].repeat(2), 2, 2);
    let blue = yuv_of(&[0, 0, 255].repeat(4), 2, 2);
    let mean = f32::midpoint(f32::from(alone.u[0]), f32::from(blue.u[0]));
    assert!((f32::from(mixed.u[0]) - mean).abs() <= 1.0);
}
