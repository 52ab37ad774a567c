//! Frames of a clip by number, from a bounded window of decoded ones.
//!
//! A reader goes forwards through the clip and fills the window; for what lies behind it a second reader begins a stretch earlier. What is
//! farthest from the frame last asked for leaves the window first. While nobody asks, [`Looker::ahead`] decodes one frame more in the
//! direction of travel, so that a step either way finds its frame there. Finds nothing in a frame.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use tremolet_clip::clock::Clock;
use tremolet_clip::frame::{Frame, Levels};
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::{ClipInfo, FrameSource};
use tremolet_clip::times::read_times;

use crate::error::StudyError;

/// Bytes of decoded frames that are held.
const WINDOW: usize = 192 << 20;
/// Frames that are decoded in the direction of travel while nobody asks.
const AHEAD: u64 = 32;
/// Frames forwards that are decoded rather than the clip opened anew.
const NEAR: u64 = 48;

/// A decoded frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The frame.
    pub frame: Frame,
    /// Its real time, s, where a clock is known.
    pub time: Option<f64>,
}

impl Seen {
    fn bytes(&self) -> usize {
        match &self.frame.plane.levels {
            Levels::Eight(levels) => levels.len(),
            Levels::Sixteen(levels) => 2 * levels.len(),
        }
    }
}

/// A clip that is being read.
struct Reader {
    source: Box<dyn FrameSource>,
    clock: Option<Clock>,
    /// No frame before this one will come.
    next: u64,
}

/// A clip that is looked at.
pub struct Looker {
    clip: PathBuf,
    rate: Option<f64>,
    times: Option<Vec<f64>>,
    info: ClipInfo,
    window: BTreeMap<u64, Seen>,
    bytes: usize,
    most: usize,
    onward: Option<Reader>,
    behind: Option<Reader>,
    at: u64,
    backwards: bool,
}

impl Looker {
    /// Opens a clip: `rate` in frames per second of real time and a table of `times`, where they are stated.
    ///
    /// # Errors
    /// When the clip or the table cannot be read.
    pub fn open(clip: &Path, rate: Option<f64>, times: Option<&Path>) -> Result<Self, StudyError> {
        let times = times.map(read_times).transpose()?;
        let mut looker = Self {
            clip: clip.to_owned(),
            rate,
            times,
            info: open(clip, &OpenOptions::default())?.info().clone(),
            window: BTreeMap::new(),
            bytes: 0,
            most: WINDOW,
            onward: None,
            behind: None,
            at: 0,
            backwards: false,
        };
        looker.onward = Some(looker.reader(0)?);
        Ok(looker)
    }

    /// What is known of the clip; `frame_count` once its end has been seen, if not before.
    pub fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn reader(&self, from: u64) -> Result<Reader, StudyError> {
        let mut source = open(&self.clip, &OpenOptions::default())?;
        // Without any rate there is no real time, which is no reason not to look.
        let clock = Clock::of(source.as_ref(), self.rate, self.times.clone()).ok();
        if from > 0 {
            source.skip_to(from)?;
        }
        Ok(Reader {
            source,
            clock,
            next: 0,
        })
    }

    /// The frame of that number; `None` past the end.
    ///
    /// # Errors
    /// When the clip cannot be read.
    pub fn frame(&mut self, number: u64) -> Result<Option<&Seen>, StudyError> {
        if number != self.at {
            self.backwards = number < self.at;
        }
        self.at = number;
        if self.info.frame_count.is_some_and(|count| number >= count) {
            return Ok(None);
        }
        if !self.window.contains_key(&number) {
            self.fetch(number)?;
        }
        Ok(self.window.get(&number))
    }

    fn fetch(&mut self, number: u64) -> Result<(), StudyError> {
        let near = |reader: &Reader| reader.next <= number && number - reader.next <= NEAR;
        let mut reader = match self.onward.take().filter(near) {
            Some(reader) => reader,
            None => {
                // A step back will be followed by others: begin a stretch before.
                let lead = if self.backwards { self.lead() } else { 0 };
                self.behind = None;
                self.reader(number.saturating_sub(lead))?
            }
        };
        while reader.next <= number {
            if !self.step(&mut reader)? {
                return Ok(());
            }
        }
        self.onward = Some(reader);
        Ok(())
    }

    /// Decodes one frame into the window; false at the end of the clip.
    fn step(&mut self, reader: &mut Reader) -> Result<bool, StudyError> {
        let Some(frame) = reader.source.next_frame()? else {
            self.info.frame_count = Some(self.info.frame_count.unwrap_or(0).max(reader.next));
            return Ok(false);
        };
        reader.next = frame.index + 1;
        let time = reader.clock.as_mut().map(|clock| clock.time(&frame));
        self.keep(Seen {
            time: time.filter(|time| time.is_finite()),
            frame,
        });
        Ok(true)
    }

