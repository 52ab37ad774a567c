//! A file for what does not fit into memory while a run is measured: put aside, fetched back, gone with the run.
//!
//! Where the system lets it, its name is removed at once, so that nothing is left behind by a crash; else when it is dropped.
//! It knows nothing of what is put aside.

use crate::store::StoreError;
use std::fs::{self, File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The file. The first thing that goes wrong is kept for [`Scratch::fault`].
#[derive(Debug)]
pub struct Scratch {
    path: PathBuf,
    named: bool,
    inside: Mutex<Inside>,
}

#[derive(Debug)]
struct Inside {
    file: File,
    end: u64,
    fault: Option<StoreError>,
}

impl Scratch {
    /// Makes the file.
    ///
    /// # Errors
    /// The place is read-only or full, or the name is taken.
    pub fn create(path: &Path) -> Result<Self, StoreError> {
        let mut options = OpenOptions::new();
        let file = options.read(true).write(true).create_new(true).open(path);
        let file = file.map_err(|cause| StoreError::new("write", path, cause))?;
        Ok(Self {
            path: path.to_owned(),
            named: fs::remove_file(path).is_err(),
            inside: Mutex::new(Inside {
                file,
                end: 0,
                fault: None,
            }),
        })
    }

    /// Puts bytes aside and says where; `None` when the disk refuses.
    pub fn put(&self, bytes: &[u8]) -> Option<u64> {
        let mut inside = self.inside();
        let at = inside.end;
        let done = inside
            .file
            .seek(SeekFrom::Start(at))
            .and_then(|_| inside.file.write_all(bytes));
        inside.end += bytes.len() as u64;
        self.noted(&mut inside, "write", done).then_some(at)
    }

    /// Fetches the bytes that were put at a place; false when the disk refuses.
    pub fn get(&self, at: u64, bytes: &mut [u8]) -> bool {
        let mut inside = self.inside();
        let done = inside
            .file
            .seek(SeekFrom::Start(at))
            .and_then(|_| inside.file.read_exact(bytes));
        self.noted(&mut inside, "read", done)
    }

    /// What went wrong first, if anything did; it is told once.
    pub fn fault(&self) -> Option<StoreError> {
        self.inside().fault.take()
    }

    /// The same in words, as often as it is asked for.
    pub fn fault_text(&self) -> Option<String> {
        self.inside().fault.as_ref().map(StoreError::to_string)
    }

    fn inside(&self) -> MutexGuard<'_, Inside> {
        // A thread that panicked left at most an unfinished piece, which nobody fetches.
        self.inside.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn noted(&self, inside: &mut Inside, action: &'static str, done: std::io::Result<()>) -> bool {
        let Err(cause) = done else { return true };
        inside
            .fault
            .get_or_insert_with(|| StoreError::new(action, &self.path, cause));
        false
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        if self.named {
            // What cannot be removed goes with the unfinished run folder.
            drop(fs::remove_file(&self.path));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_put_aside_comes_back_and_leaves_nothing() {
        let place = tempfile::tempdir().unwrap();
        let scratch = Scratch::create(&place.path().join("aside")).unwrap();
        let (first, second) = (scratch.put(b"one").unwrap(), scratch.put(b"three").unwrap());
        let mut bytes = [0; 5];
        assert!(scratch.get(second, &mut bytes) && &bytes == b"three");
        assert!(scratch.get(first, &mut bytes[..3]) && &bytes[..3] == b"one");
        let third = scratch.put(b"xy").unwrap();
        assert!(scratch.get(third, &mut bytes[..2]) && &bytes[..2] == b"xy");
        assert!(scratch.fault().is_none());
        drop(scratch);
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0);
        assert!(Scratch::create(&place.path().join("no/aside")).is_err());
    }

    #[test]
    fn a_fault_is_kept_until_it_is_asked_for() {
        let place = tempfile::tempdir().unwrap();
        let scratch = Scratch::create(&place.path().join("aside")).unwrap();
        let mut bytes = [0; 4];
        assert!(!scratch.get(100, &mut bytes));
        assert!(
            scratch.fault_text().is_some()
                && scratch
                    .fault()
                    .is_some_and(|why| why.to_string().contains("cannot read"))
        );
    }
}
