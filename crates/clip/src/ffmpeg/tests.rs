//! The child process: names that look like something else, and its end. Nothing to test where ffmpeg is not installed.

use super::*;

/// A raw clip of `count` grey frames of 64 by 64.
fn clip(path: &Path, count: usize) {
    let mut bytes = b"YUV4MPEG2 W64 H64 F30:1 Ip Cmono\n".to_vec();
    for k in 0..count {
        bytes.extend_from_slice(b"FRAME\n");
        bytes.extend(std::iter::repeat_n(k as u8, 64 * 64));
    }
    std::fs::write(path, bytes).expect("bytes");
}

#[test]
fn names_are_never_taken_for_options_or_addresses() {
    if !has_ffmpeg() {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["-y.y4m", "http:a.y4m", "a %03d b.y4m", "it's \"so\" $HOME.y4m"] {
        let path = folder.path().join(name);
        clip(&path, 3);
        let mut source = open_ffmpeg(&path, "").unwrap_or_else(|error| panic!("{error}"));
        for k in 0..3 {
            let frame = source.next_frame().expect("readable").expect("a frame");
            assert_eq!(
                frame.plane,
                crate::frame::Plane::eight(64, 64, vec![k; 64 * 64]),
                "{name}"
            );
        }
        assert!(source.next_frame().expect("an end").is_none());
    }
}

#[test]
fn a_child_that_is_not_read_to_its_end_is_stopped() {
    if !has_ffmpeg() || !Path::new("/proc/self").exists() {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("long.y4m");
    clip(&path, 500);
    let mut source = open_child(&path, "").expect("a clip");
    source.next_frame().expect("a frame");
    let process = format!("/proc/{}", source.child.id());
    assert!(Path::new(&process).exists());
    drop(source);
    assert!(!Path::new(&process).exists());
}
