//! Recordings written here byte by byte; where ffmpeg is installed, its reading of the same bytes is the check.

use super::*;
use crate::ffmpeg::has_ffmpeg;

/// A recording to be written.
struct Made {
    size: (i32, i32),
    bits: u16,
    depth: u32,
    packing: u32,
    turned_over: u32,
    times: Option<Vec<(u32, u32)>>,
    pictures: Vec<Vec<u8>>,
}

impl Made {
    /// Two pictures of 4x3 codes of 12 bits: 16, 32, ... row by row as they lie in the file.
    fn twelve_bit() -> Self {
        let picture = |from: u16| (from..from + 12).flat_map(|k| (16 * k).to_le_bytes()).collect();
        Self {
            size: (4, 3),
            bits: 16,
            depth: 12,
            packing: 0,
            turned_over: 0,
            times: None,
            pictures: vec![picture(1), picture(2)],
        }
    }

    fn bytes(&self) -> Vec<u8> {
        let mut setup = vec![0; 5692];
        setup[140..142].copy_from_slice(b"ST");
        setup[142..144].copy_from_slice(&5692_u16.to_le_bytes());
        for (at, value) in [(760, self.turned_over), (768, 1000), (896, self.depth)] {
            setup[at..at + 4].copy_from_slice(&value.to_le_bytes());
        }
        let mut blocks = [10_u32.to_le_bytes(), [0xE8, 3, 0, 0]].concat();
        blocks.extend([7, 7]);
        if let Some(times) = &self.times {
            blocks.extend((8 + 8 * times.len() as u32).to_le_bytes());
            blocks.extend([1002_u16.to_le_bytes(), [0; 2]].concat());
            blocks.extend(
                times
                    .iter()
                    .flat_map(|(s, f)| [f.to_le_bytes(), s.to_le_bytes()].concat()),
            );
        }
        let count = self.pictures.len() as u32;
        let places_at = (84 + setup.len() + blocks.len()) as u32;
        let mut out = [b"CI".to_vec(), vec![44, 0, 0, 0, 1, 0]].concat();
        for value in [0, count, 0, count, 44, 84, places_at, 0, 0] {
            out.extend(value.to_le_bytes());
        }
        let mut bitmap = [
            40_u32.to_le_bytes(),
            self.size.0.to_le_bytes(),
            self.size.1.to_le_bytes(),
        ]
        .concat();
        bitmap.extend([1_u16.to_le_bytes(), self.bits.to_le_bytes()].concat());
        bitmap.extend(self.packing.to_le_bytes());
        bitmap.resize(40, 0);
        out.extend([bitmap, setup, blocks].concat());
        let mut place = u64::from(places_at) + 8 * u64::from(count);
        for picture in &self.pictures {
            out.extend(place.to_le_bytes());
            place += 8 + picture.len() as u64;
        }
        for picture in &self.pictures {
            out.extend([8_u32.to_le_bytes(), (picture.len() as u32).to_le_bytes()].concat());
            out.extend(picture);
        }
        out
    }

    fn opened(&self) -> (tempfile::TempDir, Result<Box<dyn FrameSource>, ClipError>) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.cine");
        std::fs::write(&path, self.bytes()).expect("bytes");
        let source = crate::open::open(&path, &crate::open::OpenOptions::default());
        (folder, source)
    }
}

fn planes(source: &mut dyn FrameSource) -> Vec<Plane> {
    std::iter::from_fn(|| source.next_frame().expect("readable").map(|frame| frame.plane)).collect()
}

fn codes(source: &dyn FrameSource) -> Vec<String> {
    source
        .cautions()
        .into_iter()
        .map(|caution| caution.code)
        .collect()
}

#[test]
fn codes_of_twelve_bits_stay_as_they_are_and_rows_begin_at_the_bottom() {
    let (_folder, source) = Made::twelve_bit().opened();
    let mut source = source.expect("a clip");
    assert_eq!((source.info().bits, source.info().frame_count), (16, Some(2)));
    assert_eq!(source.info().header_rate_fps, Some(1000.0));
    let found = planes(source.as_mut());
    let upright = [9, 10, 11, 12, 5, 6, 7, 8, 1, 2, 3, 4].map(|k| 16 * k);
    assert_eq!(found[0], Plane::sixteen(4, 3, upright.to_vec()));
    assert_eq!(found[1].at(0, 2), 32.0);
    assert_eq!(codes(source.as_ref()), ["orientation_assumed"]);
    assert_eq!(source.real_times(), None);
}

#[test]
fn ffmpeg_reads_the_same_with_its_codes_spread_over_sixteen_bits() {
    if !has_ffmpeg() {
        return;
    }
    for turned_over in [0, 1] {
        let made = Made {
            turned_over,
            ..Made::twelve_bit()
        };
        let (folder, source) = made.opened();
        let mut source = source.expect("a clip");
        let told = source.cautions()[0].text.contains("ask to turn them over");
        assert_eq!(told, turned_over == 1);
        let own = planes(source.as_mut());
        let mut other = open_ffmpeg(&folder.path().join("a.cine"), "").expect("a clip");
        for (own, other) in own.iter().zip(planes(other.as_mut())) {
            for (x, y) in (0..4).flat_map(|x| (0..3).map(move |y| (x, y))) {
                // ffmpeg turns pictures over where the settings ask for it.
                let there = if turned_over == 1 { 2 - y } else { y };
                assert_eq!(
                    own.at(x, y),
                    (other.at(x, there) / 16.0).floor(),
                    "{turned_over} {x} {y}"
                );
            }
        }
    }
}

