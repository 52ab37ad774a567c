//! What all requests share: the folder, the key of this start, the children, the queue.

use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::{Mutex, Semaphore};

use crate::error::PageError;
use crate::guard::Key;
use crate::looks::Looks;
use crate::place::Root;
use crate::queue::Queue;

/// Requests that may read and compute at once; others wait.
const AT_ONCE: usize = 8;

/// The server.
pub struct App {
    /// The served folder.
    pub root: Root,
    /// Who may ask.
    pub key: Key,
    /// Children that look at clips.
    pub looks: Looks,
    /// What is being done, and what waits.
    pub queue: Arc<Queue>,
    /// Files are changed by one request at a time.
    pub writing: Mutex<()>,
    turns: Semaphore,
}

impl App {
    /// A server of a folder; `program` is this program, for its children.
    pub fn new(root: Root, key: Key, program: PathBuf) -> Self {
        Self {
            queue: Queue::new(program.clone(), root.clone()),
            looks: Looks::new(program),
            root,
            key,
            writing: Mutex::new(()),
            turns: Semaphore::new(AT_ONCE),
        }
    }

    /// Does work that blocks, apart from the threads that answer.
    ///
    /// # Errors
    /// What the work gives; a bug in it, as an error.
    pub async fn blocking<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&App) -> Result<T, PageError> + Send + 'static,
    ) -> Result<T, PageError> {
        let _turn = self.turns.acquire().await;
        let app = self.clone();
        match tokio::task::spawn_blocking(move || work(&app)).await {
            Ok(done) => done,
            Err(_) => Err(PageError::Child(
                "a fault of this program; please report it".into(),
            )),
        }
    }
}
