//! When the frames of a painted clip are taken, and what their stamps say.
//!
//! Slots lie at `start + i / rate`, each shifted by its own jitter; the stamp of a slot tells the shifted time, rounded
//! to whole ticks. A dropped slot is missing from the clip, so the stamps show a gap. A repeated slot is delivered, with
//! its own stamp, but shows the picture of the slot before it, noise and all, as a camera that stalls does.

use crate::frame::Stamp;
use crate::painted::noise::PaintedNoise;

/// The times of a painted clip.
#[derive(Debug, Clone)]
pub struct PaintedClock {
    /// Slots a second of real time.
    pub rate_fps: f64,
    /// Slots in all, dropped ones included.
    pub slots: u64,
    /// Time of slot 0, s.
    pub start: f64,
    /// Standard deviation of the shift of a slot, as a fraction of `1 / rate` (below 0.2, so that the order stays).
    pub jitter: f64,
    /// Slots that never reach the clip.
    pub dropped: Vec<u64>,
    /// Slots that show the picture of the slot before.
    pub repeated: Vec<u64>,
    /// Ticks a second of the stamps.
    pub ticks_per_second: u32,
}

impl PaintedClock {
    /// `slots` evenly spaced frames at `rate_fps` from time 0.
    pub fn even(rate_fps: f64, slots: u64) -> Self {
        Self {
            rate_fps,
            slots,
            start: 0.0,
            jitter: 0.0,
            dropped: Vec::new(),
            repeated: Vec::new(),
            ticks_per_second: 1_000_000,
        }
    }

    /// The frames that reach the clip, in order.
    pub fn shots(&self, seed: u64) -> Vec<Shot> {
        (0..self.slots)
            .filter(|slot| !self.dropped.contains(slot))
            .map(|slot| {
                let picture = self.picture_of(slot);
                Shot {
                    slot,
                    picture,
                    time: self.time_of(picture, seed),
                    stamp: self.stamp_of(slot, seed),
                }
            })
            .collect()
    }

    /// The slot whose picture slot `slot` shows.
    fn picture_of(&self, slot: u64) -> u64 {
        let mut picture = slot;
        while picture > 0 && self.repeated.contains(&picture) {
            picture -= 1;
        }
        picture
    }

    fn time_of(&self, slot: u64, seed: u64) -> f64 {
        let shift = if self.jitter > 0.0 {
            let draw = PaintedNoise::new(seed, JITTER_STREAM, slot).gauss();
            self.jitter * draw.clamp(-2.4, 2.4)
        } else {
            0.0
        };
        self.start + (slot as f64 + shift) / self.rate_fps
    }

    fn stamp_of(&self, slot: u64, seed: u64) -> Stamp {
        let ticks = (self.time_of(slot, seed) * f64::from(self.ticks_per_second)).round() as i64;
        Stamp {
            ticks,
            per_second: self.ticks_per_second,
        }
    }
}

/// Stream of random numbers for the shifts.
const JITTER_STREAM: u64 = 0x0C10_C000;

/// One frame of the clip: which picture, when.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// The slot it fills.
    pub slot: u64,
    /// The slot whose picture it shows; differs from `slot` when repeated.
    pub picture: u64,
    /// When that picture was taken, s.
    pub time: f64,
    /// What the container says.
    pub stamp: Stamp,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_begins_at_the_start_and_a_shift_never_changes_the_order() {
        let mut clock = PaintedClock::even(100.0, 400);
        clock.start = 2.5;
        let shots = clock.shots(3);
        assert_eq!((shots[0].time, shots[1].time), (2.5, 2.51));
        assert_eq!(shots[1].stamp.ticks, 2_510_000);
        // A fifth of an interval: 2.4 of it, cut off there, is less than half an interval.
        clock.jitter = 0.2;
        let shots = clock.shots(3);
        let off = |shot: &Shot| 100.0 * (shot.time - 2.5) - shot.slot as f64;
        let largest = shots.iter().map(|shot| off(shot).abs()).fold(0.0, f64::max);
        assert!(largest > 0.4 && largest <= 0.48 + 1e-9, "{largest}");
        assert!(shots.windows(2).all(|pair| pair[1].time > pair[0].time));
    }
}
