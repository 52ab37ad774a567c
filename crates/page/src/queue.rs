//! What is measured, one run at a time in a child process, and what waits.
//!
//! A run goes on when the page is closed. It is stopped by closing the child's input, which lets it clean up; a child that is deaf to
//! that is killed, and what it left under a hidden name is removed. A run folder is whole or absent in any case.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use serde::Serialize;
use serde_json::Value;
use tokio::io::{AsyncBufReadExt, BufReader, Lines};
use tokio::process::{Child, ChildStdin, ChildStdout, Command};
use tokio::sync::{Notify, broadcast};
use tokio::time::timeout;
use tremolet_record::store::{entries, remove_folder};

use crate::looks::spawned;

/// A child that says nothing for so long is stuck.
const SILENCE: Duration = Duration::from_secs(15 * 60);
/// Time to clean up after a stop.
const LAST: Duration = Duration::from_secs(10);
/// Jobs that are remembered when they have ended.
const REMEMBERED: usize = 50;
/// Jobs that may wait.
const WAITING: usize = 200;

/// How far a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Its turn has not come.
    Waiting,
    /// It is being measured.
    Running,
    /// Its run folder is there.
    Done,
    /// It gave no run.
    Failed,
    /// Somebody stopped it.
    Stopped,
}

/// One measurement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Job {
    /// Its number.
    pub id: u64,
    /// The experiment file, as the page names it.
    pub experiment: String,
    /// The run folder that will be there.
    pub run: String,
    /// How far it is.
    pub state: State,
    /// Steps done: frames looked at, then frames drawn.
    pub done: u64,
    /// Steps in all, where known.
    pub all: Option<u64>,
    /// Why it failed.
    pub why: String,
}

struct Entry {
    job: Job,
    file: PathBuf,
    out: PathBuf,
    stop: Arc<Notify>,
}

/// The queue.
pub struct Queue {
    program: PathBuf,
    entries: Mutex<Vec<Entry>>,
    added: Notify,
    told: broadcast::Sender<Job>,
}

impl Queue {
    /// An empty queue; `program` is this program.
    pub fn new(program: PathBuf) -> Arc<Self> {
        Arc::new(Self {
            program,
            entries: Mutex::new(Vec::new()),
            added: Notify::new(),
            told: broadcast::channel(256).0,
        })
    }

