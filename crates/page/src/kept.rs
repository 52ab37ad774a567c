//! The queue on the disk, so that the end of the server, even a sudden one, loses nothing of it: `.tremolet-queue.json` in the served folder.
//!
//! Only what waits or runs stands in it; it is written whole at every change and goes when there is nothing left to do. One server keeps the
//! queue of a folder: it holds a lock on the folder, which the system lets go when the server is gone, however it went.

use std::fs::File;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use tremolet_record::store::{StoreError, entries, read_text, write_whole};

use crate::job::State;
use crate::task::Task;

const NAME: &str = ".tremolet-queue.json";
/// Format of the file.
const FORMAT: u32 = 1;

/// A job as it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Its number.
    pub id: u64,
    /// What is done.
    pub task: Task,
    /// Where its result will be.
    pub out: String,
    /// Waiting or running.
    pub state: State,
    /// Number of the process that does it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub process: Option<u32>,
    /// What is to be said of it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

#[derive(Serialize, Deserialize)]
struct Page {
    format: u32,
    jobs: Vec<Kept>,
}

/// Keeps the queue of a folder.
#[derive(Debug)]
pub struct Keeper {
    file: PathBuf,
    // Held, never read: the lock goes with it.
    _lock: Option<File>,
    own: bool,
}

impl Keeper {
    /// Of a folder; another server that keeps its queue is left to it, and this one then keeps nothing.
    pub fn of(folder: &Path) -> Self {
        let lock = File::open(folder).ok();
        // A system that locks no folders lets two servers of one folder be the care of whoever starts them.
        let taken = lock
            .as_ref()
            .is_some_and(|lock| matches!(lock.try_lock(), Err(std::fs::TryLockError::WouldBlock)));
        if !taken {
            swept(folder);
        }
        Self {
            file: folder.join(NAME),
            _lock: lock.filter(|_| !taken),
            own: !taken,
        }
    }

    /// Whether the queue is kept.
    pub fn keeps(&self) -> bool {
        self.own
    }

    /// What was left to do; a file that is not understood is moved aside.
    ///
    /// # Errors
    /// The file is damaged or of another format.
    pub fn read(&self) -> Result<Vec<Kept>, String> {
        if !self.own || !self.file.exists() {
            return Ok(Vec::new());
        }
        let read = read_text(&self.file).map_err(|why| why.to_string());
        let page = read.and_then(|text| serde_json::from_str::<Page>(&text).map_err(|why| why.to_string()));
        match page {
            Ok(page) if page.format == FORMAT => Ok(page.jobs),
            Ok(page) => Err(self.aside(&format!("format {}, expected {FORMAT}", page.format))),
            Err(why) => Err(self.aside(&why)),
        }
    }

    /// Moves a file that is not understood aside, so that the next change does not write over it.
    fn aside(&self, why: &str) -> String {
        let aside = self.file.with_extension("json.damaged");
        match std::fs::rename(&self.file, &aside) {
            Ok(()) => {
                format!("the queue that was kept cannot be read ({why}); it was moved to {NAME}.damaged")
            }
            Err(cause) => {
                format!("the queue that was kept in {NAME} cannot be read ({why}), nor moved aside ({cause})")
            }
        }
    }

    /// Writes what is left to do.
    ///
    /// # Errors
    /// The disk refuses; what was kept before still stands.
    pub fn write(&self, jobs: Vec<Kept>) -> Result<(), StoreError> {
        if !self.own {
            return Ok(());
        }
        if jobs.is_empty() {
            return match std::fs::remove_file(&self.file) {
                Err(why) if why.kind() != std::io::ErrorKind::NotFound => {
                    Err(StoreError::new("remove", &self.file, why))
                }
                _ => Ok(()),
            };
        }
        let page = Page { format: FORMAT, jobs };
        let text = serde_json::to_string_pretty(&page)
            .map_err(|why| StoreError::new("write", &self.file, std::io::Error::other(why)))?;
        write_whole(&self.file, text.as_bytes())
    }
}

/// Removes what a server that died while it wrote left of the file.
fn swept(folder: &Path) {
    let start = format!(".{NAME}.");
    for path in entries(folder) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with(&start) && name.ends_with(".part") {
            // What stays is hidden and in nobody's way.
            drop(std::fs::remove_file(&path));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(id: u64) -> Kept {
        Kept {
            id,
            task: Task::Fit { run: "run".into() },
            out: "run".into(),
            state: State::Waiting,
            process: Some(7),
            note: String::new(),
        }
    }

    #[test]
    fn what_is_left_to_do_comes_back_and_an_empty_queue_leaves_no_file() {
        let place = tempfile::tempdir().unwrap();
        let keeper = Keeper::of(place.path());
        assert_eq!(keeper.read(), Ok(Vec::new()));
        keeper.write(vec![kept(3), kept(4)]).unwrap();
        assert_eq!(keeper.read().unwrap(), [kept(3), kept(4)]);
        keeper.write(Vec::new()).unwrap();
        keeper.write(Vec::new()).unwrap();
        assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0);
    }

    #[cfg(unix)]
    #[test]
    fn a_second_server_of_the_folder_leaves_the_queue_alone_until_the_first_is_gone() {
        let place = tempfile::tempdir().unwrap();
        let first = Keeper::of(place.path());
        first.write(vec![kept(1)]).unwrap();
        let second = Keeper::of(place.path());
        assert!(first.keeps() && !second.keeps());
        assert_eq!(second.read(), Ok(Vec::new()));
        second.write(Vec::new()).unwrap();
        assert_eq!(first.read().unwrap().len(), 1);
        drop(first);
        assert_eq!(Keeper::of(place.path()).read().unwrap().len(), 1);
    }

    #[test]
    fn half_of_a_file_that_a_dead_server_left_goes() {
        let place = tempfile::tempdir().unwrap();
        let names = [
            format!(".{NAME}.77-1.part"),
            ".other.77-1.part".into(),
            "run.part".into(),
        ];
        for name in &names {
            std::fs::write(place.path().join(name), "{").unwrap();
        }
        let _keeper = Keeper::of(place.path());
        assert_eq!(
            names.map(|name| place.path().join(name).exists()),
            [false, true, true]
        );
    }

    #[test]
    fn a_damaged_file_is_said() {
        let place = tempfile::tempdir().unwrap();
        let keeper = Keeper::of(place.path());
        for text in ["{", "{\"format\":2,\"jobs\":[]}"] {
            std::fs::write(place.path().join(NAME), text).unwrap();
            assert!(keeper.read().unwrap_err().contains("moved"));
            assert!(!place.path().join(NAME).exists());
        }
    }
}
