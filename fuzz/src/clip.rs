//! A clip: every frame has the size and depth that the clip states, in rising order, and reading ends.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tremolet_clip::error::ClipError;
use tremolet_clip::frame::{Frame, Levels, Plane};
use tremolet_clip::source::FrameSource;

/// Frames that are read of one clip.
const FRAMES_AT_MOST: usize = 64;
/// Pixels that are read of one clip, one frame at least.
const PIXELS_AT_MOST: usize = 1 << 21;

type Open = fn(&Path) -> Result<Box<dyn FrameSource>, ClipError>;

/// Reads `bytes` as a file, from its beginning and, for half of the inputs, from the middle too.
pub fn read(bytes: &[u8], open: Open) {
    crate::forgive_the_decoder();
    let path = place(bytes);
    frames(&path, open, false);
    if bytes.len() % 2 == 0 {
        frames(&path, open, true);
    }
}

/// The bytes as a file in memory.
pub fn place(bytes: &[u8]) -> PathBuf {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    let path = PATH.get_or_init(|| {
        assert!(
            !tremolet_clip::ffmpeg::has_ffmpeg(),
            "ffmpeg would be fuzzed too: run with a PATH that does not hold it, as ./run does"
        );
        let memory = Path::new("/dev/shm");
        let folder = if memory.is_dir() {
            memory.into()
        } else {
            std::env::temp_dir()
        };
        folder.join(format!("tremolet-fuzz-{}", std::process::id()))
    });
    fs::write(path, bytes).expect("room for the input");
    path.clone()
}

fn frames(path: &Path, open: Open, from_middle: bool) {
    let Ok(mut source) = open(path) else {
        return;
    };
    let stated = source.info().clone();
    assert!(
        stated.width > 0 && stated.height > 0,
        "a clip without pixels: {stated:?}"
    );
    if from_middle && source.skip_to(stated.frame_count.unwrap_or(2) / 2).is_err() {
        return;
    }
    let (mut last, mut pixels) = (None, 0);
    for _ in 0..FRAMES_AT_MOST {
        let Ok(Some(frame)) = source.next_frame() else {
            break;
        };
        assert!(last.is_none_or(|last| frame.index > last), "frames out of order");
        check(&frame, source.as_ref());
        last = Some(frame.index);
        pixels += frame.plane.width * frame.plane.height;
        if pixels > PIXELS_AT_MOST {
            break;
        }
    }
    for caution in source.cautions() {
        assert!(!caution.text.is_empty());
    }
    if let Some(slots) = source.slots() {
        assert!(
            slots.windows(2).all(|pair| pair[1] > pair[0]),
            "slots do not rise"
        );
    }
}

fn check(frame: &Frame, source: &dyn FrameSource) {
    let (plane, info) = (&frame.plane, source.info());
    check_plane(plane);
    assert_eq!(
        (plane.width, plane.height, plane.bits()),
        (info.width, info.height, info.bits),
        "a frame that is not as the clip says"
    );
    assert!(
        info.frame_count.is_none_or(|count| frame.index < count),
        "more frames than the clip says"
    );
    assert!(
        frame.stamp.is_none_or(|stamp| stamp.seconds().is_finite()),
        "a stamp that is no time"
    );
}

/// A plane holds as many levels as pixels.
pub fn check_plane(plane: &Plane) {
    let count = match &plane.levels {
        Levels::Eight(levels) => levels.len(),
        Levels::Sixteen(levels) => levels.len(),
    };
    assert_eq!(count, plane.width * plane.height, "levels that are no rectangle");
}
