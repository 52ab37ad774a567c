//! GIF, APNG, TIFF pages and clocks through the one door, with files made on the spot.

use std::borrow::Cow;
use std::fs;
use std::path::Path;

use tremolet_clip::clock::Clock;
use tremolet_clip::error::ClipError;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::ClipInfo;

fn read(path: &Path) -> Result<(ClipInfo, Vec<Frame>), ClipError> {
    let mut source = open(path, &OpenOptions::default())?;
    let mut frames = Vec::new();
    while let Some(frame) = source.next_frame()? {
        frames.push(frame);
    }
    Ok((source.info().clone(), frames))
}

/// Three frames on a 3x2 screen: all 40, a dot of 200 with a hole beside it, a dot that goes away again.
fn gif_bytes() -> Vec<u8> {
    let palette = [0, 0, 0, 40, 40, 40, 200, 200, 200, 255, 255, 255];
    let mut out = Vec::new();
    let mut encoder = gif::Encoder::new(&mut out, 3, 2, &palette).expect("an encoder");
    let mut write = |left, width, height, pixels: &[u8], delay, dispose| {
        let frame = gif::Frame {
            left,
            width,
            height,
            delay,
            dispose,
            transparent: Some(3),
            buffer: Cow::Owned(pixels.to_vec()),
            ..gif::Frame::default()
        };
        encoder.write_frame(&frame).expect("a frame");
    };
    write(0, 3, 2, &[1; 6], 10, gif::DisposalMethod::Keep);
    write(1, 2, 1, &[2, 3], 20, gif::DisposalMethod::Previous);
    write(0, 1, 1, &[2], 10, gif::DisposalMethod::Keep);
    drop(encoder);
    out
}

#[test]
fn gif_frames_are_composed_and_timed_by_their_delays() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.gif");
    fs::write(&path, gif_bytes()).expect("bytes");
    let (info, frames) = read(&path).expect("a clip");
    assert_eq!((info.frame_count, info.bits), (Some(3), 8));
    assert_eq!(frames[0].plane, Plane::eight(3, 2, vec![40; 6]));
    assert_eq!(frames[1].plane, Plane::eight(3, 2, vec![40, 200, 40, 40, 40, 40]));
    assert_eq!(frames[2].plane, Plane::eight(3, 2, vec![200, 40, 40, 40, 40, 40]));
    let stamps: Vec<f64> = frames
        .iter()
        .map(|frame| frame.stamp.expect("a stamp").seconds())
        .collect();
    assert_eq!(stamps, [0.0, 0.1, 0.3]);
    let cut = gif_bytes();
    fs::write(&path, &cut[..cut.len() / 2]).expect("bytes");
    assert!(matches!(read(&path), Err(ClipError::Damaged { .. })));
}

/// Frames of 16 bit, the second only a dot; with `apart`, a picture before the animation.
fn apng_bytes(apart: bool) -> Vec<u8> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, 2, 1);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    encoder.set_animated(2, 0).expect("animated");
    encoder.set_frame_delay(1, 30).expect("a delay");
    encoder.set_sep_def_img(apart).expect("a choice");
    let mut writer = encoder.write_header().expect("a header");
    if apart {
        writer.write_image_data(&[0; 4]).expect("a picture");
    }
    writer
        .write_image_data(&[0x0F, 0xFF, 0x00, 0x01])
        .expect("a frame");
    writer.set_frame_dimension(1, 1).expect("a size");
    writer.set_frame_position(1, 0).expect("a place");
    writer.write_image_data(&[0x12, 0x34]).expect("a frame");
    writer.finish().expect("an end");
    out
}

#[test]
fn apng_frames_keep_sixteen_bits() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.png");
    for apart in [false, true] {
        fs::write(&path, apng_bytes(apart)).expect("bytes");
        let (info, frames) = read(&path).expect("a clip");
        assert_eq!(
            (info.codec.as_str(), info.frame_count, info.bits),
            ("apng", Some(2), 16)
        );
        assert_eq!(frames[0].plane, Plane::sixteen(2, 1, vec![0x0FFF, 1]), "{apart}");
        assert_eq!(frames[1].plane, Plane::sixteen(2, 1, vec![0x0FFF, 0x1234]));
        assert!((frames[1].stamp.expect("a stamp").seconds() - 1.0 / 30.0).abs() < 1e-6);
    }
    let bytes = apng_bytes(false);
    fs::write(&path, &bytes[..bytes.len() - 40]).expect("bytes");
    assert!(matches!(read(&path), Err(ClipError::Damaged { .. })));
}

#[test]
fn a_single_picture_is_a_clip_of_one_frame() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.png");
    let plane = Plane::eight(3, 1, vec![1, 2, 3]);
    fs::write(&path, tremolet_clip::encode::png_gray(&plane).expect("bytes")).expect("a file");
    let (info, frames) = read(&path).expect("a clip");
    assert_eq!((info.frame_count, frames.len()), (Some(1), 1));
    assert_eq!(frames[0].plane, plane);
}

#[test]
fn stills_with_times_give_those_times() {
    let folder = tempfile::tempdir().expect("a folder");
    for k in 0..3 {
        let bytes = tremolet_clip::encode::png_gray(&Plane::eight(2, 1, vec![k, 1])).expect("bytes");
        fs::write(folder.path().join(format!("{k}.png")), bytes).expect("a still");
    }
    fs::write(folder.path().join("times.csv"), "time_s\n2.0\n2.5\n4.0\n").expect("times");
    let options = OpenOptions { frames: Some((1, 3)) };
    let mut source = open(folder.path(), &options).expect("a clip");
    let mut clock = Clock::of(source.as_ref(), None, None).expect("a clock");
    let mut times = Vec::new();
    while let Some(frame) = source.next_frame().expect("a frame") {
        times.push(clock.time(&frame));
    }
    assert_eq!(times, [0.5, 2.0]);
}

