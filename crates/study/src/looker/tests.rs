//! Lookers over files and over a made-up clip that counts what it decodes.

use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use tremolet_clip::error::ClipError;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::{FrameSource, FramesInMemory};

use super::*;

/// Bytes of a frame of the clips here.
const SIZE: usize = 32;

/// A clip of frames with their number as level.
fn clip(folder: &Path, count: u8) -> PathBuf {
    let path = folder.join("clip.y4m");
    let mut bytes = b"YUV4MPEG2 W8 H4 F25:1 Ip A1:1 Cmono\n".to_vec();
    for level in 0..count {
        bytes.extend_from_slice(b"FRAME\n");
        bytes.extend([level; SIZE]);
    }
    std::fs::write(&path, bytes).expect("written");
    path
}

fn level(looker: &Looker, number: u64) -> Option<f32> {
    let seen = looker.frame(number).expect("read")?;
    assert_eq!(seen.frame.index, number);
    Some(seen.frame.plane.at(0, 0))
}

impl Looker {
    /// Waits until both threads have nothing to do.
    fn settled(&self) {
        let mut state = self.shared.lock();
        while state.idle != [true; 2] {
            state = self.shared.wait(state);
        }
    }

    fn holds(&self, number: u64) -> bool {
        self.shared.lock().window.holds(number)
    }
}

/// Groups of so many pictures, each of which needs all earlier ones of its group.
struct Groups {
    info: ClipInfo,
    group: u64,
    /// Next picture to decode, and next to hand out.
    sample: u64,
    next: u64,
    decoded: Arc<AtomicU64>,
    damaged: Option<u64>,
}

impl FrameSource for Groups {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        loop {
            let index = self.sample;
            if self.info.frame_count == Some(index) {
                return Ok(None);
            }
            if self.damaged == Some(index) {
                return Err(ClipError::Damaged {
                    name: "groups".into(),
                    problem: format!("picture {index}"),
                });
            }
            self.decoded.fetch_add(1, Ordering::Relaxed);
            self.sample += 1;
            if index >= self.next {
                self.next = index + 1;
                let plane = Plane::eight(8, 4, vec![(index % 251) as u8; SIZE]);
                return Ok(Some(Frame {
                    index,
                    stamp: None,
                    plane,
                }));
            }
        }
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        self.next = self.next.max(frame);
        self.sample = self.sample.max(frame - frame % self.group);
        Ok(())
    }

    fn group_of(&mut self, frame: u64) -> Result<u64, ClipError> {
        Ok(frame - frame % self.group)
    }
}

/// A looker over groups of `group` pictures through a window of `window` frames; and what was decoded.
fn grouped(group: u64, window: usize, damaged: Option<u64>) -> (Looker, Arc<AtomicU64>) {
    let decoded = Arc::new(AtomicU64::new(0));
    let counter = decoded.clone();
    let plane = Plane::eight(8, 4, vec![0; SIZE]);
    let frame = Frame {
        index: 0,
        stamp: None,
        plane,
    };
    let info = FramesInMemory::new("groups", vec![frame])
        .expect("a frame")
        .info()
        .clone();
    let open = move || -> Result<Box<dyn FrameSource>, ClipError> {
        Ok(Box::new(Groups {
            info: ClipInfo {
                frame_count: Some(1000),
                ..info.clone()
            },
            group,
            sample: 0,
            next: 0,
            decoded: counter.clone(),
            damaged,
        }))
    };
    let given = Given {
        open: Box::new(open),
        rate: None,
        times: None,
    };
    (Looker::of(given, window * SIZE).expect("opened"), decoded)
}

#[test]
fn any_frame_in_any_order_and_none_past_the_end() {
    let place = tempfile::tempdir().expect("a folder");
    let looker = Looker::open(&clip(place.path(), 200), Some(100.0), None).expect("opened");
    for number in [0, 1, 150, 149, 10, 11, 199, 0] {
        assert_eq!(level(&looker, number), Some(number as f32));
    }
    assert_eq!(level(&looker, 200), None);
    assert_eq!(looker.info().frame_count, Some(200));
    let seen = looker.frame(50).expect("read").expect("there");
    assert!((seen.time.expect("a rate") - 0.5).abs() < 1e-12);
    assert_eq!(level(&looker, 100_000), None);
}

