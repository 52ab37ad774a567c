//! Every reader against frame hashes of an independent decoder, and every bad clip against its one clear error.
//!
//! The clips and their hashes are in `tests/data`, made by `make.sh` there.

use std::fs;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use tremolet_clip::error::ClipError;
use tremolet_clip::ffmpeg::has_ffmpeg;
use tremolet_clip::frame::{Frame, Levels};
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::{ClipInfo, FrameSource};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

fn hash(frame: &Frame) -> String {
    let bytes = match &frame.plane.levels {
        Levels::Eight(levels) => levels.clone(),
        Levels::Sixteen(levels) => levels.iter().flat_map(|level| level.to_le_bytes()).collect(),
    };
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// All frames, or the error that ended them.
fn read(path: &Path) -> Result<(ClipInfo, Vec<Frame>), ClipError> {
    read_part(path, &OpenOptions::default())
}

fn read_part(path: &Path, options: &OpenOptions) -> Result<(ClipInfo, Vec<Frame>), ClipError> {
    let mut source: Box<dyn FrameSource> = open(path, options)?;
    let mut frames = Vec::new();
    while let Some(frame) = source.next_frame()? {
        frames.push(frame);
    }
    Ok((source.info().clone(), frames))
}

/// Ticks and hashes as written beside the clip.
fn expected(name: &str) -> Vec<(i64, String)> {
    let text = fs::read_to_string(data(&format!("{name}.sha256"))).expect("hashes");
    let row = |line: &str| {
        let (tick, hash) = line.split_once(' ')?;
        Some((tick.trim().parse().ok()?, hash.trim().to_owned()))
    };
    text.lines().filter_map(row).collect()
}

/// The clip equals its hashes; its stamps equal the expected ticks of `per_second`, from `start` seconds on.
fn assert_conforms(name: &str, decoder: &str, per_second: f64, start: f64) {
    let (info, frames) = read(&data(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
    let expected = expected(name);
    assert!(
        !expected.is_empty() && info.decoder == decoder,
        "{name}: {}",
        info.decoder
    );
    assert_eq!(frames.len(), expected.len(), "{name}");
    assert_eq!(info.frame_count, Some(frames.len() as u64), "{name}");
    for (k, (frame, (tick, sha))) in frames.iter().zip(&expected).enumerate() {
        assert_eq!(frame.index, k as u64);
        assert_eq!(&hash(frame), sha, "{name} frame {k}");
        let seconds = frame.stamp.expect("a stamp").seconds();
        assert!(
            (seconds - start - *tick as f64 / per_second).abs() < 1e-9,
            "{name} frame {k} at {seconds}, tick {tick}"
        );
    }
}

#[test]
fn h264_is_decoded_exactly_inside_the_program() {
    for (name, per_second) in [
        ("baseline.mp4", 30.0),
        ("main_b.mp4", 30.0),
        ("high_b.mov", 25.0),
        ("slices.mp4", 30.0),
        ("gaps.mp4", 60.0),
        ("front.mp4", 30.0),
        ("rotated.mp4", 30.0),
        ("cut.mp4", 30.0),
    ] {
        assert_conforms(name, "embedded H.264", per_second, 0.0);
    }
}

#[test]
fn headers_give_the_playback_rate_across_gaps() {
    let rate = |name: &str| {
        read(&data(name))
            .expect("a clip")
            .0
            .header_rate_fps
            .expect("a rate")
    };
    assert!((rate("gaps.mp4") - 60.0).abs() < 1e-9);
    assert!((rate("high_b.mov") - 25.0).abs() < 1e-9);
}

#[test]
fn jpeg_in_avi_is_near_another_decoder() {
    // JPEG decoders may differ by a code in rounding, so the hash is not asked for, but the picture of ffmpeg is.
    let (info, frames) = read(&data("jpeg.avi")).expect("a clip");
    assert_eq!((info.decoder.as_str(), frames.len()), ("embedded JPEG", 8));
    assert_eq!(frames[3].stamp.expect("a stamp").seconds(), 0.1);
    if !has_ffmpeg() {
        return;
    }
    let mut other = tremolet_clip::ffmpeg::open_ffmpeg(&data("jpeg.avi"), "").expect("a clip");
    for frame in frames {
        let theirs = other.next_frame().expect("readable").expect("a frame");
        let (width, height) = (frame.plane.width, frame.plane.height);
        let worst = (0..width * height)
            .map(|i| (frame.plane.at(i % width, i / width) - theirs.plane.at(i % width, i / width)).abs())
            .fold(0.0, f32::max);
        assert!(worst <= 2.0, "frame {}: {worst}", frame.index);
    }
}

#[test]
fn other_forms_go_to_ffmpeg_or_say_what_to_install() {
    // The fragmented film has no edit list, so its first stamp is the delay of its reordering: two frames.
    for (name, start) in [
        ("ten_bit.mp4", 0.0),
        ("chroma_422.mp4", 0.0),
        ("grey.avi", 0.0),
        ("fragments.mp4", 2.0 / 30.0),
    ] {
        if has_ffmpeg() {
            assert_conforms(name, "ffmpeg", 30.0, start);
        } else {
            let error = read(&data(name)).expect_err("no decoder");
            assert!(error.to_string().contains("apt-get install ffmpeg"), "{error}");
        }
    }
}

#[test]
fn ten_bits_stay_ten_bits() {
    if !has_ffmpeg() {
        return;
    }
    let (info, frames) = read(&data("ten_bit.mp4")).expect("a clip");
    assert_eq!(info.bits, 16);
    let plane = &frames[0].plane;
    let top = (0..plane.width * plane.height)
        .map(|i| plane.at(i % plane.width, i / plane.width))
        .fold(0.0, f32::max);
    assert!((700.0..1024.0).contains(&top), "{top}");
}

#[test]
fn a_part_of_a_clip_has_the_frames_of_the_whole() {
    let part = |first, last| {
        read_part(
            &data("main_b.mp4"),
            &OpenOptions {
                frames: Some((first, last)),
            },
        )
    };
    let (_, whole) = read(&data("main_b.mp4")).expect("a clip");
    let (_, some) = part(7, 12).expect("a part");
    assert_eq!(some, whole[7..12]);
    for (first, last) in [(7, 7), (20, 25), (30, 31)] {
        assert!(matches!(
            part(first, last),
            Err(ClipError::NoSuchFrames { count: 24, .. })
        ));
    }
}

#[test]
fn frames_after_a_skip_are_those_of_the_whole() {
    for name in [
        "baseline.mp4",
        "main_b.mp4",
        "high_b.mov",
        "slices.mp4",
        "gaps.mp4",
        "cut.mp4",
        "jpeg.avi",
    ] {
        let (_, whole) = read(&data(name)).expect("a clip");
        let count = whole.len() as u64;
        let pairs = (0..count)
            .step_by(3)
            .flat_map(|one| (one + 1..count).map(move |other| [one, other]));
        for pair in pairs {
            let mut source = open(&data(name), &OpenOptions::default()).expect("a clip");
            for wanted in pair {
                source.skip_to(wanted).expect("readable");
                let mut found = source.next_frame().expect("readable").expect("a frame");
                while found.index < wanted {
                    found = source.next_frame().expect("readable").expect("a frame");
                }
                assert_eq!(found, whole[wanted as usize], "{name}: {pair:?}");
            }
        }
        let part = |first| OpenOptions {
            frames: Some((first, count)),
        };
        for first in 0..count {
            let (_, some) = read_part(&data(name), &part(first)).expect("a part");
            assert_eq!(some, whole[first as usize..], "{name} from {first}");
        }
    }
}

#[test]
fn sound_and_interlaced_pictures_are_refused() {
    assert!(matches!(
        read(&data("sound_only.m4a")),
        Err(ClipError::NoVideo { .. })
    ));
    let error = read(&data("interlaced.mp4")).expect_err("two times in a picture");
    if has_ffmpeg() {
        assert!(error.to_string().contains("interlaced"), "{error}");
    } else {
        assert!(matches!(error, ClipError::NeedsFfmpeg { .. }), "{error}");
    }
}

/// The error that the bytes give as a clip of a name.
fn error_of(name: &str, bytes: &[u8]) -> ClipError {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    fs::write(&path, bytes).expect("bytes");
    read(&path)
        .map(|(info, frames)| (info.decoder, frames.len()))
        .expect_err(name)
}

#[test]
fn cut_off_clips_are_damaged() {
    for name in ["main_b.mp4", "front.mp4", "jpeg.avi", "ten_bit.mp4"] {
        let bytes = fs::read(data(name)).expect("bytes");
        for keep in [bytes.len() * 9 / 10, bytes.len() / 2, 40] {
            let error = error_of(name, &bytes[..keep]);
            assert!(
                matches!(error, ClipError::Damaged { .. }),
                "{name} {keep}: {error}"
            );
            assert!(error.to_string().contains(name), "{error}");
        }
    }
}

#[test]
fn no_clip_no_bytes_and_no_film_have_their_own_errors() {
    assert!(matches!(read(&data("none.mp4")), Err(ClipError::Absent { .. })));
    for name in ["a.mp4", "a.avi", "a.png", "a.cine", "a.y4m"] {
        assert!(matches!(error_of(name, b""), ClipError::Empty { .. }), "{name}");
    }
    for bytes in [
        &b"hello, this is a letter and no film at all"[..],
        &[0; 300],
        &[0xFF; 300],
    ] {
        let error = error_of("letter.mp4", bytes);
        let clear = matches!(
            error,
            ClipError::Damaged { .. } | ClipError::NoVideo { .. } | ClipError::NeedsFfmpeg { .. }
        );
        assert!(clear, "{error}");
    }
}

#[test]
fn a_changed_byte_never_panics_and_never_changes_the_number_of_frames() {
    // A linear congruence picks the bytes (Knuth's MMIX constants, from memory): same test every time.
    let mut state = 7_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize
    };
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["baseline.mp4", "main_b.mp4", "jpeg.avi"] {
        let bytes = fs::read(data(name)).expect("bytes");
        let path = folder.path().join(name);
        for _ in 0..20 {
            let mut changed = bytes.clone();
            let at = next() % changed.len();
            changed[at] ^= 1 << (next() % 8);
            fs::write(&path, changed).expect("bytes");
            if let Ok((info, frames)) = read(&path) {
                assert_eq!(info.frame_count, Some(frames.len() as u64), "{name} byte {at}");
            }
        }
    }
}

#[test]
fn without_ffmpeg_the_own_readers_work_and_the_rest_says_what_to_install() {
    // The same tests again in a process that finds no program at all.
    let tests = [
        "other_forms_go_to_ffmpeg_or_say_what_to_install",
        "h264_is_decoded_exactly_inside_the_program",
        "jpeg_in_avi_is_near_another_decoder",
        "sound_and_interlaced_pictures_are_refused",
    ];
    let this = std::env::current_exe().expect("this test");
    let mut command = std::process::Command::new(this);
    command.args(["--exact"]).args(tests).env("PATH", "");
    let output = command.output().expect("a child");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success() && said.contains("4 passed"), "{said}");
}

#[test]
fn a_part_past_the_end_of_an_uncounted_clip_is_noticed_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.y4m");
    fs::write(&path, b"YUV4MPEG2 W1 H1 F30:1 Cmono\nFRAME\n1FRAME\n2FRAME\n3").expect("bytes");
    let part = |first, last| {
        read_part(
            &path,
            &OpenOptions {
                frames: Some((first, last)),
            },
        )
    };
    let (_, frames) = part(1, 3).expect("a part");
    assert_eq!(
        frames
            .iter()
            .map(|frame| frame.plane.at(0, 0))
            .collect::<Vec<_>>(),
        [50.0, 51.0]
    );
    assert!(matches!(
        part(2, 4),
        Err(ClipError::NoSuchFrames { count: 3, .. })
    ));
}
