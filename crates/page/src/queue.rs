//! What was asked for: one job after the other is done, the rest waits. The list of it, and who hears of changes.
//!
//! A job goes on when the page is closed, and is taken up again when the server was ended in the middle of it (`kept`). How one is done
//! stands in `working`.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use tokio::sync::{Notify, broadcast};

use crate::error::PageError;
use crate::job::{Job, State};
use crate::kept::{Keeper, Kept};
use crate::place::Root;
use crate::task::Task;

/// Jobs that are remembered when they have ended.
const REMEMBERED: usize = 50;
/// Jobs that may wait.
const WAITING: usize = 200;

pub(crate) struct Entry {
    pub job: Job,
    /// The process that does it, or did when the server was ended.
    pub process: Option<u32>,
    /// Whether it was begun before.
    pub again: bool,
    pub stop: Arc<Notify>,
}

impl Entry {
    fn new(job: Job) -> Self {
        Self {
            job,
            process: None,
            again: false,
            stop: Arc::new(Notify::new()),
        }
    }

    fn kept(&self) -> Kept {
        Kept {
            id: self.job.id,
            task: self.job.task.clone(),
            out: self.job.out.clone(),
            state: self.job.state,
            process: self.process,
            note: self.job.note.clone(),
        }
    }

    /// What was kept, waiting again.
    fn of(kept: Kept) -> Self {
        let mut entry = Self::new(Job::waiting(kept.id, kept.task, &kept.out));
        entry.again = kept.state == State::Running || kept.process.is_some();
        entry.process = kept.process;
        entry.job.note = kept.note;
        entry
    }
}

/// The queue.
pub struct Queue {
    pub(crate) program: PathBuf,
    pub(crate) root: Root,
    entries: Mutex<Vec<Entry>>,
    pub(crate) added: Notify,
    told: broadcast::Sender<Job>,
    keeper: Keeper,
    trouble: Mutex<String>,
    adding: Mutex<()>,
}

impl Queue {
    /// The queue of a folder, with what was left to do in it; `program` is this program.
    pub fn new(program: PathBuf, root: Root) -> Arc<Self> {
        let keeper = Keeper::of(root.path());
        let (left, trouble) = match keeper.read() {
            Ok(left) => (left, String::new()),
            Err(why) => (Vec::new(), why),
        };
        Arc::new(Self {
            program,
            root,
            entries: Mutex::new(left.into_iter().map(Entry::of).collect()),
            added: Notify::new(),
            told: broadcast::channel(256).0,
            keeper,
            trouble: Mutex::new(trouble),
            adding: Mutex::new(()),
        })
    }