    fn keep(&mut self, seen: Seen) {
        self.bytes += seen.bytes();
        if let Some(old) = self.window.insert(seen.frame.index, seen) {
            self.bytes -= old.bytes();
        }
        while self.bytes > self.most && self.window.len() > 1 {
            let ends = self.window.keys().next().zip(self.window.keys().next_back());
            let Some((first, last)) = ends.map(|(a, b)| (*a, *b)) else {
                return;
            };
            let far = if self.at.abs_diff(first) > self.at.abs_diff(last) {
                first
            } else {
                last
            };
            if let Some(gone) = self.window.remove(&far) {
                self.bytes -= gone.bytes();
            }
        }
    }

    /// Decodes one frame more in the direction of travel; false when there is nothing to do.
    ///
    /// # Errors
    /// When the clip cannot be read.
    pub fn ahead(&mut self) -> Result<bool, StudyError> {
        if self.backwards {
            return self.back();
        }
        let Some(mut reader) = self.onward.take() else {
            return Ok(false);
        };
        let due = reader.next > self.at && reader.next <= self.at + self.lead();
        let more = due && self.step(&mut reader)?;
        self.onward = Some(reader);
        Ok(more)
    }

    /// Frames that are decoded in the direction of travel: the window holds them and as many on the other side.
    fn lead(&self) -> u64 {
        let pixels = self.info.width * self.info.height * if self.info.bits > 8 { 2 } else { 1 };
        AHEAD.min((self.most / (2 * pixels.max(1))) as u64)
    }

    /// The same backwards: a stretch before the first frame that is held without a gap.
    fn back(&mut self) -> Result<bool, StudyError> {
        let mut low = self.at;
        while low > 0 && self.window.contains_key(&(low - 1)) {
            low -= 1;
        }
        if low == 0 || self.at - low >= self.lead() {
            self.behind = None;
            return Ok(false);
        }
        let mut reader = match self.behind.take() {
            Some(reader) if reader.next < low => reader,
            _ => self.reader(low.saturating_sub(self.lead()))?,
        };
        let more = self.step(&mut reader)?;
        if more && reader.next < low {
            self.behind = Some(reader);
        }
        Ok(more)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A clip of frames with their number as level.
    fn clip(folder: &Path, count: u8) -> PathBuf {
        let path = folder.join("clip.y4m");
        let mut bytes = b"YUV4MPEG2 W8 H4 F25:1 Ip A1:1 Cmono\n".to_vec();
        for level in 0..count {
            bytes.extend_from_slice(b"FRAME\n");
            bytes.extend([level; 32]);
        }
        std::fs::write(&path, bytes).expect("written");
        path
    }

    fn level(looker: &mut Looker, number: u64) -> Option<f32> {
        let seen = looker.frame(number).expect("read")?;
        assert_eq!(seen.frame.index, number);
        Some(seen.frame.plane.at(0, 0))
    }

    #[test]
    fn any_frame_in_any_order_and_none_past_the_end() {
        let place = tempfile::tempdir().expect("a folder");
        let mut looker = Looker::open(&clip(place.path(), 200), Some(100.0), None).expect("opened");
        for number in [0, 1, 150, 149, 10, 11, 199, 0] {
            assert_eq!(level(&mut looker, number), Some(number as f32));
        }
        assert_eq!(level(&mut looker, 200), None);
        let seen = looker.frame(50).expect("read").expect("there");
        assert!((seen.time.expect("a rate") - 0.5).abs() < 1e-12);
    }

    #[test]
    fn the_window_stays_within_its_bound_and_holds_the_frame_asked_for() {
        let place = tempfile::tempdir().expect("a folder");
        let mut looker = Looker::open(&clip(place.path(), 200), None, None).expect("opened");
        looker.most = 10 * 32;
        for number in (0..200).chain((0..200).rev()) {
            assert_eq!(level(&mut looker, number), Some(number as f32));
            while looker.ahead().expect("read") {
                assert!(looker.bytes <= looker.most);
            }
            assert_eq!(looker.bytes, 32 * looker.window.len());
        }
    }

    #[test]
    fn the_next_frames_are_there_before_they_are_asked_for() {
        let place = tempfile::tempdir().expect("a folder");
        let mut looker = Looker::open(&clip(place.path(), 200), None, None).expect("opened");
        for (first, next) in [(100_u64, 101), (101, 100)] {
            looker.frame(first).expect("read");
            looker.frame(next).expect("read");
            while looker.ahead().expect("read") {}
            let after = if next > first { next + 20 } else { next - 20 };
            assert!(looker.window.contains_key(&after), "{after}");
        }
    }
}