/// A RIFF chunk.
fn chunk(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut out = kind.to_vec();
    out.extend((body.len() as u32).to_le_bytes());
    out.extend_from_slice(body);
    out.extend(vec![0; body.len() % 2]);
    out
}

fn list(kind: &[u8; 4], parts: &[Vec<u8>]) -> Vec<u8> {
    chunk(b"LIST", &[kind.to_vec(), parts.concat()].concat())
}

/// An AVI of JPEG pictures at 30000/1001 a second; an empty one stands for a dropped frame.
fn avi_bytes(pictures: &[&[u8]]) -> Vec<u8> {
    let mut header = vec![0; 56];
    header[..8].copy_from_slice(b"vidsMJPG");
    header[20..24].copy_from_slice(&1001_u32.to_le_bytes());
    header[24..28].copy_from_slice(&30000_u32.to_le_bytes());
    let mut format = vec![0; 40];
    format[16..20].copy_from_slice(b"MJPG");
    let stream = list(b"strl", &[chunk(b"strh", &header), chunk(b"strf", &format)]);
    let movie: Vec<Vec<u8>> = pictures.iter().map(|picture| chunk(b"00dc", picture)).collect();
    let all = [b"AVI ".to_vec(), list(b"hdrl", &[stream]), list(b"movi", &movie)];
    chunk(b"RIFF", &all.concat())
}

/// The first JPEG picture of the committed film.
fn jpeg() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/jpeg.avi");
    let bytes = fs::read(path).expect("bytes");
    let at = bytes
        .windows(10)
        .position(|w| w.starts_with(b"00dc") && w.ends_with(&[0xFF, 0xD8]))
        .expect("a picture");
    let size = u32::from_le_bytes([bytes[at + 4], bytes[at + 5], bytes[at + 6], bytes[at + 7]]) as usize;
    bytes[at + 8..at + 8 + size].to_vec()
}

#[test]
fn a_dropped_picture_of_an_avi_leaves_a_gap_of_time() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.avi");
    let jpeg = jpeg();
    fs::write(&path, avi_bytes(&[&jpeg, &jpeg, &[], &jpeg, &jpeg, &jpeg])).expect("bytes");
    let (info, frames) = read(&path).expect("a clip");
    assert_eq!((info.frame_count, frames.len()), (Some(5), 5));
    assert!((info.header_rate_fps.expect("a rate") - 30000.0 / 1001.0).abs() < 1e-9);
    let mut clock = Clock::new(&info, Some(240.0), None).expect("a clock");
    let times: Vec<f64> = frames.iter().map(|frame| 240.0 * clock.time(frame)).collect();
    assert_eq!(times, [0.0, 1.0, 3.0, 4.0, 5.0]);
    let codes: Vec<String> = clock.cautions().into_iter().map(|caution| caution.code).collect();
    assert_eq!(codes, ["rate_disagrees", "frames_missing", "pictures_repeated"]);
    fs::write(&path, avi_bytes(&[])).expect("bytes");
    assert!(matches!(read(&path), Err(ClipError::Empty { .. })));
}

#[test]
fn missing_frames_of_a_film_are_gaps_of_real_time() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/gaps.mp4");
    let (info, frames) = read(&path).expect("a clip");
    let mut clock = Clock::new(&info, Some(960.0), None).expect("a clock");
    let slots: Vec<f64> = frames
        .iter()
        .map(|frame| (960.0 * clock.time(frame)).round())
        .collect();
    // The film was made with frames 5, 6 and 13 left out.
    let expected: Vec<f64> = (0..23)
        .filter(|k| ![5, 6, 13].contains(k))
        .map(f64::from)
        .collect();
    assert_eq!(slots, expected);
    let missing = clock
        .cautions()
        .into_iter()
        .find(|caution| caution.code == "frames_missing");
    assert!(missing.expect("a caution").text.starts_with("3 frames"));
}

#[test]
fn uneven_stamps_of_reordered_pictures_come_in_order_and_are_told() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/uneven.mp4");
    let (info, frames) = read(&path).expect("a clip");
    // The film was made so: 60 frames a second in ticks of 1/600 s, frames 2, 6, 10, ... 4 ticks late.
    let ticks: Vec<i64> = (0..20).map(|k| 10 * k + if k % 4 == 2 { 4 } else { 0 }).collect();
    let real = |rate| {
        let mut clock = Clock::new(&info, Some(rate), None).expect("a clock");
        let times: Vec<f64> = frames.iter().map(|frame| clock.time(frame)).collect();
        let codes: Vec<String> = clock.cautions().into_iter().map(|caution| caution.code).collect();
        (times, codes)
    };
    let (times, codes) = real(info.header_rate_fps.expect("a rate"));
    for (time, tick) in times.iter().zip(&ticks) {
        assert!((time - *tick as f64 / 600.0).abs() < 1e-3, "{times:?}");
    }
    assert_eq!(codes, ["stamps_uneven"]);
    let (times, codes) = real(600.0);
    assert!(
        times
            .iter()
            .enumerate()
            .all(|(k, time)| (600.0 * time - k as f64).abs() < 1e-9)
    );
    assert_eq!(codes, ["rate_disagrees", "stamps_uneven"]);
}
