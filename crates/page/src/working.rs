//! How a job is done: in a child process that tells how far it is, is asked to stop by the end of its input, and is killed when it is deaf.
//!
//! ```text
//! {"done":48,"all":528}      {"live":{..}}      {"made":true}   {"made":true,"unfinished":true}   {"error":".."}
//! ```
//!
//! A run folder is whole or absent in any case; what a killed child left under hidden names is removed.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use serde_json::Value;
use tokio::io::{AsyncBufReadExt, BufReader, Lines};
use tokio::process::{Child, ChildStdin, ChildStdout, Command};
use tokio::sync::Notify;
use tokio::time::{sleep, timeout};
use tremolet_record::store::{entries, remove_folder};

use crate::error::PageError;
use crate::job::{Job, State};
use crate::looks::spawned;
use crate::queue::Queue;
use crate::task::Task;

/// A child that says nothing for so long is stuck.
const SILENCE: Duration = Duration::from_secs(15 * 60);
/// Time to clean up after a stop.
const LAST: Duration = Duration::from_secs(10);

/// How it ended.
struct End {
    state: State,
    why: String,
    /// What it had done is kept.
    unfinished: bool,
}

impl End {
    fn of(state: State, why: impl Into<String>) -> Self {
        Self {
            state,
            why: why.into(),
            unfinished: false,
        }
    }
}

/// What the next job needs.
struct Next {
    job: Job,
    process: Option<u32>,
    again: bool,
    stop: Arc<Notify>,
}

impl Queue {
    /// Does one job after the other, for as long as the server runs.
    pub async fn work(self: Arc<Self>) {
        loop {
            let next = self.locked(|entries| {
                let waiting = |entry: &&mut crate::queue::Entry| entry.job.state == State::Waiting;
                let entry = entries.iter_mut().find(waiting)?;
                entry.job.state = State::Running;
                Some(Next {
                    job: entry.job.clone(),
                    process: entry.process,
                    again: entry.again,
                    stop: entry.stop.clone(),
                })
            });
            match next {
                None => self.added.notified().await,
                Some(next) => self.one(next).await,
            }
        }
    }

    async fn one(&self, next: Next) {
        let id = next.job.id;
        self.keep();
        self.change(id, |_| {});
        let end = match self.begun(&next).await {
            Ok(Some(child)) => self.followed(&next, child).await,
            Ok(None) => End::of(State::Done, ""),
            Err(why) => End::of(State::Failed, why.to_string()),
        };
        self.ended(&next, end);
    }

    fn ended(&self, next: &Next, end: End) {
        self.change(next.job.id, |job| {
            let there = end.state == State::Done || end.unfinished;
            job.made = there.then(|| job.task.makes(&job.out));
            job.live = None;
            (job.state, job.why) = (end.state, end.why);
        });
        self.keep();
    }

    /// Begins a job; `None` when one that was begun before has come to its end meanwhile.
    async fn begun(&self, next: &Next) -> Result<Option<Child>, PageError> {
        let mut out = self.place(&next.job)?;
        if next.again {
            self.left(&out, next.process).await;
            match self.taken_up(&next.job, &out)? {
                None => return Ok(None),
                Some(place) => out = place,
            }
        }
        let task = self.now(&next.job).task;
        task.check(&self.root)?;
        let mut command = Command::new(&self.program);
        command.arg("work").args(task.words(&self.root, &out)?);
        let child = spawned(&mut command)?;
        let number = child.id();
        self.locked(|entries| {
            if let Some(entry) = entries.iter_mut().find(|entry| entry.job.id == next.job.id) {
                entry.process = number;
            }
        });
        self.keep();
        Ok(Some(child))
    }

    /// A job as it is now: one that was taken up may have another place.
    fn now(&self, job: &Job) -> Job {
        let found = self.locked(|entries| {
            let entry = entries.iter().find(|entry| entry.job.id == job.id)?;
            Some(entry.job.clone())
        });
        found.unwrap_or_else(|| job.clone())
    }

    fn place(&self, job: &Job) -> Result<PathBuf, PageError> {
        if job.task.is_new() {
            self.root.new_file(&job.out)
        } else {
            self.root.existing(&job.out)
        }
    }

    /// A child that outlived its server stops by itself; it is waited for a moment, then what it left is removed.
    async fn left(&self, out: &Path, process: Option<u32>) {
        let begun = Instant::now();
        while !leavings(out, process).is_empty() && begun.elapsed() < LAST {
            sleep(Duration::from_millis(100)).await;
        }
        clean(out, process);
    }

