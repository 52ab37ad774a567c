//! What the threads of a looker share: the window, what is known of the clip's end, and what is to be decoded next.
//!
//! Two threads decode: one brings what is asked for and what lies ahead, one what lies before. Each asks here for its next task and puts here
//! what it decoded. With `room` the frames that the window can hold, two thirds of it are for the direction of travel and two ninths for the
//! other way, so that nothing that is brought drives out what is wanted. Decodes nothing itself.

use std::ops::Range;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use crate::error::StudyError;
use crate::looker::window::{Seen, Window};

/// Frames that are decoded on either side while nobody asks.
pub const LEAD: u64 = 32;
/// Frames that are decoded at once before those that are held.
pub const CHUNK: u64 = 192;

/// What is shared.
pub struct State {
    /// The frames.
    pub window: Window,
    /// Frames of the clip, once known.
    pub count: Option<u64>,
    /// Bytes of a frame.
    pub size: usize,
    /// Why a frame cannot be had.
    pub fault: Option<(u64, StudyError)>,
    /// Frames that the thread for what lies before has on the way.
    pub coming: Option<Range<u64>>,
    /// The frame last asked for when decoding beyond it failed; nothing more is tried until another is asked for.
    pub given_up: [Option<u64>; 2],
    /// Only what is asked for is decoded.
    pub quiet: bool,
    /// The looker is gone.
    pub gone: bool,
    /// A thread broke down.
    pub lost: bool,
    /// Which threads have nothing to do.
    pub idle: [bool; 2],
}

impl State {
    fn room(&self) -> u64 {
        (self.window.most() / self.size.max(1)) as u64
    }

    /// Frames that are held in the direction of travel, and the other way; all of them together are fewer than the window holds.
    fn sides(&self) -> [u64; 2] {
        [self.room() * 2 / 3, self.room() * 2 / 9]
    }

    /// Frames that are kept ready before and after the one last asked for.
    pub fn ready(&self) -> [u64; 2] {
        let [along, against] = self.sides().map(|side| side.min(LEAD));
        if self.window.backwards {
            [along, against]
        } else {
            [against, along]
        }
    }

    fn past(&self, frame: u64) -> bool {
        self.count.is_some_and(|count| frame >= count)
    }

    /// The frame to decode next, asked for or ahead.
    pub fn onward(&self) -> Option<u64> {
        let at = self.window.at;
        if !self.window.holds(at) {
            let known = self.past(at) || self.fault.as_ref().is_some_and(|fault| fault.0 == at);
            let comes = self.coming.as_ref().is_some_and(|coming| coming.contains(&at));
            return (!known && !comes).then_some(at);
        }
        let high = self.window.high();
        let due =
            !self.quiet && self.given_up[0] != Some(at) && high <= at + self.ready()[1] && !self.past(high);
        due.then_some(high)
    }

    /// The frames to decode next before those that are held.
    pub fn before(&self) -> Option<Range<u64>> {
        let at = self.window.at;
        if self.quiet || !self.window.holds(at) || self.given_up[1] == Some(at) {
            return None;
        }
        let low = self.window.low();
        let held = at - low;
        // On the way back many are decoded at once, before the last of them is reached.
        let (due, most) = if self.window.backwards {
            let most = self.sides()[0].min(CHUNK);
            ((most / 3).min(LEAD), most)
        } else {
            (self.ready()[0], self.ready()[0])
        };
        let wanted = low > 0 && held < due;
        wanted.then(|| low.saturating_sub(most - held)..low)
    }

    /// Whether what lies before is still wanted by the frame last asked for.
    pub fn wants(&self, range: &Range<u64>) -> bool {
        let at = self.window.at;
        let adjoins = || at >= range.end && self.window.holds(at) && self.window.low() <= range.end;
        !self.gone && !self.quiet && (range.contains(&at) || adjoins())
    }
}

/// The state behind its lock.
pub struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

impl Shared {
    /// Of an empty window of `most` bytes for frames of `size` bytes, of a clip of `count` frames where that is known.
    pub fn new(most: usize, size: usize, count: Option<u64>) -> Self {
        let state = State {
            window: Window::new(most),
            count,
            size,
            fault: None,
            coming: None,
            given_up: [None; 2],
            quiet: false,
            gone: false,
            lost: false,
            idle: [false; 2],
        };
        Self {
            state: Mutex::new(state),
            changed: Condvar::new(),
        }
    }

    /// The state, to be changed and then told.
    pub fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits for a change.
    pub fn wait<'a>(&self, state: MutexGuard<'a, State>) -> MutexGuard<'a, State> {
        self.changed.wait(state).unwrap_or_else(PoisonError::into_inner)
    }

    /// Changes the state and tells it.
    pub fn change<T>(&self, change: impl FnOnce(&mut State) -> T) -> T {
        let mut state = self.lock();
        state.idle = [false; 2];
        let done = change(&mut state);
        drop(state);
        self.changed.notify_all();
        done
    }

    /// Tells those who wait to look again.
    pub fn tell(&self) {
        self.changed.notify_all();
    }

    /// Takes a decoded frame in.
    pub fn keep(&self, seen: Seen) {
        self.change(|state| {
            let frame = seen.frame.index;
            if let Some(coming) = &mut state.coming
                && coming.contains(&frame)
            {
                coming.start = frame + 1;
            }
            state.window.keep(seen);
        });
    }
}
