//! Requests about measuring: ask for it, stop it, follow it.

use std::convert::Infallible;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{StreamExt, iter, unfold};
use serde::Deserialize;
use serde_json::json as object;
use tokio::sync::broadcast::error::RecvError;
use tremolet_study::{files, write};

use crate::answer::{Answer, json};
use crate::app::App;
use crate::error::PageError;
use crate::experiments::confined;

/// A wish to measure.
#[derive(Debug, Deserialize)]
pub struct Wish {
    /// The experiment file.
    experiment: String,
}

/// All jobs.
///
/// # Errors
/// None; the form is that of a handler.
pub async fn all(State(app): State<Arc<App>>) -> Answer {
    json(&app.queue.jobs())
}

/// Puts a measurement into the queue; its run folder is named after the file and the time.
///
/// # Errors
/// The file has faults or lacks something, names a file outside the folder, or too many wait.
pub async fn add(State(app): State<Arc<App>>, Json(wish): Json<Wish>) -> Answer {
    let job = app.blocking(move |app| begun(app, &wish.experiment)).await?;
    json(&job)
}

fn begun(app: &App, named: &str) -> Result<crate::queue::Job, PageError> {
    let file = app.root.existing(named)?;
    let asked = files::Asked {
        file: &file,
        clip: None,
        out: None,
    };
    let (experiment, _, _) = files::prepare(&asked)?;
    confined(app, &experiment)?;
    let stem = file
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let name = |number: usize| match number {
        0 => format!("{stem}-{}", write::stamp()),
        number => format!("{stem}-{}-{number}", write::stamp()),
    };
    let free = |name: &String| {
        let out = file.with_file_name(name);
        !out.exists() && !app.queue.has(&out)
    };
    let name = (0..).map(name).find(free).unwrap_or_default();
    let out = file.with_file_name(&name);
    let run = match named.rsplit_once('/') {
        Some((folder, _)) => format!("{folder}/{name}"),
        None => name,
    };
    let job = app.queue.add(named, &run, file, out);
    job.ok_or_else(|| PageError::Asked("too many measurements wait; stop some of them first".into()))
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

/// Every job as it is, then every change, as server-sent events.
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
    Ok(Sse::new(events).keep_alive(KeepAlive::default()).into_response())
}