    /// Takes up a job that was interrupted: `None` when its result is there after all, else where its result will be.
    fn taken_up(&self, job: &Job, out: &Path) -> Result<Option<PathBuf>, PageError> {
        let made = job.task.makes(&job.out);
        if !job.task.is_new() || self.root.existing(&made.path).is_err() {
            let note = "It was interrupted when the server ended, and was begun again from the start.";
            self.change(job.id, |job| job.note = note.into());
            return Ok(Some(out.to_owned()));
        }
        if !out.join("unfinished.json").is_file() {
            self.change(job.id, |job| {
                job.note = "It was finished while the server was away.".into()
            });
            return Ok(None);
        }
        let Task::Simulate { experiment, .. } = &job.task else {
            return Ok(None);
        };
        let from = job.out.clone();
        let task = Task::Simulate {
            experiment: experiment.clone(),
            from: Some(from.clone()),
        };
        let place = task.place(&self.root, |out| self.has(out));
        self.change(job.id, |job| {
            job.note = format!(
                "It was interrupted when the server ended, and went on from where it stood, kept as {from}."
            );
            job.task = task;
            job.out.clone_from(&place);
        });
        self.root.new_file(&place).map(Some)
    }

    async fn followed(&self, next: &Next, mut child: Child) -> End {
        let number = child.id();
        let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else {
            return End::of(State::Failed, "no pipe to the process that works");
        };
        let lines = BufReader::new(output).lines();
        let end = self.heard_out(next.job.id, lines, input, &next.stop).await;
        if timeout(LAST, child.wait()).await.is_err() {
            // It is killed when it is dropped below; there is nothing else to wait for.
            let _ = child.kill().await;
        }
        if end.state != State::Done
            && let Ok(out) = self.place(&self.now(&next.job))
        {
            clean(&out, number);
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
    ) -> End {
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
                return broken_off(stopped, line.is_err());
            };
            let told: Value = serde_json::from_str(&line).unwrap_or_default();
            if let Some(end) = last_word(&told, stopped) {
                return end;
            }
            self.change(id, |job| {
                if let Some(done) = told.get("done").and_then(Value::as_u64) {
                    (job.done, job.all) = (done, told.get("all").and_then(Value::as_u64));
                }
                if let Some(live) = told.get("live") {
                    job.live = Some(live.clone());
                }
            });
        }
    }
}

fn broken_off(stopped: bool, silent: bool) -> End {
    match (stopped, silent) {
        (true, _) => End::of(State::Stopped, ""),
        (false, true) => End::of(State::Failed, "no progress for a quarter of an hour"),
        (false, false) => {
            let why = "the process that worked ended: out of memory, or a damaged clip";
            End::of(State::Failed, why)
        }
    }
}

/// How it ended, when this is the last line of a child.
fn last_word(told: &Value, stopped: bool) -> Option<End> {
    if told.get("made").is_some() {
        let unfinished = told["unfinished"] == true;
        let state = if unfinished { State::Stopped } else { State::Done };
        return Some(End {
            unfinished,
            ..End::of(state, "")
        });
    }
    let why = told.get("error")?.as_str()?;
    Some(if stopped {
        End::of(State::Stopped, "")
    } else {
        End::of(State::Failed, why)
    })
}

/// What a child left beside its result under hidden names.
fn leavings(out: &Path, process: Option<u32>) -> Vec<PathBuf> {
    let (Some(process), Some(folder), Some(name)) = (process, out.parent(), out.file_name()) else {
        return Vec::new();
    };
    let start = format!(".{}.{process}-", name.to_string_lossy());
    let mut left = entries(folder);
    left.retain(|path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with(&start) && (name.ends_with(".unfinished") || name.ends_with(".part"))
    });
    left
}

/// Removes what a child that was killed left beside its result.
fn clean(out: &Path, process: Option<u32>) {
    for path in leavings(out, process) {
        // What stays is hidden, and the next job does not mind it.
        let _ = if path.is_dir() {
            remove_folder(&path)
        } else {
            std::fs::remove_file(&path)
                .map_err(|why| tremolet_record::store::StoreError::new("remove", &path, why))
        };
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
    fn the_last_word_of_a_child_says_how_it_ended() {
        let end = |text: &str, stopped| {
            let told = serde_json::from_str(text).unwrap();
            last_word(&told, stopped).map(|end| (end.state, end.unfinished))
        };
        assert_eq!(end(r#"{"made":true}"#, false), Some((State::Done, false)));
        assert_eq!(
            end(r#"{"made":true}"#, true),
            Some((State::Done, false)),
            "it was quicker than the stop"
        );
        let kept = r#"{"made":true,"unfinished":true}"#;
        assert_eq!(end(kept, true), Some((State::Stopped, true)));
        assert_eq!(end(r#"{"error":"full"}"#, false), Some((State::Failed, false)));
        assert_eq!(end(r#"{"error":"stopped"}"#, true), Some((State::Stopped, false)));
        assert_eq!(end(r#"{"done":3,"all":null}"#, false), None);
    }
}
