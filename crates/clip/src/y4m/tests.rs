//! Files written byte by byte.

use super::*;
use crate::frame::Plane;

fn clip(header: &str, frames: &[&[u8]]) -> tempfile::NamedTempFile {
    let mut bytes = format!("YUV4MPEG2 {header}\n").into_bytes();
    for frame in frames {
        bytes.extend_from_slice(b"FRAME\n");
        bytes.extend_from_slice(frame);
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), bytes).expect("bytes");
    file
}

#[test]
fn odd_sizes_and_depths_are_read() {
    let file = clip(
        "W3 H1 F30000:1001 Ip C420jpeg",
        &[&[1, 2, 3, 0, 0, 0, 0], &[4, 5, 6, 0, 0, 0, 0]],
    );
    let mut source = open_y4m(file.path()).expect("a clip");
    assert_eq!(
        source.next_frame().expect("a frame").expect("one").plane,
        Plane::eight(3, 1, vec![1, 2, 3])
    );
    let second = source.next_frame().expect("a frame").expect("one");
    assert_eq!(second.plane, Plane::eight(3, 1, vec![4, 5, 6]));
    assert_eq!(
        second.stamp,
        Some(Stamp {
            ticks: 1001,
            per_second: 30000
        })
    );
    assert!(source.next_frame().expect("an end").is_none());
    let file = clip("W2 H1 F25:1 Cmono12", &[&[255, 15, 1, 0]]);
    let frame = open_y4m(file.path())
        .expect("a clip")
        .next_frame()
        .expect("a frame")
        .expect("one");
    assert_eq!(frame.plane, Plane::sixteen(2, 1, vec![4095, 1]));
}

#[test]
fn bad_files_are_refused() {
    let open = |header: &str, frames: &[&[u8]]| open_y4m(clip(header, frames).path());
    assert!(matches!(
        open("W0 H1", &[]).map(|_| ()),
        Err(ClipError::Damaged { .. })
    ));
    assert!(matches!(
        open("H1", &[]).map(|_| ()),
        Err(ClipError::Damaged { .. })
    ));
    assert!(matches!(
        open("W2 H1 It", &[]).map(|_| ()),
        Err(ClipError::NotSupported { .. })
    ));
    assert!(matches!(
        open("W2 H1 Cxyz", &[]).map(|_| ()),
        Err(ClipError::NotSupported { .. })
    ));
    let cut = open("W2 H1 Cmono", &[&[1]]).expect("a header").next_frame();
    assert!(matches!(cut, Err(ClipError::Damaged { .. })));
    let none = open("W2 H1 Cmono", &[]).expect("a header").next_frame();
    assert!(matches!(none, Err(ClipError::Empty { .. })));
    let long = open("W2 H1 Cmono", &[&[1, 2, 3]]).expect("a header");
    let mut long = long;
    assert!(long.next_frame().is_ok());
    assert!(matches!(long.next_frame(), Err(ClipError::Damaged { .. })));
}

#[test]
fn frames_are_passed_over_and_the_end_is_seen() {
    let file = clip("W1 H1 F25:1 Cmono", &[&[1], &[2], &[3], &[4]]);
    let mut source = open_y4m(file.path()).expect("a clip");
    source.skip_to(2).expect("readable");
    let frame = source.next_frame().expect("readable").expect("a frame");
    assert_eq!((frame.index, frame.plane), (2, Plane::eight(1, 1, vec![3])));
    assert_eq!(frame.stamp.map(|stamp| stamp.ticks), Some(2));
    source.skip_to(1).expect("never back");
    assert_eq!(source.next_frame().expect("readable").map(|f| f.index), Some(3));
    let mut source = open_y4m(file.path()).expect("a clip");
    source.skip_to(99).expect("readable");
    assert!(source.next_frame().expect("an end").is_none());
    assert_eq!(source.info().frame_count, Some(4));
    // A last frame that is cut off is told, not passed over.
    let cut = clip("W2 H1 Cmono", &[&[1, 2], &[3]]);
    let mut source = open_y4m(cut.path()).expect("a clip");
    source.skip_to(9).expect("readable");
    assert!(matches!(source.next_frame(), Err(ClipError::Damaged { .. })));
}
