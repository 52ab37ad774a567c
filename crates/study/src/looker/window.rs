//! The window of decoded frames: which are held, and which leave first when it is full.
//!
//! What lies in the direction of travel stays up to three times as far as what lies the other way: with `d` the distance from the frame last
//! asked for, the end of the window with the larger `d` (direction of travel) or `3 d` (the other way) leaves. Decodes nothing.

use std::collections::BTreeMap;
use std::sync::Arc;

use tremolet_clip::frame::{Frame, Levels};

/// So many times as far stays what lies in the direction of travel.
const AGAINST: u64 = 3;

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

/// Frames around the one last asked for.
#[derive(Debug)]
pub struct Window {
    held: BTreeMap<u64, Arc<Seen>>,
    bytes: usize,
    most: usize,
    /// Frame last asked for.
    pub at: u64,
    /// Whether it was asked for on the way back.
    pub backwards: bool,
}

impl Window {
    /// An empty one of so many bytes at most; one frame is held in any case.
    pub fn new(most: usize) -> Self {
        Self {
            held: BTreeMap::new(),
            bytes: 0,
            most,
            at: 0,
            backwards: false,
        }
    }

    /// Goes to another frame.
    pub fn go(&mut self, frame: u64) {
        if frame != self.at {
            self.backwards = frame < self.at;
        }
        self.at = frame;
    }

    /// A frame, if it is held.
    pub fn get(&self, frame: u64) -> Option<Arc<Seen>> {
        self.held.get(&frame).cloned()
    }

    /// Whether a frame is held.
    pub fn holds(&self, frame: u64) -> bool {
        self.held.contains_key(&frame)
    }

    /// The first of the frames that are held without a gap up to the one last asked for, which must be held.
    pub fn low(&self) -> u64 {
        let run = |low: u64, held: &u64| (*held + 1 == low).then_some(*held);
        self.held
            .range(..self.at)
            .rev()
            .map(|held| held.0)
            .try_fold(self.at, |low, held| {
                run(low, held).ok_or(low).map_or_else(Err, Ok)
            })
            .unwrap_or_else(|low| low)
    }

    /// The first frame behind the one last asked for that is not held.
    pub fn high(&self) -> u64 {
        let mut high = self.at + 1;
        while self.held.contains_key(&high) {
            high += 1;
        }
        high
    }

    /// Takes a frame in; others leave when there is no room.
    pub fn keep(&mut self, seen: Seen) {
        self.bytes += seen.bytes();
        if let Some(old) = self.held.insert(seen.frame.index, Arc::new(seen)) {
            self.bytes -= old.bytes();
        }
        while self.bytes > self.most && self.held.len() > 1 {
            let gone = self.farthest().and_then(|far| self.held.remove(&far));
            self.bytes -= gone.map_or(0, |gone| gone.bytes());
        }
    }

    fn farthest(&self) -> Option<u64> {
        let (first, last) = (*self.held.keys().next()?, *self.held.keys().next_back()?);
        let (before, after) = (self.at.saturating_sub(first), last.saturating_sub(self.at));
        let (before, after) = if self.backwards {
            (before, AGAINST * after)
        } else {
            (AGAINST * before, after)
        };
        Some(if before > after { first } else { last })
    }

    /// Bytes that are held.
    pub fn bytes(&self) -> usize {
        self.bytes
    }

    /// Most bytes that may be held.
    pub fn most(&self) -> usize {
        self.most
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;

    fn seen(index: u64) -> Seen {
        Seen {
            frame: Frame {
                index,
                stamp: None,
                plane: Plane::eight(4, 1, vec![0; 4]),
            },
            time: None,
        }
    }

    #[test]
    fn what_lies_ahead_stays_three_times_as_far_as_what_lies_behind() {
        for (from, to, ends) in [(49, 50, [46, 62]), (51, 50, [38, 54])] {
            let mut window = Window::new(4 * 17);
            window.go(from);
            window.go(to);
            for frame in (30..=50).rev().zip(50..=70).flat_map(|(a, b)| [a, b]) {
                window.keep(seen(frame));
                assert!(window.bytes() <= window.most() && window.bytes() == 4 * window.held.len());
            }
            let (first, last) = (
                *window.held.keys().next().unwrap(),
                *window.held.keys().next_back().unwrap(),
            );
            assert!(
                first.abs_diff(ends[0]) <= 1 && last.abs_diff(ends[1]) <= 1,
                "{first} to {last}"
            );
            assert_eq!((window.low(), window.high()), (first, last + 1));
        }
    }

    #[test]
    fn a_gap_ends_what_is_held_on_either_side() {
        let mut window = Window::new(1000);
        [3, 5, 6, 7, 8, 10]
            .into_iter()
            .for_each(|frame| window.keep(seen(frame)));
        window.go(7);
        assert_eq!((window.low(), window.high()), (5, 9));
        assert!(window.holds(3) && window.get(4).is_none());
    }

    #[test]
    fn one_frame_is_held_however_large() {
        let mut window = Window::new(1);
        window.keep(seen(0));
        assert!(window.holds(0));
    }
}
