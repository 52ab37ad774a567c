//! One thing that was asked for: how far it is, and what is seen of it meanwhile.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::task::{Made, Task};

/// How far a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Its turn has not come.
    Waiting,
    /// It is being done.
    Running,
    /// Its result is there.
    Done,
    /// It gave nothing.
    Failed,
    /// Somebody stopped it.
    Stopped,
}

impl State {
    /// Whether there is still something to do.
    pub fn is_open(self) -> bool {
        matches!(self, Self::Waiting | Self::Running)
    }
}

/// One job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Job {
    /// Its number.
    pub id: u64,
    /// What is done.
    pub task: Task,
    /// Where its result will be.
    pub out: String,
    /// How far it is.
    pub state: State,
    /// Steps done, of the part of the work that is under way.
    pub done: u64,
    /// Steps of that part in all, where known.
    pub all: Option<u64>,
    /// Why it failed.
    pub why: String,
    /// What else is to be said: that it was interrupted, and from where it went on.
    pub note: String,
    /// What can be opened; absent while there is nothing.
    pub made: Option<Made>,
    /// What is being found, as the child tells it a few times in a second; only while it runs.
    pub live: Option<Value>,
}

impl Job {
    /// A job that waits.
    pub fn waiting(id: u64, task: Task, out: &str) -> Self {
        Self {
            id,
            task,
            out: out.to_owned(),
            state: State::Waiting,
            done: 0,
            all: None,
            why: String::new(),
            note: String::new(),
            made: None,
            live: None,
        }
    }
}