#[test]
fn the_window_stays_within_its_bound_and_holds_the_frame_asked_for() {
    let (looker, _) = grouped(12, 20, None);
    for number in (0..200).chain((0..200).rev()).chain([900, 30, 500, 499, 501]) {
        assert_eq!(level(&looker, number), Some((number % 251) as f32));
        let state = looker.shared.lock();
        assert!(state.window.bytes() <= 20 * SIZE && state.window.holds(number));
    }
}

#[test]
fn a_jump_decodes_one_group_at_most() {
    for group in [1, 12, 250] {
        let (looker, decoded) = grouped(group, 90, None);
        looker.settled();
        looker.quietly(|| {
            // Forwards into another group, back, forwards within a group, to the end.
            for number in [700, 311, 330, 999] {
                let before = decoded.load(Ordering::Relaxed);
                assert_eq!(level(&looker, number), Some((number % 251) as f32));
                let effort = decoded.load(Ordering::Relaxed) - before;
                assert!(
                    effort <= group,
                    "{effort} pictures for frame {number} in groups of {group}"
                );
            }
        });
    }
}

#[test]
fn after_a_jump_a_step_either_way_decodes_nothing_that_it_waits_for() {
    // Groups longer and shorter than the window; a jump into the middle of a group, to its first and to its last picture.
    for group in [1, 12, 250] {
        let (looker, _) = grouped(group, 150, None);
        for at in [500, 606, 749] {
            looker.frame(at).expect("read");
            looker.settled();
            let held = (at - 32..=at + 32).filter(|number| looker.holds(*number)).count();
            assert_eq!(held, 65, "around {at} in groups of {group}");
        }
    }
}

#[test]
fn going_back_costs_a_group_for_many_steps() {
    let (looker, decoded) = grouped(250, 96, None);
    looker.frame(740).expect("read");
    looker.settled();
    let before = decoded.load(Ordering::Relaxed);
    for number in (540..740).rev() {
        assert_eq!(level(&looker, number), Some((number % 251) as f32));
        looker.settled();
    }
    let effort = decoded.load(Ordering::Relaxed) - before;
    // Two hundred steps back through one group of 250: forty frames and more are won each time that it is decoded up to there.
    assert!(effort <= 900, "{effort} pictures");
}

#[test]
fn damage_is_told_for_its_own_frames_and_not_before() {
    let (looker, _) = grouped(12, 96, Some(300));
    assert_eq!(level(&looker, 299), Some(48.0));
    looker.settled();
    let told = looker.frame(300).expect_err("damaged").to_string();
    assert!(told.contains("picture 300"), "{told}");
    assert!(looker.frame(311).is_err() && looker.frame(300).is_err());
    assert_eq!(level(&looker, 312), Some(61.0));
    looker.settled();
    assert_eq!(level(&looker, 298), Some(47.0));
}

#[test]
fn a_reader_that_breaks_down_is_told() {
    let open = || -> Result<Box<dyn FrameSource>, ClipError> {
        struct Broken(ClipInfo);
        impl FrameSource for Broken {
            fn info(&self) -> &ClipInfo {
                &self.0
            }
            fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
                panic!("a decoder fails")
            }
        }
        let plane = Plane::eight(1, 1, vec![0]);
        let frame = Frame {
            index: 0,
            stamp: None,
            plane,
        };
        Ok(Box::new(Broken(
            FramesInMemory::new("broken", vec![frame])?.info().clone(),
        )))
    };
    let given = Given {
        open: Box::new(open),
        rate: None,
        times: None,
    };
    let looker = Looker::of(given, 100).expect("opened");
    let told = looker.frame(0).expect_err("broken").to_string();
    assert!(told.contains("probably damaged") && looker.is_lost(), "{told}");
}