    pub(crate) fn locked<T>(&self, work: impl FnOnce(&mut Vec<Entry>) -> T) -> T {
        // A panic elsewhere leaves the list whole.
        work(&mut self.entries.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Every job that is remembered, in the order in which they were asked for.
    pub fn jobs(&self) -> Vec<Job> {
        self.locked(|entries| entries.iter().map(|entry| entry.job.clone()).collect())
    }

    /// Why the queue would be lost with this server; empty when it is kept.
    pub fn trouble(&self) -> String {
        if !self.keeper.keeps() {
            return "another server keeps the queue of this folder; what waits here is lost when this one ends".into();
        }
        self.trouble
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Hears of every change.
    pub fn heard(&self) -> broadcast::Receiver<Job> {
        self.told.subscribe()
    }

    /// Whether a job with its result at that place is waiting or under way.
    pub fn has(&self, out: &str) -> bool {
        self.locked(|entries| {
            let open = |entry: &&Entry| entry.job.state.is_open();
            entries.iter().filter(open).any(|entry| entry.job.out == out)
        })
    }

    /// Puts a task at the end.
    ///
    /// # Errors
    /// It cannot be done, it is under way already, or too many wait.
    pub fn add(&self, task: Task) -> Result<Job, PageError> {
        task.check(&self.root)?;
        // Two at once would be given one place.
        let _one = self.adding.lock().unwrap_or_else(PoisonError::into_inner);
        let out = task.place(&self.root, |out| self.has(out));
        if self.has(&out) {
            return Err(PageError::Asked(format!("{out} is being worked on already")));
        }
        let job = self.locked(|entries| {
            let waiting = entries.iter().filter(|entry| entry.job.state == State::Waiting);
            if waiting.count() >= WAITING {
                return None;
            }
            let ended = |entry: &Entry| !entry.job.state.is_open();
            while entries.iter().filter(|entry| ended(entry)).count() > REMEMBERED {
                let first = entries.iter().position(ended)?;
                entries.remove(first);
            }
            let id = entries.iter().map(|entry| entry.job.id).max().unwrap_or(0) + 1;
            let job = Job::waiting(id, task, &out);
            entries.push(Entry::new(job.clone()));
            Some(job)
        });
        let job = job.ok_or_else(|| PageError::Asked("too many wait; stop some of them first".into()))?;
        self.keep();
        // Nobody may be listening.
        let _ = self.told.send(job.clone());
        self.added.notify_one();
        Ok(job)
    }

    /// Stops a job; false when there is none of that number.
    pub fn stop(&self, id: u64) -> bool {
        let waiting = self.locked(|entries| {
            let entry = entries.iter().find(|entry| entry.job.id == id)?;
            entry.stop.notify_one();
            Some(entry.job.state == State::Waiting)
        });
        if waiting == Some(true) {
            self.change(id, |job| job.state = State::Stopped);
            self.keep();
        }
        waiting.is_some()
    }

    /// Changes a job and tells of it.
    pub(crate) fn change(&self, id: u64, how: impl FnOnce(&mut Job)) {
        let changed = self.locked(|entries| {
            let entry = entries.iter_mut().find(|entry| entry.job.id == id)?;
            how(&mut entry.job);
            Some(entry.job.clone())
        });
        if let Some(job) = changed {
            let _ = self.told.send(job);
        }
    }

    /// Keeps what is left to do; a disk that refuses is said on the page.
    pub(crate) fn keep(&self) {
        let written = self.locked(|entries| {
            let open = entries.iter().filter(|entry| entry.job.state.is_open());
            self.keeper.write(open.map(Entry::kept).collect())
        });
        *self.trouble.lock().unwrap_or_else(PoisonError::into_inner) =
            written.err().map_or(String::new(), |why| why.to_string());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn queue(place: &tempfile::TempDir) -> Arc<Queue> {
        std::fs::create_dir_all(place.path().join("run/series")).unwrap();
        std::fs::write(place.path().join("run/series/outlines.parquet"), "x").unwrap();
        Queue::new("nowhere".into(), Root::at(place.path()).unwrap())
    }

    fn fit() -> Task {
        Task::Fit { run: "run".into() }
    }

    #[test]
    fn a_job_that_waits_can_be_stopped_and_its_place_is_taken_while_it_waits() {
        let place = tempfile::tempdir().unwrap();
        let queue = queue(&place);
        let job = queue.add(fit()).unwrap();
        assert!(queue.has("run") && !queue.has("other"));
        assert!(queue.add(fit()).is_err(), "it waits already");
        assert!(queue.stop(job.id) && !queue.stop(99));
        assert!(!queue.has("run"));
        assert_eq!(queue.jobs()[0].state, State::Stopped);
    }

    #[test]
    fn what_waits_is_there_again_for_the_next_server_and_what_was_stopped_is_not() {
        let place = tempfile::tempdir().unwrap();
        let first = queue(&place);
        let job = first.add(fit()).unwrap();
        drop(first);
        let second = queue(&place);
        assert_eq!(second.jobs()[0].task, fit());
        assert!(second.trouble().is_empty() && second.stop(job.id));
        drop(second);
        assert!(queue(&place).jobs().is_empty());
    }
}
