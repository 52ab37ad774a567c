//! A source of frames that notes the real time of each frame as it passes, so that one decoding pass is enough.
//!
//! Times come from [`tremolet_clip::clock::Clock`], which knows playback from capture; here they are only kept.

use tremolet_clip::clock::Clock;
use tremolet_clip::error::ClipError;
use tremolet_clip::frame::Frame;
use tremolet_clip::source::{ClipInfo, FrameSource};
use tremolet_record::findings::Caution;

/// A source with a clock beside it.
pub struct Timed<'a> {
    source: &'a mut dyn FrameSource,
    clock: Clock,
    first: Option<u64>,
    times: Vec<f64>,
}

impl<'a> Timed<'a> {
    /// Puts the clock beside the source.
    pub fn new(source: &'a mut dyn FrameSource, clock: Clock) -> Self {
        Self {
            source,
            clock,
            first: None,
            times: Vec::new(),
        }
    }

    /// Real time of a frame that has passed, s.
    pub fn time(&self, frame: u64) -> Option<f64> {
        let place = usize::try_from(frame.checked_sub(self.first?)?).ok()?;
        self.times.get(place).copied()
    }

    /// The first frame that has passed.
    pub fn first(&self) -> Option<u64> {
        self.first
    }

    /// The times of all frames that have passed, s, in their order.
    pub fn times(&self) -> &[f64] {
        &self.times
    }

    /// The clock, with what it noticed.
    pub fn clock(&self) -> &Clock {
        &self.clock
    }
}

impl FrameSource for Timed<'_> {
    fn info(&self) -> &ClipInfo {
        self.source.info()
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.source.real_times()
    }

    fn passed(&self) -> &[f64] {
        &self.times
    }

    fn slots(&self) -> Option<&[u64]> {
        self.source.slots()
    }

    fn keys(&self) -> &[u64] {
        self.source.keys()
    }

    fn cautions(&self) -> Vec<Caution> {
        self.source.cautions()
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let frame = self.source.next_frame()?;
        if let Some(frame) = &frame {
            self.first.get_or_insert(frame.index);
            self.times.push(self.clock.time(frame));
        }
        Ok(frame)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;
    use tremolet_clip::source::FramesInMemory;

    #[test]
    fn frames_keep_their_real_time() {
        let frame = |index: u64| Frame {
            index,
            stamp: None,
            plane: Plane::eight(1, 1, vec![u8::try_from(index).expect("small")]),
        };
        let mut source = FramesInMemory::new("three", vec![frame(4), frame(5), frame(6)]).expect("alike");
        let clock = Clock::new(source.info(), Some(100.0), None).expect("a rate");
        let mut timed = Timed::new(&mut source, clock);
        while timed.next_frame().expect("readable").is_some() {}
        let step = timed.time(6).expect("passed") - timed.time(4).expect("passed");
        assert!((step - 0.02).abs() < 1e-12);
        assert_eq!(timed.time(7), None);
        assert_eq!(timed.time(3), None);
    }
}
