//! Frames of a clip by number, from a bounded window of decoded ones.
//!
//! Whoever asks waits at most for the group of pictures in which the frame lies: two threads decode, one what is asked for and what lies
//! ahead, one what lies before, so that a step either way finds its frame in the window. What is farthest from the frame last asked for
//! leaves the window first. Finds nothing in a frame.

use std::path::Path;
use std::sync::Arc;
use std::thread::JoinHandle;

use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::ClipInfo;
use tremolet_clip::times::read_times;

use crate::error::StudyError;
use crate::looker::reader::{Given, Reader, before, onward};
use crate::looker::shared::Shared;
use crate::looker::window::Seen;

pub mod reader;
pub mod shared;
pub mod window;

/// Bytes of decoded frames that are held; with what two decoders hold for themselves a clip of 1920 x 1080 stays below 256 MiB.
const WINDOW: usize = 128 << 20;

/// A clip that is looked at.
pub struct Looker {
    shared: Arc<Shared>,
    info: ClipInfo,
    threads: Vec<JoinHandle<()>>,
}

impl Looker {
    /// Opens a clip: `rate` in frames per second of real time and a table of `times`, where they are stated.
    ///
    /// # Errors
    /// When the clip or the table cannot be read.
    pub fn open(clip: &Path, rate: Option<f64>, times: Option<&Path>) -> Result<Self, StudyError> {
        let times = times.map(read_times).transpose()?;
        let clip = clip.to_owned();
        let given = Given {
            open: Box::new(move || open(&clip, &OpenOptions::default())),
            rate,
            times,
        };
        Self::of(given, WINDOW)
    }

    /// Looks at what is given through a window of `most` bytes.
    fn of(given: Given, most: usize) -> Result<Self, StudyError> {
        let first = Reader::new(&given)?;
        let info = first.info().clone();
        let size = info.width * info.height * if info.bits > 8 { 2 } else { 1 };
        let shared = Arc::new(Shared::new(most, size, info.frame_count));
        let (given, mine) = (Arc::new(given), shared.clone());
        let theirs = (given.clone(), shared.clone());
        let threads = vec![
            std::thread::spawn(move || onward(&mine, &given, first)),
            std::thread::spawn(move || before(&theirs.1, &theirs.0)),
        ];
        Ok(Self {
            shared,
            info,
            threads,
        })
    }

    /// What is known of the clip; `frame_count` once its end has been seen, if not before.
    pub fn info(&self) -> ClipInfo {
        ClipInfo {
            frame_count: self.shared.lock().count,
            ..self.info.clone()
        }
    }

    /// The frame of that number; `None` past the end.
    ///
    /// # Errors
    /// When the clip cannot be read.
    pub fn frame(&self, number: u64) -> Result<Option<Arc<Seen>>, StudyError> {
        self.shared.change(|state| {
            state.window.go(number);
            state.fault = None;
        });
        let mut state = self.shared.lock();
        loop {
            if let Some(seen) = state.window.get(number) {
                return Ok(Some(seen));
            }
            if state.count.is_some_and(|count| number >= count) {
                return Ok(None);
            }
            if let Some((_, why)) = state.fault.take_if(|fault| fault.0 == number) {
                return Err(why);
            }
            if state.lost {
                return Err(StudyError::Asked {
                    what: format!("frame {number}"),
                    why: "its reader stopped; the file is probably damaged".into(),
                });
            }
            state = self.shared.wait(state);
        }
    }

    /// Does some work while nothing is decoded that nobody asked for.
    pub fn quietly<T>(&self, work: impl FnOnce() -> T) -> T {
        self.shared.change(|state| state.quiet = true);
        let done = work();
        self.shared.change(|state| state.quiet = false);
        done
    }

    /// Whether a reader broke down, so that nothing more will come.
    pub fn is_lost(&self) -> bool {
        self.shared.lock().lost
    }
}

impl Drop for Looker {
    fn drop(&mut self) {
        self.shared.change(|state| state.gone = true);
        for thread in self.threads.drain(..) {
            // One that broke down has told so.
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests;
