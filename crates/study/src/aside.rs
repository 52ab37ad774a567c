//! Outlines on the disk while a run is measured: the shelf of [`tremolet_measure::aside`] over a scratch file beside the run folder.

use std::path::Path;
use std::sync::Arc;

use tremolet_measure::aside::Shelf;
use tremolet_record::store::scratch::Scratch;
use tremolet_record::store::{StoreError, beside};

/// A shelf over a scratch file.
pub struct Aside(Scratch);

impl Aside {
    /// One for the run that will be at `out`, under a hidden name beside it.
    ///
    /// # Errors
    /// The place is read-only or full.
    pub fn of_run(out: &Path) -> Result<Arc<Self>, StoreError> {
        Ok(Arc::new(Self(Scratch::create(&beside(out, "outlines"))?)))
    }

    /// What went wrong first, as an error.
    ///
    /// # Errors
    /// The disk refused something.
    pub fn checked(&self) -> Result<(), StoreError> {
        self.0.fault().map_or(Ok(()), Err)
    }
}

impl Shelf for Aside {
    fn put(&self, bytes: &[u8]) -> Option<u64> {
        self.0.put(bytes)
    }

    fn get(&self, at: u64, bytes: &mut [u8]) -> bool {
        self.0.get(at, bytes)
    }

    fn fault(&self) -> Option<String> {
        self.0.fault_text()
    }
}