    fn locked<T>(&self, work: impl FnOnce(&mut Vec<Entry>) -> T) -> T {
        // A panic elsewhere leaves the list whole.
        work(&mut self.entries.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Every job that is remembered, in the order in which they were asked for.
    pub fn jobs(&self) -> Vec<Job> {
        self.locked(|entries| entries.iter().map(|entry| entry.job.clone()).collect())
    }

    /// Hears of every change.
    pub fn heard(&self) -> broadcast::Receiver<Job> {
        self.told.subscribe()
    }

    /// Whether a run at that place is waiting or under way.
    pub fn has(&self, out: &Path) -> bool {
        self.locked(|entries| {
            let open = |entry: &&Entry| matches!(entry.job.state, State::Waiting | State::Running);
            entries.iter().filter(open).any(|entry| entry.out == out)
        })
    }

    /// Puts a measurement at the end; `None` when too many wait.
    pub fn add(&self, experiment: &str, run: &str, file: PathBuf, out: PathBuf) -> Option<Job> {
        let job = self.locked(|entries| {
            let waiting = entries.iter().filter(|entry| entry.job.state == State::Waiting);
            if waiting.count() >= WAITING {
                return None;
            }
            let ended = |entry: &Entry| !matches!(entry.job.state, State::Waiting | State::Running);
            while entries.iter().filter(|entry| ended(entry)).count() > REMEMBERED {
                let first = entries.iter().position(ended)?;
                entries.remove(first);
            }
            let job = Job {
                id: entries.iter().map(|entry| entry.job.id).max().unwrap_or(0) + 1,
                experiment: experiment.to_owned(),
                run: run.to_owned(),
                state: State::Waiting,
                done: 0,
                all: None,
                why: String::new(),
            };
            entries.push(Entry {
                job: job.clone(),
                file,
                out,
                stop: Arc::new(Notify::new()),
            });
            Some(job)
        })?;
        // Nobody may be listening.
        let _ = self.told.send(job.clone());
        self.added.notify_one();
        Some(job)
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
        }
        waiting.is_some()
    }

    fn change(&self, id: u64, how: impl FnOnce(&mut Job)) {
        let changed = self.locked(|entries| {
            let entry = entries.iter_mut().find(|entry| entry.job.id == id)?;
            how(&mut entry.job);
            Some(entry.job.clone())
        });
        if let Some(job) = changed {
            let _ = self.told.send(job);
        }
    }

    /// Measures one job after the other, for as long as the server runs.
    pub async fn work(self: Arc<Self>) {
        loop {
            let next = self.locked(|entries| {
                let entry = entries
                    .iter_mut()
                    .find(|entry| entry.job.state == State::Waiting)?;
                entry.job.state = State::Running;
                Some((
                    entry.job.id,
                    entry.file.clone(),
                    entry.out.clone(),
                    entry.stop.clone(),
                ))
            });
            match next {
                None => self.added.notified().await,
                Some((id, file, out, stop)) => self.measured(id, &file, &out, &stop).await,
            }
        }
    }

    async fn measured(&self, id: u64, file: &Path, out: &Path, stop: &Notify) {
        self.change(id, |_| {});
        let mut command = Command::new(&self.program);
        command.arg("work").arg("measure").arg(file).arg(out);
        let (state, why) = match spawned(&mut command) {
            Err(why) => (State::Failed, why.to_string()),
            Ok(child) => self.followed(id, child, out, stop).await,
        };
        self.change(id, |job| {
            job.state = state;
            job.why = why;
        });
    }

    async fn followed(&self, id: u64, mut child: Child, out: &Path, stop: &Notify) -> (State, String) {
        let number = child.id();
        let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else {
            return (State::Failed, "no pipe to the process that measures".into());
        };
        let end = self
            .heard_out(id, BufReader::new(output).lines(), input, stop)
            .await;
        if timeout(LAST, child.wait()).await.is_err() {
            // It is killed when it is dropped below; there is nothing else to wait for.
            let _ = child.kill().await;
        }
        if end.0 != State::Done {
            clean(out, number);
        }
        end
    }

    /// Follows a child to its last line.
    async fn heard_out(
        &self,
        id: u64,
        mut lines: Lines<BufReader<ChildStdout>>,
        input: ChildStdin,
        stop: &Notify,
    ) -> (State, String) {
        let mut input = Some(input);
        let mut patience = SILENCE;
        loop {
            let line = tokio::select! {
                line = timeout(patience, lines.next_line()) => line,
                () = stop.notified() => {
                    input = None;
                    patience = LAST;
                    continue;
                }
            };
            let stopped = input.is_none();
            let Ok(Ok(Some(line))) = line else {
                return match (stopped, line.is_err()) {
                    (true, _) => (State::Stopped, String::new()),
                    (false, true) => (State::Failed, "no progress for a quarter of an hour".into()),
                    (false, false) => {
                        let why = "the process that measures ended: out of memory, or a damaged clip";
                        (State::Failed, why.into())
                    }
                };
            };
            let told: Value = serde_json::from_str(&line).unwrap_or_default();
            if told.get("run").is_some() {
                return (State::Done, String::new());
            }
            if let Some(why) = told.get("error").and_then(Value::as_str) {
                return if stopped {
                    (State::Stopped, String::new())
                } else {
                    (State::Failed, why.into())
                };
            }
            if let Some(done) = told.get("done").and_then(Value::as_u64) {
                let all = told.get("all").and_then(Value::as_u64);
                self.change(id, |job| (job.done, job.all) = (done, all));
            }
        }
    }
}

/// Removes what a child that was killed left beside its run.
fn clean(out: &Path, process: Option<u32>) {
    let (Some(process), Some(folder), Some(name)) = (process, out.parent(), out.file_name()) else {
        return;
    };
    let start = format!(".{}.{process}-", name.to_string_lossy());
    for path in entries(folder) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with(&start) && name.ends_with(".unfinished") {
            // What stays is hidden, and the next measurement does not mind it.
            let _ = remove_folder(&path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_that_child_left_is_removed() {
        let place = tempfile::tempdir().unwrap();
        let names = [
            ".run.7-0.unfinished",
            ".run.71-0.unfinished",
            ".other.7-0.unfinished",
            "run.7",
        ];
        for name in names {
            std::fs::create_dir(place.path().join(name)).unwrap();
        }
        clean(&place.path().join("run"), Some(7));
        let left = names.map(|name| place.path().join(name).exists());
        assert_eq!(left, [false, true, true, true]);
    }

    #[test]
    fn a_job_that_waits_can_be_stopped_and_its_place_is_taken_while_it_waits() {
        let queue = Queue::new("nowhere".into());
        let job = queue.add("a.toml", "run", "a.toml".into(), "run".into()).unwrap();
        assert!(queue.has(Path::new("run")) && !queue.has(Path::new("other")));
        assert!(queue.stop(job.id) && !queue.stop(99));
        assert!(!queue.has(Path::new("run")));
        assert_eq!(queue.jobs()[0].state, State::Stopped);
    }
}