#[test]
fn rows_may_begin_at_the_top_and_be_padded() {
    let made = Made {
        size: (3, -2),
        bits: 8,
        depth: 8,
        pictures: vec![vec![1, 2, 3, 0, 4, 5, 6, 0]],
        ..Made::twelve_bit()
    };
    let (_folder, source) = made.opened();
    assert_eq!(
        planes(source.expect("a clip").as_mut()),
        [Plane::eight(3, 2, vec![1, 2, 3, 4, 5, 6])]
    );
}

#[test]
fn a_depth_that_does_not_fit_is_a_caution() {
    for (depth, expected) in [(0, 2), (5, 2), (8, 1), (12, 1)] {
        let made = Made {
            depth,
            ..Made::twelve_bit()
        };
        let (_folder, source) = made.opened();
        let mut source = source.expect("a clip");
        let before = codes(source.as_ref()).len();
        planes(source.as_mut());
        let after = codes(source.as_ref());
        assert_eq!(after.len(), expected, "{depth}: {after:?}");
        assert_eq!(before, if depth == 0 { 2 } else { 1 }, "{depth}");
        assert!(after[1..].iter().all(|code| code == "bit_depth_assumed"));
    }
}

#[test]
fn times_of_the_camera_are_real_times() {
    let of = |times: &[(u32, u32)]| {
        let made = Made {
            times: Some(times.to_vec()),
            ..Made::twelve_bit()
        };
        let (folder, source) = made.opened();
        let there = crate::open::has_times(&folder.path().join("a.cine"));
        (source.expect("a clip").real_times().map(<[f64]>::to_vec), there)
    };
    // A quarter of a second across a full one.
    let (times, there) = of(&[(1_900_000_000, 0xE000_0000), (1_900_000_001, 0x2000_0000)]);
    assert_eq!((times, there), (Some(vec![0.0, 0.25]), true));
    assert_eq!(of(&[(7, 5), (7, 5)]), (None, false));
}

#[test]
fn cut_off_and_nonsense_recordings_are_damaged() {
    let whole = Made::twelve_bit().bytes();
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.cine");
    for keep in [20, 50, 300, 5700, whole.len() - 40, whole.len() - 1] {
        std::fs::write(&path, &whole[..keep]).expect("bytes");
        let error = open_cine(&path).map(|_| ()).expect_err("cut off");
        assert!(matches!(error, ClipError::Damaged { .. }), "{keep}: {error}");
    }
    let empty = Made {
        pictures: Vec::new(),
        ..Made::twelve_bit()
    };
    assert!(matches!(
        empty.opened().1.map(|_| ()),
        Err(ClipError::Empty { .. })
    ));
    let flat = Made {
        size: (4, 0),
        ..Made::twelve_bit()
    };
    assert!(matches!(
        flat.opened().1.map(|_| ()),
        Err(ClipError::Damaged { .. })
    ));
    let short = Made {
        pictures: vec![vec![0; 24], vec![0; 20], vec![0; 24]],
        ..Made::twelve_bit()
    };
    let (_folder, source) = short.opened();
    let mut source = source.expect("a clip");
    assert!(source.next_frame().is_ok());
    assert!(matches!(source.next_frame(), Err(ClipError::Damaged { .. })));
}

#[test]
fn packed_pictures_go_to_ffmpeg_and_say_what_is_not_known() {
    let packed = Made {
        packing: 0x100,
        depth: 10,
        pictures: vec![vec![0; 15], vec![1; 15]],
        ..Made::twelve_bit()
    };
    let (_folder, source) = packed.opened();
    if !has_ffmpeg() {
        assert!(matches!(source.map(|_| ()), Err(ClipError::NeedsFfmpeg { .. })));
        return;
    }
    let source = source.expect("a clip");
    assert_eq!(source.info().decoder, "ffmpeg");
    assert_eq!(
        codes(source.as_ref()),
        ["bit_depth_assumed", "orientation_assumed"]
    );
    assert!(source.cautions()[0].text.contains("10 bits"));
}

#[test]
fn a_header_that_forgot_a_decimation_is_told() {
    // SETUP says 1000 frames/s.
    let of = |fraction: f64| {
        let made = Made {
            times: Some(vec![
                (1_900_000_000, 0),
                (1_900_000_000, (fraction * 2f64.powi(32)) as u32),
            ]),
            ..Made::twelve_bit()
        };
        let (_folder, source) = made.opened();
        let cautions = source.expect("a clip").cautions();
        cautions
            .into_iter()
            .find(|c| c.code == "rate_disagrees")
            .map(|c| c.text)
    };
    assert!(of(0.01).is_some_and(|text| text.contains("1000 frames/s") && text.contains("100.0")));
    assert_eq!(of(0.001), None);
}
