//! Progress on stderr, once the work has taken a second, and Ctrl-C as a request to stop.

use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar and the wish to stop.
pub struct Wait {
    begun: Instant,
    bar: ProgressBar,
    doing: &'static str,
    stop: Arc<AtomicBool>,
}

impl Wait {
    /// Begins to wait and to listen for Ctrl-C; `doing` is said beside the bar.
    pub fn new(doing: &'static str) -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let heard = stop.clone();
        // A second handler cannot be set in one process; the first one then goes on listening.
        let _ = ctrlc::set_handler(move || heard.store(true, Ordering::Relaxed));
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template("{msg} {bar:30} {pos}/{len} frames, {per_sec}, {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Self {
            begun: Instant::now(),
            bar,
            doing,
            stop,
        }
    }

    /// Says how far the work is, and whether to go on.
    pub fn told(&mut self, done: u64, all: Option<u64>) -> ControlFlow<()> {
        if self.begun.elapsed() > Duration::from_secs(1) && self.bar.is_hidden() {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.set_message(self.doing);
        match all {
            Some(all) => self.bar.set_length(all),
            // How much there is to do is not known: the bar gives way to a count.
            None => self.bar.set_style(
                ProgressStyle::with_template("{msg}: {pos}, {per_sec}")
                    .unwrap_or_else(|_| ProgressStyle::default_bar()),
            ),
        }
        self.bar.set_position(done);
        if self.stop.load(Ordering::Relaxed) {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    }

    /// Takes the bar away.
    pub fn done(&self) {
        self.bar.finish_and_clear();
    }
}
