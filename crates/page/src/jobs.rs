//! Requests about what takes a while: ask for it, stop it, follow it.

use std::convert::Infallible;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{StreamExt, iter, unfold};
use serde_json::json as object;
use tokio::sync::broadcast::error::RecvError;

use crate::answer::{Answer, json};
use crate::app::App;
use crate::error::PageError;
use crate::task::Task;

/// All jobs.
///
/// # Errors
/// None; the form is that of a handler.
pub async fn all(State(app): State<Arc<App>>) -> Answer {
    json(&app.queue.jobs())
}

/// Puts a task into the queue; its result is named after the file or run and, for a run, the time.
///
/// # Errors
/// It cannot be done: a file has faults or lacks something or names a file outside the folder, a run is none, or too many wait.
pub async fn add(State(app): State<Arc<App>>, Json(task): Json<Task>) -> Answer {
    let job = app.blocking(move |app| app.queue.add(task)).await?;
    json(&job)
}

/// Stops a job.
///
/// # Errors
/// There is none of that number.
pub async fn stop(State(app): State<Arc<App>>, Path(id): Path<u64>) -> Answer {
    if !app.queue.stop(id) {
        return Err(PageError::Absent(format!("job {id}")));
    }
    json(&object!({ "stopped": id }))
}

/// What keeps the queue from being kept, then every job as it is, then every change, as server-sent events.
///
/// # Errors
/// None; the form is that of a handler.
pub async fn follow(State(app): State<Arc<App>>) -> Answer {
    let heard = app.queue.heard();
    let now = iter(app.queue.jobs());
    let later = unfold(heard, |mut heard| async move {
        loop {
            match heard.recv().await {
                Ok(job) => return Some((job, heard)),
                // Only the newest state of a job matters.
                Err(RecvError::Lagged(_)) => {}
                Err(RecvError::Closed) => return None,
            }
        }
    });
    let events = now.chain(later).map(|job| {
        let data = serde_json::to_string(&job).unwrap_or_default();
        Ok::<Event, Infallible>(Event::default().event("job").data(data))
    });
    let trouble = Event::default().event("trouble").data(app.queue.trouble());
    let events = iter([Ok(trouble)]).chain(events);
    Ok(Sse::new(events).keep_alive(KeepAlive::default()).into_response())
}
