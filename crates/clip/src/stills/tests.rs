//! Folders of stills made on the spot.

use super::*;
use crate::frame::Plane;
use crate::painted::stills::write_png;
use std::fmt::Write as _;

fn folder_of(names: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (i, name) in names.iter().enumerate() {
        let plane = Plane::eight(3, 1, vec![i as u8; 3]);
        write_png(&plane, &folder.path().join(name)).expect("a still");
    }
    folder
}

fn first_levels(source: &mut dyn FrameSource) -> Vec<f32> {
    let mut levels = Vec::new();
    while let Some(frame) = source.next_frame().expect("a frame") {
        assert_eq!(frame.index, levels.len() as u64);
        levels.push(frame.plane.at(0, 0));
    }
    levels
}

#[test]
fn names_sort_by_the_numbers_in_them() {
    let folder = folder_of(&["f10.png", "f9.png", "f009b.png", "F1.png", ".f0.png"]);
    fs::write(folder.path().join("notes.txt"), "x").expect("a note");
    let mut source = open_stills(folder.path()).expect("a clip");
    assert_eq!(source.info().frame_count, Some(4));
    assert_eq!(source.info().codec, "png");
    assert_eq!(first_levels(source.as_mut()), [3.0, 1.0, 2.0, 0.0]);
}

#[test]
fn times_beside_the_stills_are_handed_on() {
    let folder = folder_of(&["a.png", "b.png"]);
    let table = folder.path().join("times.csv");
    fs::write(&table, "# clock\nframe, time_s\n0, 0.5\n1, 0.75\n").expect("times");
    let source = open_stills(folder.path()).expect("a clip");
    assert_eq!(source.real_times(), Some(&[0.5, 0.75][..]));
    for (text, place) in [
        ("frame\n0\n1\n", 0),
        ("time_s\n1\nx\n", 1),
        ("time_s\n1\n", 1),
        ("a,time_s\n1,2\n3\n", 1),
    ] {
        fs::write(&table, text).expect("times");
        match open_stills(folder.path()).map(|_| ()) {
            Err(ClipError::BadTimes { index, .. }) => assert_eq!(index, place, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
}

#[test]
fn folders_that_are_no_clip_are_refused() {
    let empty = tempfile::tempdir().expect("a folder");
    assert!(matches!(
        open_stills(empty.path()).map(|_| ()),
        Err(ClipError::Empty { .. })
    ));
    let absent = empty.path().join("none");
    assert!(matches!(
        open_stills(&absent).map(|_| ()),
        Err(ClipError::Absent { .. })
    ));
    let mixed = folder_of(&["a.png"]);
    fs::write(mixed.path().join("b.jpg"), "x").expect("a file");
    assert!(matches!(
        open_stills(mixed.path()).map(|_| ()),
        Err(ClipError::NotSupported { .. })
    ));
}

#[test]
fn another_size_or_depth_is_named_with_its_frame() {
    for odd in [Plane::eight(4, 1, vec![0; 4]), Plane::sixteen(3, 1, vec![0; 3])] {
        let folder = folder_of(&["a.png", "b.png"]);
        write_png(&odd, &folder.path().join("c.png")).expect("a still");
        let mut source = open_stills(folder.path()).expect("a clip");
        assert!(source.next_frame().is_ok() && source.next_frame().is_ok());
        let error = source.next_frame().expect_err("a mixture");
        let mut text = String::new();
        write!(text, "{error}").expect("text");
        assert!(matches!(error, ClipError::Mixed { index: 2, .. }), "{text}");
    }
}

#[test]
fn a_missing_number_is_a_caution_and_a_gap_of_slots() {
    let folder = folder_of(&["f_0006.png", "f_0008.png", "f_0009.png"]);
    let source = open_stills(folder.path()).expect("a clip");
    assert_eq!(source.slots(), Some(&[0, 2, 3][..]));
    let cautions = source.cautions();
    assert_eq!(cautions.len(), 1);
    assert_eq!(
        (cautions[0].code.as_str(), cautions[0].frames),
        ("missing_stills", Some([0, 1]))
    );
    fs::write(folder.path().join("times.csv"), "time_s\n0\n1\n2\n").expect("times");
    let source = open_stills(folder.path()).expect("a clip");
    assert!(source.cautions()[0].text.contains("those of the table"));
}
