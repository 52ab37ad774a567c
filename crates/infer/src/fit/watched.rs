//! A model whose trials are counted and that can be stopped: nothing further is followed once whoever waits has said so.
//!
//! ```text
//! shapes(trial) = model.shapes(trial) while the watch goes on, none from then on
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | trial | unknowns of one motion | - |
//!
//! Source: none needed. A search that gets no motions ends by itself within one step.

use std::cell::{Cell, RefCell};
use std::ops::ControlFlow;

use super::{FitError, Forward, Trial};

/// See the module.
pub struct Watched<'a> {
    model: &'a dyn Forward,
    watch: RefCell<&'a mut dyn FnMut(u64) -> ControlFlow<()>>,
    tried: Cell<u64>,
    stopped: Cell<bool>,
}

impl<'a> Watched<'a> {
    /// `watch` is told how many motions have been tried.
    pub fn new(model: &'a dyn Forward, watch: &'a mut dyn FnMut(u64) -> ControlFlow<()>) -> Self {
        Self {
            model,
            watch: RefCell::new(watch),
            tried: Cell::new(0),
            stopped: Cell::new(false),
        }
    }

    /// Whether the watch has said to stop.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stopped.get()
    }

    /// The error that explains `why`: that of the stop, when there was one.
    #[must_use]
    pub fn or_stopped(&self, why: FitError) -> FitError {
        if self.is_stopped() { FitError::Stopped } else { why }
    }
}

impl Forward for Watched<'_> {
    fn shapes(&self, trial: &Trial, times: &[f64]) -> Option<Vec<Vec<f64>>> {
        if self.is_stopped() {
            return None;
        }
        let tried = self.tried.get();
        self.tried.set(tried + 1);
        if (self.watch.borrow_mut())(tried).is_break() {
            self.stopped.set(true);
            return None;
        }
        self.model.shapes(trial, times)
    }
}
