//! A clip on its way through a decoder, and the two threads that read it into the window.

use std::ops::Range;
use std::sync::Arc;

use tremolet_clip::clock::Clock;
use tremolet_clip::error::ClipError;
use tremolet_clip::source::{ClipInfo, FrameSource};

use crate::error::StudyError;
use crate::looker::shared::{Shared, State};
use crate::looker::window::Seen;

/// Opens the clip anew at its first frame.
pub type Opener = dyn Fn() -> Result<Box<dyn FrameSource>, ClipError> + Send + Sync;

/// The clip and its clock.
pub struct Given {
    /// Opens it.
    pub open: Box<Opener>,
    /// Capture rate, frames per second of real time.
    pub rate: Option<f64>,
    /// Real times of the frames, s.
    pub times: Option<Vec<f64>>,
}

/// A clip that is being read.
pub struct Reader {
    source: Box<dyn FrameSource>,
    clock: Option<Clock>,
    /// No frame before this one will come.
    next: u64,
    /// The frame that it was last sent to.
    aim: u64,
}

impl Reader {
    /// A reader before the first frame.
    ///
    /// # Errors
    /// When the clip cannot be opened.
    pub fn new(given: &Given) -> Result<Self, StudyError> {
        let source = (given.open)()?;
        // Without any rate there is no real time, which is no reason not to look.
        let clock = Clock::of(source.as_ref(), given.rate, given.times.clone()).ok();
        Ok(Self {
            source,
            clock,
            next: 0,
            aim: 0,
        })
    }

    /// Goes on to the group of pictures of a frame; of the frames on the way at most `most` are handed out.
    fn forward(&mut self, frame: u64, most: u64) -> Result<(), StudyError> {
        if frame > self.next.max(self.aim) {
            self.aim = frame;
            let begin = self.source.group_of(frame)?.max(frame.saturating_sub(most));
            self.source.skip_to(begin)?;
        }
        Ok(())
    }

    /// What is known of the clip.
    pub fn info(&self) -> &ClipInfo {
        self.source.info()
    }

    /// Before a stretch that ends before `to`: its last group, or all of it where groups are short.
    fn behind(&mut self, from: u64, to: u64) -> Result<(), StudyError> {
        let group = self.source.group_of(to - 1)?;
        let short = group > u64::midpoint(from, to);
        self.source.skip_to(if short { from } else { group.max(from) })?;
        Ok(())
    }

    fn step(&mut self) -> Result<Option<Seen>, StudyError> {
        let Some(frame) = self.source.next_frame()? else {
            return Ok(None);
        };
        self.next = frame.index + 1;
        let time = self.clock.as_mut().map(|clock| clock.time(&frame));
        Ok(Some(Seen {
            time: time.filter(|time| time.is_finite()),
            frame,
        }))
    }

    /// Frames of the clip, when it ended on the way to `due`; a header that promises more is not believed.
    fn count(&self, due: u64) -> u64 {
        let told = self.info().frame_count.filter(|count| *count <= due);
        told.unwrap_or(due).max(self.next)
    }
}

/// Tells when its thread ends otherwise than it should.
struct Watch<'a>(&'a Shared);

impl Drop for Watch<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.change(|state| state.lost = true);
        }
    }
}

/// Brings what is asked for and what lies ahead, until the looker is gone.
pub fn onward(shared: &Arc<Shared>, given: &Given, first: Reader) {
    let _watch = Watch(shared);
    let mut reader = Some(first);
    while let Some((due, lead)) = task(shared, 0, |state| Some((state.onward()?, state.ready()[0]))) {
        match brought(given, &mut reader, due, lead) {
            Ok(Some(seen)) => shared.keep(seen),
            Ok(None) => {
                let count = reader.take().map_or(due, |reader| reader.count(due));
                shared
                    .change(|state| state.count = Some(state.count.map_or(count, |known| known.min(count))));
            }
            Err(why) => {
                reader = None;
                shared.change(|state| {
                    state.given_up[0] = Some(state.window.at);
                    if due == state.window.at {
                        state.fault = Some((due, why));
                    }
                });
            }
        }
    }
}

fn brought(
    given: &Given,
    slot: &mut Option<Reader>,
    due: u64,
    lead: u64,
) -> Result<Option<Seen>, StudyError> {
    let mut reader = match slot.take() {
        Some(reader) if reader.next <= due => reader,
        _ => Reader::new(given)?,
    };
    reader.forward(due, lead)?;
    let seen = reader.step()?;
    *slot = Some(reader);
    Ok(seen)
}

/// Brings what lies before, until the looker is gone.
pub fn before(shared: &Arc<Shared>, given: &Given) {
    let _watch = Watch(shared);
    while let Some(range) = task(shared, 1, |state| {
        state.before().inspect(|range| state.coming = Some(range.clone()))
    }) {
        let failed = stretch(shared, given, &range).is_err();
        shared.change(|state| {
            state.coming = None;
            if failed {
                state.given_up[1] = Some(state.window.at);
            }
        });
    }
}

fn stretch(shared: &Shared, given: &Given, range: &Range<u64>) -> Result<(), StudyError> {
    let mut reader = Reader::new(given)?;
    reader.behind(range.start, range.end)?;
    while reader.next < range.end && shared.lock().wants(range) {
        match reader.step()? {
            Some(seen) => shared.keep(seen),
            None => break,
        }
    }
    Ok(())
}

/// The next task of a thread; `None` once the looker is gone.
fn task<T>(shared: &Shared, thread: usize, due: impl Fn(&mut State) -> Option<T>) -> Option<T> {
    let mut state = shared.lock();
    loop {
        if state.gone {
            return None;
        }
        if let Some(task) = due(&mut state) {
            state.idle[thread] = false;
            return Some(task);
        }
        if !state.idle[thread] {
            state.idle[thread] = true;
            shared.tell();
        }
        state = shared.wait(state);
    }
}
